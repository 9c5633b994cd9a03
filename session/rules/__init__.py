"""What is checked before the release: each rule is a function of the situation that gives findings.

A `stop` keeps the shutter shut until it is mended or overruled with a reason; a finding whose remedy is
to wait makes the release wait; the rest is told. To add a rule, write a function beside its like and put
it into `RULES`.
"""

from __future__ import annotations

from collections.abc import Callable

from session.frame.finding import Finding, RemedyKind
from session.rules.exposing import drifted_settings, fixed_exposure, focus_by_hand
from session.rules.flash import recycling, sync
from session.rules.lights import ambient, flash_duration
from session.rules.optics import aperture_by_hand, depth, diffraction
from session.rules.room import room_for_files
from session.rules.situation import Situation
from session.rules.stillness import hold_off, stabiliser
from session.set.lens_in_use import APERTURE_BY_HAND

__all__ = ["CAN_STOP", "RULES", "Situation", "findings_before_release", "ready_at_s"]

Rule = Callable[[Situation], tuple[Finding, ...]]

RULES: tuple[Rule, ...] = (
    drifted_settings,
    sync,
    flash_duration,
    fixed_exposure,
    focus_by_hand,
    stabiliser,
    aperture_by_hand,
    depth,
    diffraction,
    ambient,
    room_for_files,
    recycling,
    hold_off,
)
"""In the order in which a person would mend them: settings first, waits last."""


CAN_STOP = (
    "drifted",
    "sync",
    "exposure-mode",
    "iso",
    "focus-mode",
    "stabiliser",
    APERTURE_BY_HAND,
    "hold-off",
    "battery",
    "card",
    "disk",
    "log",
    "files",
)
"""Ids of findings that can keep the shutter shut, and so can be overruled; the controller's own are "log", "files"."""


def findings_before_release(situation: Situation) -> tuple[Finding, ...]:
    """What all rules say now."""
    return tuple(finding for rule in RULES for finding in rule(situation))


def ready_at_s(findings: tuple[Finding, ...], now_s: float) -> tuple[float, str]:
    """When the longest wait among the findings is over, and which rule asks for it ("" when none does)."""
    waits = [(now_s + f.remedy.wait_s, f.id) for f in findings if f.remedy and f.remedy.kind is RemedyKind.WAIT]
    return max(waits, default=(now_s, ""))
