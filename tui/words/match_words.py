"""What is said of a reshoot's steps: the large line, a line in the list, and what was recorded, is now, and is left."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from session.match.camera_framing import TOLD_ACROSS_PX
from session.match.light_words import EXPOSURE_EV
from session.match.match_steps import MatchStep, StepState
from session.match.reshoot_steps import CHECKS_KEY, ReshootStep
from session.match.solo_series import SeriesFrame
from session.match.step_words import ALIKE_DE2000, COLOUR_DE2000, FEATURES_PX, SURE_EV
from session.match.substitutes import Substitutes
from session.set.setup import Placed, PlacedLight, Revision, thing_name
from session.units.numbers import sd_deg_text, sd_text
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, cap_of, hint

LONGEST_LARGE = 20
"""Characters of a large line that fits in block letters at 80 columns, nearly always. Measured on the words in use."""

UNITS = ("mm", "px")

RESULTS = ("fail", "can't tell", "not measured", "confirmed", "skipped")
"""Results of steps besides `pass`, the gravest first, as a report counts them."""

GRAVEST = (
    *(("fail", "FAIL"), ("can't tell", "CAN'T TELL"), ("not measured", "NOT ALL MEASURED")),
    ("skipped", "PASS BUT FOR SKIPPED STEPS"),
)
"""The result of a whole report by the gravest of its steps."""

_STATE_WORDS = {
    StepState.OPEN: "",
    StepState.MATCHES: "matches",
    StepState.OFF: "off",
    StepState.CANT_TELL: "can't tell",
}
_TONES = {StepState.OPEN: Tone.GO, StepState.OFF: Tone.CAUTION, StepState.CANT_TELL: Tone.WAIT}


def state_words(one: ReshootStep) -> str:
    """`matches`, `confirmed`, `skipped`, `off`, `can't tell`; "" for a step that nobody has looked at."""
    if one.is_skipped:
        return "skipped"
    if one.said is not None and one.is_settled and one.step.state is not StepState.MATCHES:
        return "confirmed"
    return _STATE_WORDS[one.step.state]


def step_headline(steps: Sequence[ReshootStep], here: int, switch: Headline | None = None) -> Headline:
    """The large line of the step that the hands are at, with the step's number in the sentence.

    switch  which lights the hands switch before the step's frame; None: it has no frame of its own
    A settled step says the switch, too: a frame that is released there is the step's, of a light alone.
    """
    one, of = steps[here], f"Step {here + 1} of {len(steps)}"
    frame = f" {switch.sentence} {hint(Where.MATCH, 'release')}" if switch is not None else ""
    if one.is_settled:
        again = f" To shoot it again:{frame}" if frame else ""
        return Headline(f"{one.step.name.upper()} {state_words(one).upper()}", f"{of}.{again}", Tone.GOOD)
    first = one.step.to_do.partition(";")[0].partition(",")[0].strip()
    says_it = one.step.state is StepState.OFF and 0 < len(first) <= LONGEST_LARGE
    large = _capitals(first if says_it else one.step.name)
    if switch is not None and not says_it:
        large = switch.large
    by_word = f"{hint(Where.MATCH, 'confirm')}, " if one.may_be_confirmed else ""
    keys = f"{by_word}{hint(Where.MATCH, 'skip', 'skip with the reason')}"
    frame = f"{frame};" if frame else ""
    return Headline(large, f"{of}: {one.step.name}.{frame} {keys}", _TONES[one.step.state])


def _capitals(text: str) -> str:
    """The text in capitals, its units and f-numbers as they are written."""
    return " ".join(word if word in UNITS or word.startswith("f/") else word.upper() for word in text.split())


def end_headline(steps: Sequence[ReshootStep], label: str) -> Headline:
    """The large line when no step is left: whether all of them were measured, or some settled by a person's word.

    label  of the set-up, for the command that writes the match report
    """
    skipped = [one.step.name for one in steps if one.is_skipped]
    by_word = [one.step.name for one in steps if state_words(one) == "confirmed"]
    parts = [
        f"{len(steps) - len(skipped) - len(by_word)} of {len(steps)} steps measured as right",
        f"by your word: {', '.join(by_word)}" if by_word else "",
        f"skipped: {', '.join(skipped)}" if skipped else "",
    ]
    told = "; ".join(part for part in parts if part)
    report = f"The report: stillset reshoot {label} --report match.html, with the --log and --job of now"
    return Headline("STEPS DONE", f"{told}. {report}", Tone.CAUTION if skipped else Tone.GOOD)


def substitute_words(instead: Substitutes, revision: Revision, light: str = "") -> str:
    """`Short 60`, `root, without tube`, `as then: Long 100`: what stands in the place of the lens, or of a light."""
    placed = revision.light(light)
    if placed is None:
        lens = revision.arrangement
        return instead.lens or f"as then: {lens.lens or f'a lens of {lens.focal_length_mm:g} mm'}"
    flash, lost = instead.flashes.get(light, ""), f"without {placed.shaper}" if light in instead.unshaped else ""
    as_then = ", ".join(part for part in (light, placed.shaper) if part)
    return ", ".join(part for part in (flash, lost) if part) or f"as then: {as_then}"


def tolerance_words(step: MatchStep, revision: Revision) -> str:
    """The tolerance within which a step matches; "" for a step that nothing measures."""
    thing = next((one for one in revision.placed if thing_name(one) == step.key), None)
    taped = place_tolerance(thing) if thing else ""
    sure_ev, surely = (
        f"up to {EXPOSURE_EV - SURE_EV:.2f} EV",
        f"so that {EXPOSURE_EV:g} and {COLOUR_DE2000:g} surely hold",
    )
    light = f"{sure_ev}, colour ΔE {ALIKE_DE2000:.1f}, {surely}; shading alike"
    framing = f"features {FEATURES_PX:g} px off on average, in a picture {TOLD_ACROSS_PX} px wide"
    return {
        "camera": "as recorded, or as a substitute asks",
        "place": framing,
        "framing": framing,
        "focus": f"blur {revision.blur_limit_px:g} px over the reference",
        "together": f"{sure_ev} in each ninth, colour ΔE {ALIKE_DE2000:.1f}, {surely}",
        "grey card": f"up to colour ΔE {ALIKE_DE2000:.1f}, so that {COLOUR_DE2000:g} surely holds",
        "piece": "lies as in the reference",
    }.get(step.key, "; ".join(part for part in (light if isinstance(thing, PlacedLight) else "", taped) if part))


def place_tolerance(thing: Placed) -> str:
    """`put up by tape to ±6 mm, ±2° to the side, ±1° up`: no finer than it was recorded; "" for a place by eye."""
    told = [f"{sd_text(thing.distance_sd_mm)}"] if thing.distance_sd_mm is not None else []
    told += [f"{sd_deg_text(thing.azimuth_sd_deg)} to the side"] if thing.azimuth_sd_deg is not None else []
    told += [f"{sd_deg_text(thing.elevation_sd_deg)} up"] if thing.elevation_sd_deg is not None else []
    return f"put up by tape to {', '.join(told)}: no finer than it was recorded" if told else ""


def result_words(one: ReshootStep) -> str:
    """`pass`, `fail`, `can't tell`, `not measured`, `skipped`, `confirmed`: a step's end in a report."""
    words = state_words(one)
    return {"matches": "pass", "off": "fail", "": "not measured"}.get(words, words)


