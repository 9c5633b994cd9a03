"""`stillset setup`: show, compare, change or copy a set-up from the shell."""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import asdict, is_dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from session.frame.ports import Place, Standing
from session.set.lens_in_use import without_stale_confirmation
from session.set.setup import (
    Revision,
    differences,
    parse_label,
    same_arrangement,
    thing_name,
)
from session.units.names import name_key
from session.units.value_words import thing_words
from tui.shell.choices import (
    Choices,
    Label,
    camera_options,
    choices_from,
    default_log,
    json_option,
    log_option,
    log_to_write,
    place_options,
    setup_options,
)
from tui.shell.options import argument
from tui.shell.troubles import CommandFailed
from tui.words.harmless import NAME_CHARS, harmless
from tui.words.setup_words import camera_rows, change_line, change_sentence, within_tape_words

if TYPE_CHECKING:
    from session.match.key_to_fill import KeyToFill
    from session.match.reshoot_steps import ReshootStep
    from session.match.solo_series import Read
    from storage.reading.log_reader import LogReader
    from storage.reading.views import JobRow, SetPicture
    from storage.writing.log import SqlLog

job_option = click.option("--job", default="", help="The job; else the last one.")


@click.group()
def setup() -> None:
    """Show, compare, change or copy a set-up. `07.3` is set-up 7, revision 3; `07` its latest revision."""


@setup.command()
@argument("label", type=Label(), default="")
@log_option
@job_option
@json_option
def show(label: str, log: str | None, job: str, as_json: bool) -> None:
    """Show a set-up: settings, lens, lights, lighting ratio, all else, notes; without SETUP the one gone on with."""
    with _open_reader(log) as reader:
        revision = find_revision(reader, job, label)
        row = reader.job_named(job)
        pictures = reader.set_pictures(row.name if row else job, revision)
        if as_json:
            paths = [picture.path for picture in pictures]
            name = row.name if row else job
            told = {"job": name, "setup": revision.label, **asdict(revision), "set_pictures": paths}
            click.echo(json.dumps(told | {"lighting_ratio": _ratio_json(reader, name, revision)}))
        else:
            head, *lines = description(revision)
            head = f"{head}{of_job_words(reader, row)}"
            ratio = _ratio_lines(reader, row.name if row else job, revision)
            click.echo("\n".join([head, *lines, *ratio, *map(_picture_line, pictures)]))


@setup.command()
@argument("label", type=Label())
@argument("files", type=click.Path(path_type=Path), nargs=-1, metavar="[FILE]...")
@click.option("--remove", "numbers", type=click.IntRange(1), multiple=True, help="Delete picture N; repeat for more.")
@click.option(
    "--copy-to",
    type=click.Path(path_type=Path),
    envvar="STILLSET_COPY_TO",
    metavar="FOLDER",
    help="Store them beside the log's standby copy there, too; else STILLSET_COPY_TO.",
)
@log_option
@job_option
def picture(
    label: str, files: tuple[Path, ...], numbers: tuple[int, ...], copy_to: Path | None, log: str | None, job: str
) -> None:
    """Attach pictures of the set, as a phone takes them, to SETUP; without FILE list them.

    They are copied upright, at most 2048 px long, without anything else that the phone wrote into them, such as the
    place. They lie beside the log, stand on the set card, and go to an archive with --previews. A bench may be open.
    """
    from storage.files.archive_address import is_archive  # noqa: PLC0415
    from storage.files.set_pictures import attach_set_picture, remove_set_picture, stored_set_pictures  # noqa: PLC0415
    from storage.reading.views import SetPicture  # noqa: PLC0415

    wanted = log or default_log()
    if is_archive(wanted):
        raise click.UsageError(f"pictures of the set lie beside a log's file; {harmless(wanted)} is an archive")
    if copy_to and not copy_to.is_dir():
        raise click.UsageError(f"there is no folder {copy_to} for second copies; is its disk plugged in?")
    path = Path(wanted)
    with _open_reader(wanted) as reader:
        revision = find_revision(reader, job, label)
        row = reader.job_named(job)
        found = reader.revision(row.name if row else job, revision.label)
        called = f"{revision.label}{of_job_words(reader, row)}"
    key = found[1] if found else ""
    if not key:
        raise click.UsageError(f"set-up {called} has no frame yet; pictures are attached once it has one")
    taken = [*zip(files, _set_pictures_of(files), strict=True)]
    there = stored_set_pictures(path, key)
    removed = [one for one in there if one.number in numbers]
    for number in sorted(set(numbers)):
        several = [one.path for one in removed if one.number == number]
        if not several:
            raise CommandFailed(f"Set-up {called} has no picture {number}. Nothing was deleted or attached.")
        if len(several) > 1:  # a log that was taken from its standby copy has those that were deleted, too
            paths = ", ".join(harmless(str(path)) for path in several)
            raise CommandFailed(
                f"Set-up {called} has {len(several)} pictures {number}; delete the file itself: {paths}"
            )
    for one in removed:
        remove_set_picture(path, key, one.path.name)
        click.echo(f"Picture {one.number} of set-up {called} is deleted.")
    for file, jpeg in taken:
        number = attach_set_picture(path, key, jpeg).number
        click.echo(f"{harmless(str(file))}: picture {number} of set-up {called}.")
    if copy_to and (files or numbers):
        _copy_too(path, copy_to, key, [one.path.name for one in removed])
    if not files and not numbers:
        for one in there:
            click.echo(_picture_line(SetPicture(one.number, str(one.path), revision.label, one.whole)))
        if not there:
            click.echo(f"Set-up {called} has no pictures of the set.")


