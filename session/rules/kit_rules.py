"""A rule about the kit: whether its numbers are those of the camera that is connected."""

from __future__ import annotations

from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId
from session.rules.situation import Situation
from session.units.numbers import time_text


def camera_in_kit(situation: Situation) -> tuple[Finding, ...]:
    """The connected camera isn't in the kit, so that sync time and sensor are another body's, or aren't known.

    A body that the set-up names was chosen by a person, and is believed.
    """
    kit, model = situation.kit, situation.camera_model
    named = any(body.name == situation.revision.body for body in kit.body)
    if not model or named or kit.connected_body(situation.camera_serial, model):
        return ()
    body = situation.body
    if body is None:
        text = f"The kit has no body, so {model}'s sync time and sensor aren't known: no rule looks at them."
    else:
        whose = f"{body.name}{', which is invented' if kit.invented else ''}"
        text = f"{model} isn't in the kit: sync time {time_text(body.sync_time_s)} and sensor are those of {whose}."
    remedy = Remedy(RemedyKind.BY_HAND, "write the body into the kit, by its maker's manual")
    return (Finding(RuleId.KIT, Level.CAUTION, text, remedy=remedy),)
