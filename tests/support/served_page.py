"""The tablet page on loopback in a thread of this process, asked by sockets and the standard library's own client.

with ServedPage(log) as page:
    page.get("page.css")
    page.raw(b"GET / HTTP/1.1\\r\\n\\r\\n")
    with page.looking_on() as viewer:
        viewer.next()
"""

from __future__ import annotations

import http.client
import json
import socket
import threading
from contextlib import suppress
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from tui.follow.followed_log import LogWatch
from tui.follow.page.page_address import PageAddress, new_token
from tui.follow.page.page_limits import PageLimits
from tui.follow.page.server import PageServer

DEADLINE_S = 60.0
"""For anything that must come; only a failing test waits so long."""

LOOPBACK = "127.0.0.1"

WIDE, HIGH = 3600, 2400
"""Of the photograph that tests of the page have, px."""


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()


class Asking:
    """Questions to a page somewhere on loopback."""

    def __init__(self, port: int, token: str) -> None:
        self.port, self.token = port, token

    @property
    def host(self) -> str:
        return f"{LOOPBACK}:{self.port}"

    def get(self, path: str, method: str = "GET", **headers: str) -> Answer:
        """Ask for a path under the token; underscores in the headers' names become hyphens."""
        return self.ask(f"/{self.token}/{path}", method, **headers)

    def ask(self, target: str, method: str = "GET", **headers: str) -> Answer:
        """Ask for any target."""
        connection = http.client.HTTPConnection(LOOPBACK, self.port, timeout=DEADLINE_S)
        try:
            sent = {name.replace("_", "-"): value for name, value in headers.items()}
            connection.request(method, target, headers=sent)
            answer = connection.getresponse()
            return Answer(answer.status, dict(answer.getheaders()), answer.read())
        finally:
            connection.close()

    def connected(self, receive_bytes: int = 0) -> socket.socket:
        """A bare connection; receive_bytes: a small buffer of ours, for one that takes nothing."""
        bare = socket.socket()
        if receive_bytes:
            bare.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, receive_bytes)
        bare.settimeout(DEADLINE_S)
        bare.connect((LOOPBACK, self.port))
        return bare

    def raw(self, sent: bytes) -> bytes:
        """Send this and take whatever comes until the server closes; b"" when it just hangs up."""
        with self.connected() as bare:
            with suppress(OSError):  # it may hang up before all is sent
                bare.sendall(sent)
            return until_closed(bare)

    def looking_on(self) -> Viewer:
        """One more who looks on."""
        return Viewer(self)


class Viewer:
    """A browser's stream of news. `status` is what it was answered."""

    def __init__(self, page: Asking) -> None:
        self._connection = http.client.HTTPConnection(LOOPBACK, page.port, timeout=DEADLINE_S)
        self._connection.request("GET", f"/{page.token}/events", headers={"Accept": "text/event-stream"})
        self._answer = self._connection.getresponse()
        self.status = self._answer.status

    def next(self) -> dict[str, Any] | None:
        """The next state of the page, None when the stream has ended."""
        while line := self._answer.readline():
            if line.startswith(b"data: {"):
                return dict(json.loads(line[6:]))
        return None

    def until(self, key: str, begin: str) -> dict[str, Any]:
        """The next state in which the text under this key begins so."""
        while True:
            state = self.next()
            assert state is not None, "the stream ended"
            if state[key].startswith(begin):
                return state

    def close(self) -> None:
        """Look no longer."""
        self._answer.close()
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


class ServedPage(Asking):
    """Serving until the end of the block."""

    def __init__(self, log: Path, limits: PageLimits | None = None, job: str = "") -> None:
        self._listening = socket.create_server((LOOPBACK, 0))
        super().__init__(self._listening.getsockname()[1], new_token())
        self.watch = LogWatch(str(log), job)
        self.address = PageAddress(ip_address(LOOPBACK), self.port, self.token)
        self.server = PageServer(self.address, self.watch, limits or PageLimits(looks_every_s=0.01))
        self._thread = threading.Thread(target=self.server.run_on, args=(self._listening,), daemon=True)

    def end(self) -> None:
        """Ask for the end, and wait for it."""
        self.server.end()
        self._thread.join(DEADLINE_S)
        assert not self._thread.is_alive(), "it never ended"

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.end()
        self.watch.close()


def until_closed(bare: socket.socket) -> bytes:
    """What still comes until the other side hangs up."""
    came = b""
    with suppress(ConnectionError):
        while part := bare.recv(65536):
            came += part
    return came


LOG_LOOKS_S = 0.01


def limited(folder: Path, **limits: float) -> ServedPage:
    """The page of the log in the folder under other limits."""
    return ServedPage(folder / "log.db", PageLimits(looks_every_s=LOG_LOOKS_S, **limits))  # type: ignore[arg-type]
