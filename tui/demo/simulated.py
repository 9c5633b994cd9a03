"""Starts the simulated camera as a program of its own and moves its hands, for the demo.

The camera itself is driven by libgphoto2 over PTP/IP like any other; only what hands do on a real table
(turn the focus ring, pull a cable) goes as JSON Lines to its control port.
"""

from __future__ import annotations

import json
import socket
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from tui.shell.troubles import CommandFailed

ANSWER_WITHIN_S = 20.0


class DemoCamera:
    """A running `python -m mock_camera`; the camera ends with this program, by the end of standard input."""

    def __init__(self, folder: Path, options: Sequence[str] = ()) -> None:
        """Start the camera with a card in `folder`. Raises Failed when it doesn't come up."""
        errors = (folder / "simulated-camera.txt").open("wb")
        self._process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "mock_camera",
                "--until-stdin-closes",
                "--card-folder",
                str(folder / "card"),
                *options,
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=errors,
            start_new_session=True,
        )
        errors.close()
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        if not line:
            raise CommandFailed("The simulated camera did not start; `python -m mock_camera` says why.")
        told = json.loads(line)
        self.address = f"ptpip:127.0.0.1:{told['ptpip']}"
        self._wire = socket.create_connection(("127.0.0.1", told["control"]), timeout=ANSWER_WITHIN_S)
        self._answers = self._wire.makefile("rb")

    def hand(self, do: str, **values: object) -> dict[str, object]:
        """Have the hands at the simulated table do a thing; returns the camera's answer.

        Raises Failed with its sentence.
        """
        self._wire.sendall(json.dumps({"do": do, **values}).encode() + b"\n")
        answer = json.loads(self._answers.readline() or b'{"ok": false, "error": "the simulated camera has ended"}')
        if not answer.get("ok"):
            raise CommandFailed(f"The simulated camera: {answer.get('error')}")
        assert isinstance(answer, dict)
        return answer

    def close(self) -> None:
        """Switch it off."""
        self._answers.close()
        self._wire.close()
        assert self._process.stdin is not None
        self._process.stdin.close()
        try:
            self._process.wait(ANSWER_WITHIN_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
