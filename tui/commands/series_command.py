"""`stillset series`: what the frames of a focus series made sharp, and what is missing. See also `series_log.py`."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Sequence
from dataclasses import asdict, replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from session.set.setup import Arrangement, Revision
from session.units.numbers import mm_text, percent_text
from session.units.refusals import ImpossibleNumbersError
from tui.commands.series_log import list_series, show
from tui.commands.series_run import run_series
from tui.shell.choices import Choices, Label, choices_from, json_option, log_option
from tui.shell.options import NewFile, Refused, argument, quantity, refusing, stack_options
from tui.shell.progress import ProgressLine
from tui.shell.troubles import CommandFailed
from tui.words.harmless import harmless

if TYPE_CHECKING:
    from session.series.coverage_map import Coverage, Gap
    from session.series.depth_measured import DepthMeasured
    from session.series.series_check import SeriesFault, SeriesRun
    from session.series.series_plan import SeriesLens

NUMBERS = re.compile(r"(\d+)(?:-(\d+))?")

MOST_LISTED = 1000
"""Frames that a range may name: more is a slip in a number."""


lens_options = stack_options(
    quantity("focal_length_mm", "Focal length in use; else the set-up's."),
    quantity("f_number", "Aperture as marked on the lens; else the set-up's."),
    quantity("magnification", "Reproduction ratio, of the whole arrangement; else the set-up's."),
    quantity("pixel_pitch_um", "Distance between the sensor's pixels; else the body's by the kit."),
    quantity("blur_limit_px", "Radius of the blur that may show; else the set-up's."),
)

frames_options = stack_options(
    argument("frames", nargs=-1, required=True, metavar="FRAME..."),
    log_option,
    click.option("--job", default="", help="The frames' job; else the last one."),
    click.option("--setup", type=Label(), default="", metavar="07[.3]", help="For files: the set-up that they are of."),
    click.option(
        "--kit", type=click.Path(path_type=Path), default=None, help="Kit file (TOML), for body, glass and lens."
    ),
    lens_options,
)

order_options = stack_options(
    quantity("step_mm", "From plane to plane; else as far apart as `stillset plan` puts them."),
    click.option(
        "--rail/--ring", default=True, help="The camera was moved, or the focus ring turned, by drive or hand."
    ),
    click.option("--far-first", is_flag=True, help="The first frame is the farthest; else it is the nearest."),
)


@click.group()
def series() -> None:
    """A focus series: where its frames are sharp, what is missing, a preview of the whole."""


series.add_command(list_series)
series.add_command(show)
series.add_command(run_series)


@series.command()
@log_option
@click.option("--job", default="", help="The set-up's job; else the last one.")
@click.option("--setup", type=Label(), default="", metavar="07[.3]", help="The set-up; else the options tell the lens.")
@click.option("--kit", type=click.Path(path_type=Path), default=None, help="Kit file (TOML), for body and glass.")
@quantity("depth_needed_mm", "Depth that must be sharp; else the set-up's.")
@click.option("--frames", type=click.IntRange(1, 10_000), default=None, help="As many frames; instead of a depth.")
@lens_options
@quantity("recycling_time_s", "Of the slowest flash at its power.", 2.0)
@json_option
def plan(as_json: bool, **options: Any) -> None:
    """Tell the planes of a series before anything fires, from the near end of the depth that must be sharp."""
    from session.series.series_plan import series_of_count, series_over, time_needed_s  # noqa: PLC0415

    choices = choices_from(options)
    revision = _setup(choices) if choices.setup else None
    with refusing():
        lens = _lens(revision, choices, options)
        needed_mm = options["depth_needed_mm"] or (revision.depth_needed_mm if revision else None)
        if options["frames"] is not None:
            found = series_of_count(options["frames"], lens)
        elif needed_mm is not None:
            found = series_over(needed_mm, lens)
        else:
            raise click.UsageError("say what must be sharp: --depth-needed-mm, or --frames")
        base = revision or Revision()
        least_s = time_needed_s(
            len(found.planes_mm), options["recycling_time_s"], base.hold_off_s, 0.0, 0.0, base.settings.exposure_s
        )
    told = {
        "frames": len(found.planes_mm),
        "step_mm": found.step_mm,
        "depth_mm": found.sharp.depth_mm,
        "planes_mm": [round(plane, 4) for plane in found.planes_mm],
        "near_mm": found.near_mm,
        "far_mm": found.far_mm,
        "never_sharp": found.sharp.never_sharp,
        "least_time_s": least_s,
    }
    if as_json:
        click.echo(json.dumps(told))
        return
    places = ", ".join(f"{plane:.2f}" for plane in found.planes_mm)
    click.echo(
        f"{told['frames']} frames {found.step_mm:.2f} mm apart, each sharp over {mm_text(found.sharp.depth_mm)}."
    )
    click.echo(f"Focus {places} mm behind the near end; sharp from {found.near_mm:.2f} to {found.far_mm:.2f} mm.")
    click.echo(f"It takes {least_s:.0f} s and what transfer and moving take.")
    if found.sharp.never_sharp:
        click.echo("! Diffraction or the glass leaves no plane as sharp as allowed: open the aperture.")


@series.command()
@frames_options
@order_options
@click.option(
    "--preview",
    type=NewFile(),
    default=None,
    metavar="FILE",
    help="Write a preview of the merged picture (JPEG), its doubtful places outlined.",
)
@json_option
def check(frames: tuple[str, ...], as_json: bool, preview: Path | None, **options: Any) -> None:
    """Look where the frames of a series are sharp, in the order in which they were taken.

    FRAME is a number of the log, a range like 41-47, or a picture file. Places without fine detail can't be told and
    never count as covered. Exit code 0: all that can be told is covered; 1: something is missing, or a frame is to be
    shot again.
    """
    if preview is not None and preview.exists():
        raise click.UsageError(f"{preview} is there already; nothing is written over")
    choices = choices_from(options)
    paths, names, revision = _frames(frames, choices)
    with refusing():
        lens = _lens(revision, choices, options)
        run, step_mm = _run(paths, names, lens, options, for_preview=preview is not None)
        found = run.coverage()
    told = _object(run, found, step_mm, names)
    if preview is not None:
        _write_preview(run, found, preview)
    if as_json:
        click.echo(json.dumps({**told, "preview": str(preview) if preview else None}))
    else:
        for line in _lines(told, names):
            click.echo(line)
        if preview is not None:
            click.echo(f"Preview in {harmless(str(preview))}: to look at, not to deliver.")
    if told["gaps"] or told["faults"] or not found.judged:
        raise CommandFailed("The series isn't whole yet.")


@series.command()
@frames_options
@order_options
@click.option("--correct", default="", metavar="LENS", help="Put what they tell into the kit's lens of that name.")
@click.option("--yes", is_flag=True, help="Correct without asking.")
@json_option
def depth(frames: tuple[str, ...], as_json: bool, correct: str, yes: bool, **options: Any) -> None:
    """Compare the depth of field that the frames of a series show with the planned one.

    FRAME is as for `series check`; five frames at least, a known distance apart. Exit code 1: the frames don't tell it,
    or nothing was corrected.
    """
    from session.series.depth_measured import depth_measured  # noqa: PLC0415

    choices = choices_from(options)
    paths, names, revision = _frames(frames, choices)
    with refusing():
        lens = _lens(revision, choices, options)
        run, _ = _run(paths, names, lens, options, for_preview=False)
        found = depth_measured(run.frames, run.planes(), lens)
    if found is None:
        raise CommandFailed(
            f"These {len(names)} frames don't tell it: take five and more, of fine detail on even places."
        )
    if as_json:
        click.echo(json.dumps({**asdict(found), "differs": found.differs}))
    else:
        click.echo(
            f"Sharp in one frame by the pictures: {mm_text(found.measured_mm)} ± {percent_text(found.sd_share)}; "
            f"planned {mm_text(found.planned_mm)}."
        )
        click.echo("The two differ." if found.differs else "The two agree as far as the frames tell.")
    if correct:
        _correct(found, correct, lens, revision, choices, yes=yes, as_json=as_json)


@series.command()
@frames_options
@click.option("--steps", type=click.IntRange(1, 100_000), required=True, help="Steps of the drive between two frames.")
@json_option
def drive(frames: tuple[str, ...], as_json: bool, steps: int, **options: Any) -> None:
    """Tell what a step of the lens's focus drive is worth, from frames so many steps apart, near to far."""
    from session.picture.preview import UnreadablePicture  # noqa: PLC0415
    from session.series.plane_frame import read_plane_frame  # noqa: PLC0415
    from session.series.way_measured import measure_way  # noqa: PLC0415

    choices = choices_from(options)
    paths, names, revision = _frames(frames, choices)
    with refusing():
        lens = _lens(revision, choices, options)
        measured = []
        for path, name in zip(paths, names, strict=True):
            try:
                measured.append(read_plane_frame(path, lens.blur_limit_px, keep_colours=False))
            except UnreadablePicture as error:
                raise Refused(f"{harmless(name)} {error}") from None
        found = measure_way([steps * number for number in range(len(paths))], measured, lens, by_rail=False)
    if found is None:
        raise CommandFailed(
            f"These {len(names)} frames don't tell it: take more, farther apart, of a piece with fine detail."
        )
    way = found.way
    if as_json:
        click.echo(json.dumps({"step_mm": way.mm_per_place, "sd_mm": way.sd_mm, "contradicted": found.contradicted}))
        return
    click.echo(
        f"A step of the drive moves the focus by {1000 * way.mm_per_place:.2f} µm ± {percent_text(way.sd_share)}."
    )
    if found.contradicted:
        click.echo("! Size and blur of the pictures contradict each other: the lens isn't as simple as reckoned with.")


