"""The large line, and the sentence under it, as words made from the model. Knows no terminal.

A sentence answers, in this order: did it fire, is the frame safe, why (with numbers), which key next.
The state is in the words; `Tone` only repeats it in colour.
"""

from __future__ import annotations

from session.frame.finding import SPOILT, CheckId, Finding, FocusVerdict, Level, RemedyKind, RuleId
from session.frame.states import FrameState, ReleasedBy
from session.rules.camera_rules import differing
from session.shoot.events import CameraBusy, CameraWait, CardBeingRead, Waiting
from session.units.numbers import mm_text, transfer_text
from session.units.value_words import values_text
from tui.words.bench_frame import BenchFrame
from tui.words.check_lines import flaw_words
from tui.words.frame_word import REFERENCE, frame_word, px_text
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, cap_of, hint
from tui.words.live_words import live_headline, still_line
from tui.words.model import NEVER_RELEASED, BenchModel, Phase, read_so_far
from tui.words.order_words import count_words

FILES_COMING = "its files are coming in"
NOT_MEASURED = "nothing was measured"
NOTE_KEPT = "The note is kept."

RULE_LINES: dict[str, str] = {
    RuleId.SYNC: "NO SYNC",
    RuleId.HOLD_OFF: "STILL MOVING",
    RuleId.DRIFTED: "DIAL TURNED",
    RuleId.EXPOSURE_MODE: "AUTO MODE",
    RuleId.ISO: "AUTO ISO",
    RuleId.FOCUS_MODE: "AUTO FOCUS",
    RuleId.STABILISER: "STABILISER",
    RuleId.APERTURE_BY_HAND: "SET APERTURE",
    RuleId.NO_CARD: "NO CARD",
    RuleId.BATTERY: "BATTERY LOW",
    RuleId.CARD: "CARD FULL",
    RuleId.DISK: "DISK FULL",
    RuleId.LOG: "LOG STUCK",
    RuleId.FILES: "WHOSE FILE?",
}
"""Rule id → the large line while it says stop; any other rule reads STOPPED."""

CAMERA_WAITS: dict[str, str] = {
    CameraWait.HANDING_OVER: "until the camera has handed over the last one",
    CameraWait.SETTINGS: "until the camera has taken its settings",
    CameraWait.LATE_FILE: "for a frame that the camera may still be writing",
    CameraWait.DRIVE: "until the focus drive stands",
    CameraWait.CARD: "until the card's folder is read",
}
"""Reason of a wait whose end only the camera knows → the words for it."""

SAFETY = {
    FrameState.SAVED: "saved",
    FrameState.LOGGED: "saved",
    FrameState.MISSING: "not all saved",
    FrameState.UNCERTAIN: "not all saved",
}
"""Words for the files of a judged frame, by its state; in other states its files are still coming in."""

LEVEL_SIGNS = {Level.STOP: "■", Level.CAUTION: "!", Level.NOTE: "·"}
VERDICT_SIGNS = {
    FocusVerdict.SHARP: "●",
    FocusVerdict.SOFT: "◐",
    FocusVerdict.MISSED: "○",
    FocusVerdict.UNJUDGED: "?",
}


def headline(model: BenchModel, now_s: float) -> Headline:  # noqa: PLR0911 — one for each kind of phase
    """The large line: the present state or the next event; now_s as `Clock.monotonic_s`."""
    phase = model.phase()
    spot = model.frames.get(model.spot or "")
    if phase is Phase.HELD and model.waiting:
        return _headline_of_wait(model, model.waiting, now_s)
    if phase in (Phase.RELEASING, Phase.SAVING) and model.in_camera:
        return _in_camera(model, model.in_camera, phase)
    if phase is Phase.NO_CAMERA:
        return _no_camera(model, spot)
    if phase is Phase.REFERENCE:
        return _reference(model)
    if phase is Phase.STOPPED:
        return _headline_of_stop(model)
    if spot and phase is not Phase.READY:
        return _result(model, spot, phase)
    return _ready(model)


def sentences(model: BenchModel, now_s: float, head: Headline | None = None) -> list[str]:
    """The sentences under the large line at `now_s` seconds; `head`: the large line, None for the model's own.

    Lasting ones first, then the large line's own, then the passing one: the end is cut where room is short.
    """
    said = [*model.lasting.values(), (head or headline(model, now_s)).sentence, model.passing]
    return list(dict.fromkeys(text for text in said if text))


def remedy_hint(findings: tuple[Finding, ...]) -> str:
    """`[f] set 1/200 s` for the first finding that a key can mend; "" when none can."""
    finding = first_mendable(findings)
    return hint(Where.BENCH, "remedy", finding.remedy.text) if finding and finding.remedy else ""


