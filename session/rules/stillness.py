"""Rules about stillness: the wait after the last touch, and the stabiliser on a tripod."""

from __future__ import annotations

from session.finding import Finding, Level, Remedy, RemedyKind
from session.rules.situation import Situation


def hold_off(situation: Situation) -> tuple[Finding, ...]:
    """Camera, focus, light or table was touched less than the set-up's hold-off ago."""
    if situation.touched_s is None:
        return ()
    limit_s = situation.revision.hold_off_s
    left_s = situation.touched_s + limit_s - situation.now_s
    if left_s <= 0:
        return ()
    remedy = Remedy(RemedyKind.WAIT, "fires by itself", wait_s=left_s)
    text = f"touched {limit_s - left_s:.1f} s ago, holds off {left_s:.1f} s more."
    return (Finding("hold-off", Level.NOTE, text, limit_s - left_s, limit_s, "s", remedy),)


def stabiliser(situation: Situation) -> tuple[Finding, ...]:
    """It is on while the camera stands on a tripod; asks for a tick where the camera can't tell."""
    told = situation.reading.value("stabiliser")
    if told is not None:
        if told not in (True, "on"):
            return ()
        remedy = Remedy(RemedyKind.SET_CAMERA, "switch it off", {"stabiliser": "off"})
        return (Finding("stabiliser", Level.STOP, "The stabiliser is on, on a tripod.", 1, 0, "", remedy),)
    lens = situation.kit.lens_for(situation.revision.arrangement.lens)
    body = situation.body
    has_one = (body is not None and body.stabiliser) or (lens is not None and lens.stabiliser)
    if not has_one or "stabiliser" in situation.revision.ticked:
        return ()
    remedy = Remedy(RemedyKind.TICK, "switched off: tick")
    text = "The camera can't tell whether the stabiliser is off; look at its switch."
    return (Finding("stabiliser", Level.STOP, text, None, None, "", remedy),)