def _correct(
    found: DepthMeasured,
    name: str,
    lens: SeriesLens,
    revision: Revision | None,
    choices: Choices,
    *,
    yes: bool,
    as_json: bool,
) -> None:
    """Put the pupil magnification that the depth tells into the kit file. Raises CommandFailed, Refused, ValueError."""
    from session.optics.closeup import pupil_magnification_in_use  # noqa: PLC0415
    from session.set.kit_file import keep_pupil  # noqa: PLC0415 - tomlkit
    from session.set.lens_in_use import pupil_in_use  # noqa: PLC0415
    from tui.shell.build import kit_of  # noqa: PLC0415

    known = kit_of(choices).lens_for(name) if choices.kit else None
    if choices.kit is None or known is None:
        raise Refused(f"The kit has no lens {harmless(name)!r}; --kit names its file.")
    put_up = revision.arrangement if revision else Arrangement()
    if put_up.lens and kit_of(choices).lens_for(put_up.lens) != known:
        raise Refused(f"These frames were shot with {harmless(put_up.lens)}, not with {harmless(name)}.")
    if put_up.reversed or put_up.dioptres or put_up.converter != 1:
        raise Refused(
            f"{harmless(name)} wasn't alone (set-up {revision.label if revision else ''}): what is before or behind it "
            "may be what differs."
        )
    if not found.differs:
        raise CommandFailed(
            f"Nothing was corrected: {mm_text(found.measured_mm)} and {mm_text(found.planned_mm)} agree as far as the "
            "frames tell."
        )
    with refusing():
        pupil = pupil_magnification_in_use(lens.lens.f_number, found.effective_f_number, lens.lens.magnification)
    change = f"pupil magnification {pupil_in_use(known):.2f} of {harmless(name)} to {pupil:.2f}"
    question = f"Change {change} in {harmless(str(choices.kit))}?"
    if not yes and not (sys.stdin.isatty() and click.confirm(question, err=as_json)):
        raise CommandFailed(f"Nothing was corrected; --yes changes {change}.")
    keep_pupil(choices.kit, known, pupil)
    click.echo(f"Changed {change} in {harmless(str(choices.kit))}; the old value stands behind it.", err=as_json)


