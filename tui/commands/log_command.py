"""`stillset log`: look back. The ledger screen at a terminal; jobs, frames, set-ups, notes as text or JSON."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable
from contextlib import closing
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from session.frame.finding import FocusVerdict
from session.frame.states import FrameState, ReleasedBy
from session.units.numbers import f_text, mm_text, power_text, time_text
from tui.commands.filters import end_moment, frame_filter, frame_filters, moment, time_filters
from tui.commands.settle_command import settle
from tui.shell.choices import default_log, json_option, log_option
from tui.shell.options import NewFile, argument
from tui.shell.terminal import can_show_screens, say_opening
from tui.shell.troubles import CommandFailed
from tui.words.harmless import NAME_CHARS, harmless
from tui.words.wording import verdict_words

if TYPE_CHECKING:
    from storage.reading.log_reader import LogReader
    from storage.reading.stats import Stats
    from storage.reading.views import FrameRecord, FrameRow


@click.group(invoke_without_command=True)
@log_option
@click.option(
    "--kit",
    type=click.Path(path_type=Path),
    envvar="STILLSET_KIT",
    help="Kit file, for the match reports of a hand-over (H); else STILLSET_KIT.",
)
@click.pass_context
def log(ctx: click.Context, log: str | None, kit: Path | None) -> None:
    """Look back: opens the ledger; without a terminal it prints the frames.

    Works with no camera, and while another stillset shoots. Marks and notes can be given where none does.
    """
    ctx.obj = log or default_log()
    if ctx.invoked_subcommand is not None:
        return
    if sys.stdin.isatty() and sys.stdout.isatty() and can_show_screens():
        say_opening("the ledger")
        from tui.app.run import run_ledger  # noqa: PLC0415

        run_ledger(ctx.obj, kit)
    else:
        ctx.invoke(frames)


def _reader(ctx: click.Context, log: str | None) -> LogReader:
    from storage.reading.log_reader import LogReader  # noqa: PLC0415

    return ctx.with_resource(LogReader.looking(log or ctx.obj or default_log()))


@log.command()
@log_option
@json_option
@click.pass_context
def jobs(ctx: click.Context, log: str | None, as_json: bool) -> None:
    """List the jobs, the one worked on last first."""
    rows = _reader(ctx, log).jobs()
    if as_json:
        _json_lines(asdict(row) for row in rows)
        return
    for row in rows:
        client = f" for {_short(row.client)}" if row.client else ""
        counts = f"{_count_text(row.piece_count, 'piece')}, {_count_text(row.frame_count, 'frame')}"
        click.echo(f"{_short(row.name)}{client}: {counts}")
    _said_when_empty(rows, "no jobs")


@log.command()
@log_option
@frame_filters
@click.option("--newest", type=click.IntRange(1), default=None, metavar="N", help="Only the newest N, newest first.")
@json_option
@click.option("--csv", "as_csv", is_flag=True, help="Print CSV, a line of names first; see docs/shell.md on cells.")
@click.pass_context
def frames(
    ctx: click.Context, /, log: str | None, newest: int | None, as_json: bool, as_csv: bool, **wanted: Any
) -> None:
    """Find frames, by job and number; with --json one object a line, with --csv a table."""
    if as_json and as_csv:
        raise click.UsageError("--json and --csv are two things; give one of them.")
    reader, narrowed = _reader(ctx, log), frame_filter(**wanted)
    if as_json or as_csv:
        _print_records(reader.records(narrowed, newest_first=newest is not None, limit=newest), as_csv)
        return
    several, count = not narrowed.job and len(reader.jobs()) > 1, 0
    for row in reader.records(narrowed, newest_first=newest is not None, limit=newest):
        click.echo(full_line(row, with_job=several))
        count += 1
    _said_when_empty(count, "no frames")


def _print_records(records: Iterable[FrameRecord], as_csv: bool) -> None:
    from storage.reading import csv_lines, json_lines  # noqa: PLC0415

    if as_csv:
        click.echo(csv_lines.header(), nl=False)
    for record in records:
        click.echo(csv_lines.line(record) if as_csv else json_lines.line(record), nl=not as_csv)


@log.command()
@log_option
@click.option("--job", default="", help="Of this job; else of all.")
@json_option
@click.pass_context
def setups(ctx: click.Context, log: str | None, job: str, as_json: bool) -> None:
    """List the set-ups with their lights."""
    reader = _reader(ctx, log)
    rows = [(name, row) for name in ([job] if job else [j.name for j in reader.jobs()]) for row in reader.setups(name)]
    if as_json:
        _json_lines({"job": name, **asdict(row), "setup": row.latest.label} for name, row in rows)
        return
    for name, row in rows:
        settings = row.latest.settings
        lights = ", ".join(f"{harmless(light.name)} {power_text(light.power_ev)}" for light in row.latest.lights)
        click.echo(
            f"{row.latest.label:<8}{_short(name)}: {time_text(settings.exposure_s)}, {f_text(settings.f_number)}, "
            f"ISO {settings.iso}; {lights or 'no lights'}; {_count_text(row.frame_count, 'frame')}"
        )
    _said_when_empty(rows, "no set-ups")


@log.command()
@log_option
@click.option("--job", default="", help="Of this job; else of all.")
@json_option
@click.pass_context
def notes(ctx: click.Context, log: str | None, job: str, as_json: bool) -> None:
    """List what was noted."""
    rows = _reader(ctx, log).notes(job)
    if as_json:
        _json_lines(asdict(row) for row in rows)
        return
    for row in rows:
        click.echo(f"{_short(row.job)}, frame {row.number}, {_short(row.piece)}: {harmless(row.text)}")
    _said_when_empty(rows, "no notes")


@log.command()
@log_option
@click.option("--kind", default="", help="Only events of this kind, like refused, mark, camera.")
@json_option
@click.pass_context
def events(ctx: click.Context, log: str | None, kind: str, as_json: bool) -> None:
    """List what happened, oldest first: refusals, lost cables, marks, changes."""
    rows = _reader(ctx, log).events(kind)
    if as_json:
        _json_lines(asdict(row) for row in rows)
        return
    for row in rows:
        click.echo(f"{row.at.astimezone():%Y-%m-%d %H:%M:%S}  {harmless(row.kind):<12} {harmless(row.text)}")
    _said_when_empty(rows, "no events")


@log.command()
@log_option
@click.option("--job", default="", help="Of this job; else of all.")
@time_filters
@json_option
@click.pass_context
def stats(ctx: click.Context, log: str | None, job: str, since: str | None, until: str | None, as_json: bool) -> None:
    """Count: misses of each set-up, time at each piece, overrulings, pops of each light."""
    found = _reader(ctx, log).stats(job, moment(since), end_moment(until))
    click.echo(json.dumps(asdict(found)) if as_json else "\n".join(_stats_lines(found)))


@log.command()
@log_option
@click.option("--job", default="", help="In this job; else in the last one.")
@click.option("--redo", is_flag=True, help="Redo what was undone last.")
@click.pass_context
def undo(ctx: click.Context, log: str | None, job: str, redo: bool) -> None:
    """Undo what was done last: a mark, a note, a reference, a change of a set-up. Frames and files stay."""
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from storage.writing.log import SqlLog  # noqa: PLC0415

    path = log or ctx.obj or default_log()
    with LogReader.looking(path) as reader:
        place = reader.last_place(job) or next(iter(reader.places(job)), None)
    if place is None:
        raise CommandFailed(
            f"There is no job {job!r} in the log {path}." if job else f"There is no job yet in the log {path}."
        )
    with closing(SqlLog.open(Path(path))) as writer:
        done = writer.redo(place) if redo else writer.undo_last(place)
    if done is None:
        raise CommandFailed(f"There is nothing to {'redo' if redo else 'undo'} in {harmless(place.job)}.")
    click.echo(f"{harmless(place.job)}: {harmless(done.text)}.")


@log.command()
@log_option
@argument("file", type=NewFile())
@click.option("--job", default="", help="Of this job; else of the last one.")
@click.option("--regions", is_flag=True, help="Hold the regions pixel for pixel, to be clicked open beside each other.")
@click.pass_context
def sheet(ctx: click.Context, log: str | None, file: Path, job: str, regions: bool) -> None:
    """Write the contact sheet to FILE, a page to look at or print: by piece and view, with what is to go.

    FILE.pdf is that page printed (extra `pdf`). Never written over an existing file.
    """
    from storage.reading.views import FrameFilter  # noqa: PLC0415
    from tui.commands.page_file import put_page  # noqa: PLC0415
    from tui.paper.sheet_page import SheetFacts, sheet_parts  # noqa: PLC0415

    reader = _reader(ctx, log)
    row = reader.job_named(job)
    if row is None:
        raise CommandFailed(f"There is no job {job!r} in this log." if job else "There is no job yet in this log.")
    records = tuple(reader.records(FrameFilter(job=row.name)))
    agent, today = f"stillset {version('stillset')}", datetime.now().astimezone().date()
    facts = SheetFacts(row.name, row.client, reader.progress(row.name), agent, today, regions)
    put_page(file, sheet_parts(facts, records), _count_text(len(records), "frame"))


log.add_command(settle)


@log.command()
@argument("damaged", type=click.Path(path_type=Path), metavar="LOG")
@argument("new", type=NewFile(), metavar="NEW")
def rescue(damaged: Path, new: Path) -> None:
    """Bring all that is whole in a damaged LOG into a NEW one, row by row, and say what is not.

    LOG is only read. Exit code 0: all of it was whole; 1: something wasn't.
    """
    from storage.database.rescue import path_of_refused  # noqa: PLC0415
    from storage.database.rescue import rescue as rescued  # noqa: PLC0415
    from storage.files.paths import previews_folder  # noqa: PLC0415
    from storage.files.set_pictures import set_pictures_folder  # noqa: PLC0415

    found, damage = rescued(damaged, new)
    lines = [line for one in found for line in one.lines()] + [f"{one.name_damage}, as it was." for one in damage]
    for line in lines:
        click.echo(harmless(line))
    if any(one.refused for one in found):
        click.echo(harmless(f"The rows that were not brought over stand as they were in {path_of_refused(new)}."))
    for folder_of in (previews_folder, set_pictures_folder):
        if os.path.isdir(folder_of(damaged)):  # noqa: PTH112 - False, too, where nobody may look
            click.echo(harmless(f"{folder_of(damaged)} becomes the new log's under the name {folder_of(new).name}."))
    count = sum(one.rows for one in found)
    frames = next(one.rows for one in found if one.table == "frame")
    told = f"{_count_text(frames, 'frame')} and {count - frames} other rows are in {new} now"
    if lines:
        raise CommandFailed(harmless(f"{told}; what is above is not whole. Keep {damaged}."))
    click.echo(harmless(f"{told}, all of them whole."))


def _stats_lines(found: Stats) -> list[str]:
    lines = ["Set-ups"]
    for at in found.setups:
        lines.append(
            f"  {at.setup:02d}  {_short(at.job)}: {_count_text(at.frames, 'frame')} = {at.sharp} sharp + {at.soft} soft"
            f" + {at.missed} missed + {at.unjudged} focus ? + {at.not_checked} not checked + {at.ambient} ambient"
            f" + {at.solo} solo + {_count_text(at.references, 'reference')}"
        )
    lines.append(f"  all: {_count_text(sum(at.frames for at in found.setups), 'frame')}")
    lines.append("Pieces (time from frame to frame, breaks of more than half an hour left out)")
    for piece in found.pieces:
        worked = timedelta(seconds=round(piece.time_s))
        lines.append(f"  {worked}  {_short(piece.piece)}, {_short(piece.job)}: {_count_text(piece.frames, 'frame')}")
    lines.append(f"  all: {_count_text(sum(piece.frames for piece in found.pieces), 'frame')}")
    lines.append("Overrulings, by frames; a frame may have several")
    lines += [f"  {row.frames:>6}  {_short(row.rule)}" for row in found.overrulings] or ["  none"]
    lines.append("Releases with the light in the set (pops, if it is a flash); a frame counts for each of its lights")
    lines += [f"  {row.pops:>6}  {_short(row.light)}" for row in found.lights] or ["  none"]
    return lines


def full_line(row: FrameRecord, *, with_job: bool = False) -> str:
    """A frame's line, with when it was released, its exposure, and its files; `with_job`: its job too."""
    at = (row.released_at or row.asked_at).astimezone()
    numbers = {name: row.camera.get(name) for name in ("exposure_s", "f_number", "iso")}
    told = {name: value for name, value in numbers.items() if isinstance(value, int | float) and value > 0}
    words = {"exposure_s": time_text, "f_number": f_text, "iso": "ISO {:.0f}".format}
    exposure = " ".join(words[name](value) for name, value in told.items())
    files = ", ".join(harmless(Path(file.path).name, 100) for file in row.files) or "no file"
    return "  ".join(
        part for part in (frame_line(row, with_job=with_job), f"{at:%Y-%m-%d %H:%M:%S}", exposure, files) if part
    )