def _set_pictures_of(files: Sequence[Path]) -> list[bytes]:
    """Each of the files as a picture to be stored; CommandFailed where one can't be read."""
    from session.picture.preview import UnreadablePicture  # noqa: PLC0415
    from session.picture.set_picture import set_picture  # noqa: PLC0415

    found = []
    for file in files:
        try:
            found.append(set_picture(file))
        except UnreadablePicture as error:
            raise CommandFailed(f"{harmless(str(file))} {error}. Nothing was attached.") from None
    return found


def _copy_too(log: Path, copy_to: Path, key: str, removed: Sequence[str]) -> None:
    """Bring the pictures beside the log's standby copy to what is beside the log; says why where that can't be done."""
    from storage.database.at_rest import standby_in  # noqa: PLC0415
    from storage.files.set_pictures import copy_set_pictures, remove_set_picture  # noqa: PLC0415

    try:
        standby = standby_in(copy_to, log)
        for name in removed:
            remove_set_picture(standby, key, name)
        copy_set_pictures(log, standby)
    except (OSError, sqlite3.Error) as error:
        why = getattr(error, "strerror", None) or error
        raise CommandFailed(
            f"No second copies in {harmless(str(copy_to))}: {why}. The pictures are as said."
        ) from error


@setup.command()
@argument("label", type=Label(), default="")
@log_option
@job_option
@json_option
def solos(label: str, log: str | None, job: str, as_json: bool) -> None:
    """List the solo frames of a set-up, and say whether their light adds up to all lights together."""
    from session.match.solo_picture import PicturesKept  # noqa: PLC0415
    from session.match.solo_series import steps_of_series, sum_of_series  # noqa: PLC0415
    from tui.words.solo_words import days_text, step_words, sum_words  # noqa: PLC0415

    with _open_reader(log) as reader:
        revision = find_revision(reader, job, label)
        row = reader.job_named(job)
        place = _place_of_solos(reader, row.name if row else job, revision.setup_number)
        frames = reader.series_frames(place, revision.setup_number) if place else ()
        steps = steps_of_series(revision, frames)
        missing = [step.name for step in steps if step.frame is None]
        read, name = PicturesKept().read, row.name if row else job
        ratio = [] if as_json or missing else _ratio_lines(reader, name, revision, read)
        ratio_json = _ratio_json(reader, name, revision, read) if as_json and not missing else None
        try:
            found = None if missing else sum_of_series(steps, read)
        except ValueError as error:
            raise CommandFailed(f"Can't tell whether the light adds up: the picture {error}.") from None
    if as_json:
        frames_told = {step.name: step.frame.number if step.frame else None for step in steps}
        told = {"setup": revision.label, "frames": frames_told, "sum": asdict(found) if found else None}
        click.echo(json.dumps(told | {"lighting_ratio": ratio_json}))
        return
    click.echo(f"Set-up {revision.label}" + (harmless(f": {place.piece}, {place.view}") if place else ""))
    for step in steps:
        click.echo(harmless(f"  {step_words(step)}"))
    if days_text(steps):
        click.echo(f"  {days_text(steps)}")
    for line in ratio:
        click.echo(line)
    if found:
        for line in sum_words(found):
            click.echo(harmless(f"  {line}"))
    else:
        click.echo(harmless(f"Missing: {', '.join(missing)}. At the bench, S shoots them."))


