"""Power and angles as they are written for people, and read back. The marks of power are those of flash controls
(common practice, no source); which side is which stands beside the simulated table's own geometry."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mock_camera.table.lights import FlashHead
from session.units.numbers import (
    angles_text,
    power_text,
    share_text,
    side_text,
    steps_text,
)
from session.units.typed import typed_number


@pytest.mark.parametrize(
    ("power_ev", "text"),
    [
        (0.0, "1/1 (0 EV)"),
        (-2.0, "1/4 (−2 EV)"),
        (-5 / 3, "1/4 +⅓ (−1.7 EV)"),
        (-1.7, "1/4 +⅓ (−1.7 EV)"),
        (-4 / 3, "1/4 +⅔ (−1.3 EV)"),
        (-1.5, "1/4 +0.5 (−1.5 EV)"),
        (-7.0, "1/128 (−7 EV)"),
    ],
)
def test_power_reads_as_the_flash_shows_it_with_the_stops_beside(power_ev: float, text: str) -> None:
    assert power_text(power_ev) == text


@given(st.integers(-360, 0).map(lambda steps: steps / 30))
def test_power_as_it_is_shown_is_taken_as_typed(power_ev: float) -> None:
    """Within half a tenth, the accuracy of what is shown, and for a third, which 0.3 stands for, within 1/3 − 0.25."""
    for text in (power_text(power_ev), share_text(power_ev)):
        assert typed_number("power_ev", text) == pytest.approx(power_ev, abs=1 / 12 + 1e-3)


@given(st.integers(0, 359), st.integers(-90, 90))
def test_angles_as_they_are_shown_are_taken_as_typed(azimuth_deg: int, elevation_deg: int) -> None:
    side, _, height = angles_text(azimuth_deg, elevation_deg).partition(" · ")
    assert (typed_number("azimuth_deg", side), typed_number("elevation_deg", height)) == (azimuth_deg, elevation_deg)


@pytest.mark.parametrize("azimuth_deg", [-60.0, 10.0, 60.0, 90.0, 179.0, 181.0, 300.0, 420.0])
def test_left_is_where_the_light_of_the_simulated_table_comes_from(azimuth_deg: float) -> None:
    right, _, _ = FlashHead("key", azimuth_deg=azimuth_deg, elevation_deg=30.0).direction
    assert side_text(azimuth_deg).endswith("right" if right > 0 else "left")
    assert typed_number("azimuth_deg", side_text(azimuth_deg)) == pytest.approx(azimuth_deg % 360)


def test_from_the_camera_and_from_behind_have_no_side() -> None:
    assert (angles_text(0, 35), angles_text(180, -10), angles_text(None, None)) == (
        "0° · 35° up",
        "180° · 10° down",
        "",
    )
    assert math.isclose(typed_number("azimuth_deg", "0"), 0.0) and math.isclose(
        typed_number("azimuth_deg", "180°"), 180.0
    )


@pytest.mark.parametrize(("steps", "text"), [(93.33, "93.3"), (1234.4, "1234"), (0.5, "0.5"), (12345.0, "12345")])
def test_steps_a_mm_are_written_no_finer_than_they_are_known(steps, text):
    assert steps_text(steps) == text
