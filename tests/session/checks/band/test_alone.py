"""A band that a picture shows by itself: in made textures, and never in what only looks like one."""

from __future__ import annotations

import numpy as np
import pytest

from session.checks.band.alone import alone
from session.checks.band.shadow import SIDES
from tests.support.made_pictures import shadowed

SHAPE = (320, 480)


def texture(seed: int, shape: tuple[int, int] = SHAPE) -> np.ndarray:
    """Linear light of columns that differ and rows that hardly do, as brushed metal: (height, width)."""
    chance = np.random.default_rng(seed)
    across = np.exp2(chance.normal(0, 0.6, shape[1]))[None]
    grain = np.exp2(chance.normal(0, 0.05, shape))
    return np.clip(0.15 * across * grain, 0, 0.95)


def found(light: np.ndarray):
    return alone(light.astype(np.float32))


@pytest.mark.parametrize("side", ["bottom", "top"])
@pytest.mark.parametrize(("share", "ev"), [(0.15, 5.0), (0.3, 5.0), (0.6, 4.0)])
def test_a_band_along_the_shorter_way_is_told_with_its_share_and_depth(side: str, share: float, ev: float) -> None:
    band = found(shadowed(texture(1), side, share, ev))
    assert band is not None and band.by_itself
    assert band.side == side and band.share == pytest.approx(share, abs=0.02)
    assert band.ev == pytest.approx(ev, abs=0.6)


@pytest.mark.parametrize("side", ["left", "right"])
def test_no_curtain_runs_along_the_longer_way_of_a_picture(side: str) -> None:
    assert found(shadowed(texture(2), side, 0.3, 4.0)) is None


@pytest.mark.parametrize("side", SIDES)
def test_in_a_square_picture_curtains_may_have_gone_either_way(side: str) -> None:
    square = texture(3, (400, 400))
    light = square if side in ("bottom", "top") else square.T
    band = found(shadowed(light, side, 0.25, 4.0))
    assert band is not None and band.side == side


def test_what_is_no_band_is_not_told() -> None:
    plain, stripes = texture(4), texture(5)
    stripes[100:140] /= 16
    stripes[220:260] /= 16
    ramp = texture(6) * np.linspace(1, 0.05, SHAPE[0])[:, None]
    half = texture(7)
    half[200:, :240] /= 16  # a dark thing that stands in half of the picture
    for light in (plain, stripes, ramp, half):
        assert found(light) is None


def test_a_picture_too_small_for_any_edge_and_a_black_one_show_nothing() -> None:
    assert found(texture(8, (6, 40))) is None
    assert found(np.zeros(SHAPE)) is None