def _remedy_of(finding: Finding) -> str:
    """The remedy of one finding with its key, or as a sentence where the hands must do it; "" when there is none."""
    if finding.remedy is None:
        return ""
    return remedy_hint((finding,)) or f"{remedy_words(finding, live=False)}."


def keep_words(model: BenchModel) -> str:
    """`keep f/8`: the camera's values that differ from the set-up's."""
    told = differing(model.revision, model.reading) if model.revision else {}
    return f"keep {values_text({name: value for name, (value, _) in told.items()})}".strip()


def remedy_words(finding: Finding, *, live: bool) -> str:
    """A finding's remedy as a sentence without its full stop, with its key: `Refocus in live view [v]`.

    live  a hand is at the focus in live view, and can turn back what it turned last
    """
    if finding.remedy is None:
        return ""
    if finding.id != CheckId.FOCUS:
        return f"{finding.remedy.text[:1].upper()}{finding.remedy.text[1:]}"
    if live:
        return "Turn back a third of the last move, release again"
    return f"{finding.remedy.text[:1].upper()}{finding.remedy.text[1:]} {cap_of(Where.BENCH, 'live')}"


def first_mendable(findings: tuple[Finding, ...]) -> Finding | None:
    """The first finding whose remedy the camera or the photographer's word applies."""
    by_key = (RemedyKind.SET_CAMERA, RemedyKind.CONFIRM)
    return next((f for f in findings if f.remedy and f.remedy.kind in by_key), None)


STATE_WORDS = {
    FrameState.RELEASING: "releasing",
    FrameState.RECEIVING: "coming in",
    FrameState.MISSING: "not saved",
    FrameState.UNCERTAIN: "fired?",
    FrameState.LOGGED: "not looked at",
}
"""States of a frame that no check has answered for yet, where the state's own name isn't what a person would say."""


def sign_of(focus: FocusVerdict | None, *, is_reference: bool = False) -> str:
    """The sign of a frame's verdict; `=` for a reference, which isn't compared with another frame."""
    if focus is None:
        return "…"
    return "=" if is_reference and focus is FocusVerdict.UNJUDGED else VERDICT_SIGNS[focus]


def focus_words(verdict: FocusVerdict) -> str:
    """`missed`, or `focus ?` where it isn't judged."""
    return "focus ?" if verdict is FocusVerdict.UNJUDGED else str(verdict)


def verdict_words(
    state: FrameState,
    focus: FocusVerdict | None,
    flaw: Finding | None,
    *,
    purpose: str = "",
    is_reference: bool = False,
) -> str:
    """`missed`, `sharp, dark 0.6 EV`, `no flash`, `solo key`, `plane 2 of 7`, or the state while no check has answered.

    purpose       the light that the frame measures instead of showing the view, or its plane in a focus series
    is_reference  others are compared with it: the word where it was compared with none itself
    """
    if focus is None:
        return STATE_WORDS.get(state, str(state))
    if is_reference and focus is FocusVerdict.UNJUDGED:
        return "reference"
    if flaw and (flaw.id in SPOILT or focus is FocusVerdict.UNJUDGED):
        return flaw_words(flaw)
    word = purpose or focus_words(focus)
    return f"{word}, {flaw_words(flaw)}" if flaw else word


def frame_words(frame: BenchFrame) -> str:
    """The verdict of a frame at the bench, in words as by `verdict_words`."""
    return verdict_words(
        frame.state, frame.focus_verdict, frame.flaw, purpose=frame.purpose, is_reference=frame.is_reference
    )


def _in_camera(model: BenchModel, frame: BenchFrame, phase: Phase) -> Headline:
    then = f" The next release follows by itself. {hint(Where.BENCH, 'call_off')}" if model.held else ""
    if phase is Phase.RELEASING and model.card_read:
        first = f"The card's folder is read first{read_so_far(model.card_read)}"
        late = f"Frame {frame.number} won't fire if that takes more than a moment"
        return Headline("HANDS OFF", f"{first}. {late}. Touch nothing.{then}", Tone.BUSY)
    if frame.card_read is not None and not frame.files:
        return Headline("READING CARD", f"{folder_read_text(frame.state, frame.card_read)}.{then}", Tone.BUSY)
    if phase is Phase.RELEASING:
        return Headline("HANDS OFF", f"Frame {frame.number} is being released. Touch nothing.{then}", Tone.BUSY)
    return Headline("SAVING", f"{saving_text(frame)}.{then}", Tone.BUSY)


def saving_text(frame: BenchFrame) -> str:
    """`Saving frame 19: 140 of 250 kB, about 9 s`; without a number while nobody knows one."""
    coming = frame.coming
    if coming is not None:
        return f"Saving frame {frame.number}: {transfer_text(coming.bytes, coming.of_bytes, coming.left_s)}"
    if frame.busy is not None and not frame.files:
        return f"Frame {frame.number} fired; {busy_text(frame.busy)}"
    if frame.card_read is not None and not frame.files:
        return folder_read_text(frame.state, frame.card_read)
    kept = f", {len(frame.files)} already here" if frame.files else ""
    return f"Frame {frame.number} fired; {FILES_COMING}{kept}"


