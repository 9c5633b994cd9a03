"""Did the flash fire, and fully: a frame much darker than its reference at the same settings."""

from __future__ import annotations

import numpy as np

from session.checks.light.brightness import Exposure
from session.checks.material.check_limits import NEARLY_BLACK_EV, NO_FLASH_EV, WEAK_FLASH_EV
from session.checks.material.checked_picture import Material
from session.checks.material.settings import flash_light_ev
from session.frame.finding import CheckId, Finding, FlawKind, Level, Remedy, RemedyKind
from session.picture.linear_light import ev_between

BRIGHTEST_PERCENT = 99.5

LOOK_AT_FLASH = Remedy(RemedyKind.BY_HAND, "look at trigger, cord and the flash's lamp; release again")


def against_reference(now: Exposure, frame: Material, reference: Material, lights: int = 1) -> tuple[Finding, ...]:
    """No flash or a weak one: region and whole both darker than settings alone explain.

    lights  in the set; of two or more one may be missing, which `missing_light` names where the picture shows it
    """
    if now.region_ev is None or now.whole_ev is None:
        return ()
    # settings excuse a darker frame; they don't accuse one, for power may have been turned down along with them
    excused = min(0.0, flash_light_ev(frame.exif, reference.exif))
    missing = excused - max(now.region_ev, now.whole_ev)
    if missing >= NO_FLASH_EV:
        text = f"No flash: {missing:.1f} EV darker than the reference."
        return (_finding(text, -missing, -NO_FLASH_EV, LOOK_AT_FLASH, FlawKind.NO_FLASH),)
    if missing >= WEAK_FLASH_EV:
        text = f"Weak flash: {missing:.1f} EV darker than the reference; not recycled, or its power was turned down."
        remedy = Remedy(RemedyKind.BY_HAND, "let it recycle, release again")
        kind = FlawKind.WEAK_FLASH
        if lights > 1:
            kind = FlawKind.ONE_OF_SEVERAL
            text = f"A light is missing or weak: which one can't be told. {missing:.1f} EV darker than the reference."
            remedy = Remedy(
                RemedyKind.BY_HAND, "look at each light's trigger and power, let them recycle, release again"
            )
        return (_finding(text, -missing, -WEAK_FLASH_EV, remedy, kind),)
    return ()


def alone(frame: Material) -> tuple[Finding, ...]:
    """Without a reference only the plain case can be told: a picture that is all but black."""
    under_ev = -ev_between(float(np.percentile(frame.light, BRIGHTEST_PERCENT)), 1.0)
    if under_ev < NEARLY_BLACK_EV:
        return ()
    text = f"Nearly black: the brightest parts lie {under_ev:.1f} EV under white. No flash?"
    return (_finding(text, -under_ev, -NEARLY_BLACK_EV, LOOK_AT_FLASH, FlawKind.NO_FLASH),)


def _finding(text: str, value_ev: float, limit_ev: float, remedy: Remedy, kind: FlawKind) -> Finding:
    return Finding(CheckId.FLASH, Level.CAUTION, text, round(value_ev, 2), float(limit_ev), "EV", remedy, kind)
