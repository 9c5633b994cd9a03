"""`stillset shoot`: the bench beside the tripod, or a shoot without a screen for scripts and tests."""

from __future__ import annotations

import sys
from typing import Any

import click

from tui.choices import camera_options, choices_from, json_option, log_option, place_options, setup_options


@click.command()
@log_option
@camera_options
@place_options
@setup_options
@click.option("--headless", is_flag=True, help="No screen: release, check and log --frames frames.")
@click.option("--frames", type=click.IntRange(1, 100_000), default=1, show_default=True, help="How many, headless.")
@click.option("--overrule", "overruled", multiple=True, metavar="RULE", help="Release though this rule says stop.")
@click.option("--reason", default="", help="Why it is overruled; goes into the log with the frame.")
@click.option(
    "--reference",
    type=click.Choice(["first", "none"]),
    default="first",
    show_default=True,
    help="Headless, where the set-up has no reference yet: take the first frame as one, or go without.",
)
@json_option
def shoot(
    headless: bool, frames: int, overruled: tuple[str, ...], reason: str, reference: str, as_json: bool, **options: Any
) -> None:
    """Shoot: opens the bench beside the tripod; with --headless it releases and logs without a screen.

    Settings and lights given here make or change the set-up. A rule that says stop ends it with exit code 3
    unless it is overruled with a reason.
    """
    if overruled and not reason.strip():
        raise click.UsageError("overruling a rule takes a reason: --reason TEXT")
    choices = choices_from(options)
    if headless:
        _headless(choices, frames, dict.fromkeys(overruled, reason), reference == "first", as_json)
        return
    if not sys.stdin.isatty() or not sys.stdout.isatty():
        raise click.UsageError("there is no terminal for the bench; use --headless")
    from tui.bench_run import run_bench  # noqa: PLC0415 - Textual only when there is a screen

    run_bench(choices)


def _headless(choices: Any, frames: int, overrulings: dict[str, str], accept_first: bool, as_json: bool) -> None:
    from session.frame import FrameState  # noqa: PLC0415
    from storage.json_lines import line  # noqa: PLC0415
    from tui.build import Table  # noqa: PLC0415
    from tui.headless import Headless, verdict_line  # noqa: PLC0415
    from tui.troubles import Failed, Stopped  # noqa: PLC0415

    def say(text: str) -> None:
        click.echo(text, err=as_json)

    table = Table(choices)
    run = Headless(table, say)
    table.start()
    released: list[str] = []
    troubles: list[str] = []
    try:
        run.connect()
        has_reference = bool(run.ask(lambda desk: desk.reference()))
        for _ in range(frames):
            moved = run.release(overrulings)
            if moved is None:
                raise Failed("The frame came to nothing within the time; look at the camera.")
            if moved.state is FrameState.REFUSED:
                raise Stopped(moved.text)
            if moved.state not in (FrameState.SAVED, FrameState.LOGGED):
                troubles.append(moved.text)
                say(moved.text)
                continue
            released.append(moved.frame_id)
            if accept_first and not has_reference and run.judged(moved.frame_id):
                run.accept(moved.frame_id)
                say(f"Frame {moved.number} is the set-up's reference from now on.")
                has_reference = True
        for frame_id in released:
            judged = run.judged(frame_id)
            if not run.logged(frame_id) or judged is None:
                troubles.append(f"frame {frame_id} was not wholly logged")
            elif as_json:
                row = table.reader.frame(frame_id)
                assert row is not None
                click.echo(line(row))
            else:
                say(verdict_line(judged))
    finally:
        table.close()
    say(f"{len(released)} frames saved in {choices.folder}.")
    if troubles:
        raise Failed(f"{len(troubles)} of {frames} frames need a look: " + " ".join(troubles))