def _frames(wanted: Sequence[str], choices: Choices) -> tuple[list[str], list[str], Revision | None]:
    """Pictures and names of the frames, and the set-up of the first or of --setup. Raises click.UsageError."""
    if not all(NUMBERS.fullmatch(one) for one in wanted):
        return list(wanted), [Path(one).name for one in wanted], _setup(choices) if choices.setup else None
    from storage.reading.log_reader import LogReader  # noqa: PLC0415

    numbers: list[int] = []
    for one in wanted:
        match = NUMBERS.fullmatch(one)
        assert match is not None
        first, last = int(match[1]), int(match[2] or match[1])
        if abs(last - first) >= MOST_LISTED:
            raise click.UsageError(f"{one} names more than {MOST_LISTED} frames")
        numbers += range(first, last + 1) if first <= last else range(first, last - 1, -1)
    paths, revision = [], None
    with LogReader.looking(choices.log) as reader:
        place = reader.last_place(choices.job)
        job = choices.job or (place.job if place else "")
        for number in numbers:
            record = reader.frame_numbered(job, number)
            if record is None or record.picture is None:
                why = "has no such frame" if record is None else "can't show it: its file isn't here"
                raise click.UsageError(f"frame {number}: job {job!r} {why}")
            paths.append(record.picture)
            revision = revision or record.revision
    return paths, [str(number) for number in numbers], revision


