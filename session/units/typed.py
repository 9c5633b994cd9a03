"""Numbers as people type them, read for the quantity that they are meant for, and held to its range.

The same texts are read at the bench, on the command line and in a kit file: `1/200`, `f/11`, `1/4 +⅓`, `60 left`,
`35 up`, `1:2`, `620 mm`. What a quantity may be stands in `session.units.quantities`, and nowhere else.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from session.units.quantities import RefusedNumberError, allowed_range, require
from session.units.refusals import UnreadableTextError

TURNS = ("left", "right", "up", "down")
"""Where the face of a thing may be turned to."""


def typed_number(name: str, text: str, called: str = "") -> float:
    """The number that a text means for the quantity of that name, in its unit; a whole one for ISO speeds and the like.

    called  what the quantity is called in a refusal, where that isn't its name
    Raises ValueError with one sentence when the text is no number of that kind or lies outside the range.
    """
    called = called or name
    allowed = allowed_range(name)
    bare = text.strip().replace("−", "-").casefold()
    kind = next((known for known in _READERS if name.endswith(known)), "")
    try:
        number = _READERS[kind](bare) if kind else _amount(bare.removesuffix(allowed.unit.casefold()).strip())
    except (ValueError, ZeroDivisionError, OverflowError):
        like = (
            _LIKE.get(kind, "").format(called=called)
            or f"{called} is a number{f' in {allowed.unit}' if allowed.unit else ''}"
        )
        raise UnreadableTextError(f"{like}, not {text!r}.") from None
    try:
        require(**{name: number})
    except RefusedNumberError as error:
        raise error.in_words(called) from None
    return round(number) if allowed.whole else number


def _amount(bare: str) -> float:
    """A number, or the quotient of two: `0.5`, `0,5`, `1/2`, `1:2`."""
    parts = re.split("[/:]", bare)
    if len(parts) > 2:
        raise UnreadableTextError(f"no number, nor the quotient of two: {bare!r}")
    above, *below = (float(part.replace(",", ".")) for part in parts)
    return above / below[0] if below else above


def _seconds(bare: str) -> float:
    return _amount(bare.removesuffix("s").strip())


def _f_number(bare: str) -> float:
    return _amount(bare.removeprefix("f").removeprefix("/").strip())


def _iso(bare: str) -> float:
    return _amount(bare.removeprefix("iso").strip())


def _power_ev(bare: str) -> float:
    """`1/4`, `1/4 +⅓`, `1/4 (-2 EV)`, `-2`, `-1.7 EV`, `full`."""
    bare = re.sub(r"\(.*\)$", "", bare).removesuffix("ev").strip()
    if bare == "full":
        return 0.0
    share = re.fullmatch(r"1/(\d{1,5})(?:\s*\+\s*(.+))?", bare)
    if share is None:
        return float(bare.replace(",", "."))
    return round(-math.log2(int(share[1])) + _part_ev(share[2] or "0"), 4) + 0.0


def _part_ev(text: str) -> float:
    """A part of a stop: `⅓`, `1/3`, `0.3` as flashes say for a third, `0.5`."""
    named = {"⅓": 1 / 3, "⅔": 2 / 3, "1/3": 1 / 3, "2/3": 2 / 3, "0.3": 1 / 3, "0.7": 2 / 3}
    bare = text.strip().replace(",", ".")
    return named[bare] if bare in named else float(bare)


def _azimuth_deg(bare: str) -> float:
    """A typed side as an azimuth, 0 to 360. A bare number has no side but at 0 and 180: -60 may mean either."""
    words = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*°?\s*(l|left|r|right)?", bare)
    degrees = float(words[1].replace(",", ".")) if words else math.nan
    if not words or not 0 <= degrees <= 180 or (not words[2] and degrees not in (0, 180)):
        raise UnreadableTextError(f"no angle: {bare!r}")
    return (degrees if (words[2] or "l").startswith("l") else -degrees) % 360


def _elevation_deg(bare: str) -> float:
    """`35 up`, `35`, `10 down`, `-10`."""
    words = re.fullmatch(r"(-?\d+(?:[.,]\d+)?)\s*°?\s*(u|up|d|down)?", bare)
    degrees = float(words[1].replace(",", ".")) if words else math.nan
    if not words or (words[2] and degrees < 0) or abs(degrees) > 90:
        raise UnreadableTextError(f"no angle: {bare!r}")
    return -degrees if (words[2] or "u").startswith("d") else degrees


def typed_turn(text: str) -> tuple[float, str]:
    """How far a thing's face is turned from the piece, degrees, and where to: `45 left`, `30 down`, `0`.

    Raises ValueError with one sentence.
    """
    words = re.fullmatch(r"(\S+?)\s*°?\s*(l|left|r|right|u|up|d|down)?", text.strip().casefold())
    degrees = typed_number("turned_deg", words[1], "turned") if words else math.nan
    if not words or (degrees and not words[2]):
        raise UnreadableTextError(f"a turn is written like 45 left, 45 right, 30 up or 30 down, not {text!r}")
    return degrees, next((side for side in TURNS if words[2] and degrees and side.startswith(words[2][0])), "")


_READERS: dict[str, Callable[[str], float]] = {
    "exposure_s": _seconds,
    "f_number": _f_number,
    "power_ev": _power_ev,
    "level_ev": _power_ev,
    "azimuth_deg": _azimuth_deg,
    "elevation_deg": _elevation_deg,
    "view_around_deg": _azimuth_deg,
    "magnification": _amount,
    "crop_ratio": _amount,
    "iso": _iso,
}
"""How the name ends → how its texts are read; all others are numbers, with or without their unit."""

_LIKE = {
    "exposure_s": "an exposure time is written like 1/200 or 0.005",
    "f_number": "an f-number is written like 11 or f/11",
    "power_ev": "power is written like 1/4, 1/4 +1/3 or -2",
    "level_ev": "a level is written like 1/4, 1/4 +1/3 or -2",
    "azimuth_deg": "an angle has a side, like 60 left or 60 right (0: from the camera)",
    "view_around_deg": "{called} is an angle with a side, like 20 left or 20 right (0: from the front)",
    "elevation_deg": "a height is written like 35 up or 10 down, up to 90°",
    "magnification": "a ratio is written like 1:2 or 0.5",
    "crop_ratio": "a crop is written like 4:5 or 0.8 (a spreadsheet may make a time of 4:5)",
}
