"""Where a large source stands free, tried point by point; and where the light of a tube comes from, by readings."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.lighting import source


def edge(distance_mm: float, from_axis_deg: float, size_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """(sideways, above the piece's plane) of points along a disc that faces the piece, in the plane of the axis."""
    angle = math.radians(from_axis_deg)
    along = np.linspace(-size_mm / 2, size_mm / 2, 11)
    return (
        distance_mm * math.sin(angle) + along * math.cos(angle),
        distance_mm * math.cos(angle) - along * math.sin(angle),
    )


@given(st.floats(100, 1500), st.floats(5, 89), st.floats(20, 800), st.floats(5, 80))
def test_no_part_stands_below_the_piece_nor_before_the_lens(distance, angle, size, beside) -> None:
    there = source.clear_place(distance, angle, size, beside)
    sideways, above = edge(there.distance_mm, there.from_axis_deg, size)
    assert above.min() > -1e-3 * size
    assert sideways.min() > beside - 1e-3 * size
    assert there.distance_mm >= distance
    assert there.from_axis_deg >= angle - 1e-9


@given(st.floats(100, 1500), st.floats(5, 89), st.floats(20, 800), st.floats(5, 80))
def test_a_source_that_stands_free_is_not_moved(distance, angle, size, beside) -> None:
    sideways, above = edge(distance, angle, size)
    if above.min() > 0.01 and sideways.min() > beside + 0.01:
        assert source.clear_place(distance, angle, size, beside) == source.ClearPlace(distance, angle)


@given(st.floats(10, 85), st.floats(20, 800), st.floats(5, 80))
def test_it_comes_as_near_as_it_stands_free(angle, size, beside) -> None:
    nearest = source.nearest_clear_mm(angle, size, beside)
    for share, free in ((1.001, True), (0.999, False)):
        sideways, above = edge(nearest * share, angle, size)
        assert bool(above.min() >= 0 and sideways.min() >= beside) is free


def test_a_softbox_beside_a_close_lens_is_turned_away_from_the_camera() -> None:
    # 300 mm across at 150 mm: at 45° its inner edge would stand on the axis
    there = source.clear_place(150, 45, 300, 35)
    assert edge(150, 45, 300)[0].min() < 35
    assert there.from_axis_deg > 49
    assert there.distance_mm == pytest.approx(174.8, abs=0.1)


def test_light_from_a_lamp_behind_its_tube_gains_less_than_its_front_says() -> None:
    # published law for distances, from where the light comes: 620 + 150 mm to 200 + 150 mm is 2.28 EV, not 3.26
    lamp_ev = 2 * math.log2((620 + 150) / (200 + 150))
    assert lamp_ev == pytest.approx(2.275, abs=1e-3)
    assert source.distance_change_ev(620, 200, origin_behind_mm=150) == pytest.approx(lamp_ev)
    assert source.distance_change_ev(620, 200) == pytest.approx(3.26, abs=5e-3)


@pytest.mark.parametrize("behind_mm", [0.0, 40.0, 150.0, 600.0])
def test_two_readings_tell_where_the_light_comes_from_and_a_third_one_agrees(behind_mm: float) -> None:
    def reading(front_mm: float) -> float:
        """Of a small lamp behind an opening: what falls through a square millimetre there."""
        return 1e6 / (front_mm + behind_mm) ** 2

    told_mm = source.origin_behind_mm(620, 200, math.log2(reading(200) / reading(620)))
    assert told_mm == pytest.approx(behind_mm, abs=1e-6)
    third_ev = math.log2(reading(350) / reading(620))
    assert source.distance_change_ev(620, 350, origin_behind_mm=told_mm) == pytest.approx(third_ev)


@pytest.mark.parametrize("change_ev", [0.0, -1.0, 3.5])
def test_readings_that_contradict_each_other_are_refused(change_ev: float) -> None:
    with pytest.raises(ValueError, match=r"from 620 to 200 mm a light gains more than 0 and at most 3\.26 EV"):
        source.origin_behind_mm(620, 200, change_ev)
