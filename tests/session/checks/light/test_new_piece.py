"""A new piece of the same kind under the set-up that was accepted for the one before: only the light is compared."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from session.checks.judge.all_checks import judge
from session.checks.light import new_piece
from session.checks.material.checked_picture import Material
from session.frame.finding import Finding, FocusVerdict, Level
from session.frame.ports import Judgement
from session.set.setup import Region, Revision
from tests.support.made_pictures import to_codes, to_linear
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


def test_light_of_another_strength_is_asked_about(after: MockSet, before: Path) -> None:
    after.light(power_ev=-2.0 + 1.5)
    found = judged(after, before).findings
    (note,) = [finding for finding in found if finding.id == "exposure"]
    assert (note.level, "EV brighter than the piece before" in note.text) == (Level.NOTE, True)


def test_a_piece_before_whose_picture_is_gone_costs_nothing(after: MockSet, tmp_path: Path) -> None:
    found = judged(after, tmp_path / "gone.jpg")
    assert [finding.id for finding in found.findings] == ["focus"]


def test_once_there_is_a_reference_of_its_own_the_piece_before_counts_no_more(after: MockSet, before: Path) -> None:
    own = after.path()
    after.light(power_ev=-4.0)
    found = judge(after.assignment(after.path(), own, expected_path=str(before))).findings
    assert not [finding for finding in found if "piece before" in finding.text]


PATCH = Region(0.7, 0.7, 0.2, 0.2)


def compared(material: Callable[..., Material], light: np.ndarray, **changes: object) -> tuple[Finding, ...]:
    """Findings on a frame of this light (height, width, 3) against the last piece's, which is of an even grey."""
    before = material(np.full((320, 480, 3), 118, np.uint8), "before.jpg")
    frame = material(np.clip(np.rint(to_codes(light)), 0, 255).astype(np.uint8))
    return new_piece.findings(frame, before, replace(Revision(), **changes), flash_used=True)  # type: ignore[arg-type]


def grey(ev: float) -> np.ndarray:
    return np.full((320, 480, 3), to_linear(np.array([118], np.uint8))[0] * 2.0**ev)


@pytest.mark.parametrize(("ev", "told"), [(-1.05, True), (-0.95, False), (0.95, False), (1.05, True)])
def test_a_stop_more_or_less_than_the_piece_before_is_asked_about(
    material: Callable[..., Material], ev: float, told: bool
) -> None:
    found = compared(material, grey(ev))
    assert bool(found) is told
    for note in found:
        assert (note.id, note.limit, note.unit) == ("exposure", 1.0, "EV")
        assert note.value is not None
        assert note.value == pytest.approx(ev, abs=0.03)
        assert note.value == round(note.value, 2) != round(note.value, 1)
        assert f"{'darker' if ev < 0 else 'brighter'} than the piece before" in note.text


def test_a_grey_patch_of_another_colour_is_told_and_without_a_patch_nothing_is(
    material: Callable[..., Material],
) -> None:
    warm = grey(0.0) * (1.25, 1.0, 0.8)
    (found,) = compared(material, warm, grey_patch=PATCH)
    assert found.id == "colour"
    assert compared(material, warm) == ()
    assert compared(material, grey(0.0), grey_patch=PATCH) == ()
