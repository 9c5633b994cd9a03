"""Where a large source stands free, tried point by point; and where the light of a tube comes from, by readings."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.lighting import source
from session.units.refusals import ImpossibleNumbersError


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


@pytest.mark.parametrize(("size_mm", "distance_mm"), [(300.0, 100.0), (300.0, 600.0), (60.0, 50.0)])
def test_the_view_factor_of_a_disc_is_the_sum_over_its_rings(size_mm: float, distance_mm: float) -> None:
    """Each ring of area dA counts cos²θ/(π·s²): facing the point on the axis, both angles are alike."""
    radius_mm, rings = size_mm / 2, 20_000
    total = 0.0
    for n in range(rings):
        r = (n + 0.5) * radius_mm / rings
        square = r * r + distance_mm**2
        total += 2 * math.pi * r * (radius_mm / rings) * distance_mm**2 / (math.pi * square**2)
    assert source.disc_view_factor(size_mm, distance_mm) == pytest.approx(total, rel=1e-4)


@given(st.floats(10, 500), st.floats(10, 500), st.floats(30, 2000))
def test_a_rectangle_lies_between_the_discs_in_it_and_around_it(
    width_mm: float, height_mm: float, distance_mm: float
) -> None:
    share = source.rectangle_view_factor(width_mm, height_mm, distance_mm)
    inside = source.disc_view_factor(min(width_mm, height_mm), distance_mm)
    around = source.disc_view_factor(math.hypot(width_mm, height_mm), distance_mm)
    assert inside < share < around <= 1
    assert share == pytest.approx(source.rectangle_view_factor(height_mm, width_mm, distance_mm))


@given(st.floats(10, 1000), st.floats(20, 3000))
def test_the_error_of_the_inverse_square_is_the_disc_against_a_point(size_mm: float, distance_mm: float) -> None:
    as_point = (size_mm / 2) ** 2 / distance_mm**2
    error = source.inverse_square_error_ev(size_mm, distance_mm)
    assert error == pytest.approx(math.log2(source.disc_view_factor(size_mm, distance_mm) / as_point))


def test_at_five_times_its_size_a_source_keeps_the_inverse_square_within_a_per_cent() -> None:
    """The five-times rule of the IES handbook; at four times a disc is off by more."""
    assert 2 ** source.inverse_square_error_ev(100, 500) == pytest.approx(0.99, abs=0.0005)
    assert 2 ** source.inverse_square_error_ev(100, 400) < 0.986


@given(st.floats(100, 2000), st.floats(50, 90), st.floats(0, 300), st.floats(0, 200))
def test_moving_a_light_and_back_gains_nothing(far_mm: float, near_mm: float, size_mm: float, behind_mm: float) -> None:
    size_mm = size_mm if size_mm >= 2 else 0.0
    there = source.distance_change_ev(far_mm, near_mm, size_mm, behind_mm)
    assert there == pytest.approx(-source.distance_change_ev(near_mm, far_mm, size_mm, behind_mm))
    assert 0 < there <= 2 * math.log2(far_mm / near_mm) + 1e-9


@given(st.floats(0, 300), st.floats(400, 1000), st.floats(100, 300))
def test_two_readings_tell_where_the_light_comes_from(behind_mm: float, far_mm: float, near_mm: float) -> None:
    gained = source.distance_change_ev(far_mm, near_mm, 0.0, behind_mm)
    assert source.origin_behind_mm(far_mm, near_mm, gained) == pytest.approx(behind_mm, abs=1e-3)


@pytest.mark.parametrize("change_ev", [0.0, -0.5, 2.01])
def test_readings_that_contradict_the_inverse_square_are_refused_with_what_is_possible(change_ev: float) -> None:
    with pytest.raises(ImpossibleNumbersError) as refused:
        source.origin_behind_mm(600, 300, change_ev)
    assert "from 600 to 300 mm a light gains more than 0 and at most 2 EV." in str(refused.value)
    assert source.origin_behind_mm(600, 300, 2.0) == pytest.approx(0, abs=1e-6), "just the inverse square: a point"


@given(st.floats(0, 89))
def test_a_surface_aslant_is_lit_by_the_cosine(angle_deg: float) -> None:
    lost = source.incidence_loss_ev(angle_deg)
    assert 2**-lost == pytest.approx(math.cos(math.radians(angle_deg)))


@given(st.floats(5, 85), st.floats(2, 600), st.floats(0, 200))
def test_as_near_as_it_may_come_a_source_stands_free_and_any_nearer_it_does_not(
    angle_deg: float, size_mm: float, beside_mm: float
) -> None:
    near_mm, radius_mm, angle = (
        source.nearest_clear_mm(angle_deg, size_mm, beside_mm),
        size_mm / 2,
        math.radians(angle_deg),
    )

    def stands_free(at_mm: float) -> bool:
        above_table = at_mm * math.cos(angle) - radius_mm * math.sin(angle) >= -1e-6
        beside = at_mm * math.sin(angle) - radius_mm * math.cos(angle) >= beside_mm - 1e-6
        return above_table and beside

    assert stands_free(near_mm)
    assert near_mm < 1e-3 or not stands_free(near_mm * 0.999 - 1e-3)