def _ratio_lines(reader: LogReader, job: str, revision: Revision, read: Read | None = None) -> list[str]:
    """The lighting ratio in the region and each light beside the key, where solos of the set-up tell them."""
    from session.picture.preview import UnreadablePicture  # noqa: PLC0415
    from tui.words.solo_words import over_key_words  # noqa: PLC0415

    try:
        ratio = _ratio(reader, job, revision, read)
    except UnreadablePicture as error:
        return [harmless(f"  lighting ratio  can't be told: the picture {error}")]
    if ratio is None:
        return []
    told = ", ".join((ratio.words, *over_key_words(ratio)))
    return [harmless(f"  lighting ratio  {told}; in the region, by the solos")]


def _ratio_json(reader: LogReader, job: str, revision: Revision, read: Read | None = None) -> dict[str, object] | None:
    """The same as JSON; null for what is infinite, since JSON has no word for it."""
    from session.picture.preview import UnreadablePicture  # noqa: PLC0415

    try:
        ratio = _ratio(reader, job, revision, read)
    except UnreadablePicture:
        return None
    if ratio is None:
        return None
    over_key_ev = {name: ev if math.isfinite(ev) else None for name, ev in ratio.over_key_ev.items()}
    return asdict(ratio) | {"ratio": ratio.ratio if ratio.has_fill else None, "over_key_ev": over_key_ev}


def _ratio(reader: LogReader, job: str, revision: Revision, read: Read | None) -> KeyToFill | None:
    from session.match.solo_picture import read_solo_picture  # noqa: PLC0415
    from session.match.solo_series import has_series, ratio_of_series, steps_of_series  # noqa: PLC0415

    place = _place_of_solos(reader, job, revision.setup_number) if has_series(revision) else None
    if place is None:
        return None
    frames = reader.series_frames(place, revision.setup_number)
    return ratio_of_series(steps_of_series(revision, frames), revision.region, read or read_solo_picture)


def _place_of_solos(reader: LogReader, job: str, setup_number: int) -> Place | None:
    """The view whose solos were shot last by this set-up; None without any."""
    from storage.reading.views import FrameFilter  # noqa: PLC0415

    rows = reader.frames(FrameFilter(job=job, setup=str(setup_number)), newest_first=True)
    last = next((row for row in rows if row.solo), None)
    places = reader.places(job) if last else ()
    return next((one for one in places if last and (one.piece, one.view) == (last.piece, last.view)), None)


@setup.command()
@argument("old", type=Label())
@argument("new", type=Label())
@log_option
@job_option
@json_option
def diff(old: str, new: str, log: str | None, job: str, as_json: bool) -> None:
    """Compare two set-ups or revisions: a sentence on each change, with the value before and after."""
    with _open_reader(log) as reader:
        sides = find_revision(reader, job, old), find_revision(reader, job, new)
        found = differences(*sides)
        for name, before, after in found:
            if as_json:
                click.echo(json.dumps({"name": name, "old": before, "new": after}, default=_plain))
            else:
                click.echo(change_sentence(name, before, after) + within_tape_words(name, *sides))
        if not found and not as_json:
            click.echo("They are alike.")


note_option = click.option("--note", default=None, help="Put this in the place of the set-up's notes.")


@setup.command("set")
@argument("label", type=Label(), default="")
@log_option
@camera_options
@place_options
@setup_options
@note_option
def set_(label: str, note: str | None, **options: Any) -> None:
    """Change a set-up: makes its next revision. Without a set-up in the job, its first one."""
    choices = choices_from({**options, "setup": label or options.get("setup")})
    with _log_to_change(choices) as (log, reader):
        from tui.shell.build import opened_place, wanted_names  # noqa: PLC0415

        job, *names = wanted_names(reader, choices)
        wanted_view = [name_key(name) for name in names]
        views = (one for one in reader.places(job) if [name_key(one.piece), name_key(one.view)] == wanted_view)
        at = next(views, None)
        standing = reader.standing(at) if at else None
        wanted_number = parse_label(choices.setup) if choices.setup else None
        if standing is not None and wanted_number in (None, (standing.revision.setup_number, None)):
            old: Revision | None = standing.revision
        else:
            old = _maybe(reader, job, choices.setup)
        start = old or Revision(revision=0)
        wanted = _with_options(start, choices, note)  # what is refused must not have begun a job
        if old is not None and same_arrangement(wanted, old):
            click.echo(f"Nothing to change; set-up {old.label} stands.")
            return
        place = opened_place(log, reader, choices)
        number = old.setup_number if old else log.next_setup_number(place)
        new = replace(wanted, setup_number=number, revision=log.next_revision_number(place, number))
        log.choose(place, Standing(new, log.save_revision(place, new)))
    _tell(f"Set-up {new.label}.", start, new)