def busy_text(busy: CameraBusy) -> str:
    """`the camera is busy writing it, 12 s now; it is waited for up to 120 s`."""
    now = f", {busy.busy_s:.0f} s now" if busy.busy_s >= 1 else ""
    return f"the camera is busy writing it{now}; it is waited for up to {busy.at_most_s:.0f} s"


def folder_read_text(state: FrameState, read: CardBeingRead) -> str:
    """`Frame 1 fired and is on the card; it comes once the folder there is read: 1,200 of 5,000 files, about 3 min`.

    state  of the frame: as long as the camera hasn't said so it may have fired
    """
    how_long = read_so_far(read) or ", which may take minutes"
    if state is FrameState.RELEASING:
        return f"Frame {read.number} may have fired; the card's folder is read first{how_long}"
    return f"Frame {read.number} fired and is on the card; it comes once the folder there is read{how_long}"


def leaving_text(frame: BenchFrame) -> str:
    """A sentence on the work that is left before the program may end."""
    if frame.state is FrameState.RELEASING:
        return f"Frame {frame.number} is being released and is saved first; y again leaves it on the card."
    return f"{saving_text(frame)}; y again leaves it on the card."


def left_on_card_text(frame: BenchFrame) -> str:
    """The last line of a program that ended before the frame was saved."""
    if frame.state is FrameState.RELEASING:
        return f"Frame {frame.number} may have fired; the next start looks for it on the card."
    return f"Frame {frame.number} fired, not saved: it is on the card, and is fetched at the next start."


def done_text(model: BenchModel, log: str) -> str:
    """The last line of a shoot: what came of this run's frames, and where the log is."""
    never = NEVER_RELEASED | {FrameState.NOT_FIRED}
    states = [
        frame.state for key, frame in model.frames.items() if key in model.released_now and frame.state not in never
    ]
    saved = sum(state in (FrameState.SAVED, FrameState.LOGGED) for state in states)
    if not states:
        return f"No frame was released. The log is {log}."
    if saved == len(states):
        how = "saved" if saved == 1 else "all saved"
    else:
        how = f"{saved} saved; the next start looks for the rest on the card"
    return f"{count_words(len(states), 'frame')} released, {how}. The log is {log}."


def _headline_of_wait(model: BenchModel, waiting: Waiting, now_s: float) -> Headline:
    frame, off = f"Frame {waiting.number}", hint(Where.BENCH, "call_off")
    if waiting.until_s is None:
        so_far = read_so_far(model.card_read) if model.card_read and waiting.reason is CameraWait.CARD else ""
        text = f"{frame} waits {CAMERA_WAITS[waiting.reason]}{so_far}. Fires by itself. {off}"
        return Headline("WAITING", text, Tone.WAIT)
    left_s = max(0.0, waiting.until_s - now_s)
    if waiting.reason == RuleId.RECYCLING:
        text = f"{frame} waits {left_s:.1f} s more while the flash recycles. Fires by itself. {off}"
        return Headline(f"RECYCLES {left_s:.1f}", text, Tone.WAIT)
    still = still_line(waiting, model.revision, model.live.moves, now_s)
    if still:
        text = f"{frame} waits until the live picture is still. Fires by itself; take your hands off. {off}"
        return Headline(still, text, Tone.WAIT)
    if waiting.reason == RuleId.HOLD_OFF:
        text = f"{frame} holds off {left_s:.1f} s more after the last touch. Fires by itself. {off}"
        return Headline(f"{left_s:.1f} s", text, Tone.WAIT)
    return Headline("WAITING", f"{frame} waits for the {waiting.reason}. Fires by itself. {off}", Tone.WAIT)


def _no_camera(model: BenchModel, spot: BenchFrame | None) -> Headline:
    lost = model.lost_text or "No camera has been found yet."
    fate = spot.text if spot and spot.text and lost not in spot.text else ""
    text = " ".join(part for part in (fate, lost, "It is looked for every second.") if part)
    return Headline("NO CAMERA", spot.text if spot and lost in spot.text else text, Tone.STOP)


def _ready(model: BenchModel) -> Headline:
    """The headline while nothing is under way: the hands are at the focus, or the next release may come."""
    if model.live.on:
        return live_headline(model.live, sweeping=model.sweeping)
    first = next((finding for finding in model.rules if finding.level is Level.CAUTION), None)
    if first is None:
        return Headline("READY", "All clear.", Tone.GO)
    remedy = _remedy_of(first)
    return Headline("READY", f"{first.text} {remedy}".strip(), Tone.GO, remedy)


