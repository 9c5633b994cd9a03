"""The rules before the release: each rule is a function of the situation that gives findings.

A `stop` keeps the shutter shut until it is mended or overruled with a reason; a finding whose remedy is
to wait makes the release wait; the rest is told. DEVELOPERS.md shows how a rule is added.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId
from session.rules.camera_rules import camera_in_kit, drifted_settings, fixed_exposure, focus_by_hand
from session.rules.lens_rules import aperture_by_hand, depth, diffraction
from session.rules.light_rules import ambient, flash_duration, recycling, sync
from session.rules.room_rules import no_card, room_for_files
from session.rules.situation import Situation
from session.rules.stillness_rules import hold_off, stabiliser
from session.set.setup import Confirmation
from session.units.quantities import RefusedNumberError
from session.units.value_words import name_words

__all__ = ["CAN_STOP", "RULES", "Situation", "findings_before_release", "ready_at_s"]

Rule = Callable[[Situation], tuple[Finding, ...]]

RULES: Mapping[RuleId, Rule] = MappingProxyType(
    {
        RuleId.KIT: camera_in_kit,
        RuleId.DRIFTED: drifted_settings,
        RuleId.SYNC: sync,
        RuleId.FLASH_DURATION: flash_duration,
        RuleId.EXPOSURE_MODE: fixed_exposure,
        RuleId.FOCUS_MODE: focus_by_hand,
        RuleId.STABILISER: stabiliser,
        RuleId.APERTURE_BY_HAND: aperture_by_hand,
        RuleId.DEPTH: depth,
        RuleId.DIFFRACTION: diffraction,
        RuleId.AMBIENT: ambient,
        RuleId.NO_CARD: no_card,
        RuleId.BATTERY: room_for_files,
        RuleId.RECYCLING: recycling,
        RuleId.HOLD_OFF: hold_off,
    }
)
"""In the order in which a person would mend them: settings first, waits last; a rule with several names
stands under its first."""


CAN_STOP = (
    RuleId.DRIFTED,
    RuleId.SYNC,
    RuleId.EXPOSURE_MODE,
    RuleId.ISO,
    RuleId.FOCUS_MODE,
    RuleId.STABILISER,
    RuleId.APERTURE_BY_HAND,
    RuleId.HOLD_OFF,
    RuleId.NO_CARD,
    RuleId.BATTERY,
    RuleId.CARD,
    RuleId.DISK,
    RuleId.LOG,
    RuleId.FILES,
)
"""Findings that can keep the shutter shut, and so can be overruled."""


CONFIRMED_BY: Mapping[str, Confirmation] = MappingProxyType(
    {
        RuleId.STABILISER: Confirmation.STABILISER,
        RuleId.APERTURE_BY_HAND: Confirmation.APERTURE_BY_HAND,
    }
)
"""What the photographer's word for a finding stands for in the set-up."""


def findings_before_release(situation: Situation) -> tuple[Finding, ...]:
    """The findings of all rules now; a rule that can't be worked out from the set-up's numbers gives a caution."""
    found: list[Finding] = []
    for rule_id, rule in RULES.items():
        try:
            found += rule(situation)
        except RefusedNumberError as error:
            found.append(_not_worked_out(rule_id, str(error.in_words(name_words(error.name)))))
        except ValueError as error:
            found.append(_not_worked_out(rule_id, str(error)))
    return tuple(found)


def _not_worked_out(rule_id: RuleId, why: str) -> Finding:
    text = f"The rule about {rule_id.replace('-', ' ')} can't be worked out: {why.rstrip('.')}."
    return Finding(rule_id, Level.CAUTION, text, remedy=Remedy(RemedyKind.BY_HAND, "correct the set-up"))


def ready_at_s(findings: tuple[Finding, ...], now_s: float) -> tuple[float, RuleId | None]:
    """When the longest wait among the findings is over, s, and which rule asks for it; None when none does."""
    waits = [(now_s + f.remedy.wait_s, RuleId(f.id)) for f in findings if f.remedy and f.remedy.kind is RemedyKind.WAIT]
    return max(waits, default=(now_s, None))