@setup.command()
@argument("label", type=Label())
@click.option("--from-job", default="", help="The job that has it; else the last one.")
@log_option
@camera_options
@place_options
@setup_options
@note_option
def copy(label: str, from_job: str, note: str | None, **options: Any) -> None:
    """Begin a set-up of its own as a copy of another, for another job, piece or view; options change the copy.

    What was confirmed by hand and the ambient light are asked again: another day, another room.
    """
    if options.pop("setup", ""):
        raise click.UsageError(f"the set-up that is copied is the argument: setup copy {label}; leave out --setup")
    _begin_from(label, from_job, note, choices_from(options), "a copy", varied=False)


@setup.command()
@argument("label", type=Label())
@log_option
@camera_options
@place_options
@setup_options
@note_option
def vary(label: str, note: str | None, **options: Any) -> None:
    """Begin a set-up of its own as a variation of another one of the job, by the options; SETUP stays as it is.

    `setup set` makes a set-up's next revision instead. What was confirmed by hand, and ambient, are asked again.
    """
    if options.pop("setup", ""):
        raise click.UsageError(f"the set-up that is varied is the argument: setup vary {label}; leave out --setup")
    choices = choices_from(options)
    _begin_from(label, choices.job, note, choices, "a variation", varied=True)


def _begin_from(label: str, from_job: str, note: str | None, choices: Choices, what: str, *, varied: bool) -> None:
    """Begin a set-up with the arrangement of another, and say so. `varied`: something must differ."""
    with _log_to_change(choices) as (log, reader):
        from tui.shell.build import opened_place  # noqa: PLC0415

        old = find_revision(reader, from_job, label)
        unasked = replace(old, confirmed=(), ambient_ev=None)
        wanted = _with_options(unasked, choices, note)  # what is refused must not have begun a job
        if varied and same_arrangement(wanted, unasked):
            raise click.UsageError(
                f"nothing would differ from {old.label}: say what varies, like --light key,power_ev=1/8"
            )
        if not (choices.piece and choices.view) and reader.last_place(choices.job) is None:
            raise click.UsageError(f"job {choices.job!r} has no piece yet: say --piece and --view")
        place = opened_place(log, reader, choices)
        new = replace(wanted, setup_number=log.next_setup_number(place), revision=1)
        log.choose(place, Standing(new, log.save_revision(place, new)))
    where = " · ".join(harmless(name, 40) for name in (place.job, place.piece, place.view))
    _tell(f"Set-up {new.label} of {where}, {what} of {old.label}.", unasked, new)


@setup.command()
@argument("label", type=Label())
@click.option("--piece", default="", help="The piece on the table; else the last one.")
@click.option("--confirm", is_flag=True, help="Confirm it as a whole: everything on it was seen to.")
@log_option
@job_option
@json_option
def checklist(label: str, piece: str, confirm: bool, log: str | None, job: str, as_json: bool) -> None:
    """Show the check list of SETUP, and whether it is confirmed for the piece.

    It is confirmed as a whole, once for a revision and a piece, and asked again after a pause of six hours. Points of
    its own stand in the set-up's notes: `--note "check: cap off; check: hallmark to the lens"`.
    """
    from session.frame.step_said import StepWord  # noqa: PLC0415
    from session.match.check_list import check_list  # noqa: PLC0415
    from session.match.reshoot_steps import CHECKS_KEY  # noqa: PLC0415
    from storage.writing.log import SqlLog  # noqa: PLC0415
    from tui.words.match_words import said_words, state_words  # noqa: PLC0415

    with _open_reader(log) as reader:
        place, key = _piece_and_revision(reader, job, label, piece)
    if confirm:
        with closing(SqlLog.open(log_to_write(log or default_log()))) as writer:
            writer.say_of_step(place, key, CHECKS_KEY, StepWord.CONFIRMED)
    with _open_reader(log) as reader:
        one, items = _check_list(reader, place, label), check_list(find_revision(reader, place.job, label))
    if as_json:
        told = {"setup": label, "piece": place.piece, "items": items}
        click.echo(json.dumps({**told, "confirmed": one.is_settled, "said": said_words(one)}))
        return
    click.echo(harmless(f"Check list of set-up {label}: {place.piece}"))
    for item in items:
        click.echo(harmless(f"  {item}"))
    words = said_words(one) or one.step.measured or "not confirmed yet; --confirm does, once all is seen to"
    click.echo(f"{words[:1].upper()}{words[1:]}." if state_words(one) else f"To do: {words}.")