def _setup(choices: Choices) -> Revision:
    from storage.reading.log_reader import LogReader  # noqa: PLC0415

    with LogReader.looking(choices.log) as reader:
        place = reader.last_place(choices.job)
        job = choices.job or (place.job if place else "")
        found = reader.revision(job, choices.setup)
    if found is None:
        raise click.UsageError(f"job {job!r} has no set-up {choices.setup}")
    return found[0]


def _lens(revision: Revision | None, choices: Choices, options: dict[str, Any]) -> SeriesLens:
    """Lens and sensor: the set-up's, with what the options say instead. Raises ValueError, click.UsageError."""
    from session.rules.situation import Situation  # noqa: PLC0415
    from session.series.series_plan import series_lens  # noqa: PLC0415
    from tui.shell.build import kit_of  # noqa: PLC0415

    missing = [name for name in ("focal_length_mm", "f_number", "magnification", "pixel_pitch_um") if not options[name]]
    if revision is None and missing:
        raise click.UsageError(
            f"files alone don't tell the lens: give --setup, or --{', --'.join(missing).replace('_', '-')} too"
        )
    given = {name: options[name] for name in ("focal_length_mm", "magnification") if options[name]}
    base = revision or Revision()
    wanted = replace(
        base,
        arrangement=replace(base.arrangement, **given),
        settings=replace(base.settings, f_number=options["f_number"] or base.settings.f_number),
        blur_limit_px=options["blur_limit_px"] or base.blur_limit_px,
    )
    if not wanted.settings.f_number:
        raise ImpossibleNumbersError(f"set-up {wanted.label} has no f-number: give --f-number")
    situation = Situation(wanted, kit_of(choices))
    return series_lens(wanted, situation.kit, situation.body, options["pixel_pitch_um"])


def _run(
    paths: Sequence[str], names: Sequence[str], lens: SeriesLens, options: dict[str, Any], *, for_preview: bool
) -> tuple[SeriesRun, float]:
    """The series with all its frames, and its step, mm. Raises Refused for a picture that can't be read."""
    from session.picture.preview import UnreadablePicture  # noqa: PLC0415
    from session.series.series_check import SeriesRun  # noqa: PLC0415
    from session.series.series_plan import series_of_count  # noqa: PLC0415

    step_mm = options["step_mm"] or series_of_count(max(2, len(paths)), lens).step_mm
    way_mm = -step_mm if options["far_first"] else step_mm
    run = SeriesRun(lens, way_mm, by_rail=options["rail"], for_preview=for_preview)
    with ProgressLine() as line:
        for number, (path, name) in enumerate(zip(paths, names, strict=True), 1):
            try:
                run.add(path)
            except UnreadablePicture as error:
                raise Refused(f"{harmless(name)} {error}") from None
            line.tell(f"{number} of {len(paths)} frames measured", number, len(paths))
        line.clear()
    return run, step_mm


