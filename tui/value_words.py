"""The parts of a set-up and a camera's settings in words: `power 1/4 (−2 EV)`, `side 60° left`, `aperture f/11`."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from session.numbers import f_text, height_text, mm_text, power_text, ratio_text, side_text, time_text
from session.rules.exposing import WORDS
from session.setup import Region

_WRITTEN: dict[str, Callable[[float], str]] = {
    "exposure_s": time_text,
    "f_number": f_text,
    "power_ev": power_text,
    "azimuth_deg": side_text,
    "elevation_deg": height_text,
    "magnification": ratio_text,
    "hold_off_s": "{:g} s".format,
    "blur_limit_px": "{:.3g} px".format,
}
"""The name that a number has in code and JSON → how people write it."""

_CALLED = {
    **WORDS,
    "azimuth_deg": "side",
    "elevation_deg": "height",
    "magnification": "ratio",
    "hold_off_s": "hold-off",
    "blur_limit_px": "blur radius",
}
"""The name → what people call it, where that isn't the name without its unit."""

UNITS = ("_mm", "_s", "_px", "_ev", "_deg", "_percent")


def name_words(name: str) -> str:
    """`light key azimuth_deg` → `light key side`; a name without a word of its own loses its unit."""
    start, space, last = name.rpartition(" ")
    bare = next((last.removesuffix(unit) for unit in UNITS if last.endswith(unit)), last).replace("_", " ")
    return f"{start}{space}{_CALLED.get(last, bare)}"


def value_words(name: str, value: object) -> str:
    """A value of that name as photographers write it; a dash where there is none."""
    last = name.rpartition(" ")[2]
    if isinstance(value, Region):
        middle = f"{value.left + value.width / 2:.0%}, {value.top + value.height / 2:.0%}"
        return f"{value.width:.0%} × {value.height:.0%} of the picture, middle at {middle}".replace("%", " %")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        if last in _WRITTEN:
            return _WRITTEN[last](float(value)) or "—"
        return mm_text(float(value)) if last.endswith("_mm") else f"{value:g}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        value = ", ".join(str(getattr(one, "name", one)) for one in value)
    return "—" if value in (None, "") else str(value)
