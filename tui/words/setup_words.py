"""A set-up in words, as `setup show` and the set card both tell it."""

from __future__ import annotations

import math

from session.set.lens_in_use import lens_in_use
from session.set.setup import PLAIN, SD_OF_PLACE, Arrangement, Placed, Revision, field_values, thing_name
from session.set.taped_place import TapedPlace
from session.units.numbers import height_text, mm_text, sd_deg_text, sd_text, side_text, stop_text
from session.units.value_words import NOTHING, name_words, named_values, value_words, values_text
from tui.words.harmless import harmless

ALWAYS_TOLD = ("focal_length_mm", "magnification")
"""Of a lens arrangement, even where they are what a set-up begins with."""


def camera_rows(revision: Revision) -> list[tuple[str, str]]:
    """Name and value of all of a set-up but what stands in it, and its notes; empty values are left out."""
    arrangement, f_number = revision.arrangement, revision.settings.f_number
    rows = [("camera", values_text(revision.settings.by_name())), ("lens", ", ".join(lens_words(arrangement)))]
    try:
        if f_number is not None:
            here = lens_in_use(arrangement, f_number).effective_f_number
            rows.append(("aperture here", stop_text(f_number, here)))
    except ValueError as error:
        rows.append(("aperture here", f"can't be worked out: {error}"))
    told = [(name_words(name), value_words(name, getattr(revision, name))) for name in PLAIN if name != "notes"]
    return rows + [(name, value) for name, value in told if value != NOTHING]


def lens_words(arrangement: Arrangement) -> list[str]:
    """`invented 105 mm`, `focal length 105 mm`, `ratio 1:2`, `reversed`; no part that a bare lens hasn't got."""
    bare = field_values(Arrangement())
    told = field_values(arrangement)
    parts = {name: value for name, value in told.items() if name in ALWAYS_TOLD or value != bare[name]}
    return [
        arrangement.lens or "unknown lens",
        *named_values({name: one for name, one in parts.items() if name != "lens"}),
    ]


def taped_words(place: TapedPlace) -> str:
    """`By tape: 71° left (±2°) · 29° up.`, and the measure too many where it contradicts the others."""
    where = f"By tape: {side_text(place.azimuth_deg)} (±{max(1.0, place.side_sd_deg):.0f}°) · "
    said = f"{where}{height_text(place.elevation_deg)}."
    if place.fits or place.misfit_mm is None:
        return said
    more = "more" if place.misfit_mm > 0 else "less"
    return f"{said} Sideways is {mm_text(abs(place.misfit_mm))} {more} than the others give: measure again."


def change_sentence(name: str, before: object, after: object) -> str:
    """`The power of light key went from 1/4 (−2 EV) to 1/2 (−1 EV), 1 EV more.`, `Flag left was put in: 300 mm.`"""
    told = harmless(name_words(name))
    old, new = (harmless(value_words(name, value)) for value in (before, after))
    start = f"{told[:1].upper()}{told[1:]}"
    if isinstance(before, Placed) or isinstance(after, Placed):
        was = f"; it was there with {old}" if old != NOTHING else ""
        put = f": {new}" if new != NOTHING else ""
        return f"{start} was taken out{was}." if after is None else f"{start} was put in{put}."
    if before is None or old == NOTHING:
        return f"{start} is {new}; before, it was not said."
    if after is None or new == NOTHING:
        return f"{start} is not said any more; it was {old}."
    return f"{start} went from {old} to {new}{_how_much(name, before, after)}."


def within_tape_words(name: str, old: Revision, new: Revision) -> str:
    """` That is within what the tape tells (2 × ±8 mm).` of a part of a place; "" where it isn't, or no tape told it.

    name  as `differences` has it: `light key distance_mm`
    ± is the standard deviation of both places together.
    """
    thing, _, part = name.rpartition(" ")
    sd_name = SD_OF_PLACE.get(part, "")
    there = [next((one for one in side.placed if thing_name(one) == thing), None) for side in (old, new)]
    if not sd_name or None in there:
        return ""
    values, sds = ([getattr(one, field) for one in there] for field in (part, sd_name))
    if None in values or None in sds:
        return ""
    sd = math.hypot(*sds)
    by = abs(values[1] - values[0])
    by = min(by, 360 - by) if part == "azimuth_deg" else by
    written = sd_text(sd) if part == "distance_mm" else sd_deg_text(sd)
    return f" That is within what the tape tells ({SURE_SDS} × {written})." if by <= SURE_SDS * sd else ""


SURE_SDS = 2
"""Standard deviations within which two places by tape may be the same one: of a hundred that are, 95."""


def _how_much(name: str, before: object, after: object) -> str:
    """`, 1 EV more`, `, 120 mm farther` for what hands change; "" for everything else."""
    if not isinstance(before, int | float) or not isinstance(after, int | float):
        return ""
    by = after - before
    if name.endswith("power_ev"):
        return f", {abs(by):.1f} EV {'more' if by > 0 else 'less'}".replace(".0 EV", " EV")
    if name.endswith("distance_mm"):
        return f", {mm_text(abs(by))} {'farther' if by > 0 else 'nearer'}"
    return ""


def change_line(name: str, before: object, after: object) -> str:
    """`light key power: 1/4 (−2 EV) → 1/2 (−1 EV)`."""
    old, new = value_words(name, before), value_words(name, after)
    return f"{harmless(name_words(name))}: {harmless(old)} → {harmless(new)}"
