"""`stillset check`: judge picture files on disk as frames are judged, many at once."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from session.frame.finding import Level, worst
from session.set.setup import DEFAULT_BLUR_LIMIT_PX, Revision
from session.units.file_kinds import JPEG_START, JPEG_SUFFIXES
from session.units.names import name_key
from tui.shell.choices import Choices, Label, choices_from, json_option, log_option
from tui.shell.options import argument, quantity
from tui.shell.progress import ProgressLine
from tui.shell.troubles import CommandFailed
from tui.words.harmless import harmless

if TYPE_CHECKING:
    from session.frame.ports import Agreement, Assignment, Judgement
    from session.set.client_standard import Standard
    from storage.reading.log_reader import LogReader
    from storage.reading.views import FrameRecord

PICTURE_SUFFIXES = JPEG_SUFFIXES | frozenset({".png", ".tif", ".tiff", ".ppm", ".dng"})
PICTURE_STARTS = (JPEG_START, b"II*\0", b"MM\0*", b"\x89PNG", b"P6")
"""Of a folder, files with such a name or such a beginning are taken: a damaged picture is known by its name, a raw
file by its beginning, which is that of a TIFF (TIFF 6.0, PNG 3rd edition, ITU-T T.81)."""

NO_BAND = dict.fromkeys(("side", "share", "lost_share", "ev"))


class _RegionPx(click.ParamType[tuple[int, int, int, int]]):
    name = "region"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, int, int, int]:
        parts = str(value).split(",")
        if len(parts) != 4 or not all(part.strip().isdecimal() for part in parts):
            self.fail(
                f"a region is written like 1200,800,600,400 (left, top, width, height), not {value!r}", param, ctx
            )
        left, top, width, height = (int(part) for part in parts)
        if not width or not height:
            self.fail("a region is at least one pixel wide and high", param, ctx)
        return left, top, width, height


@click.command()
@argument("files", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path))
@click.option(
    "--reference",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    default=None,
    help="The picture that they are compared with; else the set-up's reference.",
)
@click.option(
    "--region",
    type=_RegionPx(),
    default=None,
    metavar="X,Y,W,H",
    help="What must be sharp, in pixels of the file, upright; else the set-up's region, else the middle.",
)
@quantity("blur_limit_px", f"Radius of the blur that may show; else the set-up's, else {DEFAULT_BLUR_LIMIT_PX:g}.")
@click.option("--setup", type=Label(), default="", metavar="07[.3]", help="Judge as frames of this set-up of the log.")
@log_option
@click.option("--job", default="", help="The set-up's job; else the last one.")
@click.option("--piece", default="", help="Whose reference or view; needed unless the set-up has one reference.")
@click.option("--view", default="", help="The view whose standard holds; else that of the set-up's reference.")
@click.option("--standard", default="", metavar="NAME", help="A client's standard of the job; else the view's own.")
@click.option("--kit", type=click.Path(path_type=Path), default=None, help="Kit file (TOML), for the set-up's body.")
@click.option("--jobs", type=click.IntRange(1, 256), default=None, help="Pictures at once; else one on each core.")
@json_option
def check(
    files: tuple[Path, ...],
    reference: Path | None,
    region: tuple[int, int, int, int] | None,
    blur_limit_px: float | None,
    jobs: int | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Judge picture files: focus against a reference, dark band, light, clipping, whether the file is whole.

    With --setup also by what the client agreed for the view, with --standard by a standard that is named. Folders are
    looked through. Results come as they are ready, with --json one object a line. A file that can't be read is told
    like the others. Exit code 0: nothing to object to; 1: a caution, an unreadable file, or stopped before the end.
    """
    for_all = _assignment_for_all(options)
    limit = for_all.revision.blur_limit_px if blur_limit_px is None else blur_limit_px
    for_all = replace(
        for_all,
        revision=replace(for_all.revision, blur_limit_px=limit),
        reference_path=str(reference) if reference else for_all.reference_path,
        region_px=region,
    )
    paths = _pictures_in(files)
    if not paths:
        raise click.UsageError(f"there is no picture in {', '.join(str(folder) for folder in files)}")
    unwell, done = _judge(paths, for_all, jobs, as_json)
    if done < len(paths):
        raise CommandFailed(f"Stopped: {done} of {len(paths)} files were judged.")
    if unwell:
        raise CommandFailed(f"{unwell} of {done} files need a look.")


