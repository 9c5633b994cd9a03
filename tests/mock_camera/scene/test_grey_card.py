"""The grey card: 18 % between its squares, and the squares on their lattice."""

import math

import numpy as np
import pytest

from mock_camera.scene.grey_card import LATTICE_MM
from tests.support.still_life import (
    card_world,
    linear,
    piece_layers,
    shot,
    square_centres,
)


def test_a_grey_card_is_of_18_percent_between_its_squares() -> None:
    luma = piece_layers("card")[0].luma
    share = np.mean(np.abs(luma - 0.18) < 0.002)
    assert share > 0.7  # squares of 1.5 mm stand 4 mm apart: 1 − (1.5/4)² = 86 %, less their edges
    assert luma.min() == pytest.approx(0.04, abs=2e-3)
    assert luma.max() == pytest.approx(0.60, abs=2e-3)


@pytest.mark.parametrize("magnification", [0.37, 0.8, 1.3])
def test_squares_of_the_card_lie_as_far_apart_as_the_magnification_says(magnification: float) -> None:
    world = card_world()
    world.do("arrangement", magnification=magnification)
    centres = square_centres(linear(world.expose(shot(f_number=22 / (1 + magnification)), 10)))
    # light squares stand diagonally: the nearest neighbour is sqrt(2) lattice steps away
    gaps = [np.sort(np.hypot(*(centres - c).T))[1] for c in centres]
    measured = float(np.median(gaps)) * (24 / 768) / (LATTICE_MM * math.sqrt(2))
    assert measured == pytest.approx(magnification, rel=0.005)
