"""`stillset reshoot`: build an old set-up again and compare its first frames with the old reference."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict, replace
from datetime import datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.shell.choices import Choices, Label, camera_options, choices_from, json_option, log_option
from tui.shell.options import NewFile, argument
from tui.shell.terminal import say_opening
from tui.shell.troubles import CommandFailed
from tui.words.harmless import harmless

if TYPE_CHECKING:
    from collections.abc import Iterator

    from session.match.reshoot_steps import ReshootStep
    from session.match.solo_series import SeriesFrame
    from session.match.substitutes import Substitutes
    from session.set.kit import Kit
    from session.set.setup import Revision
    from storage.reading.log_reader import LogReader
    from storage.reading.views import FrameRecord
    from tui.shell.repeated_series import LoggedSeries
    from tui.shell.reshot import Reshot


NOT_MEASURED = (
    "Nothing is measured: here frames count 12 hours after the one before them, at the match screen from its opening."
)


@click.command()
@argument("label", metavar="SETUP", type=Label())
@log_option
@camera_options
@click.option("--job", default="", help="The job; else the last one.")
@click.option("--piece", default="", help="The piece on the table; else the one of the set-up's reference.")
@click.option("--view", default="", help="The picture wanted; else that of the reference.")
@click.option(
    "--list", "list_only", is_flag=True, help="Only list what is to be done, by the newest frames; no camera."
)
@click.option(
    "--report",
    type=NewFile(),
    metavar="FILE",
    help="Only write the match report, a page or FILE.pdf, by the newest frames; no camera.",
)
@click.option("--other-body", default="", metavar="NAME", help="With --list: what this body of the kit changes.")
@click.option("--other-lens", default="", metavar="NAME", help="With --list: what this lens of the kit changes.")
@click.option(
    "--other-flash",
    "flashes",
    multiple=True,
    metavar="LIGHT=FLASH",
    help="With --list: what this flash of the kit changes in a light's place; may be repeated.",
)
@click.option(
    "--lost-shaper",
    "unshaped",
    multiple=True,
    metavar="LIGHT",
    help="With --list: what changes without the shaper of this light; may be repeated.",
)
@click.option("--headless", is_flag=True, help="No screen: settings back on the camera, then --frames frames.")
@click.option("--frames", type=click.IntRange(0, 1000), default=1, show_default=True)
@json_option
def reshoot(
    label: str,
    list_only: bool,
    report: Path | None,
    other_body: str,
    other_lens: str,
    flashes: tuple[str, ...],
    unshaped: tuple[str, ...],
    headless: bool,
    frames: int,
    as_json: bool,
    **options: Any,
) -> None:
    """Build SETUP (like 07.3) again: puts its settings on the camera, and opens the match screen, which says step by
    step what the hands must do, and compares each frame with the old reference.
    """
    instead = _substitutes(other_body, other_lens, flashes, unshaped)
    if instead is not None and not list_only:
        raise click.UsageError("substitutes are told with --list")
    list_only = list_only or report is not None
    at_terminal = sys.stdin.isatty() and sys.stdout.isatty() and not (list_only or headless)
    if at_terminal:
        say_opening("the log")
    choices = _at_the_reference(replace(choices_from(options), setup=label))
    if report is not None:
        _write_report(choices, report)
        return
    if not at_terminal:
        _print_plan(choices, instead, as_json)
        if not list_only:
            _headless(choices, frames, as_json)
        return
    say_opening("the match screen")
    from tui.app.run import run_bench  # noqa: PLC0415

    run_bench(choices)


def _substitutes(body: str, lens: str, flashes: tuple[str, ...], unshaped: tuple[str, ...]) -> Substitutes | None:
    """What the options put in the place of things of then; None without any. Raises click.UsageError."""
    from session.match.substitutes import Substitutes  # noqa: PLC0415

    pairs = [text.partition("=") for text in flashes]
    for text, (light, _, flash) in zip(flashes, pairs, strict=True):
        if not light or not flash:
            raise click.UsageError(f"--other-flash is written like key=FLASH, not {harmless(text, 40)!r}")
    twice = next((light for n, (light, _, _) in enumerate(pairs) if light in [one for one, _, _ in pairs[:n]]), None)
    if twice is not None:
        raise click.UsageError(f"--other-flash names {harmless(twice, 40)!r} twice")
    found = Substitutes(body, lens, {light: flash for light, _, flash in pairs}, frozenset(unshaped))
    return found if found != Substitutes() else None


def _refuse_unknown(instead: Substitutes, revision: Revision, kit: Kit, reference: FrameRecord | None) -> None:
    """Raise click.UsageError for what the kit or the set doesn't have."""
    from session.match.substitutes import with_substitutes  # noqa: PLC0415

    known = (reference.camera_serial, reference.camera_model) if reference else ("", "")
    try:
        with_substitutes(revision, kit, kit.body_for(revision.body, *known), instead)
    except ValueError as error:
        raise click.UsageError(str(error)) from None


