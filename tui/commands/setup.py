"""`stillset setup`: show, compare or change a set-up from the shell."""

from __future__ import annotations

import json
from dataclasses import asdict, is_dataclass, replace
from typing import TYPE_CHECKING, Any

import click

from session.lens_in_use import without_stale_confirmation
from session.numbers import angles_text, f_text, mm_text, power_text, ratio_text, time_text
from session.ports import Standing
from session.setup import Revision, differences, kind_word, parse_label
from tui.choices import (
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
from tui.harmless import harmless
from tui.value_words import name_words, value_words

if TYPE_CHECKING:
    from storage.reading import LogReader

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
    with _opened(log) as reader:
        revision = _found(reader, job, label)
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
    """Compare two set-ups or revisions: what changed, from what, to what."""
    with _opened(log) as reader:
        found = differences(_found(reader, job, old), _found(reader, job, new))
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
    from storage.log import SqlLog  # noqa: PLC0415
    from storage.reading import LogReader  # noqa: PLC0415
    from tui.build import kit_of, opened_place, same_arrangement  # noqa: PLC0415

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
        wanted = without_stale_confirmation(choices.changed(start, kit), start)
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
    """A set-up as lines of text."""
    settings, lens = revision.settings, revision.arrangement
    lines = [
        f"Set-up {revision.label}",
        f"  camera   {time_text(settings.exposure_s)}, {f_text(settings.f_number)}, ISO {settings.iso}"
        + "".join(f", {harmless(str(v))}" for v in (settings.white_balance, settings.file_format) if v),
        f"  lens     {harmless(lens.lens) or '—'}, {lens.focal_length_mm:g} mm at {ratio_text(lens.magnification)}"
        + (", reversed" if lens.reversed else "")
        + (f", {lens.extension_mm:g} mm of tubes" if lens.extension_mm else "")
        + (f", +{lens.dioptres:g} dioptres" if lens.dioptres else ""),
    ]
    lines += [f"  light    {light_line(light)}" for light in revision.lights] or ["  light    none"]
    lines += [
        f"  {harmless(kind_word(item)):<9} {harmless(item.name)} {where(item)}".rstrip() for item in revision.passive
    ]
    lines.append(f"  hold-off {revision.hold_off_s:g} s; blur limit {revision.blur_limit_px:.3g} px, a radius")
    if revision.notes:
        lines.append(f"  notes    {harmless(revision.notes)}")
    return lines


def light_line(light: Any) -> str:
    """`key  1/4 (−2 EV)  620 mm  45° left · 30° up  tube`."""
    words = [
        harmless(light.name),
        power_text(light.power_ev),
        where(light),
        harmless(light.shaper),
        harmless(light.note),
    ]
    return "  ".join(word for word in words if word)


def where(thing: Any) -> str:
    """`620 mm  45° left · 30° up`: distance from the piece, side and height; what isn't known is left out."""
    distance = mm_text(thing.distance_mm) if thing.distance_mm is not None else ""
    angles = angles_text(thing.azimuth_deg, thing.elevation_deg)
    return "  ".join(word for word in (distance, angles) if word)


def change_line(name: str, before: object, after: object) -> str:
    """`light key power: 1/4 (−2 EV) → 1/2 (−1 EV)`."""
    old, new = value_words(name, before), value_words(name, after)
    return f"{harmless(name_words(name))}: {harmless(old)} → {harmless(new)}"


def _plain(value: Any) -> Any:
    """A value for JSON: regions and what stands in the set become objects."""
    return asdict(value) if is_dataclass(value) and not isinstance(value, type) else str(value)


def _opened(log: str | None) -> Any:
    from storage.reading import LogReader  # noqa: PLC0415

    return LogReader.looking(log or default_log())


def _maybe(reader: LogReader, job: str, label: str) -> Revision | None:
    if label:
        return _found(reader, job, label)
    latest = reader.latest_revision(job)
    return latest[0] if latest else None


def _found(reader: LogReader, job: str, label: str) -> Revision:
    """The revision of that label in the job, or in the last job. Raises click.UsageError."""
    last = reader.last_place(job)
    name = job or (last.job if last else "")
    standing = reader.standing(last) if last and not label else None
    if standing is not None:
        return standing.revision
    found = reader.revision(name, label) if label else reader.latest_revision(name)
    if found is None:
        words = f"no set-up {label}" if label else "no set-up yet"
        raise click.UsageError(f"job {name!r} has {words}" if name else "the log has no job yet")
    return found[0]