def _headline_of_stop(model: BenchModel) -> Headline:
    first, *others = model.stops
    more = f" {len(others)} more below." if others else ""
    remedy = remedy_hint(model.stops) or f"{_remedy_of(first)} {hint(Where.BENCH, 'overrule')}".strip()
    return Headline(RULE_LINES.get(first.id, "STOPPED"), f"{first.text}{more} {remedy}", Tone.STOP, remedy)


def _result(model: BenchModel, frame: BenchFrame, phase: Phase) -> Headline:
    if phase is Phase.JUDGED:
        return _headline_of_judgement(model, frame)
    word = frame_word(frame)
    if phase is Phase.CHECKING and frame.frame_id in model.judged_anew:
        text = f"Frame {frame.number} is being checked anew with region and grey patch as they are now."
        return Headline("CHECKING", text, Tone.BUSY)
    if phase is Phase.CHECKING:
        return Headline(word.large, f"Frame {frame.number} is saved; it is being looked at.", word.tone)
    remedy = remedy_hint(frame.rules)
    return Headline(word.large, f"{frame.text} {remedy}".strip(), word.tone, remedy)


def _reference(model: BenchModel) -> Headline:
    setup = f"{model.revision.setup_number:02d}" if model.revision else ""
    return Headline(REFERENCE, reference_text(model.reference_number, setup), Tone.GOOD)


def _headline_of_judgement(model: BenchModel, frame: BenchFrame) -> Headline:
    word = frame_word(frame)
    if frame.is_reference:
        return Headline(word.large, reference_text(frame.number, frame.setup_number), word.tone)
    about = word.about
    safe = SAFETY.get(frame.state, "still coming in")
    next_step = remedy = ""
    if about and about.remedy:
        next_step = remedy = f"{remedy_words(about, live=model.live.on)}."
    elif frame.focus_verdict is FocusVerdict.UNJUDGED and model.reference_id is None:
        next_step = hint(Where.BENCH, "reference", "make it the reference")
    elif word.tone is Tone.GOOD and not frame.measures:
        next_step = hint(Where.BENCH, "mark") if frame.mark is None else f"Marked {frame.mark}."
    if word.stays and model.live.on:
        next_step = f"Any key goes on with the focus. {next_step}".strip()
    by = ", released on the camera," if frame.released_by is ReleasedBy.BODY else ""
    said = f"Frame {frame.number}{by} {safe}{_result_words(frame, about)} {next_step}".strip()
    return Headline(word.large, said, word.tone, remedy, about)


def reference_text(number: int | None, setup: str) -> str:
    """`Frame 2 is the reference of set-up 01.`"""
    return f"Frame {number} is the reference of {f'set-up {setup}' if setup else 'the set-up'}."


def onlooker_headline(frame: BenchFrame) -> Headline:
    """The large line and sentence on a frame for an onlooker, without keys."""
    word = frame_word(frame)
    if frame.is_reference:
        return Headline(word.large, reference_text(frame.number, frame.setup_number), word.tone)
    if frame.focus is None:
        return Headline(word.large, f"Frame {frame.number}: {frame.text or frame_words(frame)}", word.tone)
    return Headline(word.large, f"Frame {frame.number}{_result_words(frame, word.about)}", word.tone)


def sounds(frame: BenchFrame) -> bool:
    """Whether the bell is due for a frame: missed or spoilt."""
    return frame.focus is not None and frame_word(frame).tone is Tone.STOP


def _result_words(frame: BenchFrame, about: Finding | None) -> str:
    """`, missed: blur radius 7.3 px, …` or `, sharp. No flash: 4.3 EV darker …`: a flaw's own sentence names it."""
    if about is None or about.id == CheckId.FOCUS:
        return f", {frame_words(frame)}: {_focus_text(frame, about)}"
    focus = frame.focus_verdict
    judged = focus not in (None, FocusVerdict.UNJUDGED) and about.id not in SPOILT and not frame.measures
    return f"{f', {focus}' if judged else ''}. {about.text}"


def _focus_text(frame: BenchFrame, about: Finding | None) -> str:
    """`blur radius 7.3 px, limit 1.0 px, 0.3 mm off.`: shorter than the finding, which stands beside the picture."""
    focus = frame.focus
    if focus is None or focus.blur_px is None:
        return f"{(focus.reason if focus else '') or NOT_MEASURED}.".replace("..", ".")
    limit_px = about.limit if about else frame.blur_limit_px
    off = focus.verdict in (FocusVerdict.SOFT, FocusVerdict.MISSED)
    parts = [
        f"blur radius {px_text(focus.blur_px)}",
        f"limit {px_text(limit_px)}" if limit_px else "",
        f"{mm_text(focus.defocus_mm)} off" if off and focus.defocus_mm is not None else "",
    ]
    return ", ".join(part for part in parts if part) + "."