def _at_the_reference(choices: Choices) -> Choices:
    """Job, piece and view of the set-up's reference where the options name none. Raises click.UsageError."""
    from session.frame.ports import Place  # noqa: PLC0415
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from tui.shell.measured_set import reference_of  # noqa: PLC0415

    with LogReader.looking(choices.log) as reader:
        last = reader.last_place(choices.job)
        job = choices.job or (last.job if last else "")
        found = reader.revision(job, choices.setup)
        if found is None and not choices.job:
            others = [row.name for row in reader.jobs() if reader.revision(row.name, choices.setup) is not None]
            if len(others) > 1:
                names = ", ".join(repr(harmless(name, 40)) for name in others)
                raise click.UsageError(f"set-up {choices.setup} is in several jobs; choose with --job: {names}")
            job = others[0] if others else job
            found = reader.revision(job, choices.setup)
            last = reader.last_place(job)
        if found is None:
            raise click.UsageError(f"job {job!r} has no set-up {choices.setup}")
        row = next((r for r in reader.setups(job) if r.number == found[0].setup_number), None)
        references = dict(row.references) if row else {}
        piece = choices.piece or next(iter(references), last.piece if last else "")
        reference = reference_of(reader, Place("", "", "", job, piece, choices.view), found[0].setup_number)
    view = choices.view or (reference.view if reference else "")
    return replace(choices, job=job, piece=piece, view=view, building=True)


def _read_reshot(reader: LogReader, choices: Choices) -> Reshot:
    from session.frame.ports import Place  # noqa: PLC0415
    from session.match.reshoot_steps import Reshoot  # noqa: PLC0415
    from tui.shell.build import kit_of  # noqa: PLC0415
    from tui.shell.match_look import read_reshoot  # noqa: PLC0415
    from tui.shell.reshot import Reshot, place_named  # noqa: PLC0415

    found = reader.revision(choices.job, choices.setup)
    assert found is not None
    named = place_named(reader, choices.job, choices.piece, choices.view)
    place = named or Place("", "", "", choices.job, choices.piece, choices.view)
    reshoot, kit, row = Reshoot(*found), kit_of(choices), reader.job_named(choices.job)
    return Reshot(row.client if row else "", place, reshoot, read_reshoot(reader, place, reshoot, kit), kit)


def _write_report(choices: Choices, file: Path) -> None:
    """Write the match report, never over a file that is there."""
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from tui.commands.page_file import put_page  # noqa: PLC0415
    from tui.paper.match_page import match_facts, match_html  # noqa: PLC0415
    from tui.words.match_words import report_line  # noqa: PLC0415

    with LogReader.looking(choices.log) as reader:
        found = _read_reshot(reader, choices)
    facts = match_facts(found, f"stillset {version('stillset')}", datetime.now().astimezone().date())
    put_page(file, (match_html(facts),), f"match report of set-up {found.reshoot.revision.label}")
    large, sentence = report_line(facts.look.steps)
    click.echo(harmless(f"{large}: {sentence}"))


