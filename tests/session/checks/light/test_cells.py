"""The light in a coarse grid: a plane through the cells, whatever single cells do, and which pictures are plain."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.checks.light.cells import FEWEST_CELLS, Cells, cells_of_plain, plane_of

X, Y = np.meshgrid(np.linspace(-1, 1, 12), np.linspace(-1, 1, 8))
quick = settings(max_examples=30)
evs = st.floats(-2, 2)


def plane(level: float, across: float, down: float) -> np.ndarray:
    return level + across * X + down * Y


@quick
@given(evs, evs, evs)
def test_the_plane_through_cells_of_a_plane_is_that_plane(level: float, across: float, down: float) -> None:
    found = plane_of(Cells(plane(level, across, down), X, Y))
    assert (found.level_ev, found.across_ev, found.down_ev) == pytest.approx((level, across, down), abs=1e-6)
    assert found.scatter_ev == pytest.approx(0, abs=1e-6)
    assert found.at(X, Y) == pytest.approx(plane(level, across, down), abs=1e-6)


@quick
@given(evs, evs, st.integers(0, 1000))
def test_a_fifth_of_the_cells_may_show_anything(across: float, down: float, seed: int) -> None:
    chance = np.random.default_rng(seed)
    ev = plane(0.0, across, down) + chance.normal(0, 0.02, X.shape)
    wild = chance.permutation(X.size)[: X.size // 5]
    ev.flat[wild] += chance.uniform(3, 6, len(wild))
    found = plane_of(Cells(ev, X, Y))
    assert (found.across_ev, found.down_ev) == pytest.approx((across, down), abs=0.1)
    assert found.level_ev == pytest.approx(0, abs=0.1)


def test_cells_that_are_not_known_do_not_count() -> None:
    ev = plane(0.3, 0.5, -0.2)
    ev[:, :6] = np.nan
    cells = Cells(ev, X, Y)
    assert cells.known.sum() == 48 and cells.enough
    assert plane_of(cells).across_ev == pytest.approx(0.5, abs=1e-6)


@pytest.mark.parametrize(("known", "enough"), [(FEWEST_CELLS - 1, False), (FEWEST_CELLS, True)])
def test_a_picture_counts_with_so_many_cells(known: int, enough: bool) -> None:
    ev = np.full(X.shape, np.nan)
    ev.flat[:known] = 0.0
    assert Cells(ev, X, Y).enough is enough


def plain_cells(light: np.ndarray) -> Cells | None:
    """Of linear light (height, width) alone; the check looks at nothing else of a material."""
    return cells_of_plain(SimpleNamespace(light=light.astype(np.float32)))  # type: ignore[arg-type]


def test_an_even_card_is_plain_and_its_fall_off_is_told_against_its_own_median() -> None:
    card = np.full((240, 360), 0.2) * np.exp2(np.linspace(-0.5, 0.5, 360))[None]
    cells = plain_cells(card)
    assert cells is not None and np.nanmedian(cells.ev) == pytest.approx(0, abs=0.05)
    assert plane_of(cells).across_ev == pytest.approx(0.5, abs=0.03)


@pytest.mark.parametrize("level", [1e-6, 1.0], ids=["black", "burnt out"])
def test_a_picture_that_shows_no_tone_is_not_plain(level: float) -> None:
    assert plain_cells(np.full((240, 360), level)) is None


def test_a_picture_with_detail_is_not_plain() -> None:
    chance = np.random.default_rng(1)
    assert plain_cells(0.2 * np.exp2(chance.normal(0, 0.5, (240, 360)))) is None
    two_tones = np.full((240, 360), 0.2)
    two_tones[:, ::40] = 0.05
    assert plain_cells(two_tones) is None
