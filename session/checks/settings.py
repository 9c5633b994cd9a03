"""What the file's Exif says against what was asked: exposure time, f-number, ISO.

The flash tag is not looked at: a flash on a cord or radio leaves 'did not fire', so the picture decides.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from session.exif import Exif
from session.finding import Finding, Level, Remedy, RemedyKind
from session.numbers import SETTING_SLACK_EV, f_text, same_setting, time_text

_COMPARED: tuple[tuple[str, str, float, Callable[[float], str]], ...] = (
    ("exposure_s", "exposure time", 1.0, time_text),
    ("f_number", "aperture", 2.0, f_text),
    ("iso", "ISO", 1.0, lambda iso: f"{iso:.0f}"),
)
"""Setting, its word, EV for a doubling, and how it is written."""


def as_asked(exif: Exif, asked: dict[str, object]) -> tuple[Finding, ...]:
    """One finding that names every setting that differs by a tenth of a stop or more; none when Exif is silent."""
    differing, largest_ev = [], 0.0
    for name, word, ev_per_doubling, shown in _COMPARED:
        told, wanted = getattr(exif, name), asked.get(name)
        if told is None or not isinstance(wanted, int | float) or wanted <= 0:
            continue
        if not same_setting(told, wanted, ev_per_doubling=ev_per_doubling):
            differing.append(f"{word} {shown(told)}, asked was {shown(wanted)}")
            largest_ev = max(largest_ev, abs(difference_ev(name, told, wanted)))
    if not differing:
        return ()
    text = f"The file says {'; '.join(differing)}."
    remedy = Remedy(RemedyKind.BY_HAND, "restore the camera's settings, release again")
    return (Finding("settings", Level.CAUTION, text, round(largest_ev, 2), SETTING_SLACK_EV, "EV", remedy),)


def difference_ev(name: str, told: float, wanted: float) -> float:
    """By how much the picture is brighter for this difference, EV, ambient light and flash alike."""
    if name == "f_number":
        return -2 * math.log2(told / wanted)
    return math.log2(told / wanted)


def flash_light_ev(exif: Exif, reference: Exif) -> float:
    """By how much flash light in the picture changes through f-number and ISO alone; 0 where Exif is silent."""
    total = 0.0
    for name in ("f_number", "iso"):
        told, before = getattr(exif, name), getattr(reference, name)
        if told and before:
            total += difference_ev(name, told, before)
    return total
