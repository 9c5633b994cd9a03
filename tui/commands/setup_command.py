"""`stillset setup`: show, compare or change a set-up from the shell."""

from __future__ import annotations

import json
from dataclasses import asdict, is_dataclass, replace
from typing import TYPE_CHECKING, Any

import click

from session.frame.ports import Standing
from session.set.lens_in_use import without_stale_confirmation
from session.set.setup import (
    Revision,
    differences,
    parse_label,
    same_arrangement,
    thing_name,
)
from session.units.value_words import name_words, thing_words, value_words
from tui.shell.choices import (
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
from tui.words.harmless import harmless
from tui.words.setup_words import camera_rows

if TYPE_CHECKING:
    from storage.reading.log_reader import LogReader

job_option = click.option("--job", default="", help="The job; else the last one.")


@click.group()
def setup() -> None:
    """Show, compare or change a set-up. `07.3` is set-up 7, revision 3; `07` its latest revision."""


@setup.command()
@click.argument("label", type=Label(), default="")
@log_option
@job_option
@json_option
def show(label: str, log: str | None, job: str, as_json: bool) -> None:
    """Show a set-up: settings, lens, lights, reflectors, flags, glass, notes; without SETUP the one gone on with."""
    with _open_reader(log) as reader:
        revision = find_revision(reader, job, label)
        if as_json:
            click.echo(json.dumps({"setup": revision.label, **asdict(revision)}))
        else:
            click.echo("\n".join(description(revision)))


@setup.command()
@click.argument("old", type=Label())
@click.argument("new", type=Label())
@log_option
@job_option
@json_option
def diff(old: str, new: str, log: str | None, job: str, as_json: bool) -> None:
    """Compare two set-ups or revisions: each change with the value before and after."""
    with _open_reader(log) as reader:
        found = differences(find_revision(reader, job, old), find_revision(reader, job, new))
        for name, before, after in found:
            if as_json:
                click.echo(json.dumps({"name": name, "old": before, "new": after}, default=_plain))
            else:
                click.echo(change_line(name, before, after))
        if not found and not as_json:
            click.echo("They are alike.")


@setup.command("set")
@click.argument("label", type=Label(), default="")
@log_option
@camera_options
@place_options
@setup_options
@click.option("--note", default=None, help="Put this in the place of the set-up's notes.")
def set_(label: str, note: str | None, **options: Any) -> None:
    """Change a set-up: makes its next revision. Without a set-up in the job, its first one."""
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from storage.writing.log import SqlLog  # noqa: PLC0415
    from tui.shell.build import kit_of, opened_place  # noqa: PLC0415

    choices = choices_from({**options, "setup": label or options.get("setup")})
    kit = kit_of(choices)
    log = SqlLog.open(log_to_write(choices.log))
    reader = LogReader.open(choices.log)
    try:
        place = opened_place(log, reader, choices)
        standing = log.standing(place)
        wanted_number = parse_label(choices.setup) if choices.setup else None
        if standing is not None and wanted_number in (None, (standing.revision.setup_number, None)):
            old: Revision | None = standing.revision
        else:
            old = _maybe(reader, place.job, choices.setup)
        start = old or Revision(setup_number=log.next_setup_number(place), revision=0)
        wanted = without_stale_confirmation(choices.change(start, kit), start)
        if note is not None:
            wanted = replace(wanted, notes=note)
        if old is not None and same_arrangement(wanted, old):
            click.echo(f"Nothing to change; set-up {old.label} stands.")
            return
        new = replace(wanted, revision=log.next_revision_number(place, start.setup_number))
        log.choose(place, Standing(new, log.save_revision(place, new)))
    finally:
        reader.close()
        log.close()
    click.echo(f"Set-up {new.label}.")
    for name, before, after in differences(start, new):
        click.echo(f"  {change_line(name, before, after)}")


def description(revision: Revision) -> list[str]:
    """A set-up as lines of text: every field that has a value; of the lens arrangement what isn't as usual."""
    things = [(thing_name(thing), thing_words(thing)) for thing in revision.placed]
    camera, *rest = camera_rows(revision)
    rows = [camera, *things, *([] if revision.lights else [("light", "none")]), *rest, ("notes", revision.notes)]
    shown = [(harmless(name, 40), harmless(value)) for name, value in rows if value]
    width = max(len(name) for name, _ in shown)
    return [f"Set-up {revision.label}", *(f"  {name:<{width}}  {value}" for name, value in shown)]


def change_line(name: str, before: object, after: object) -> str:
    """`light key power: 1/4 (−2 EV) → 1/2 (−1 EV)`."""
    old, new = value_words(name, before), value_words(name, after)
    return f"{harmless(name_words(name))}: {harmless(old)} → {harmless(new)}"


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
