"""Settings and the parts of a set-up in words: `aperture f/11`, `power 1/4 (−2 EV)`, `side 60° left`.

The table of the names that people use for settings, and of how values are written: every text that shows a setting is
made from it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from session.units.numbers import (
    ev_text,
    f_text,
    height_text,
    mm_text,
    power_text,
    ratio_text,
    same_setting,
    sd_deg_text,
    sd_text,
    side_text,
    time_text,
)

EV_PER_DOUBLING: Mapping[str, float] = {"exposure_s": 1.0, "f_number": 2.0, "iso": 1.0}
"""Settings that are compared as amounts of light: how many stops a doubling of the number is."""

_CALLED = {
    "exposure_s": "exposure time",
    "f_number": "aperture",
    "iso": "ISO",
    "azimuth_deg": "side",
    "elevation_deg": "height",
    "distance_sd_mm": "distance uncertainty",
    "azimuth_sd_deg": "side uncertainty",
    "elevation_sd_deg": "height uncertainty",
    "magnification": "ratio",
    "gap_mm": "close-up lens to front principal plane",
    "working_distance_mm": "lens to piece by tape",
    "camera_height_mm": "lens above the table",
    "turned_deg": "turned",
    "view_down_deg": "looks down",
    "view_around_deg": "looks from",
    "hold_off_s": "hold-off",
    "blur_limit_px": "blur radius",
    "must_be_sharp": "what must be sharp",
    "may_fall_off": "what may fall off",
    "confirmed": "confirmed by hand",
    "capture_target": "place for its files",
    "battery_percent": "battery",
}
"""The name in code and JSON → what people call it, where that isn't the name without its unit."""

_WRITTEN: dict[str, Callable[[float], str]] = {
    "exposure_s": time_text,
    "f_number": f_text,
    "iso": lambda iso: f"{iso:.0f}" if iso else "automatic",
    "power_ev": power_text,
    "azimuth_deg": side_text,
    "elevation_deg": height_text,
    "distance_sd_mm": sd_text,
    "azimuth_sd_deg": sd_deg_text,
    "elevation_sd_deg": sd_deg_text,
    "view_around_deg": side_text,
    "magnification": ratio_text,
    "blur_limit_px": "{:.3g} px".format,
    "converter": "{:g}×".format,
    "dioptres": "{:+g} dioptres".format,
    "battery_percent": "{:.0f} %".format,
}
"""The name → how people write its value, where that isn't the number and the unit that the name ends with."""

_BY_UNIT: dict[str, Callable[[float], str]] = {
    "_mm": mm_text,
    "_s": "{:g} s".format,
    "_px": "{:g} px".format,
    "_ev": ev_text,
    "_deg": "{:g}°".format,
    "_percent": "{:g} %".format,
    "_de2000": "ΔE {:g}".format,
}

SD_NAMES = ("distance_sd_mm", "azimuth_sd_deg", "elevation_sd_deg")
"""Fields that are told beside the value that they are of."""

NOTHING = "—"
"""Stands where there is no value."""


def name_words(name: str) -> str:
    """`light key azimuth_deg` → `light key side`; a name without a word of its own loses its unit."""
    start, space, last = name.rpartition(" ")
    unit = _unit(last)
    return f"{start}{space}{_CALLED.get(last) or last.removesuffix(unit).replace('_', ' ')}"


def value_words(name: str, value: object) -> str:
    """A value of that name as photographers write it; a dash for a missing value.

    name   as in code and JSON, perhaps behind other words: `light key power_ev`
    value  a number in the unit of the name, a word, a part of a set-up, or several of these
    """
    last = name.rpartition(" ")[2]
    if value is None or value in ("", ()):
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number_words(last, float(value))
    if is_dataclass(value) and type(value).__str__ is object.__str__:
        return thing_words(value)
    if isinstance(value, Sequence) and not isinstance(value, str):
        return ", ".join(value_words(name, one) for one in value)
    return str(value)