def _judge(paths: Sequence[Path], for_all: Assignment, jobs: int | None, as_json: bool) -> tuple[int, int]:
    """Judge and print all pictures; how many need a look, and how many were judged before Ctrl-C.

    for_all  the assignment in all but the file
    """
    from session.checks.judge.examined import Examined  # noqa: PLC0415
    from session.checks.judge.judge_pool import cores, judge_many  # noqa: PLC0415

    unwell = done = 0
    assignments = [replace(for_all, frame_id=str(number), path=str(path)) for number, path in enumerate(paths)]
    try:
        with ProgressLine() as line, closing(judge_many(assignments, jobs or cores())) as judgements:
            for assignment, judgement in judgements:
                line.clear()
                told = [json.dumps(_object(assignment.path, judgement))] if as_json else _lines(assignment, judgement)
                click.echo("\n".join(told))
                done += 1
                unwell += not isinstance(judgement, Examined) or worst(judgement.findings) not in (None, Level.NOTE)
                line.tell(f"{done} of {len(paths)} files judged", done, len(paths))
    except KeyboardInterrupt:
        pass
    return unwell, done


def _pictures_in(files: Sequence[Path]) -> list[Path]:
    """All pictures, each once; how many were found is shown meanwhile, and Ctrl-C ends it. Raises Failed."""
    paths: dict[Path, None] = {}
    try:
        with ProgressLine() as line:
            for path in (path for file in files for path in _pictures(file)):
                paths[path] = None
                line.tell(f"{len(paths)} pictures found")
    except KeyboardInterrupt:
        raise CommandFailed(f"Stopped: {len(paths)} pictures were found, none of them was judged.") from None
    return list(paths)


def _pictures(path: Path) -> Iterator[Path]:
    """The file itself, whatever it is; of a folder, all that look like pictures, folder by folder, in order."""
    if not path.is_dir():
        yield path
        return
    for folder, names, found in os.walk(path):  # one folder at a time; links below it aren't followed
        names[:] = sorted(name for name in names if not name.startswith("."))
        for file in (Path(folder) / name for name in sorted(found) if not name.startswith(".")):
            if file.is_file() and _looks_like_a_picture(file):
                yield file


def _looks_like_a_picture(path: Path) -> bool:
    if path.suffix.lower() in PICTURE_SUFFIXES:
        return True
    try:
        with path.open("rb") as file:
            return file.read(4).startswith(PICTURE_STARTS)
    except OSError:
        return False


def _assignment_for_all(options: dict[str, Any]) -> Assignment:
    """The assignment that all files share: the named set-up of the log, with its reference; else a plain set-up.

    The file itself is left open. Raises click.UsageError.
    """
    from session.frame.ports import Agreement, Assignment  # noqa: PLC0415
    from session.rules.situation import Situation  # noqa: PLC0415
    from session.set.lights_in_use import guide_numbers_m  # noqa: PLC0415
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from storage.reading.shown_picture import shown_picture  # noqa: PLC0415
    from tui.shell.build import kit_of  # noqa: PLC0415

    choices, standard = choices_from(options), options.get("standard") or ""
    if choices.view and not choices.setup:
        raise click.UsageError("--view wants --setup; a standard alone is named by --standard")
    plain = Assignment("", "", "", Revision(), {}, flash_used=False)
    if not choices.setup and not standard:
        return plain
    with LogReader.looking(choices.log) as reader:
        last = reader.last_place(choices.job)
        job = choices.job or (last.job if last else "")
        if not choices.setup:
            return replace(plain, agreement=Agreement(_standard_named(reader, job, standard)))
        found = reader.revision(job, choices.setup)
        if found is None:
            raise click.UsageError(f"job {job!r} has no set-up {choices.setup}")
        reference = _reference(reader, job, found[0].setup_number, choices.piece)
        agreement = _agreement(reader, job, choices, reference)
        if standard:
            agreement = Agreement(_standard_named(reader, job, standard), agreement.example if agreement else None)
    situation = Situation(found[0], kit_of(choices))
    shown = shown_picture(reference) if reference else None
    body = situation.body
    return replace(
        plain,
        revision=found[0],
        asked=found[0].settings.by_name(),
        flash_used=bool(situation.flashes),
        reference_path=shown.path if shown else None,
        sensor_width_mm=body.sensor_width_mm if body else None,
        pixels_across=body.pixels_across if body else None,
        wholly_open_s=situation.wholly_open_s,
        guide_numbers_m=guide_numbers_m(found[0], situation.kit),
        agreement=agreement,
    )


