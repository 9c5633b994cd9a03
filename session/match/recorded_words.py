"""What a set-up's log says of each part of it, as a sentence for the hands that build it again."""

from __future__ import annotations

from session.set.setup import PassiveItem, PlacedLight, Revision, thing_name
from session.units.numbers import angles_text, mm_text, power_text, ratio_text
from session.units.value_words import (
    distance_words,
    name_words,
    place_words,
    size_words,
    turned_words,
    value_words,
    values_text,
)


def recorded_camera(revision: Revision) -> str:
    """`1/160 s, f/16, ISO 100, Flash, raw+jpeg, body Plainfield A`."""
    body = f", body {revision.body}" if revision.body else ""
    trigger = f", trigger {revision.trigger}" if revision.trigger else ""
    return values_text(revision.settings.by_name()) + body + trigger


def recorded_lens(revision: Revision) -> str:
    """`Plainfield 50, reversed, 36 mm of tubes, at 2:1, aperture by hand`."""
    lens = revision.arrangement
    parts = [lens.lens or f"a lens of {lens.focal_length_mm:g} mm"]
    if lens.reversed:
        parts.append("reversed")
    if lens.extension_mm:
        parts.append(f"{mm_text(lens.extension_mm)} of tubes")
    if lens.dioptres:
        parts.append(f"+{lens.dioptres:g} dioptres")
    if lens.converter != 1:
        parts.append(f"a {lens.converter:g}× converter")
    if lens.gap_mm:
        parts.append(f"the close-up lens {mm_text(lens.gap_mm)} before the front principal plane")
    parts.append(f"at {ratio_text(lens.magnification)}")
    if revision.settings.f_number is None:
        parts.append("aperture by hand")
    return ", ".join(parts)


def recorded_place(revision: Revision) -> str:
    """Where support, tape and level say that the camera stands; "" where nobody measured."""
    names = ("working_distance_mm", "camera_height_mm", "view_down_deg", "view_around_deg")
    told = {name: getattr(revision, name) for name in names}
    words = [f"{name_words(name)} {value_words(name, value)}" for name, value in told.items() if value is not None]
    on = [f"on {revision.support}"] if revision.support else []
    return ", ".join((*on, *words))


def recorded_things(revision: Revision) -> dict[str, str]:
    """The words for each light, reflector, flag and glass, by its name (`light key`), as it was recorded.

    The first thing that has angles says from where they count.
    """
    with_angles = (one for one in revision.placed if angles_text(one.azimuth_deg, one.elevation_deg))
    first = next(with_angles, None)
    told: dict[str, str] = {}
    for thing in revision.placed:
        where = _where(thing, explained=thing is first)
        told[thing_name(thing)] = _light(thing, where) if isinstance(thing, PlacedLight) else _passive(thing, where)
    return told


def _light(light: PlacedLight, where: str) -> str:
    size = size_words(light.width_mm, light.height_mm)
    shaper = f" with {light.shaper}" if light.shaper else ", bare" if size else ""
    shaper += f", {size}" if size else ""
    note = f" ({light.note})" if light.note else ""
    return f"{power_text(light.power_ev)}{shaper}{where}{note}"


def _passive(item: PassiveItem, where: str) -> str:
    note = f" ({item.note})" if item.note else ""
    told = (size_words(item.width_mm, item.height_mm), turned_words(item.turned_deg, item.turned_to))
    look = "".join(f", {words}" for words in told if words)
    return f"{where}{look}{note}".removeprefix(", ").strip()


def _where(thing: PlacedLight | PassiveItem, *, explained: bool) -> str:
    words = []
    if thing.distance_mm is not None:
        words.append(f"{distance_words(thing.distance_mm, thing.distance_sd_mm)} from the piece")
    angles = place_words(thing)
    if angles:
        words.append(f"{angles} (0° is from the camera, and along the table)" if explained else angles)
    return (", " + ", ".join(words)) if words else ""