def thing_words(thing: object, between: str = "  ") -> str:
    """`1/4 (−2 EV)  620 mm  45° left · 30° up  tube`: all of a light, or of what stands in the set, save its name.

    A size is one part, `210 × 297 mm`, and so is a turn, `turned 45° left`.
    """
    words = []
    for one in fields(thing):  # type: ignore[arg-type]
        if one.name == "distance_mm":
            words.append(distance_words(thing.distance_mm, thing.distance_sd_mm))  # type: ignore[attr-defined]
        elif one.name == "azimuth_deg":
            words.append(place_words(thing))
        elif one.name == "width_mm":
            words.append(size_words(thing.width_mm, thing.height_mm))  # type: ignore[attr-defined]
        elif one.name == "turned_deg":
            words.append(turned_words(thing.turned_deg, thing.turned_to))  # type: ignore[attr-defined]
        elif one.name not in ("kind", "name", "elevation_deg", "height_mm", "turned_to", *SD_NAMES):
            words.append(value_words(one.name, getattr(thing, one.name)))
    return between.join(word for word in words if word not in (NOTHING, "")) or "in the set"


def distance_words(distance_mm: float | None, sd_mm: float | None) -> str:
    """`620 mm`, `620 mm ±6 mm` where a tape tells how sure that is; "" where nobody measured."""
    parts = (mm_text(distance_mm) if distance_mm is not None else "", sd_text(sd_mm) if sd_mm is not None else "")
    return " ".join(part for part in parts if part)


def place_words(thing: Any) -> str:
    """`45° left · 30° up`, `45° left ±2° · 30° up ±1°` for a light or other thing of the set; "": nobody measured."""
    told = (
        (side_text(thing.azimuth_deg), thing.azimuth_sd_deg),
        (height_text(thing.elevation_deg), thing.elevation_sd_deg),
    )
    parts = (" ".join(part for part in (text, sd_deg_text(sd) if sd is not None else "") if part) for text, sd in told)
    return " · ".join(part for part in parts if part)


def size_words(width_mm: float | None, height_mm: float | None) -> str:
    """`210 × 297 mm`, `210 × ? mm`; "" where nobody measured."""
    if width_mm is None and height_mm is None:
        return ""
    return " × ".join("?" if side is None else f"{side:g}" for side in (width_mm, height_mm)) + " mm"


def turned_words(turned_deg: float | None, turned_to: str) -> str:
    """`turned 45° left`, `faces the piece`; "" where nobody said."""
    if turned_deg is None:
        return ""
    return f"turned {turned_deg:g}° {turned_to}".strip() if turned_deg else "faces the piece"


def values_text(values: Mapping[str, object]) -> str:
    """Settings as photographers say them, without names: `f/11, 1/200 s, ISO 100`."""
    return ", ".join(
        f"ISO {value_words(name, value)}" if name == "iso" else value_words(name, value)
        for name, value in values.items()
    )


def named_values(values: Mapping[str, object]) -> Iterable[str]:
    """Each value behind its name, `focal length 105 mm`, `reversed`; empty values are left out."""
    for name, value in values.items():
        if value is True:
            yield name_words(name)
        elif value is not None and value is not False and value != "":
            yield f"{name_words(name)} {value_words(name, value)}"


def same_value(name: str, told: object, asked: object) -> bool:
    """Whether two values of a setting are the same one, as amounts of light or as words."""
    if name in EV_PER_DOUBLING and isinstance(told, int | float) and isinstance(asked, int | float):
        return same_setting(float(told), float(asked), ev_per_doubling=EV_PER_DOUBLING[name])
    return str(told).casefold() == str(asked).casefold()


def _number_words(name: str, value: float) -> str:
    if not math.isfinite(value):
        return str(value)
    written = _WRITTEN.get(name) or _BY_UNIT.get(_unit(name)) or "{:g}".format
    return written(value)


def _unit(name: str) -> str:
    return next((unit for unit in _BY_UNIT if name.endswith(unit)), "")
