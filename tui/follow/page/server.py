"""The server on its wire: uvicorn, with limits on connections and bytes that uvicorn itself doesn't set.

uvicorn waits without end for a request's head, and for a browser that takes no bytes. The server here limits the two
waits of every connection. It ends within a second of being asked to, whoever looks on. uvicorn doesn't promise to keep
the methods that are overridden here: its upper bound in `pyproject.toml` is moved only when the tests pass.
"""

from __future__ import annotations

import asyncio
import contextlib
import signal
import socket
from collections.abc import Generator
from typing import Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from tui.follow.followed_log import LogWatch
from tui.follow.page.page_address import PageAddress
from tui.follow.page.page_limits import PageLimits
from tui.follow.page.page_pictures import Pictures
from tui.follow.page.routes import page
from tui.follow.page.watching import Watching

ENDING_SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
ABORTED_AFTER_S = 0.5
"""After the end was asked for: connections whose last bytes nobody takes. Chosen; two seconds are promised."""

BACKLOG = 128
"""Connections that the system keeps until they are taken. Chosen."""


class Gate:
    """The open connections, and among them the idle ones, which have asked for nothing yet; oldest first."""

    def __init__(self, most: int) -> None:
        self._most = most
        self.open: dict[PageConnection, None] = {}
        self.idle: dict[PageConnection, None] = {}

    def enter(self, wire: PageConnection) -> None:
        """Let a connection in; when all places are taken, the oldest idle one is cut for it, else this one is cut."""
        if len(self.open) >= self._most:
            (next(iter(self.idle), None) or wire).abort()
        self.open[wire] = self.idle[wire] = None

    def leave(self, wire: PageConnection) -> None:
        """Forget a connection that has ended."""
        self.open.pop(wire, None)
        self.idle.pop(wire, None)


class PageConfig(uvicorn.Config):
    """uvicorn's settings with ours beside them."""

    def __init__(self, app: Any, limits: PageLimits) -> None:
        self.limits, self.gate = limits, Gate(limits.connections)
        super().__init__(
            app,
            http=PageConnection,
            ws="none",
            lifespan="off",
            log_config=None,
            access_log=False,
            server_header=False,
            proxy_headers=False,
            backlog=BACKLOG,
            timeout_graceful_shutdown=1,
            h11_max_incomplete_event_size=limits.head_bytes,
        )


class PageConnection(H11Protocol):
    """A connection, with an end to every wait for the other side."""

    def __init__(self, config: PageConfig, server_state: Any, app_state: Any, _loop: Any = None) -> None:
        super().__init__(config, server_state, app_state, _loop)
        self._limits, self._gate = config.limits, config.gate
        self._head_timer: asyncio.TimerHandle | None = None
        self._stuck_timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        transport.set_write_buffer_limits(high=0)  # to hear at once when the other side takes nothing
        self._gate.enter(self)
        self._await_head()

    def connection_lost(self, exc: Exception | None) -> None:
        self._gate.leave(self)
        for timer in (self._head_timer, self._stuck_timer):
            if timer is not None:
                timer.cancel()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if self._is_asked and self._head_timer is not None:
            self._head_timer.cancel()
            self._head_timer = None
            self._gate.idle.pop(self, None)

    def on_response_complete(self) -> None:
        super().on_response_complete()
        if not self._is_asked and not self.transport.is_closing():
            self._gate.idle[self] = None
            self._await_head()

    def pause_writing(self) -> None:
        super().pause_writing()
        self._stuck_timer = self.loop.call_later(self._limits.stuck_s, self.abort)

    def resume_writing(self) -> None:
        super().resume_writing()
        if self._stuck_timer is not None:
            self._stuck_timer.cancel()
            self._stuck_timer = None

    def shutdown(self) -> None:
        if self.conn.our_state is h11.ERROR:  # it was refused as no HTTP, and is closing
            self.transport.close()
        else:
            super().shutdown()

    def abort(self) -> None:
        """End the connection now, without waiting for the other side."""
        self._gate.leave(self)
        self.transport.abort()

    def _await_head(self) -> None:
        if self._head_timer is not None:
            self._head_timer.cancel()
        self._head_timer = self.loop.call_later(self._limits.head_s, self.abort)

    @property
    def _is_asked(self) -> bool:
        """Whether a request has come in whole that isn't answered yet."""
        return self.cycle is not None and not self.cycle.response_complete

    def _unsupported_upgrade_warning(self) -> None:
        """Print no warning: a request for another protocol is answered in HTTP."""


class PageServer(uvicorn.Server):
    """Serves the page from a socket that listens already, until `end` or, in the main thread, a signal."""

    def __init__(self, address: PageAddress, watch: LogWatch, limits: PageLimits) -> None:
        self._limits = limits
        self._watching = Watching(watch.look, watch.log, self._limits.looks_every_s, self._limits.alive_s)
        self._page_config = PageConfig(page(address, self._watching, Pictures(), self._limits), self._limits)
        super().__init__(self._page_config)

    def run_on(self, listening: socket.socket) -> None:
        """Serve until the end."""
        asyncio.run(self.serve([listening]))

    def end(self) -> None:
        """Ask for the end; from any thread."""
        self.should_exit = True

    async def main_loop(self) -> None:
        looks = asyncio.create_task(self._watching.run())
        await super().main_loop()
        self._watching.end()
        looks.cancel()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        asyncio.get_running_loop().call_later(ABORTED_AFTER_S, self._abort_all)
        await super().shutdown(sockets)

    def _abort_all(self) -> None:
        for wire in list(self._page_config.gate.open):
            wire.abort()

    @contextlib.contextmanager
    def capture_signals(self) -> Generator[None, None, None]:
        """An end in order at each of the signals; uvicorn's own way would raise them again afterwards."""
        before = {}
        with contextlib.suppress(ValueError):  # not in the main thread
            before = {number: signal.signal(number, lambda *_: self.end()) for number in ENDING_SIGNALS}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)
