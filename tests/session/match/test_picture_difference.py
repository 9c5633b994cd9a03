"""The difference of a frame and its reference as a grey picture: how grey, and which way."""

from __future__ import annotations

import numpy as np
import pytest

from session.match.picture_difference import MID_CODE, difference_codes
from session.match.solo_picture import SoloPicture
from session.units.refusals import UnlikeShapesError


def solo(light: np.ndarray) -> SoloPicture:
    even = light.astype(np.float32)
    return SoloPicture(np.stack([even] * 3), even, np.zeros(even.shape, bool), np.zeros_like(even), 1.0)


def test_alike_is_mid_grey_brighter_is_lighter_and_a_stop_is_white() -> None:
    before = np.full((20, 30), 0.2)
    for ev, code in ((0.0, MID_CODE), (0.5, 191), (-0.5, 65), (2.0, 255), (-3.0, 0)):
        found = difference_codes(solo(before), solo(before * 2.0**ev))
        assert found.shape == before.shape and abs(int(found[3, 4]) - code) <= 1, f"{ev} EV: 127 codes a stop"
    black = difference_codes(solo(np.zeros((20, 30))), solo(np.full((20, 30), 1e-5)))
    assert abs(int(black.mean()) - MID_CODE) <= 2, "noise in the blacks is no difference"


def test_a_frame_of_another_size_is_laid_at_the_references_and_one_of_other_sides_refused() -> None:
    assert difference_codes(solo(np.full((20, 30), 0.2)), solo(np.full((40, 60), 0.2))).shape == (20, 30)
    with pytest.raises(UnlikeShapesError):
        difference_codes(solo(np.full((20, 30), 0.2)), solo(np.full((30, 20), 0.2)))
