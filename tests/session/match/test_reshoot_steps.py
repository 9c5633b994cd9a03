"""What settles a step of a reshoot: a measurement, a person's word, or a reason to skip it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from session.frame.step_said import StepSaid, StepWord
from session.match.match_steps import MatchStep, StepState
from session.match.reshoot_steps import CHECKS_KEY, ReshootStep, next_step, reshoot_steps
from session.set.setup import PassiveItem, Revision

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
FOCUS = MatchStep("focus", "focus", "on the edge")
CONFIRMED = StepSaid("focus", StepWord.CONFIRMED, "", NOON)
SKIP = StepWord.SKIPPED
SKIPPED = StepSaid("focus", StepWord.SKIPPED, "by eye", NOON)


@pytest.mark.parametrize(
    ("state", "said", "settled"),
    [
        (StepState.OPEN, None, False),
        (StepState.OPEN, CONFIRMED, True),
        (StepState.MATCHES, None, True),
        (StepState.CANT_TELL, None, False),
        (StepState.CANT_TELL, CONFIRMED, True),
        (StepState.OFF, None, False),
        (StepState.OFF, CONFIRMED, False),  # what is measured counts more than a word
        (StepState.OFF, SKIPPED, True),
    ],
)
def test_a_step_is_settled_by_measure_or_word(state: StepState, said: StepSaid | None, settled: bool) -> None:
    one = ReshootStep(replace(FOCUS, state=state), said)
    assert one.is_settled is settled
    assert next_step([one]) == (None if settled else 0)
    assert one.may_be_confirmed is (state in (StepState.OPEN, StepState.CANT_TELL))


def test_words_go_to_their_steps_and_the_check_list_is_first_and_asked_again_after_a_long_pause() -> None:
    said = [CONFIRMED, StepSaid(CHECKS_KEY, StepWord.CONFIRMED, "", NOON)]
    glass = Revision(passive=(PassiveItem("plate", "plate"),))
    checks, focus = reshoot_steps(glass, [FOCUS], said, [], NOON + timedelta(hours=1))
    assert (checks.step.key, checks.is_settled, focus.said) == (CHECKS_KEY, True, CONFIRMED)
    assert "black trap" in checks.step.recorded
    checks, focus = reshoot_steps(Revision(), [FOCUS], said, [], NOON + timedelta(hours=14))
    assert not checks.is_settled and checks.step.measured == "confirmed before a pause of 14 hours"
    assert focus.is_settled and "black trap" not in checks.step.recorded


def test_a_word_of_an_earlier_reshoot_settles_nothing_and_is_told() -> None:
    said = [CONFIRMED, StepSaid(CHECKS_KEY, StepWord.CONFIRMED, "", NOON), StepSaid("lens", SKIP, "no room", NOON)]
    steps = [FOCUS, MatchStep("lens", "lens", "Plainfield 50")]
    december = NOON + timedelta(days=270, hours=1)
    checks, focus, lens = reshoot_steps(Revision(), steps, said, [NOON + timedelta(hours=1)], december)
    assert not any(one.is_settled for one in (checks, focus, lens))
    assert focus.step.measured == checks.step.measured == "confirmed before a pause of 270 days"
    assert lens.step.measured == "skipped before a pause of 270 days: no room"
    fresh = StepSaid("focus", StepWord.CONFIRMED, "", december)
    _, focus, lens = reshoot_steps(Revision(), steps, [*said[1:], fresh], [], december + timedelta(days=3))
    assert focus.is_settled and not lens.is_settled, "over a weekend the set stands; a new word revives no old one"
