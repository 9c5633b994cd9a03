"""Findings as values: which is the heaviest, which keep the shutter shut, and which names the frame."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.finding import (
    SPOILT,
    CheckId,
    Finding,
    Level,
    RemedyKind,
    RuleId,
    Verdict,
    flaw_of,
    stops,
    verdict_of,
    waits,
    worst,
)

levels = st.sampled_from(list(Level))
rules = st.builds(Finding, st.sampled_from(list(RuleId)), levels, st.just("told."))
checks = st.builds(Finding, st.sampled_from(list(CheckId)), levels, st.just("told."))
quick = settings(max_examples=50)


def told(check: CheckId, level: Level = Level.CAUTION) -> Finding:
    return Finding(check, level, f"{check} {level}")


@quick
@given(st.lists(rules))
def test_the_worst_level_is_there_and_none_is_worse(found: list[Finding]) -> None:
    heaviest = worst(found)
    present = [one.level for one in found]
    order = [Level.STOP, Level.CAUTION, Level.NOTE]
    assert heaviest == min(present, key=order.index, default=None)


@quick
@given(st.lists(rules), st.sets(st.sampled_from(list(RuleId))))
def test_only_a_stop_that_nobody_overruled_keeps_the_shutter_shut(found: list[Finding], waived: set[RuleId]) -> None:
    kept = stops(found, waived)
    assert all(one.level is Level.STOP and one.id not in waived for one in kept)
    assert len(kept) == sum(one.level is Level.STOP and one.id not in waived for one in found)
    assert stops(found, [one.id for one in found]) == ()


@quick
@given(st.lists(checks))
def test_a_frame_is_flawed_by_any_stop_or_caution_of_a_check_other_than_focus(found: list[Finding]) -> None:
    grave = [one for one in found if one.level is not Level.NOTE and one.id != CheckId.FOCUS]
    flaw = flaw_of(found)
    assert (flaw is not None) == bool(grave) == (verdict_of(found) is Verdict.FLAWED)
    assert flaw is None or flaw in grave


@pytest.mark.parametrize("order", list(permutations(SPOILT, 2)), ids=lambda pair: f"{pair[0]}-{pair[1]}")
def test_what_spoils_the_picture_names_it_by_rank_and_not_by_when_it_was_found(
    order: tuple[CheckId, CheckId],
) -> None:
    flaw = flaw_of([told(CheckId.COLOUR), *(told(one) for one in order), told(CheckId.DRIFT)])
    assert flaw is not None and flaw.id == min(order, key=SPOILT.index)


def test_a_note_about_a_spoiling_check_spoils_nothing() -> None:
    flaw = flaw_of([told(CheckId.FLASH, Level.NOTE), told(CheckId.COLOUR)])
    assert flaw is not None and flaw.id == CheckId.COLOUR


def test_of_several_findings_of_one_check_the_first_is_told() -> None:
    first, second = Finding(CheckId.DRIFT, Level.CAUTION, "first"), Finding(CheckId.DRIFT, Level.STOP, "second")
    assert flaw_of([first, second]) is first


def test_a_focus_miss_alone_leaves_the_frame_clean() -> None:
    assert verdict_of([told(CheckId.FOCUS, Level.STOP)]) is Verdict.CLEAN
    assert verdict_of([]) is Verdict.CLEAN


def test_a_release_that_waits_needs_no_key() -> None:
    remedy = waits(1.25)
    assert (remedy.kind, remedy.wait_s, remedy.settings) == (RemedyKind.WAIT, 1.25, {})


def test_the_words_that_stand_in_logs_have_not_changed() -> None:
    """A log of last year is read by these values; a change of one needs a migration."""
    assert RemedyKind.CONFIRM.value == "tick" and Verdict.FLAWED.value == "flawed"
    assert {level.value for level in Level} == {"stop", "caution", "note"}
    assert {"sync", "hold-off", "drifted", "recycling", "depth", "ambient"} <= set(RuleId)
    assert {"focus", "flash", "band", "exposure", "drift", "ambient light"} <= set(CheckId)
