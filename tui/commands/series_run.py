"""`stillset series run`: a focus series shot without a screen, by the camera's drive or by a hand that is told."""

from __future__ import annotations

import json
import sys
from typing import Any

import click

from session.frame.ports import SystemClock
from session.frame.series_plane import Approach, MovedBy
from tui.commands.series_log import series_object
from tui.shell.choices import camera_options, choices_from, json_option, log_option, place_options, setup_options
from tui.shell.options import quantity
from tui.shell.troubles import NOT_ALL
from tui.words.harmless import harmless


@click.command(name="run")
@log_option
@camera_options
@place_options
@setup_options
@quantity("depth_needed_mm", "Depth that must be sharp; else the set-up's.")
@click.option("--frames", type=click.IntRange(1, 10_000), default=None, help="As many frames; instead of a depth.")
@click.option(
    "--by",
    "moved_by",
    type=click.Choice([one.value for one in MovedBy]),
    default=None,
    help="What moves; else the drive where the camera has one, or the rail.",
)
@click.option(
    "--from",
    "approach",
    type=click.Choice([one.value for one in Approach]),
    default=None,
    help="The end that it begins at; else the near one.",
)
@quantity("steps_per_mm", "Steps of the drive for 1 mm of focus; else as measured, by the kit.")
@click.option("--anew", is_flag=True, help="Plan another series although the view has one.")
@click.option("--as-it-stands", is_flag=True, help="Where the set moved for good: shoot the frames of before again.")
@click.option("--yes", is_flag=True, help="Ask nothing: the focus stands where the series begins, gaps are shot too.")
@json_option
def run_series(moved_by: str | None, approach: str | None, yes: bool, as_json: bool, **options: Any) -> None:
    """Shoot the view's focus series: shows the plan, asks, shoots plane by plane, and tells what was sharp.

    The same command goes on with a series that was interrupted. By hand each plane is told, and a line (enter) on the
    standard input says that the hands are off; its end pauses the series.

    Exit code 0: covered, as far as it can be told; 1: paused, or nothing shot; 3: a rule refused a frame; 4: shot, but
    something of the piece was never sharp, a frame differs from those beside it, or nothing can be told.
    """
    from tui.headless.headless_series import HeadlessSeries, SeriesWish  # noqa: PLC0415
    from tui.headless.headless_shoot import headless  # noqa: PLC0415

    if options["frames"] is not None and options["depth_needed_mm"] is not None:
        raise click.UsageError(f"{options['frames']} frames or {options['depth_needed_mm']:g} mm: give one of them")
    wish = SeriesWish(
        options["depth_needed_mm"],
        options["frames"],
        MovedBy(moved_by) if moved_by else None,
        Approach(approach) if approach else None,
        options["steps_per_mm"],
        options["anew"],
        options["as_it_stands"],
    )

    def say(text: str) -> None:
        click.echo(harmless(text), err=as_json)

    def ask(question: str) -> bool:
        if yes:
            return True
        return sys.stdin.isatty() and click.confirm(harmless(question), err=as_json)

    def hand(words: str) -> bool:
        say(f"{words} [enter]")
        return bool(sys.stdin.readline())

    with headless(choices_from(options), say) as run:
        series = HeadlessSeries(run, wish, say, ask, hand, SystemClock().now().date())
        look = series.shoot()
        rows, outcomes = series.records(), run.open_shoot.reader.series_outcomes()
    if as_json:
        click.echo(json.dumps(series_object(rows, outcomes)))
    if not look.whole and (look.todo_mm or len(look.best) > 1):  # of one frame its own checks tell
        click.get_current_context().exit(NOT_ALL)
