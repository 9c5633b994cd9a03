"""`stillset series list` and `show`: the focus series that the log has, with their planes."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from tui.shell.choices import choices_from, json_option, log_option
from tui.shell.options import argument
from tui.words.harmless import harmless

if TYPE_CHECKING:
    from storage.reading.log_reader import LogReader
    from storage.reading.views import FrameRow


@click.command(name="list")
@log_option
@click.option("--job", default="", help="The series' job; else the last one.")
@json_option
def list_series(as_json: bool, **options: Any) -> None:
    """List the focus series of a job, newest last, with frames, planes and outcome."""
    choices = choices_from(options)
    told = [series_object(rows, outcomes) for rows, outcomes in _series_in(choices.log, choices.job)]
    if as_json:
        click.echo(json.dumps(told))
        return
    for one in told:
        names = f"{harmless(one['piece'], 40)} · {harmless(one['view'], 40)}"
        click.echo(f"{one['frames'][0]}-{one['frames'][-1]}  {one['said']}  {one['step_mm']:.2f} mm apart  {names}")
    if not told:
        click.echo("No focus series.")


@click.command()
@argument("frame", type=click.IntRange(1))
@log_option
@click.option("--job", default="", help="The frame's job; else the last one.")
@json_option
def show(frame: int, as_json: bool, **options: Any) -> None:
    """Show the focus series that FRAME, a number of the log, is of, with the frame of each plane."""
    choices = choices_from(options)
    series = [series_object(*one) for one in _series_in(choices.log, choices.job)]
    of_frame = [one for one in series if frame in one["frames"]]
    if not of_frame:
        raise click.UsageError(f"frame {frame} is in no focus series of the job")
    (told,) = of_frame
    if as_json:
        click.echo(json.dumps(told))
        return
    how = f"by the {told['moved_by']}, from the {told['approach']} end"
    click.echo(f"{told['said']}, {told['step_mm']:.2f} mm apart, {how}")
    for plane in told["planes"]:
        number = plane["frame"] or "none"
        click.echo(f"{plane['plane_mm']:8.2f} mm  {plane['name']}: frame {number}")
    if told["outcome"]:
        click.echo(harmless(told["outcome"], 2000))


def _series_in(log: Any, job: str) -> list[tuple[list[FrameRow], dict[str, str]]]:
    """The rows of each series of a job as they were shot, and frame's key → outcome."""
    from storage.reading.log_reader import LogReader  # noqa: PLC0415

    with LogReader.looking(log) as reader:
        return _rows_by_series(reader, job)


def _rows_by_series(reader: LogReader, job: str) -> list[tuple[list[FrameRow], dict[str, str]]]:
    from storage.reading.views import FrameFilter  # noqa: PLC0415

    place = reader.last_place(job)
    outcomes = reader.series_outcomes()
    found: dict[str, list[FrameRow]] = {}
    for row in reader.frames(FrameFilter(job=job or (place.job if place else ""))):
        if row.series is not None:
            found.setdefault(row.series.series_id, []).append(row)
    return [(rows, outcomes) for rows in found.values()]


def series_object(rows: Sequence[FrameRow], outcomes: dict[str, str]) -> dict[str, Any]:
    """A series for machines; the newest frame of a plane counts."""
    from session.frame.shot_plane import newest_by_plane, same_plane  # noqa: PLC0415
    from tui.words.series_words import series_row_words  # noqa: PLC0415

    plan = rows[-1].series
    assert plan is not None
    best = newest_by_plane(row.shot_plane for row in rows if row.shot_plane)
    added = (one.plane for one in best if not any(same_plane(one.plane, mm) for mm in plan.planes_mm))
    places = [*plan.planes_mm, *(plane.plane_mm for plane in added)]
    planes = []
    for mm in sorted(places):
        shot = next((one for one in best if same_plane(one.plane, mm)), None)
        name = shot.plane.name if shot else replace(plan, plane_mm=mm).name
        planes.append({"plane_mm": mm, "name": name, "frame": shot.number if shot else None})
    return {
        "series_id": plan.series_id,
        "job": rows[0].job,
        "piece": rows[0].piece,
        "view": rows[0].view,
        "setup": rows[0].setup,
        "said": series_row_words(rows, outcomes),
        "frames": [row.number for row in rows],
        "step_mm": plan.step_mm,
        "depth_mm": plan.depth_mm,
        "moved_by": plan.moved_by.value,
        "approach": plan.approach.value,
        "planes": planes,
        "outcome": next((outcomes[row.frame_id] for row in reversed(rows) if row.frame_id in outcomes), ""),
    }