def _object(run: SeriesRun, found: Coverage, step_mm: float, names: Sequence[str]) -> dict[str, Any]:
    """The outcome for machines."""
    from session.series.coverage_map import gaps  # noqa: PLC0415

    order = sorted(range(len(names)), key=lambda number: found.planes_mm[number])
    near_to_far = [names[number] for number in order]
    return {
        "frames": list(names),
        "planes_mm": [round(plane, 3) for plane in found.planes_mm],
        "step_mm": step_mm,
        "depth_mm": found.frame_depth_mm,
        "covered_share": round(found.covered_share, 4),
        "unknown_share": round(found.unknown_share, 4),
        "gaps": [_gap(gap, near_to_far, step_mm) for gap in gaps(found, step_mm)],
        "faults": [_fault(fault, names) for fault in run.faults()],
    }


def _gap(gap: Gap, near_to_far: Sequence[str], step_mm: float) -> dict[str, Any]:
    more = f"{gap.frames} {'frame' if gap.frames == 1 else 'frames'} more"
    if gap.after < 0:
        where = f"in front of {near_to_far[0]}, {mm_text(step_mm)} nearer{' each' if gap.frames > 1 else ''}"
    elif gap.after == len(near_to_far) - 1:
        where = f"behind {near_to_far[-1]}, {mm_text(step_mm)} farther{' each' if gap.frames > 1 else ''}"
    else:
        where = f"between {near_to_far[gap.after]} and {near_to_far[gap.after + 1]}"
    return {**asdict(gap), "frames": gap.frames, "remedy": f"{more} {where}"}


def _fault(fault: SeriesFault, names: Sequence[str]) -> dict[str, Any]:
    return {"frame": names[fault.frame], "text": fault.text}


def _lines(told: dict[str, Any], names: Sequence[str]) -> list[str]:
    """The outcome for people."""
    from session.checks.focus.map import place_text  # noqa: PLC0415

    ways = [abs(after - before) for before, after in pairwise(told["planes_mm"])]
    apart = f"{min(ways):.2f}" if max(ways) - min(ways) < 0.01 else f"{min(ways):.2f} to {max(ways):.2f}"
    lines = [
        f"{len(names)} frames, by the picture {apart} mm apart, each sharp over {mm_text(told['depth_mm'])}.",
        f"Covered: {percent_text(told['covered_share'])} of what can be told. "
        f"Can't tell: {percent_text(told['unknown_share'])} of the picture, for want of fine detail.",
    ]
    for gap in told["gaps"]:
        share, place = percent_text(gap["share"]), place_text(gap["middle"])
        lines.append(f"! {share} was never sharp, most of it {place}: {gap['remedy']}.")
    if not told["gaps"]:
        lines.append(
            "No gap was found; one of a few percent is missed in 1 series of 20, so look at the preview closely too."
        )
    lines += [f"! Frame {harmless(fault['frame'])} {fault['text']}: shoot it again." for fault in told["faults"]]
    return lines


def _write_preview(run: SeriesRun, found: Coverage, path: Path) -> None:
    """Write the merged preview as a JPEG. Raises Refused when it can't be written."""
    from session.series.merged_preview import label  # noqa: PLC0415
    from storage.handover.bag import put_new  # noqa: PLC0415

    sheet = label(run.preview(found), f"PREVIEW of {len(run.frames)} frames, merged small. Not for delivery.")
    try:
        written = put_new(path, lambda part: sheet.save(part, "JPEG", quality=90))
    except OSError as error:
        raise Refused(f"{harmless(str(path))} can't be written: {error.strerror or error}") from None
    if not written:
        raise Refused(f"{harmless(str(path))} is there already; nothing is written over")
