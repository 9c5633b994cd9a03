"""The simulated camera as a program of its own, and its hands, for tests of the whole path.

    with MockCamera("--format", "raw+jpeg") as mock:
        ... connect to mock.address ...
        mock.hands("turn_dial", setting="f_number", value=8)

Small pictures unless `--pixels` is given. The camera ends with this process at the latest.
"""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
from time import monotonic
from types import TracebackType
from typing import Any, Self

from session.system.process import import_path

SMALL = ("--pixels", "192x128")
QUICK = ("--shutter-lag-s", "0", "--buffer-s", "0")
HANDS_LIMIT_S = 60.0
AS_AT_START = {
    "exposure_s": 1 / 200,
    "f_number": 11,
    "iso": 100,
    "white_balance": "flash",
    "focus_mode": "manual",
    "file_format": "jpeg",
}


class MockCamera:
    """`python -m mock_camera` with these options; `hands` does what is done by hand."""

    def __init__(self, *options: str) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-m", "mock_camera", "--until-stdin-closes", *SMALL, *QUICK, *options],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=os.environ | {"PYTHONPATH": import_path("mock_camera")},
            start_new_session=True,
        )
        assert self._process.stdout is not None
        told = self._process.stdout.readline()
        if not told:
            raise RuntimeError(f"the simulated camera ended with {self._process.wait()}")
        ports: dict[str, Any] = json.loads(told)
        self.port: int = ports["ptpip"]
        self.serial: str = ports["serial"]
        self.address = f"ptpip:127.0.0.1:{self.port}"
        self._socket = socket.create_connection(("127.0.0.1", ports["control"]), timeout=HANDS_LIMIT_S)
        self._lines = self._socket.makefile("rw")

    def hands(self, do: str, **values: object) -> dict[str, Any]:
        """Do something by hand; the answer. Raises RuntimeError with its sentence when it can't be done."""
        self._lines.write(json.dumps({"do": do, **values}) + "\n")
        self._lines.flush()
        answer: dict[str, Any] = json.loads(self._lines.readline())
        if not answer.pop("ok"):
            raise RuntimeError(answer["error"])
        return answer

    def fault(self, name: str, **options: object) -> None:
        """Script a mishap; what there is stands in `python -m mock_camera --help`."""
        self.hands("fault", name=name, **options)

    def slow_raws(self) -> None:
        """Let a raw file of 384 x 256 pixels take 15 s, until the wire is quick again; a JPEG comes as ever.

        The JPEG has some 33 kB; a raw file is fetched in parts of 64 kB.
        """
        self.hands("wire", bytes_per_s=20_000, from_bytes=50_000)

    def quick_wire(self) -> None:
        """Let everything come as fast as it goes, what is under way too."""
        self.hands("wire", bytes_per_s=0)

    def until_struck(self) -> None:
        """Wait until every scripted mishap has struck."""
        deadline_s = monotonic() + HANDS_LIMIT_S
        while self.hands("state")["faults"]:
            if monotonic() > deadline_s:
                raise TimeoutError("a scripted mishap never struck")

    def reset(self) -> None:
        """Settings, battery, card and faults as at the start; file numbers run on."""
        self.hands("clear_faults")
        for setting, value in AS_AT_START.items():
            self.hands("turn_dial", setting=setting, value=value)
        self.hands("battery", percent=80)
        self.hands("format_card")

    def close(self) -> None:
        """Switch it off and wait for its end."""
        self._lines.close()
        self._socket.close()
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        self._process.wait()
        self._process.stdout.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
