"""The follower in a tablet's browser, by textual-serve: a process of its own for each who looks.

Its page is ours, since the library's own asks the internet for a font; nothing here leaves the set's own network.
"""

from __future__ import annotations

import asyncio
import logging
import os
import shlex
import sys
from contextlib import suppress
from pathlib import Path

import click

from session.process import import_path
from tui.troubles import Failed

PAGES = Path(__file__).parent / "served"
EVERYWHERE = "0.0.0.0"

QUITS_WITHIN_S, LOOKS_EVERY_S = 5.0, 0.05
"""A viewer's process that hangs isn't waited for longer. Chosen."""


def serve_follower(log: str, job: str, where: str) -> None:
    """Serve until interrupted. Raises click.UsageError for no port, Failed without the extra or the port."""
    address, port = parse_where(where)
    try:
        from aiohttp.web import Application  # noqa: PLC0415 - the extra `web`
        from textual_serve.server import Server  # noqa: PLC0415 - the same
    except ImportError as error:
        raise Failed("Serving to a browser needs the extra `web`: pip install 'stillset[web]'.") from error

    class QuietServer(Server):
        """Says nothing of each page that is fetched, and ends after the last viewer's process has."""

        def initialize_logging(self) -> None:
            logging.basicConfig(level=logging.WARNING)

        async def on_startup(self, app: Application) -> None:
            """Instead of the library's own banner."""
            app.on_cleanup.append(_viewers_gone)

    click.echo(f"Whoever can reach port {port} of this machine can look on now; Ctrl-C ends it.")
    name = "stillset follow"
    server = QuietServer(command(log, job), host=address, port=port, title=name, templates_path=str(PAGES))
    try:
        server.serve()
    except OSError as error:
        raise Failed(f"Port {port} can't be served: {error.strerror or error}.") from error


async def _viewers_gone(app: object) -> None:
    """Wait for the processes that were told to quit: asyncio complains, with a traceback, of what outlives its loop."""
    with suppress(TimeoutError):
        async with asyncio.timeout(QUITS_WITHIN_S):
            while _has_children():
                await asyncio.sleep(LOOKS_EVERY_S)
    await asyncio.sleep(LOOKS_EVERY_S)  # until the loop has been told of the last one's end, too


def _has_children() -> bool:
    """Where the system can be asked without taking their end from asyncio: not on macOS before Python 3.13."""
    if not hasattr(os, "waitid"):
        return False
    try:
        os.waitid(os.P_ALL, 0, os.WEXITED | os.WNOHANG | os.WNOWAIT)
    except ChildProcessError:
        return False
    return True


def parse_where(where: str) -> tuple[str, int]:
    """Address and port of `8080` or `192.0.2.7:8080`. Raises click.UsageError."""
    address, _, port = where.rpartition(":")
    if not port.isdecimal() or not 0 < int(port) < 65536:
        raise click.UsageError(f"--serve takes a port like 8080, or 192.0.2.7:8080, not {where!r}")
    return address or EVERYWHERE, int(port)


def command(log: str, job: str) -> str:
    """How a viewer's own follower is started."""
    words = [sys.executable, "-P", "-m", "tui", "follow", "--log", log, *(["--job", job] if job else [])]
    return f"PYTHONPATH={shlex.quote(import_path('tui'))} {shlex.join(words)}"
