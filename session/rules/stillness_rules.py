"""Rules about stillness: the wait after the last touch or until the live picture rests, and the stabiliser."""

from __future__ import annotations

from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId, waits
from session.frame.moves import STILL_FOR_S, Moves
from session.rules.situation import Situation
from session.set.setup import Confirmation, Revision

STILL_SHARE = 1 / 3
"""Half swing that counts as still, as a share of the set-up's blur limit. Blurs add by their variances: a half swing a,
exposed for whole swings, has a²/4 on the average of both directions, as a disc of that radius has, so that a third of
the limit leaves √(1 − 1/9) = 94 % of it to the focus. Under flash still less falls into the light. Worked out; that a
third is too little to count is common practice in measuring, no source."""

LONGEST_WAIT_S = 15.0
"""After this a release that waits for stillness is given up, and says so. Chosen: seven times the usual hold-off."""


def still_limit_px(revision: Revision) -> float:
    """Half swing of the picture that counts as still, px of the sensor."""
    return STILL_SHARE * revision.blur_limit_px


def hold_off(situation: Situation) -> tuple[Finding, ...]:
    """The last touch was less than the set-up's hold-off ago, or the live picture still moves."""
    moves, by_stillness = situation.moves, Confirmation.BY_STILLNESS in situation.revision.confirmed
    if by_stillness and moves is not None and moves.is_fresh(situation.now_s):
        return _until_still(situation, moves)
    left_s = _timer_left_s(situation, situation.touched_s)
    unwatched = "no live picture shows whether it is still; " if by_stillness else ""
    if situation.touched_s is None or left_s <= 0:
        return (Finding(RuleId.HOLD_OFF, Level.NOTE, _NOT_WATCHED),) if by_stillness else ()
    limit_s = situation.revision.hold_off_s
    text = f"{unwatched}touched {limit_s - left_s:.1f} s ago, holds off {left_s:.1f} s more."
    return (_wait(left_s, limit_s, text),)


_NOT_WATCHED = "No live picture shows whether it is still; released by the timer's hold-off."


def _until_still(situation: Situation, moves: Moves) -> tuple[Finding, ...]:
    """Waits for rest as long as the live pictures ask for, but not for ever."""
    limit_px, disturbed_s = still_limit_px(situation.revision), max(moves.moved_s, situation.touched_s or moves.moved_s)
    if moves.still_since_s is None:
        return (_moving(situation, moves, limit_px),)
    left_s = STILL_FOR_S - (moves.seen_s - max(moves.still_since_s, situation.touched_s or moves.still_since_s))
    if left_s > 0:
        return (_wait(left_s, STILL_FOR_S, f"still for {STILL_FOR_S - left_s:.1f} of {STILL_FOR_S:g} s."),)
    left_s = _timer_left_s(situation, disturbed_s)
    if left_s <= 0 or (moves.could_move_px is not None and moves.could_move_px <= limit_px):
        return ()
    text = f"looks still, but the live pictures could miss a swing; holds off {left_s:.1f} s more."
    return (_wait(left_s, situation.revision.hold_off_s, text),)


def _moving(situation: Situation, moves: Moves, limit_px: float) -> Finding:
    moving = f"±{moves.moving_px:.1f} px" if moves.moving_px is not None else "too far to measure"
    waited_s = situation.now_s - situation.asked_s if situation.asked_s is not None else 0.0
    if waited_s >= LONGEST_WAIT_S:
        text = f"The picture still moves {moving} after {waited_s:.0f} s, limit ±{limit_px:.1f} px."
        remedy = Remedy(RemedyKind.BY_HAND, "find what shakes it, or overrule with a reason")
        return Finding(RuleId.HOLD_OFF, Level.STOP, text, moves.moving_px, limit_px, "px", remedy)
    text = f"the picture moves {moving}, limit ±{limit_px:.1f} px; waits until it is still for {STILL_FOR_S:g} s."
    remedy = waits(STILL_FOR_S)
    return Finding(RuleId.HOLD_OFF, Level.NOTE, text, moves.moving_px, limit_px, "px", remedy)


def _timer_left_s(situation: Situation, disturbed_s: float | None) -> float:
    """The rest of the set-up's hold-off since the last disturbance, s."""
    return 0.0 if disturbed_s is None else disturbed_s + situation.revision.hold_off_s - situation.now_s


def _wait(left_s: float, limit_s: float, text: str) -> Finding:
    remedy = waits(left_s)
    return Finding(RuleId.HOLD_OFF, Level.NOTE, text, limit_s - left_s, limit_s, "s", remedy)


def stabiliser(situation: Situation) -> tuple[Finding, ...]:
    """The stabiliser is on while the camera stands on a tripod; asks the photographer where the camera can't tell."""
    told = situation.reading.value("stabiliser")
    if told is not None:
        if told not in (True, "on"):
            return ()
        remedy = Remedy(RemedyKind.SET_CAMERA, "switch it off", {"stabiliser": "off"})
        return (Finding(RuleId.STABILISER, Level.STOP, "The stabiliser is on, on a tripod.", 1, 0, "", remedy),)
    lens = situation.kit.lens_for(situation.revision.arrangement.lens)
    body = situation.body
    has_one = (body is not None and body.stabiliser) or (lens is not None and lens.stabiliser)
    if not has_one or Confirmation.STABILISER in situation.revision.confirmed:
        return ()
    remedy = Remedy(RemedyKind.CONFIRM, "yes, it is off")
    text = "The camera can't tell whether the stabiliser is off; look at its switch."
    return (Finding(RuleId.STABILISER, Level.STOP, text, None, None, "", remedy),)
