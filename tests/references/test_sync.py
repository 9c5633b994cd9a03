"""Flash synchronisation against a shutter that is run here row by row. Sources: SOURCES.md."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from session.lighting import sync

# 1/t, then dark share for (T_c, τ_d) in ms = (3.0, 0), (3.0, 0.5), (3.6, 0), (3.6, 0.5), and slit share at 3.0.
TABLE = [
    (200, 0, 0, 0, 0, 1.667),
    (250, 0, 0, 0, 0.0278, 1.333),
    (320, 0, 0.1250, 0.1319, 0.2708, 1.042),
    (400, 0.1667, 0.3333, 0.3056, 0.4444, 0.8333),
    (500, 0.3333, 0.5000, 0.4444, 0.5833, 0.6667),
    (640, 0.4792, 0.6458, 0.5660, 0.7049, 0.5208),
    (1000, 0.6667, 0.8333, 0.7222, 0.8611, 0.3333),
    (2000, 0.8333, 1, 0.8611, 1, 0.1667),
]
SHUTTERS = [(0.003, 0.0), (0.003, 0.0005), (0.0036, 0.0), (0.0036, 0.0005)]
ROWS = (np.arange(20_000) + 0.5) / 20_000


def row_light(exposure_s: float, travel_s: float, delay_s: float, tau_s: float) -> NDArray[np.float64]:
    """Share of an exponential flash that each row gets, summed over time slices between its curtains."""
    rows = ROWS[::1000]
    slices = np.linspace(0, 14 * tau_s, 10_001)
    middle = (slices[1:] + slices[:-1]) / 2
    light = np.exp(-slices[:-1] / tau_s) - np.exp(-slices[1:] / tau_s)
    fired_s = travel_s + delay_s
    opens, closes = rows * travel_s, rows * travel_s + exposure_s
    seen = (middle + fired_s >= opens[:, None]) & (middle + fired_s < closes[:, None])
    return np.asarray(seen @ light)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"Y1-1/{row[0]}")
def test_dark_share_matches_the_table_and_a_shutter_run_row_by_row(row: tuple[float, ...]) -> None:
    # Y1. [18] for the statement, numbers derived.
    exposure_s = 1 / row[0]
    for (travel_s, delay_s), expected in zip(SHUTTERS, row[1:5], strict=True):
        dark = sync.dark_share(exposure_s, travel_s, delay_s)
        assert dark == pytest.approx(expected, abs=5.1e-5)
        fired_s = travel_s + delay_s
        open_rows = (ROWS * travel_s <= fired_s) & (fired_s < ROWS * travel_s + exposure_s)
        assert dark == pytest.approx(1 - np.mean(open_rows), abs=1e-4)
    assert sync.slit_share(exposure_s, 0.003) == pytest.approx(row[5], abs=5.1e-4)


def test_y2_fastest_safe_time() -> None:
    # Y2. Model: 3.0 + 0.5 + 0.5 ms.
    assert sync.fastest_exposure_s(0.003, 0.0005, 0.0005) == pytest.approx(1 / 250, rel=1e-12)


def test_y3_slow_tail_darkens_the_edge_inside_the_sync_time() -> None:
    # Y3. t = 4, T_c = 3, τ_d = 0.2 ms, t0.1 = 2 ms: 0.3981 lost, −0.732 EV at the edge covered first.
    loss_ev = sync.edge_loss_ev(0.004, 0.003, 0.0002, 0.002)
    assert loss_ev == pytest.approx(0.732, abs=5.1e-4)
    assert 1 - 2**-loss_ev == pytest.approx(0.3981, abs=5.1e-5)
    along = sync.loss_along_frame_ev([0.0, 0.5, 1.0], 0.004, 0.003, 0.0002, 0.002)
    assert along[0] == pytest.approx(loss_ev, rel=1e-12)
    assert along[2] == pytest.approx(-math.log2(1 - 10**-1.9), rel=1e-9)


@settings(max_examples=25)
@given(
    exposure_s=st.floats(0.001, 0.01),
    travel_s=st.floats(0.002, 0.005),
    delay_s=st.floats(0, 0.001),
    t01_s=st.floats(0.0003, 0.004),
)
def test_y3_loss_along_the_frame_agrees_with_a_shutter_run_row_by_row(
    exposure_s: float, travel_s: float, delay_s: float, t01_s: float
) -> None:
    want = row_light(exposure_s, travel_s, delay_s, t01_s / math.log(10))
    got = 2 ** -sync.loss_along_frame_ev(ROWS[::1000], exposure_s, travel_s, delay_s, t01_s)
    assert got == pytest.approx(want, abs=2e-3)


def test_y5_band_lies_along_the_bottom_of_the_upright_picture() -> None:
    # Y5. Geometry: the place covered first is the top of the sensor, which is the bottom of the picture.
    assert sync.dark_band_side() == "bottom"
    assert sync.dark_band_side(flash_early=True) == "top"
    assert sync.dark_band_side(downward_at_sensor=False) == "top"
    edges = sync.loss_along_frame_ev([0.0, 1.0], 1 / 500, 0.003, 0.0, 0.0003)
    assert math.isinf(edges[0])
    assert edges[1] < 0.01


@pytest.mark.parametrize(("denominator", "lit"), [(30, 0.5), (250, 0.06)], ids=["Y6-1/30", "Y6-1/250"])
def test_electronic_shutter_lights_only_the_rows_that_share_time(denominator: int, lit: float) -> None:
    # Y6. Same model with the read-out time, 1/15 s.
    assert 1 - sync.dark_share(1 / denominator, 1 / 15) == pytest.approx(lit, abs=5e-4)


@pytest.mark.parametrize(
    ("denominator", "share", "stops"),
    [(1000, 0.25, -2.00), (500, 0.40, -1.32), (250, 0.571, -0.807)],
    ids=["Y9-1/1000", "Y9-1/500", "Y9-1/250"],
)
def test_burst_as_long_as_the_travel_lights_evenly_at_a_price(denominator: int, share: float, stops: float) -> None:
    # Y9. Model: an even burst from the first row's opening to the last row's closing.
    got = sync.high_speed_sync_share(1 / denominator, 0.003)
    assert got == pytest.approx(share, abs=5.1e-4)
    assert math.log2(got) == pytest.approx(stops, abs=2e-3)
