"""Opens the screens on a table, or on a log alone, and closes everything behind them."""

from __future__ import annotations

import gc
import sys
from contextlib import suppress
from pathlib import Path

import click

from session.ports import LogError
from storage.reading import LogReader
from tui.app import StillsetApp, no_hint
from tui.build import Table
from tui.choices import Choices
from tui.follow import FollowApp
from tui.follow_log import LogWatch
from tui.plain import COLUMNS, ROWS, PlainApp
from tui.simulated import SimulatedCamera
from tui.storyteller import Storyteller
from tui.terminal import error_file, stderr_in_file


def settle_memory() -> None:
    """Look for garbage among the hundred thousand things that importing made now, and never again.

    A full collection of them takes longer than a key may wait for its answer.
    """
    gc.collect()
    gc.freeze()


def run_bench(choices: Choices, simulated: SimulatedCamera | None = None, *, plain: bool = False) -> None:
    """The bench on these choices; with a simulated camera the demo's story runs along.

    plain  as lines for a screen reader
    Exits with `ENDED_BY_SYSTEM` when the system ended it.
    """
    table, app = Table(choices), None
    try:
        teller = Storyteller(table, simulated) if simulated else None
        app = (PlainApp if plain else StillsetApp)(table, hint=teller.hint if teller else no_hint)
        table.start()
        if teller:
            table.listen(teller.hear)
            teller.start()
        with stderr_in_file(error_file(Path(choices.log))):
            settle_memory()
            app.run(mouse=not plain, size=(COLUMNS, ROWS) if plain else None)
    finally:
        table.close(at_once=app is not None and bool(app.left_on_card))
    with suppress(OSError):  # the terminal is gone
        if app.return_code:
            click.echo(f"Ended by the system. {app.left_on_card or 'What was saved until now is safe.'}", err=True)
        elif app.left_on_card:
            click.echo(app.left_on_card, err=True)
    if app.return_code:
        sys.exit(app.return_code)


def run_follower(log: str, watch: LogWatch) -> None:
    """The screen that only looks on; the log may come later."""
    app = FollowApp(watch)
    with stderr_in_file(error_file(Path(log))):
        settle_memory()
        app.run(mouse=False)


def run_ledger(log: str) -> None:
    """The ledger alone. It is read-only: marks and notes are the bench's, or another stillset's."""
    try:
        with LogReader.looking(log) as reader:
            app = StillsetApp(reader=reader, read_only="Open for looking only; mark and note at the bench.")
            with stderr_in_file(error_file(Path(log))):
                settle_memory()
                app.run(mouse=False)
    except OSError as error:
        raise LogError(f"The error file beside the log can't be written: {error.strerror}.") from error
