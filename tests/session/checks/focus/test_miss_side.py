"""The side of a miss on a piece that lies aslant, from tiles whose blur is worked out for a known focus."""

from __future__ import annotations

import math

import numpy as np
import pytest

from session.checks.focus.focus_verdict import findings
from session.checks.focus.miss_side import MissSide, miss_side
from session.checks.focus.region import TileBlurs
from session.frame.finding import FocusJudgement, FocusVerdict
from session.set.setup import Arrangement, Revision

PX_PER_MM, BLUR_PX_PER_MM = 100.0, 4.0
"""A picture of 2400 px over 24 mm at 1:1; a place 1 mm out of focus is blurred by 4 px."""


def told(focused_mm: float, angle_deg: float, said_deg: float | None = None, relief_mm: float = 0.0) -> MissSide | None:
    """What is told of a piece to which the camera looks down at an angle, focused so much farther than before.

    said_deg  the angle in the set-up, where it is another
    """
    chance = np.random.default_rng(7)
    x, y = (axis.ravel().astype(float) for axis in np.meshgrid(np.arange(8) * 60, np.arange(6) * 60))
    depth_mm = -(y - y.mean()) / PX_PER_MM / math.tan(math.radians(angle_deg)) + relief_mm * chance.normal(size=y.size)
    squares = BLUR_PX_PER_MM**2 * ((depth_mm - focused_mm) ** 2 - depth_mm**2) + 0.5 * chance.normal(size=y.size)
    tiles = TileBlurs(np.stack([x, y], 1), np.sign(squares) * np.sqrt(np.abs(squares)), np.full(y.size, 0.15))
    focus = FocusJudgement(FocusVerdict.MISSED, BLUR_PX_PER_MM * abs(focused_mm), 0.1, abs(focused_mm))
    revision = Revision(arrangement=Arrangement(magnification=1.0), view_down_deg=said_deg or angle_deg)
    return miss_side(focus, tiles, revision, 24.0, 2400)


@pytest.mark.parametrize("angle_deg", [30.0, 60.0, 80.0])
def test_the_side_follows_from_which_end_of_an_aslant_piece_became_sharper(angle_deg: float) -> None:
    assert told(0.8, angle_deg) == MissSide(nearer=False, surely=True)
    assert told(-0.8, angle_deg) == MissSide(nearer=True, surely=True)


def test_a_little_relief_leaves_the_side_and_much_of_it_hides_it() -> None:
    assert told(0.8, 60.0, relief_mm=0.1) == MissSide(nearer=False, surely=True)
    assert told(0.8, 84.0, relief_mm=1.5) is None


def test_a_piece_that_does_not_lie_as_the_set_up_says_is_told_of_no_side() -> None:
    assert told(0.8, 89.9, said_deg=45.0) is None, "it faces the camera"
    assert told(0.8, 75.0, said_deg=30.0) is None, "the slope has another size"
    assert told(0.8, 45.0, said_deg=90.0) is None, "from straight above the table has no far end"


def test_the_sentence_tells_side_and_certainty_and_the_way_back() -> None:
    missed = FocusJudgement(FocusVerdict.MISSED, 5.06, 0.1, 1.2)
    (nearer,) = findings(missed, 1.0, MissSide(nearer=True, surely=True))
    assert nearer.text == (
        "Blur radius 5.1 px in the region against a limit of 1.0 px: sharpest about 1.2 mm nearer (surely)."
    )
    assert nearer.remedy is not None and nearer.remedy.text == "focus 1.2 mm farther in live view"
    (farther,) = findings(missed, 1.0, MissSide(nearer=False, surely=False))
    assert "sharpest about 1.2 mm farther (likely)." in farther.text
    assert farther.remedy is not None and farther.remedy.text == "focus 1.2 mm nearer in live view"
