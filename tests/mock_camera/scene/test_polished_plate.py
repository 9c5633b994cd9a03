"""The polished plate: a mirror all over, with the grey card's squares in it."""

import numpy as np
import pytest

from mock_camera.scene.grey_card import DARK, GREY, LIGHT
from mock_camera.scene.polished_plate import GLASS, RHODIUM, STEEL
from tests.support.still_life import piece_layers


def test_the_plate_mirrors_and_its_squares_are_where_the_cards_are() -> None:
    (plate,), (card,) = piece_layers("mirror"), piece_layers("card")
    assert plate.mirrors
    assert not card.mirrors
    for dark, grey, light, tones in ((GLASS, STEEL, RHODIUM, plate.luma), (DARK, GREY, LIGHT, card.luma)):
        assert (tones.min(), tones.max()) == pytest.approx((dark, light))
        assert np.median(tones) == pytest.approx(grey)
    share = [
        (part.luma - ground) / (light - ground)
        for part, ground, light in ((plate, STEEL, RHODIUM), (card, GREY, LIGHT))
    ]
    assert np.maximum(share[0], 0) == pytest.approx(np.maximum(share[1], 0), abs=1e-5)