def report_line(steps: Sequence[ReshootStep]) -> tuple[str, str]:
    """All steps in a word and a sentence: it passes where nothing that a frame can measure was left unmeasured."""
    by_result: dict[str, list[str]] = {}
    for one in steps:
        by_result.setdefault(result_words(one), []).append(one.step.name)
    passed = by_result.pop("pass", [])
    told = [f"{word}: {', '.join(by_result[word])}" for word in RESULTS if word in by_result]
    sentence = "; ".join([f"{len(passed)} of {len(steps)} steps measured within their tolerance", *told])
    large = next((by_large for word, by_large in GRAVEST if word in by_result), "PASS" if passed else "NOT MEASURED")
    return large, f"{sentence}."


def frame_told(shot: SeriesFrame, now: datetime | None = None) -> str:
    """`frame 12 of 14:03`, with the day where that isn't today's; `now` None: with the day always."""
    at = shot.asked_at.astimezone()
    same_day = now is not None and at.date() == now.astimezone().date()
    return f"frame {shot.number} of {at:%H:%M}" if same_day else f"frame {shot.number} of {at:%d %b %Y %H:%M}"


def step_told(
    one: ReshootStep,
    seen: str = "",
    hazards: Sequence[str] = (),
    now: datetime | None = None,
    tolerance: str = "",
) -> list[tuple[str, str]]:
    """The recorded and the present values, the work left and a person's word, each with a heading; empty ones left out.

    tolerance  as `tolerance_words` says it
    seen     what live view says now, in place of what the last frame told
    hazards  of the set, which stand with the check list
    now      of the day of which no day is told
    """
    step = one.step
    measured = f"{step.measured} · {frame_told(one.shot, now)}" if step.measured and one.shot else step.measured
    told = [
        ("recorded", step.recorded),
        ("instead", "; ".join(one.instead)),
        ("now", seen or measured),
        ("tolerance", tolerance),
        ("before", _earlier_words(one.earlier, now) if one.earlier and not seen else ""),
        ("to do", "" if one.is_settled and step.state is not StepState.CANT_TELL else step.to_do),
        ("mind", mind_words(hazards) if step.key == CHECKS_KEY and hazards else ""),
        ("said", said_words(one)),
    ]
    return [(label, text) for label, text in told if text]


def _earlier_words(one: ReshootStep, now: datetime | None) -> str:
    """`matches: 0.4 px off · frame 12 of 02 Nov 2026 18:02; measure it again`"""
    parts = [
        f"{state_words(one)}: {one.step.measured or one.step.to_do}",
        *([frame_told(one.shot, now)] if one.shot else []),
    ]
    return f"{' · '.join(parts)}; measure it again"


def said_words(one: ReshootStep) -> str:
    """`skipped 02 Nov 14:03: no room`; "" where nobody said anything of the step."""
    if one.said is None:
        return ""
    word = f"{one.said.word.value} {one.said.at.astimezone():%d %b %H:%M}"
    return f"{word}: {one.said.reason}" if one.said.reason else word


def mind_words(hazards: Sequence[str]) -> str:
    """`capacitor, stands, eyes: [?] says how; the makers' manuals decide`"""
    return f"{', '.join(hazards)}: {cap_of(Where.MATCH, 'help')} says how; the makers' manuals decide"
