"""`stillset follow`: looks on while somebody shoots, in another terminal, as lines, or in a tablet's browser."""

from __future__ import annotations

import sys
from contextlib import closing
from time import sleep
from typing import TYPE_CHECKING

import click

from session.frame.states import FrameState
from tui.shell.choices import default_log, log_option
from tui.shell.terminal import can_show_screens, say_opening
from tui.words.harmless import harmless

if TYPE_CHECKING:
    from tui.follow.followed_log import LogWatch

LOOKS_EVERY_S = 0.5
UNDER_WAY = frozenset({FrameState.RELEASING, FrameState.RECEIVING, FrameState.SAVED})


@click.command()
@log_option
@click.option("--job", default="", help="Follow this job; else the one worked on last.")
@click.option(
    "--serve",
    metavar="[ADDRESS:]PORT",
    default=None,
    help="Show it in browsers; a port alone serves this machine only, ADDRESS:PORT the tablets of its network. Needs "
    "the extra `web`.",
)
def follow(log: str | None, job: str, serve: str | None) -> None:
    """Look on while somebody shoots: last frame, verdict, progress of the job.

    It never releases, writes, or touches the camera. Without a terminal it prints a line for each frame.

    With --serve whoever has the page's address can look at the newest frames. The address ends with a token, which is
    new at each start and keeps out who wasn't shown it. The page isn't encrypted: serve it on the set's own network
    only.
    """
    path = log or default_log()
    if serve is not None:
        from tui.follow.page.serving import serve_page  # noqa: PLC0415 - a web server, for those who want one

        serve_page(path, job, serve)
        return
    from tui.follow.followed_log import LogWatch  # noqa: PLC0415

    with closing(LogWatch(path, job)) as watch:
        if sys.stdin.isatty() and sys.stdout.isatty() and can_show_screens():
            say_opening("the follower")
            from tui.app.run import run_follower  # noqa: PLC0415 - Textual only when there is a screen

            run_follower(path, watch)
        else:
            _print_lines(watch)


def _print_lines(watch: LogWatch) -> None:
    """The newest frame at once, then each as it comes to rest, and again when more is known; until interrupted."""
    from session.frame.ports import LogError  # noqa: PLC0415
    from tui.commands.log_command import frame_line  # noqa: PLC0415

    printed: dict[str, str] = {}
    trouble, first = "", True
    while True:
        try:
            sight, now_wrong = watch.look(), ""
        except LogError as error:
            sight, now_wrong = None, str(error)
        if now_wrong and now_wrong != trouble:
            click.echo(harmless(now_wrong), err=True)
        trouble = now_wrong
        rows = sight.recent if sight else ()
        for row in rows:
            line = frame_line(row)
            if row.state not in UNDER_WAY and printed.get(row.frame_id) != line:
                printed[row.frame_id] = line
                if not first or row is rows[-1]:
                    click.echo(line)
        first = first and sight is None
        sleep(LOOKS_EVERY_S)
