"""A frame's result in the one or two words of the large line: the same at the bench, to followers, on a tablet.

Every screen that says a frame's word takes it from `frame_word`. Only the checks count here: what the rules said before
the release was known when it was released. Knows no terminal.
"""

from __future__ import annotations

from dataclasses import dataclass

from session.frame.finding import SPOILT, CheckId, Finding, FocusVerdict, flaw_of
from session.frame.states import FrameState
from session.units.numbers import mm_text
from tui.words.bench_frame import BenchFrame
from tui.words.check_lines import check_line, is_unmeasured_or_near
from tui.words.headline import Tone

FOCUS_OPEN = "FOCUS ?"
"""The large line of a frame whose focus nobody has judged."""

REFERENCE = "REFERENCE"
"""The large line of a frame that others are compared with."""

STATE_LINES = {
    FrameState.REFUSED: ("NOT FIRED", Tone.STOP),
    FrameState.RELEASING: ("HANDS OFF", Tone.BUSY),
    FrameState.RECEIVING: ("SAVING", Tone.BUSY),
    FrameState.SAVED: ("CHECKING", Tone.BUSY),
    FrameState.LOGGED: (FOCUS_OPEN, Tone.CAUTION),
    FrameState.NOT_FIRED: ("NOT FIRED", Tone.STOP),
    FrameState.UNCERTAIN: ("FIRED?", Tone.STOP),
    FrameState.MISSING: ("NOT SAVED", Tone.STOP),
}
"""The large line of a frame that no check has answered for yet."""


@dataclass(frozen=True)
class FrameWord:
    """A frame's word.

    large  `MISSED 0.3 mm`, `SHARP 0.8 / 1.0`, `CAMERA MOVED`: for the large line
    tone   how it sounds
    about  the finding that it is about, None where no check has one
    stays  something is wrong with the frame: the word stands until a key is pressed or the next frame is released
    """

    large: str
    tone: Tone
    about: Finding | None = None
    stays: bool = False


def frame_word(frame: BenchFrame) -> FrameWord:
    """The word for a frame, whoever looks; the gravest of what the checks say goes first.

    frame  as `bench_frame` makes it of the controller's events or of the log: both give the same word
    """
    if frame.is_reference:
        return FrameWord(REFERENCE, Tone.GOOD)
    if frame.focus is None:
        return FrameWord(*STATE_LINES.get(frame.state, (str(frame.state).upper(), Tone.BUSY)))
    large, tone, about = _judged_word(frame)
    return FrameWord(large, tone, about, tone in (Tone.STOP, Tone.CAUTION) and large != FOCUS_OPEN)


def px_text(blur_px: float | None) -> str:
    """`3.1 px`, never below none, as one that is sharper than the reference shows; "" when nothing was measured."""
    return "" if blur_px is None else f"{max(0.0, blur_px):.1f} px"


def _judged_word(frame: BenchFrame) -> tuple[str, Tone, Finding | None]:
    flaw = flaw_of(frame.checks)
    if flaw and flaw.id in SPOILT:
        return check_line(flaw), Tone.STOP, flaw
    about = next((finding for finding in frame.checks if finding.id == CheckId.FOCUS), None)
    focus = frame.focus
    if focus and focus.verdict is FocusVerdict.MISSED:
        far = mm_text(focus.defocus_mm) if focus.defocus_mm is not None else px_text(focus.blur_px)
        return f"MISSED {far}".strip(), Tone.STOP, about
    if focus and focus.verdict is FocusVerdict.SOFT:
        return f"SOFT {px_text(focus.blur_px)}".strip(), Tone.CAUTION, about
    room = next((finding for finding in frame.checks if finding.id == CheckId.AMBIENT_LIGHT), None)
    other = flaw or room
    if other:
        content = other is room and not is_unmeasured_or_near(other)
        return check_line(other), Tone.GOOD if content else Tone.CAUTION, other
    if focus and focus.verdict is FocusVerdict.SHARP:
        return _sharp_line(focus.blur_px, frame.blur_limit_px), Tone.GOOD, about
    alone = bool(frame.solo or frame.series)
    return (frame.purpose.upper(), Tone.GOOD, about) if alone else (FOCUS_OPEN, Tone.CAUTION, about)


def _sharp_line(blur_px: float | None, limit_px: float | None) -> str:
    """`SHARP 0.8 / 1.0`: the blur and the blur allowed, px; a short line keeps the letters large.

    The sentence under the line says the unit.
    """
    if blur_px is None:
        return "SHARP"
    return f"SHARP {max(0.0, blur_px):.1f}" + (f" / {limit_px:.1f}" if limit_px else " px")