def frame_line(row: FrameRow, *, with_job: bool = False) -> str:
    """`  42  barrel 6, three-quarter  07.3  sharp  hero  logged`; `with_job`: the set-up as `07.3 of Movement`."""
    verdict = (
        verdict_words(row.state, row.focus_verdict, row.flaw, purpose=row.purpose, is_reference=row.is_reference)
        if row.focus_verdict
        else "—"
    )
    if row.focus_verdict in (FocusVerdict.SOFT, FocusVerdict.MISSED) and row.defocus_mm is not None:
        verdict += f" {mm_text(row.defocus_mm)}"
    by = " on the camera" if row.released_by is ReleasedBy.BODY else ""
    setup = f"{row.setup} of {_short(row.job)}" if with_job else row.setup
    words = [f"{row.number:>5}  {_short(row.piece)}, {_short(row.view)}", setup, verdict, row.mark or ""]
    state = "" if row.state is FrameState.LOGGED else f"{row.state.value}: {harmless(row.text)}"
    return "  ".join(word for word in (*words, state) if word) + by


def _short(name: str) -> str:
    """A name for a line of a list."""
    return harmless(name, NAME_CHARS)


def _count_text(count: int, thing: str) -> str:
    """`1 frame`, `2 frames`."""
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def _json_lines(objects: Iterable[dict[str, Any]]) -> None:
    for found in objects:
        click.echo(json.dumps(found, default=_json_value))


def _json_value(value: object) -> object:
    return value.astimezone(UTC).isoformat() if isinstance(value, datetime) else str(value)


def _said_when_empty(found: object, words: str) -> None:
    if not found:
        click.echo(f"There are {words} in this log yet that fit.", err=True)
