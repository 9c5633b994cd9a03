"""The file's Exif against the settings asked for: exposure time, f-number, ISO.

The flash tag is not looked at: a flash on a cord or radio leaves 'did not fire', so the picture decides.
"""

from __future__ import annotations

import math

from session.frame.finding import CheckId, Finding, Level, Remedy, RemedyKind
from session.picture.exif import Exif
from session.units.numbers import SETTING_SLACK_EV
from session.units.value_words import EV_PER_DOUBLING, name_words, same_value, value_words


def as_asked(exif: Exif, asked: dict[str, object]) -> tuple[Finding, ...]:
    """One finding that names every setting that differs by a tenth of a stop or more; none when Exif is silent."""
    differing, largest_ev = [], 0.0
    for name in EV_PER_DOUBLING:
        told, wanted = getattr(exif, name), asked.get(name)
        if told is None or not isinstance(wanted, int | float) or wanted <= 0:
            continue
        if not same_value(name, told, wanted):
            differing.append(f"{name_words(name)} {value_words(name, told)}, asked was {value_words(name, wanted)}")
            largest_ev = max(largest_ev, abs(difference_ev(name, told, wanted)))
    if not differing:
        return ()
    text = f"The file says {'; '.join(differing)}."
    remedy = Remedy(RemedyKind.BY_HAND, "restore the camera's settings, release again")
    return (Finding(CheckId.SETTINGS, Level.CAUTION, text, round(largest_ev, 2), SETTING_SLACK_EV, "EV", remedy),)


def difference_ev(name: str, told: float, wanted: float) -> float:
    """By how much the picture is brighter for this difference, EV, ambient light and flash alike."""
    sign = -1.0 if name == "f_number" else 1.0
    return sign * EV_PER_DOUBLING[name] * math.log2(told / wanted)


def flash_light_ev(exif: Exif, reference: Exif) -> float:
    """EV by which flash light in the picture changes through f-number and ISO alone; 0 where Exif is silent."""
    total = 0.0
    for name in ("f_number", "iso"):
        told, before = getattr(exif, name), getattr(reference, name)
        if told and before:
            total += difference_ev(name, told, before)
    return total