def _piece_and_revision(reader: LogReader, job: str, label: str, piece: str) -> tuple[Place, str]:
    """The place of the piece, and the revision's key. Raises click.UsageError."""
    revision = find_revision(reader, job, label)
    row = reader.job_named(job)
    name = row.name if row else job
    found = reader.revision(name, revision.label)
    last = reader.last_place(name)
    wanted = name_key(piece or (last.piece if last else ""))
    place = next((one for one in reader.places(name) if name_key(one.piece) == wanted), None)
    if found is None or not found[1]:
        raise click.UsageError(f"set-up {revision.label} has no frame yet; its check list is confirmed once it has one")
    if place is None:
        raise click.UsageError(f"job {name!r} has no piece {piece!r}")
    return place, found[1]


def _check_list(reader: LogReader, place: Place, label: str) -> ReshootStep:
    """The step that is the check list, with what was said of it."""
    from datetime import datetime  # noqa: PLC0415

    from session.match.reshoot_steps import Reshoot  # noqa: PLC0415
    from session.set.kit import Kit  # noqa: PLC0415
    from tui.shell.match_look import look  # noqa: PLC0415

    found = reader.revision(place.job, label)
    assert found is not None
    told = look(reader, place, Reshoot(*found), Kit(), None, datetime.now().astimezone(), measures=False)
    return told.steps[0]


@contextmanager
def _log_to_change(choices: Choices) -> Iterator[tuple[SqlLog, LogReader]]:
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from storage.writing.log import SqlLog  # noqa: PLC0415

    with closing(SqlLog.open(log_to_write(choices.log))) as log, closing(LogReader.open(choices.log)) as reader:
        yield log, reader


def _with_options(start: Revision, choices: Choices, note: str | None) -> Revision:
    from tui.shell.build import kit_of  # noqa: PLC0415

    wanted = without_stale_confirmation(choices.change(start, kit_of(choices)), start)
    return wanted if note is None else replace(wanted, notes=note)


def _tell(sentence: str, old: Revision, new: Revision) -> None:
    click.echo(sentence)
    for name, before, after in differences(old, new):
        click.echo(f"  {change_line(name, before, after)}")


def description(revision: Revision) -> list[str]:
    """A set-up as lines of text: every field that has a value; of the lens arrangement what isn't as usual."""
    things = [(thing_name(thing), thing_words(thing)) for thing in revision.placed]
    camera, *rest = camera_rows(revision)
    rows = [camera, *things, *([] if revision.lights else [("light", "none")]), *rest, ("notes", revision.notes)]
    shown = [(harmless(name, 40), harmless(value)) for name, value in rows if value]
    width = max(len(name) for name, _ in shown)
    return [f"Set-up {revision.label}", *(f"  {name:<{width}}  {value}" for name, value in shown)]


def _picture_line(picture: SetPicture) -> str:
    """`  picture 1  /…/01-….jpg`, with the revision that it is of where that is another."""
    damaged = "" if picture.whole else ", not as it was stored"
    return f"  picture {picture.number} of {picture.setup}  {harmless(picture.path, 300)}{damaged}"


def _plain(value: Any) -> Any:
    """A value for JSON: regions and what stands in the set become objects."""
    return asdict(value) if is_dataclass(value) and not isinstance(value, type) else str(value)


def _open_reader(log: str | None) -> Any:
    from storage.reading.log_reader import LogReader  # noqa: PLC0415

    return LogReader.looking(log or default_log())


def _maybe(reader: LogReader, job: str, label: str) -> Revision | None:
    if label:
        return find_revision(reader, job, label)
    latest = reader.latest_revision(job)
    return latest[0] if latest else None


def of_job_words(reader: LogReader, row: JobRow | None) -> str:
    """` of Rings`, where the log has other jobs too, of which one may have a set-up of the same number; else ""."""
    return f" of {harmless(row.name, NAME_CHARS)}" if row and len(reader.jobs()) > 1 else ""


def find_revision(reader: LogReader, job: str, label: str) -> Revision:
    """The revision of that label in the job, or in the last job. Raises click.UsageError."""
    row = reader.job_named(job)
    name = row.name if row else job
    last = reader.last_place(name)
    standing = reader.standing(last) if last and not label else None
    if standing is not None:
        return standing.revision
    found = reader.revision(name, label) if label else reader.latest_revision(name)
    if found is None:
        words = f"no set-up {label}" if label else "no set-up yet"
        raise click.UsageError(f"job {name!r} has {words}" if name else "the log has no job yet")
    return found[0]
