"""The port for the hands: takes a JSON object a line, and answers each object with a line.

`{"do": NAME, ...}` is answered `{"ok": true, ...}` or `{"ok": false, "error": sentence}`. The body's
own commands are the COMMANDS of `commands.py`; every other name goes to the table, `World.do`.
"""

import contextlib
import json
import socket
import threading

from mock_camera.wire.commands import Answer, Hands, RefusedCommandError
from mock_camera.wire.connection import LOOPBACK, hang_up


class ControlServer:
    """Serves the control port on loopback; `port` is the one bound."""

    def __init__(self, hands: Hands, *, port: int = 0) -> None:
        self._hands = hands
        self._listener = socket.create_server((LOOPBACK, port))
        self.port: int = self._listener.getsockname()[1]
        threading.Thread(target=self._accept, name="control", daemon=True).start()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                sock, _ = self._listener.accept()
                threading.Thread(target=self._serve, args=(sock,), name="hands", daemon=True).start()

    def _serve(self, sock: socket.socket) -> None:
        with contextlib.suppress(OSError), sock, sock.makefile("rwb") as lines:
            for line in lines:
                lines.write(json.dumps(self._answer(line)).encode() + b"\n")
                lines.flush()

    def _answer(self, line: bytes) -> Answer:
        try:
            values = json.loads(line)
            if not isinstance(values, dict) or not isinstance(values.get("do"), str):
                raise RefusedCommandError(f'A command is a JSON object with a name under "do", not {values!r}.')
            return {"ok": True, **self._hands.do(values.pop("do"), values)}
        except ValueError as error:
            return {"ok": False, "error": str(error)}

    def close(self) -> None:
        hang_up(self._listener)


class ControlError(Exception):
    """The camera answered a command with this sentence."""


class ControlClient:
    """Hands for tests: `ControlClient(port).do("turn_dial", setting="f_number", value=8)`.

    `do` gives the answer as a dict without `ok`. Raises ControlError when the camera says no.
    """

    def __init__(self, port: int) -> None:
        self._sock = socket.create_connection((LOOPBACK, port), timeout=30)
        self._lines = self._sock.makefile("rwb")

    def do(self, name: str, /, **values: object) -> Answer:
        self._lines.write(json.dumps({"do": name, **values}).encode() + b"\n")
        self._lines.flush()
        answer: Answer = json.loads(self._lines.readline() or b'{"ok": false, "error": "The camera has gone."}')
        if not answer.pop("ok"):
            raise ControlError(str(answer["error"]))
        return answer

    def close(self) -> None:
        self._lines.close()
        self._sock.close()
