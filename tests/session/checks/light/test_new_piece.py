"""A new piece of the same kind under the set-up that was accepted for the one before: only the light is compared."""

from __future__ import annotations

from pathlib import Path

import pytest

from session.checks.judge.all_checks import judge
from session.frame.finding import FocusVerdict, Level
from session.frame.ports import Judgement
from tests.support.mock_set import MockSet, mock_set


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The reference of the piece before."""
    return mock_set(tmp_path_factory.mktemp("before"), 71).path()


@pytest.fixture
def after(tmp_path: Path) -> MockSet:
    """Another piece on the same table."""
    return mock_set(tmp_path, 72)


def judged(after: MockSet, before: Path, **changes: object) -> Judgement:
    return judge(after.assignment(after.path(), None, expected_path=str(before), **changes))


def test_a_piece_of_the_same_kind_under_the_same_light_is_no_matter(after: MockSet, before: Path) -> None:
    found = judged(after, before)
    assert found.focus.verdict is FocusVerdict.UNJUDGED, "sharpness is compared with the piece's own first frame"
    assert not [finding for finding in found.findings if finding.id != "focus"]


def test_a_flash_that_does_not_fire_is_told_on_the_first_frame(after: MockSet, before: Path) -> None:
    after.light(fires=False)
    (flash,) = [finding for finding in judged(after, before).findings if finding.id == "flash"]
    assert flash.text.startswith("No flash: ")
    assert flash.value == pytest.approx(after.truth["ambient_ev"] or -6.0, abs=1.0)


@pytest.mark.parametrize(("change_ev", "word"), [(-2.0, "darker"), (1.5, "brighter")])
def test_light_of_another_strength_is_asked_about(after: MockSet, before: Path, change_ev: float, word: str) -> None:
    after.light(power_ev=-2.0 + change_ev)
    found = judged(after, before).findings
    (note,) = [finding for finding in found if finding.id == "exposure"]
    assert (note.level, f"EV {word} than the piece before" in note.text) == (Level.NOTE, True)


def test_a_piece_before_whose_picture_is_gone_costs_nothing(after: MockSet, tmp_path: Path) -> None:
    found = judged(after, tmp_path / "gone.jpg")
    assert [finding.id for finding in found.findings] == ["focus"]


def test_once_there_is_a_reference_of_its_own_the_piece_before_counts_no_more(after: MockSet, before: Path) -> None:
    own = after.path()
    after.light(power_ev=-4.0)
    found = judge(after.assignment(after.path(), own, expected_path=str(before))).findings
    assert not [finding for finding in found if "piece before" in finding.text]
