"""`stillset follow --serve`: opens the port, tells the address with its token, and serves until the end."""

from __future__ import annotations

import socket
import sys
from contextlib import closing

import click

from tui.follow.followed_log import LogWatch
from tui.follow.page.page_address import PageAddress, example_of, new_token, parse_where, qr_text
from tui.follow.page.page_limits import PageLimits
from tui.shell.troubles import CommandFailed

WHITE_ON_BLACK, AS_BEFORE = "\033[97;40m", "\033[0m"
"""Scanners want dark on light; a terminal's own colours may be either (ECMA-48, SGR)."""


def serve_page(log: str, job: str, where: str) -> None:
    """Serve until Ctrl-C or the system's word. Raises click.UsageError, or Failed without the extra or the port."""
    ip, port = parse_where(where)
    try:
        from tui.follow.page.server import PageServer  # noqa: PLC0415 - the extra `web`
    except ImportError as error:
        raise CommandFailed("Serving to a browser needs the extra `web`; the README says how.") from error
    address, limits = PageAddress(ip, port, new_token()), PageLimits()
    with _listen(address) as listening, closing(LogWatch(log, job)) as watch:
        _bound_memory(limits.memory_bytes)
        server = PageServer(address, watch, limits)
        click.echo(serving_text(address, with_qr=_takes_blocks()))
        server.run_on(listening)
    click.echo("Nobody looks on any more.")


def serving_text(address: PageAddress, *, with_qr: bool) -> str:
    """The text for the person who serves the page: the page's address, and how other machines reach it."""
    lines = []
    if address.is_for_others and with_qr:
        lines += [f"{WHITE_ON_BLACK}{line}{AS_BEFORE}" for line in qr_text(address.url).splitlines()] + [""]
    lines.append(f"Look on in a browser at {address.url}")
    if address.is_for_others:
        lines.append(
            "Who has this address can look at the newest frames, and do nothing else. It is new at each start."
        )
        lines.append("The page isn't encrypted: serve it on the set's own network only. Ctrl-C ends it.")
    else:
        lines.append(f"From this machine only. For a tablet name this machine's address{example_of(address.port)}.")
        lines.append("Ctrl-C ends it.")
    return "\n".join(lines)


def _listen(address: PageAddress) -> socket.socket:
    family = socket.AF_INET6 if address.ip.version == 6 else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((str(address.ip), address.port))
        listening.listen()
    except OSError as error:
        listening.close()
        raise CommandFailed(
            f"Port {address.port} of {address.ip} can't be served: {error.strerror or error}."
        ) from error
    return listening


def _bound_memory(most_bytes: int) -> None:
    """Have the system refuse more memory than that, where it can: a picture is then not shown, and the page goes on."""
    try:
        import resource  # noqa: PLC0415 - not on every system
    except ImportError:
        return
    soft, hard = resource.getrlimit(resource.RLIMIT_DATA)
    bound = most_bytes if hard == resource.RLIM_INFINITY else min(most_bytes, hard)
    if soft == resource.RLIM_INFINITY or soft > bound:
        resource.setrlimit(resource.RLIMIT_DATA, (bound, hard))


def _takes_blocks() -> bool:
    """Whether standard output is a terminal that can show half blocks."""
    try:
        "█▀▄".encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return False
    return sys.stdout.isatty()
