"""`stillset shoot`: the bench beside the tripod, or a shoot without a screen for scripts and tests."""

from __future__ import annotations

import os
import sys
from typing import Any

import click

from tui.shell.choices import camera_options, choices_from, json_option, log_option, place_options, setup_options
from tui.shell.terminal import can_show_screens, say_opening
from tui.words.harmless import harmless


@click.command()
@log_option
@camera_options
@place_options
@setup_options
@click.option("--headless", is_flag=True, help="No screen: release, check and log --frames frames.")
@click.option("--plain", is_flag=True, help="The bench as lines, for a screen reader; the keys stay the same.")
@click.option("--frames", type=click.IntRange(1, 100_000), default=1, show_default=True, help="How many, headless.")
@click.option("--overrule", "overruled", multiple=True, metavar="RULE", help="Release though this rule says stop.")
@click.option("--reason", default="", help="Why it is overruled; goes into the log with the frame.")
@click.option(
    "--reference",
    type=click.Choice(["first", "none"]),
    default="first",
    show_default=True,
    help="Headless, where the set-up has no reference yet: take the first clean frame as one, or go without.",
)
@click.option(
    "--ambient",
    is_flag=True,
    help="Headless: release one frame to measure the ambient light; says that the lights of the set are off.",
)
@json_option
def shoot(
    headless: bool,
    plain: bool,
    frames: int,
    overruled: tuple[str, ...],
    reason: str,
    reference: str,
    ambient: bool,
    as_json: bool,
    **options: Any,
) -> None:
    """Shoot: opens the bench beside the tripod; with --headless it releases and logs without a screen.

    Settings and lights given here make or change the set-up. A rule that says stop ends it with exit code 3
    unless it is overruled with a reason.
    """
    if overruled and not reason.strip():
        raise click.UsageError(f"overruling {', '.join(overruled)} takes a reason: --reason TEXT")
    _require_rules(overruled)
    if plain and headless:
        raise click.UsageError("--plain is for the bench, --headless goes without one")
    if ambient and (not headless or frames != 1 or overruled):
        raise click.UsageError("--ambient goes with --headless, and with neither --frames nor --overrule")
    choices = choices_from(options)
    if ambient:
        _ambient(choices, as_json)
        return
    if headless:
        _headless(choices, frames, dict.fromkeys(overruled, reason), reference == "first", as_json)
        return
    if not sys.stdin.isatty() or not sys.stdout.isatty():
        raise click.UsageError("there is no terminal for the bench; use --headless")
    if not plain and not can_show_screens():
        raise click.UsageError(
            f"this terminal, {os.environ.get('TERM')}, can't show the bench; use --plain or --headless"
        )
    say_opening("the bench")
    from tui.app.run import run_bench  # noqa: PLC0415 - Textual only when there is a screen

    run_bench(choices, plain=plain)


def _require_rules(overruled: tuple[str, ...]) -> None:
    """Raises click.UsageError for a rule that there isn't: it would overrule nothing, and stop a script at night."""
    from session.rules import CAN_STOP  # noqa: PLC0415 - optics and more, for those who overrule

    unknown = [rule for rule in overruled if rule not in CAN_STOP]
    if unknown:
        names = ", ".join(repr(harmless(rule, 60)) for rule in unknown)
        raise click.UsageError(f"there is no rule {names} to overrule; there are {', '.join(CAN_STOP)}")


def _headless(choices: Any, frames: int, overrulings: dict[str, str], accept_first: bool, as_json: bool) -> None:
    from session.frame.states import FrameState  # noqa: PLC0415
    from storage.reading.json_lines import line  # noqa: PLC0415
    from tui.headless.headless_shoot import headless, shoot_frames  # noqa: PLC0415
    from tui.shell.troubles import CommandFailed  # noqa: PLC0415

    def say(text: str) -> None:
        click.echo(harmless(text), err=as_json)

    with headless(choices, say) as run:
        rows, ended = shoot_frames(run, frames, overrulings, accept_first, say)
        for row in rows if as_json else ():
            click.echo(line(row))
        unwell = [row for row in rows if row.state is not FrameState.LOGGED]
        if rows:
            say(f"{len(rows) - len(unwell)} of {frames} frames saved in {choices.folder}.")
    if ended:
        raise ended
    if unwell:
        raise CommandFailed(f"{len(unwell)} of {frames} frames need a look; see `stillset log frames`.")


def _ambient(choices: Any, as_json: bool) -> None:
    from storage.reading.json_lines import line  # noqa: PLC0415
    from tui.headless.headless_shoot import headless, measure_ambient  # noqa: PLC0415

    def say(text: str) -> None:
        click.echo(harmless(text), err=as_json)

    with headless(choices, say) as run:
        row, ended = measure_ambient(run)
        if row and as_json:
            click.echo(line(row))
    if ended:
        raise ended