def _print_plan(choices: Choices, instead: Substitutes | None, as_json: bool) -> None:
    """Print the steps, with what the newest frames tell of each against the reference, and what was said of them."""
    from session.match.match_steps import StepState  # noqa: PLC0415
    from session.set.set_cautions import set_cautions  # noqa: PLC0415
    from session.shoot.changes import other_revision_text  # noqa: PLC0415
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from tui.shell.match_look import look_back  # noqa: PLC0415
    from tui.words.match_words import frame_told, said_words, state_words  # noqa: PLC0415
    from tui.words.series_words import repeat_words  # noqa: PLC0415

    with LogReader.looking(choices.log) as reader:
        found = _read_reshot(reader, choices)
    revision, reference = found.reshoot.revision, found.logged.reference
    if instead is not None:
        _refuse_unknown(instead, revision, found.kit, reference)
    look = look_back(found.logged, found.reshoot, found.kit, datetime.now().astimezone(), instead)
    measured = look.measured
    if as_json:
        told = {
            "setup": revision.label,
            "steps": [{**asdict(one.step), **_shot(one), "said": said_words(one)} for one in look.steps],
            "instead": {one.step.key: one.instead for one in look.steps if one.instead},
            "cautions": set_cautions(revision),
            "series": _series_object(look.series.then),
            "reference": reference.number if reference else None,
            "reference_setup": reference.setup if reference else None,
            "frame": measured.frame.number if measured.frame else None,
            "frame_asked_at": measured.frame.asked_at.isoformat() if measured.frame else None,
        }
        click.echo(json.dumps(told))
        return
    click.echo(f"Set-up {revision.label} of {harmless(choices.job)}: {harmless(choices.piece)}")
    for one in look.steps:
        step = one.step
        click.echo(f"  {harmless(step.name)}: {harmless(step.recorded)}")
        shot = frame_told(one.shot) if one.shot and step.measured else ""
        left = "" if one.is_settled and step.state is not StepState.CANT_TELL else step.to_do
        told_of_it = (state_words(one).upper(), step.measured, shot, left, said_words(one))
        if step.state is not StepState.OPEN or one.said is not None or step.measured:
            click.echo(f"      {harmless(' · '.join(part for part in told_of_it if part))}")
        for change in one.instead:
            click.echo(f"      instead: {harmless(change)}")
    if (then := look.series.then) is not None:
        click.echo(f"  focus series: {repeat_words(then.plan, then.numbers)}")
    for line in _reference_lines(reference, measured.frame, choices):
        click.echo(line)
    differs = other_revision_text(reference.number, reference.revision, revision) if reference else ""
    if differs:
        click.echo(f"  {harmless(differs)}")
    for caution in set_cautions(revision):
        click.echo(f"  ! {caution}")


def _series_object(then: LoggedSeries | None) -> dict[str, object] | None:
    """The focus series of the reference's view; None where it was none."""
    if then is None:
        return None
    plan = then.plan
    told = {"frames": then.numbers, "planes": plan.frames, "step_mm": plan.step_mm, "depth_mm": plan.depth_mm}
    return {**told, "moved_by": plan.moved_by.value, "approach": plan.approach.value, "outcome": then.outcome}


def _shot(one: ReshootStep) -> dict[str, object]:
    """Number and time of the frame that a step was measured by; None where nothing was."""
    shot = one.shot if one.step.measured else None
    return {"frame": shot.number if shot else None, "asked_at": shot.asked_at.isoformat() if shot else None}


def _reference_lines(reference: FrameRecord | None, frame: SeriesFrame | None, choices: Choices) -> Iterator[str]:
    """Sentences on the reference, and on the frame that is measured against it."""
    from storage.reading.shown_picture import shown_picture  # noqa: PLC0415

    if reference is None:
        yield "  It has no reference; the first good frame can become one."
        return
    shown = shown_picture(reference)
    stands_in = f", {shown.told}: its files aren't there, and focus can't be compared" if shown and shown.told else ""
    other = reference.piece.casefold() != choices.piece.casefold()
    of = f" of {harmless(reference.piece, 40)}, since this piece has none of its own" if other else ""
    yield f"  Its reference is frame {reference.number}{of}{stands_in}."
    if frame is None:
        yield f"  {NOT_MEASURED}"
    else:
        yield f"  Measured is frame {frame.number}, shot on {frame.asked_at.astimezone().date()}."


def _headless(choices: Choices, frames: int, as_json: bool) -> None:
    from session.frame.states import FrameState  # noqa: PLC0415
    from storage.reading.json_lines import line  # noqa: PLC0415
    from tui.headless.headless_shoot import headless, shoot_frames  # noqa: PLC0415

    def say(text: str) -> None:
        click.echo(harmless(text), err=as_json)

    with headless(choices, say) as run:
        rows, ended = shoot_frames(run, frames, {}, False, say)
        for row in rows if as_json else ():
            click.echo(line(row))
    if ended:
        raise ended
    unwell = [row for row in rows if row.state is not FrameState.LOGGED]
    if unwell:
        raise CommandFailed(f"{len(unwell)} of {frames} frames need a look; see `stillset log frames`.")
