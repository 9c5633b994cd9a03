"""Opens the screens on a shoot, or on a log alone, and closes everything behind them."""

from __future__ import annotations

import gc
import sys
from contextlib import suppress
from pathlib import Path

import click

from session.frame.ports import LogError
from session.set.kit import Kit, KitError
from session.shoot.events import Said
from storage.files.archive_address import is_archive
from storage.reading.log_reader import LogReader
from tui.app.plain import COLUMNS, ROWS, PlainApp
from tui.app.stillset_app import StillsetApp
from tui.demo.simulated import DemoCamera
from tui.demo.storyteller import Storyteller
from tui.follow.follow_screen import FollowApp
from tui.follow.followed_log import LogWatch
from tui.screen.background import BackgroundApp
from tui.shell.build import OpenShoot, named_kit
from tui.shell.choices import Choices
from tui.shell.log_acts import LogActs
from tui.shell.terminal import error_file, stderr_in_file
from tui.words.wording import done_text

SAFE = "What was saved until now is safe."


def settle_memory() -> None:
    """Look for garbage among the hundred thousand things that importing made now, and never again.

    A full collection of them takes longer than a key may wait for its answer.
    """
    gc.collect()
    gc.freeze()


def run_bench(choices: Choices, simulated: DemoCamera | None = None, *, plain: bool = False) -> None:
    """The bench on these choices; with a simulated camera the demo's story runs along.

    plain  as lines for a screen reader
    Exits with 1 when the system ended it, or a mistake of ours did.
    """
    open_shoot, app = OpenShoot(choices), None
    try:
        errors = error_file(Path(choices.log))
        teller = Storyteller(open_shoot, simulated) if simulated else None
        app = (PlainApp if plain else StillsetApp)(open_shoot, story=teller)
        open_shoot.start()
        if teller:
            open_shoot.listen(teller.hear)
            teller.start()
        with stderr_in_file(errors):
            settle_memory()
            app.run(mouse=not plain, size=(COLUMNS, ROWS) if plain else None)
    finally:
        open_shoot.close(at_once=app is not None and bool(app.left_on_card))
    with suppress(OSError):  # the terminal is gone
        if app.ended_by_system:
            click.echo(f"Ended by the system. {app.left_on_card or SAFE}", err=True)
        elif app.left_on_card:
            click.echo(app.left_on_card, err=True)
        elif app.to_go_text:
            click.echo(app.to_go_text)
        if simulated is None and not app.ended_by_system:
            click.echo(done_text(app.model, choices.log))
    exit_as(app, errors)


def exit_as(app: BackgroundApp, errors: Path) -> None:
    """Exit with the screen's code where that isn't 0; when a mistake of ours ended it, say so, and where it stands."""
    if not app.return_code:
        return
    if not app.ended_by_system:
        click.echo(
            f"Something went wrong in stillset itself, and ended it; it is written in {errors}. {SAFE}", err=True
        )
    sys.exit(app.return_code)


def run_follower(log: str, watch: LogWatch) -> None:
    """The screen that only looks on; the log may come later."""
    app, errors = FollowApp(watch), error_file(Path(log))
    with stderr_in_file(errors):
        settle_memory()
        app.run(mouse=False)
    exit_as(app, errors)


ARCHIVE_ONLY = "An archive is for looking only; mark and note in a log of this station."


def kit_or_none(kit: Path | None) -> tuple[Kit, str]:
    """The kit in a file, or an empty one with the sentence why the file can't be used."""
    try:
        return named_kit(kit), ""
    except KitError as error:
        return Kit(), f"The kit is left out: {str(error).splitlines()[0]}"


def run_ledger(log: str, kit: Path | None) -> None:
    """The ledger alone: marks, notes and their undo go into the log, where no bench has it open; else it only shows.

    kit  a kit file, for what a hand-over reckons by it; one that can't be used is told on the screen
    Raises LogError.
    """
    own, told = kit_or_none(kit)
    try:
        with LogReader.looking(log) as reader:
            acts = None if is_archive(log) else LogActs(Path(log))
            app = StillsetApp(reader=reader, acts=acts, read_only="" if acts else ARCHIVE_ONLY, kit=own)
            if told:
                app.model.hear(Said(told), app.clock.monotonic_s())
            errors = error_file(Path(log))
            with stderr_in_file(errors):
                settle_memory()
                app.run(mouse=False)
            if acts:
                acts.close()
        exit_as(app, errors)
    except OSError as error:
        raise LogError(f"The error file beside the log can't be written: {error.strerror}.") from error
