"""`python -m mock_camera` as a program of its own, for tests."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Self

from mock_camera.wire.control import ControlClient

ENDS_WITHIN_S = 30.0


class MockCameraProgram:
    """Running until `close`; `port` for libgphoto2, `hands` for the rest. `output` is its first line."""

    def __init__(self, *options: str, card_folder: Path | None = None) -> None:
        kept = ["--card-folder", str(card_folder)] if card_folder else []
        self.process = subprocess.Popen(
            [sys.executable, "-m", "mock_camera", "--until-stdin-closes", *kept, *options],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        assert self.process.stdout is not None
        self.output: dict[str, object] = json.loads(self.process.stdout.readline())
        self.port = int(str(self.output["ptpip"]))
        self.hands = ControlClient(int(str(self.output["control"])))

    def close(self) -> int:
        """Close its standard input; its exit code."""
        self.hands.close()
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.close()
        code = self.process.wait(ENDS_WITHIN_S)
        self.process.stdout.close()
        return code

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.close()
