"""What is said of a reshoot's steps: the large line, a line in the list, and what was recorded, is now, and is left."""

from __future__ import annotations

from collections.abc import Sequence

from session.match.match_steps import StepState
from session.match.reshoot_steps import CHECKS_KEY, ReshootStep
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, cap_of, hint

LONGEST_LARGE = 20
"""Characters of a large line that fits in block letters at 80 columns, nearly always. Measured on the words in use."""

UNITS = ("mm", "px")

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


def step_headline(steps: Sequence[ReshootStep], here: int) -> Headline:
    """The large line of the step that the hands are at, with the step's number in the sentence."""
    one, of = steps[here], f"Step {here + 1} of {len(steps)}"
    if one.is_settled:
        return Headline(f"{one.step.name.upper()} {state_words(one).upper()}", f"{of}.", Tone.GOOD)
    first = one.step.to_do.partition(";")[0].partition(",")[0].strip()
    says_it = one.step.state is StepState.OFF and 0 < len(first) <= LONGEST_LARGE
    large = _capitals(first if says_it else one.step.name)
    by_word = f"{hint(Where.MATCH, 'confirm')}, " if one.may_be_confirmed else ""
    keys = f"{by_word}{hint(Where.MATCH, 'skip', 'skip with the reason')}"
    return Headline(large, f"{of}: {one.step.name}. {keys}", _TONES[one.step.state])


def _capitals(text: str) -> str:
    """The text in capitals, its units and f-numbers as they are written."""
    return " ".join(word if word in UNITS or word.startswith("f/") else word.upper() for word in text.split())


def end_headline(steps: Sequence[ReshootStep]) -> Headline:
    """The large line when no step is left: whether all of them were measured, or some settled by a person's word."""
    skipped = [one.step.name for one in steps if one.is_skipped]
    by_word = [one.step.name for one in steps if state_words(one) == "confirmed"]
    parts = [
        f"{len(steps) - len(skipped) - len(by_word)} of {len(steps)} steps measured as right",
        f"by your word: {', '.join(by_word)}" if by_word else "",
        f"skipped: {', '.join(skipped)}" if skipped else "",
    ]
    return Headline(
        "STEPS DONE", f"{'; '.join(part for part in parts if part)}.", Tone.CAUTION if skipped else Tone.GOOD
    )


def step_told(one: ReshootStep, seen: str = "", hazards: Sequence[str] = ()) -> list[tuple[str, str]]:
    """The recorded and the present values, the work left and a person's word, each with a heading; empty ones left out.

    seen     what live view says now, in place of what the last frame told
    hazards  of the set, which stand with the check list
    """
    step, said = one.step, one.said
    word = f"{said.word.value} {said.at.astimezone():%d %b %H:%M}" if said else ""
    told = [
        ("recorded", step.recorded),
        ("now", seen or step.measured),
        ("to do", "" if one.is_settled and step.state is not StepState.CANT_TELL else step.to_do),
        ("mind", mind_words(hazards) if step.key == CHECKS_KEY and hazards else ""),
        ("said", f"{word}: {said.reason}" if said and said.reason else word),
    ]
    return [(label, text) for label, text in told if text]


def mind_words(hazards: Sequence[str]) -> str:
    """`capacitor, stands, eyes: [?] says how; the makers' manuals decide`"""
    return f"{', '.join(hazards)}: {cap_of(Where.MATCH, 'help')} says how; the makers' manuals decide"
