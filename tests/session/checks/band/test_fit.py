"""The model of a band laid on rows of light: where it begins, how soft its edge is, how much light it lost."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.checks.band.fit import Edge, fit_edge
from session.checks.material.check_limits import BAND_LOG_ODDS

LENGTH = 400
ROWS = np.arange(LENGTH, dtype=np.float64)
SEEN = np.ones(LENGTH, bool)
quick = settings(max_examples=25)


def rows_with_a_band(begin: float, soft: float, ev: float, slope_ev: float = 0.0) -> np.ndarray:
    """EV of each row by the two-curtain model: the flash is 1 − exp(−y/y₀), beside it ambient light of 2^−ev."""
    into_lit = np.maximum(begin - ROWS, 0)
    flash = 1 - np.exp(-into_lit / soft) if soft else np.clip(begin - ROWS + 0.5, 0, 1)
    ambient = 2.0**-ev
    return np.log2(ambient + (1 - ambient) * flash) + slope_ev * ROWS / LENGTH


def fitted(profile: np.ndarray, around: int, room: int = 40) -> Edge | None:
    return fit_edge(profile, SEEN, around, room, LENGTH)


@quick
@given(st.integers(120, 300), st.floats(1.0, 6.0), st.floats(-0.5, 0.5))
def test_a_hard_edge_is_found_to_half_a_row_with_the_light_it_lost(begin: int, ev: float, slope_ev: float) -> None:
    edge = fitted(rows_with_a_band(begin, 0.0, ev, slope_ev), begin)
    assert edge is not None
    assert edge.begin == pytest.approx(begin, abs=0.6) and edge.ev == pytest.approx(ev, abs=0.15)
    assert edge.slope_ev * LENGTH == pytest.approx(slope_ev, abs=0.15), "a line of light, laid on one of EV"
    assert edge.log_odds > 10


@quick
@given(st.integers(150, 280), st.floats(0.01, 0.06))
def test_a_soft_edge_keeps_its_beginning_and_tells_its_softness(begin: int, softness: float) -> None:
    edge = fitted(rows_with_a_band(begin, softness * LENGTH, 5.0), begin)
    assert edge is not None
    assert edge.begin == pytest.approx(begin, abs=4) and edge.soft_rows == pytest.approx(softness * LENGTH, rel=0.3)


def test_light_that_merely_changes_along_a_parabola_is_no_surer_a_band_than_a_band() -> None:
    bent = -2.0 * ((ROWS - 100) / LENGTH) ** 2
    relit, band = fitted(bent, 200), fitted(rows_with_a_band(200, 0.0, 1.5), 200)
    assert band is not None
    assert relit is None or relit.log_odds < BAND_LOG_ODDS < band.log_odds


def test_a_picture_that_grows_brighter_has_lost_no_light() -> None:
    edge = fitted(-rows_with_a_band(200, 0.0, 3.0), 200)
    assert edge is None or edge.log_odds < BAND_LOG_ODDS


def test_rows_that_were_not_seen_do_not_count() -> None:
    profile = rows_with_a_band(200, 0.0, 3.0)
    profile[60:90] = 12.0  # nonsense where nothing was seen
    seen = SEEN.copy()
    seen[60:90] = False
    edge = fit_edge(profile, seen, 200, 40, LENGTH)
    assert edge is not None and edge.begin == pytest.approx(200, abs=1)


@quick
@given(st.floats(10, 390), st.floats(0, 20), st.integers(0, 50))
def test_a_band_is_told_in_shares_of_the_whole_picture(begin: float, soft: float, cut: int) -> None:
    band = Edge(begin, soft, 3.0, 0.0, 0.0, 5.0).band("bottom", LENGTH, cut, LENGTH + cut)
    assert 0 <= band.share <= band.lost_share <= 1
    dark_rows = LENGTH - 0.5 - begin + cut
    assert band.share == pytest.approx(dark_rows / (LENGTH + cut), abs=1e-9)
    half_lost = dark_rows + soft * math.log(2)
    assert band.lost_share == pytest.approx(min(1.0, half_lost / (LENGTH + cut)), abs=1e-9)
    assert (band.side, band.ev) == ("bottom", 3.0)


def test_the_lit_level_goes_on_along_its_line_into_the_dark() -> None:
    edge = Edge(200.0, 0.0, 3.0, -1.0, 0.01, 5.0)
    assert edge.lit_at(np.array([200.0, 300.0, 0.0])) == pytest.approx([-1.0, 0.0, -3.0])
