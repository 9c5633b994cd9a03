"""A picture laid onto its reference: what lies outside, and what is burnt, counts for nothing."""

from __future__ import annotations

import numpy as np

from session.match.laid_picture import LaidPicture, blocks_of, lay_picture, over_ambient, whole_blocks
from session.match.solo_picture import SoloPicture
from session.picture.displacement import Motion

SHAPE = (96, 144)


def picture(light: float, burnt: slice = slice(0, 0)) -> SoloPicture:
    channels = np.full((3, *SHAPE), light, np.float32)
    clipped = np.zeros(SHAPE, bool)
    clipped[:, burnt] = True
    return SoloPicture(channels, channels[0], clipped, channels[0], 1.0)


def test_blocks_that_the_moved_frame_does_not_show_are_not_whole() -> None:
    laid = lay_picture(picture(0.3), SHAPE, Motion(right_px=-30.0))
    whole = whole_blocks(laid.counted)
    assert whole.shape == (4, 6) and whole[:, 2:].all() and not whole[:, :2].any()
    assert np.allclose(blocks_of(laid.channels, laid.counted)[:, whole], 0.3, atol=1e-4)


def test_burnt_places_move_with_the_picture_and_ambient_is_taken_off() -> None:
    laid = lay_picture(picture(0.3, slice(0, 24)), SHAPE, Motion(right_px=-24.0))
    whole = whole_blocks(laid.counted)  # the first column lies outside the frame, the second shows what is burnt
    assert whole[:, 2:].all() and not whole[:, :2].any()
    ambient = LaidPicture(np.full((3, *SHAPE), 0.1, np.float32), laid.counted)
    assert np.allclose(over_ambient(laid, ambient)[:, :, 50:], 0.2, atol=1e-4)
    assert over_ambient(laid, None) is laid.channels
