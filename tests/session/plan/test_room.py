"""What must fit before the lens, by geometry and published losses of glass."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.optics.arrangement import bare
from session.optics.plate import clear_aperture_mm
from session.plan.room import CLAMP_ROOM_MM, beam_mm, beside_axis_mm, light_room_mm, plate_losses_ev, plate_place
from session.plan.wish import Wish
from session.set.kit import Plate
from tests.support.plan_kits import LENSES

GLASS = Plate(name="glass", thickness_mm=2, refractive_index=1.5168, width_mm=150, height_mm=100)
LIFE_SIZE = bare(100, 1, 1)


def placed(plate: Plate = GLASS, framed=(36.0, 24.0), angle_deg: float = 45):
    return plate_place(plate, angle_deg, framed, 136, 2.4, LIFE_SIZE, 22)


def test_clamps_take_a_centimetre_above_and_below_the_plate():
    plate = placed()
    assert plate.room_mm == pytest.approx(plate.length_mm * math.sin(math.radians(45)) + 20)


def test_a_light_beside_the_lens_clears_its_rim_and_reaches_the_far_corner():
    # rim of 30 mm radius, corner 20 mm from the axis: a ray at 45° from that corner climbs 50 mm to the rim
    assert light_room_mm(60, 32, 24, 45) == pytest.approx(50)
    assert light_room_mm(60, 32, 24, 60) == pytest.approx(50 / math.tan(math.radians(60)))


@settings(max_examples=25)
@given(st.floats(5, 300), st.floats(1, 190), st.floats(8, 60))
def test_the_beam_is_that_of_similar_triangles(field_mm, distance_mm, effective):
    # entrance pupil of a 100 mm lens at life size: 200 mm before the piece, 1/a of that wide
    assert beam_mm(field_mm, distance_mm, LIFE_SIZE, effective) == pytest.approx(
        clear_aperture_mm(field_mm, 200 / effective, 200, distance_mm)
    )


def test_a_plate_of_two_millimetres_at_45_degrees_shifts_doubles_and_bends_as_published():
    # shift, double image and astigmatism of a 2 mm plate, n = 1.5168: 0.669, 1.490, 0.538 mm; loss 3.517 stops,
    # 3.622 for a mirror-like piece, 0.147 passing (Fresnel; a ray trace and a thin-film library agree)
    plate = placed()
    assert plate.shift_mm == pytest.approx(0.669, abs=5e-4)
    assert plate.double_image_mm == pytest.approx(1.490, abs=5e-4)
    assert abs(plate.astigmatism_mm) == pytest.approx(0.538, abs=5e-4)
    assert plate.loss_ev == pytest.approx(3.517, abs=5e-4)
    assert plate.mirror_loss_ev == pytest.approx(3.622, abs=5e-4)
    assert plate.passing_loss_ev == pytest.approx(0.147, abs=5e-4)


def test_the_light_aims_level_with_the_plate_at_45_degrees():
    plate = placed()
    assert plate.aim_sideways_mm == pytest.approx(plate.distance_mm)
    assert plate.aim_along_axis_mm == pytest.approx(plate.distance_mm)


def test_the_plate_stands_above_the_piece_with_room_for_its_clamps():
    plate = placed()
    assert (plate.length_mm, plate.width_mm) == (100, 150)  # the shorter side along the tilt is enough
    assert plate.length_needed_mm == pytest.approx(24 * math.sqrt(2) + plate.shift_mm)
    assert plate.room_mm == pytest.approx(100 / math.sqrt(2) + 2 * CLAMP_ROOM_MM)
    lower_edge_mm = plate.distance_mm - 50 / math.sqrt(2)
    assert lower_edge_mm == pytest.approx(2.4 + CLAMP_ROOM_MM)


def test_a_plate_is_turned_where_only_that_way_is_long_enough():
    assert placed(framed=(90.0, 90.0)).length_mm == 150
    assert placed(GLASS.model_copy(update={"width_mm": None})).size_known is False


@settings(max_examples=25)
@given(st.floats(10, 200), st.floats(1, 300), st.floats(1, 300), st.floats(5, 85))
def test_a_shallower_light_needs_less_room_and_a_wider_lens_more(rim, width, height, angle):
    needed = light_room_mm(rim, width, height, angle)
    assert light_room_mm(rim, width, height, angle + 1) < needed < light_room_mm(rim + 1, width, height, angle)
    assert light_room_mm(rim, height, width, angle) == pytest.approx(needed)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((0.0, 32, 24, 45), r"front_diameter_mm is 0 mm"),
        ((60, -1, 24, 45), r"piece_width_mm is -1 mm"),
        ((60, 32, 24, 0.0), r"light_angle_deg is 0 °"),
        ((60, 32, 24, 90.0), r"light_angle_deg is 90 °"),
    ],
)
def test_room_for_a_light_refuses_what_cannot_be_meant(arguments, said):
    with pytest.raises(ValueError, match=said):
        light_room_mm(*arguments)


def test_a_light_stands_beside_the_lens_or_the_picture_whichever_is_wider():
    lens = LENSES[0]  # a rim of 60 mm
    assert beside_axis_mm(lens, Wish(3, 4, blur_radius_on_piece_mm=0.01)) == 30
    assert beside_axis_mm(lens, Wish(30, 40, fill=0.5, blur_radius_on_piece_mm=0.01)) == 50
    assert (
        beside_axis_mm(lens.model_copy(update={"front_diameter_mm": None}), Wish(30, 40, blur_radius_on_piece_mm=0.01))
        == 31.25
    )


def test_thicker_glass_shifts_doubles_and_smears_in_proportion_and_loses_alike():
    thin, thick = placed(), placed(GLASS.model_copy(update={"thickness_mm": 4}))
    for name in ("shift_mm", "double_image_mm", "astigmatism_mm"):
        assert getattr(thick, name) == pytest.approx(2 * getattr(thin, name))
    assert (thick.loss_ev, thick.passing_loss_ev) == (thin.loss_ev, thin.passing_loss_ev)


@settings(max_examples=25)
@given(st.floats(1, 75))
def test_a_plate_never_gives_light_and_most_passes_through(angle_deg):
    lost = plate_losses_ev(GLASS, angle_deg)
    assert lost["mirror_loss_ev"] >= lost["loss_ev"] > lost["passing_loss_ev"] > 0


@settings(max_examples=25)
@given(st.floats(20, 400), st.floats(20, 400), st.floats(5, 120), st.floats(5, 120))
def test_a_plate_is_never_turned_to_where_it_is_shorter_of_what_is_needed(width, height, along, across):
    plate = GLASS.model_copy(update={"width_mm": width, "height_mm": height})
    place = placed(plate, (along, across))
    share = min(place.length_mm / place.length_needed_mm, place.width_mm / place.width_needed_mm)
    turned = min(place.width_mm / place.length_needed_mm, place.length_mm / place.width_needed_mm)
    assert {place.length_mm, place.width_mm} == {width, height}
    assert share >= turned or share >= 1
    if min(share, turned) >= 1:
        assert place.length_mm <= place.width_mm  # both ways do: the one that takes less room


def test_a_plate_of_unknown_size_counts_as_just_large_enough():
    place = placed(GLASS.model_copy(update={"height_mm": None}))
    assert (place.length_mm, place.width_mm) == (place.length_needed_mm, place.width_needed_mm)
