"""Live view in words: the large line while a hand turns the ring, or while a release waits for the picture to rest."""

from __future__ import annotations

from session.frame.finding import RuleId
from session.frame.moves import STILL_FOR_S, Moves
from session.live.decode import Stream
from session.live.meter import Advice, FocusReading
from session.live.sweep import Range
from session.set.setup import Confirmation, Revision
from session.shoot.events import StreamChanged, Waiting
from session.units.numbers import mm_text, percent_text
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, hint
from tui.words.live_model import LiveModel

NO_LIVE_VIEW = "This camera offers no live view; everything else works."

STREAM_LINES = {
    Stream.LOST: "NO PICTURE",
    Stream.FROZEN: "FROZEN",
    Stream.BLACK: "BLACK",
    Stream.BROKEN: "DAMAGED",
}
"""The large line while the stream is unwell; STREAM_TEXTS has its sentence. A slow stream still shows the focus."""

FOCUS_LINES = {Advice.IN_THE_WAY: "COVERED", Advice.NO_DETAIL: "NO DETAIL", Advice.WRONG_WAY: "WRONG WAY"}
"""The large line where the number would mislead."""

ADVICE_TEXTS = {
    Advice.NONE: "",
    Advice.PAST_THE_BEST: "Past the best: turn back by about a third of the last move.",
    Advice.WRONG_WAY: "Falling: turn the other way.",
    Advice.IN_THE_WAY: "Something is in the way; the best so far is kept.",
    Advice.NO_DETAIL: "The region has no detail to focus on; move it to an edge or to lettering.",
}
"""Sentences for the advice on the focus number."""

STREAM_TEXTS = {
    Stream.NONE: "",
    Stream.GOOD: "",
    Stream.SLOW: "Live view brings {rate_per_s:.1f} pictures a second: too few to judge stillness.",
    Stream.BROKEN: "The live picture came damaged; waiting for a whole one.",
    Stream.BLACK: "The live picture is black: lens cap, lamps, or the camera's exposure preview.",
    Stream.FROZEN: "The live picture is frozen: the camera sends the same one again and again.",
    Stream.LOST: "No live picture comes any more; the timer's hold-off is used.",
    Stream.ENDED: "The camera has ended live view, and it is tried again: {why}",
}
"""Sentences for the states of the stream."""


def stream_text(event: StreamChanged) -> str:
    """One sentence for the person, "" while all is well."""
    return STREAM_TEXTS[event.state].format(rate_per_s=event.rate_per_s, why=event.why)


def live_headline(live: LiveModel, *, sweeping: bool) -> Headline:
    """The large line and sentence in live view, for the hands at the ring.

    sweeping  the drive looks for the peak: it passes it on purpose, and goes where a blur hides detail as a hand does
    """
    if live.look.paused:
        return Headline("PAUSED", f"The live picture is held still. {hint(Where.BENCH, 'pause', 'goes on')}", Tone.WAIT)
    if live.stream in STREAM_LINES:
        return Headline(STREAM_LINES[live.stream], "", Tone.STOP)
    focus = live.focus
    if focus is None:
        return Headline("SWEEP" if sweeping else "LIVE", "", Tone.BUSY)
    if sweeping:
        return Headline(f"SWEEP {contrast_text(steady_contrast(focus))}".strip(), best_text(focus), Tone.BUSY)
    return _meter_headline(focus)


def _meter_headline(focus: FocusReading) -> Headline:
    if focus.advice in FOCUS_LINES:
        return Headline(FOCUS_LINES[focus.advice], ADVICE_TEXTS[focus.advice], Tone.CAUTION)
    number = contrast_text(steady_contrast(focus))
    if focus.past_best:
        return Headline(f"BACK {number}", back_text(focus), Tone.CAUTION)
    return Headline(f"FOCUS {number}".strip(), best_text(focus), Tone.BUSY)


def steady_contrast(focus: FocusReading) -> float | None:
    """The focus number without the single frame's unsteadiness, percent; None when the contrast wasn't judged."""
    if focus.share_of_best is None or focus.best_contrast is None:
        return focus.contrast
    return focus.share_of_best * focus.best_contrast


def best_text(focus: FocusReading) -> str:
    """`Best so far 4.51, 12 s ago; now 96 % of it, rising.`"""
    if focus.best_contrast is None:
        return ""
    best = f"Best so far {contrast_text(focus.best_contrast)}, {focus.best_since_s:.0f} s ago"
    if focus.share_of_best is None:
        return f"{best}."
    return f"{best}; now {percent_text(focus.share_of_best)} of it, {focus.trend}."


def back_text(focus: FocusReading) -> str:
    """`Past the best: turn back by about a third of the last move. Now 78 % of it.`"""
    now = f" Now {percent_text(focus.share_of_best)} of it." if focus.share_of_best is not None else ""
    return f"{ADVICE_TEXTS[Advice.PAST_THE_BEST]}{now}"


def range_text(where: Range) -> str:
    """A sentence on how far a sweep looks."""
    return (
        f"A sweep looks over {where.span_steps} steps of the drive, {where.step_steps} apart, "
        "and farther where the contrast still rises."
    )


def contrast_text(contrast: float | None) -> str:
    """Contrast, no unit, in three digits, as many as stand still: `4.51`, `12.3`; "" when it could not be judged."""
    if contrast is None:
        return ""
    return f"{contrast:.1f}" if contrast >= 10 else f"{contrast:.2f}"


def still_line(waiting: Waiting, revision: Revision | None, moves: Moves | None, now_s: float) -> str:
    """`AT REST 0.4 s` or `MOVING 3.1 px` while a release waits for the picture to rest; "" while it is the timer's."""
    if waiting.reason != RuleId.HOLD_OFF or revision is None or Confirmation.BY_STILLNESS not in revision.confirmed:
        return ""
    if waiting.until_s is None or moves is None or not moves.is_fresh(now_s):
        return ""
    if moves.still_since_s is None:
        return "MOVING" if moves.moving_px is None else f"MOVING {moves.moving_px:.1f} px"
    still_s = STILL_FOR_S - (waiting.until_s - now_s)
    return f"AT REST {min(still_s, STILL_FOR_S):.1f} s" if still_s >= 0 else ""


def far_text(px: float, mm: float | None, one: str, other: str) -> str:
    """`12.0 px (0.4 mm) left`: how far something lies from its place, px of the sensor and mm on the piece if known.

    one, other  the words for a positive and a negative way
    """
    return f"{abs(px):.1f} px{f' ({mm_text(abs(mm))})' if mm is not None else ''} {one if px >= 0 else other}"