def _reference(reader: LogReader, job: str, setup_number: int, piece: str) -> FrameRecord | None:
    """The approved frame of a piece, or of the only piece that has one. Raises click.UsageError."""
    row = next((row for row in reader.setups(job) if row.number == setup_number), None)
    references = dict(row.references) if row else {}
    wanted = {name: number for name, number in references.items() if not piece or name.casefold() == piece.casefold()}
    if len(wanted) > 1:
        raise click.UsageError(f"the set-up has references of {', '.join(wanted)}; say whose by --piece")
    return next((reader.frame_numbered(job, number) for number in wanted.values()), None)


def _agreement(reader: LogReader, job: str, choices: Choices, reference: FrameRecord | None) -> Agreement | None:
    """What the client agreed for the view that is named, else for that of the reference. Raises click.UsageError."""
    piece = choices.piece or (reference.piece if reference else "")
    if choices.view and not piece:
        raise click.UsageError(f"say by --piece whose view {choices.view!r} is meant: the set-up has no reference")
    view = choices.view or (reference.view if reference else "")
    wanted = name_key(piece), name_key(view)
    place = next((one for one in reader.places(job) if (name_key(one.piece), name_key(one.view)) == wanted), None)
    if place is None and choices.view:
        raise click.UsageError(f"piece {piece!r} of job {job!r} has no view {view!r}")
    return reader.agreement(place) if place else None


def _standard_named(reader: LogReader, job: str, name: str) -> Standard:
    """The job's standard of that name. Raises click.UsageError."""
    progress = reader.progress(job)
    known = progress.order.standards if progress else ()
    found = next((one for one in known if name_key(one.name) == name_key(name)), None)
    if found is None:
        names = ", ".join(harmless(one.name, 40) for one in known) or "none"
        raise click.UsageError(f"job {job!r} has no standard {name!r}; it has {names}")
    return found


def _object(path: str, judgement: Judgement) -> dict[str, Any]:
    """The judgement of a file for machines; values not measured are null."""
    from session.checks.judge.examined import Examined  # noqa: PLC0415
    from storage.reading.json_lines import finding_object, finite  # noqa: PLC0415

    seen = judgement if isinstance(judgement, Examined) else None
    band = seen.band if seen else None
    told: dict[str, Any] = finite(
        {
            "path": path,
            "findings": [finding_object(finding) for finding in judgement.findings],
            "focus": asdict(judgement.focus),
            "band": {"present": band is not None, **(asdict(band) if band else NO_BAND)} if seen else None,
            "drift": asdict(seen.drift) if seen and seen.drift else None,
            "exposure": asdict(seen.exposure) if seen and seen.exposure else None,
            "evenness": asdict(seen.evenness) if seen and seen.evenness else None,
            "tilt": asdict(seen.tilt) if seen and seen.tilt else None,
            "colour": asdict(seen.colour) if seen and seen.colour else None,
        }
    )
    return told


def _lines(assignment: Assignment, judgement: Judgement) -> list[str]:
    """The judgement of a file for people: the file with its verdict, and a line for each finding."""
    from tui.words.frame_word import px_text  # noqa: PLC0415
    from tui.words.wording import LEVEL_SIGNS, VERDICT_SIGNS, focus_words  # noqa: PLC0415

    focus = judgement.focus
    blur = f", blur radius {px_text(focus.blur_px)}" if focus.blur_px is not None else ""
    if blur and focus.blur_px_sd is not None:
        blur += f" ± {px_text(focus.blur_px_sd)}"
    lines = [f"{VERDICT_SIGNS[focus.verdict]} {harmless(assignment.path)}  {focus_words(focus.verdict)}{blur}"]
    lines += [f"    {LEVEL_SIGNS[finding.level]} {harmless(finding.text)}" for finding in judgement.findings]
    return lines
