"""The planner's questions about light: their numbers against closed forms, and which are None without an input."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.plan.lens_answers import Answer
from session.plan.light_answers import PLACES, card_answer, light_answer, plate_answer, sync_answer

GUIDE, DISTANCE = st.floats(5, 100), st.floats(200, 10_000)


def number(answer: Answer, name: str) -> float:
    value = answer[name]
    assert isinstance(value, float | int)
    return float(value)


@settings(max_examples=25)
@given(GUIDE, DISTANCE, st.floats(-8, 0))
def test_a_bare_flash_far_from_the_camera_goes_by_the_guide_number(guide: float, mm: float, power: float) -> None:
    answer = light_answer(guide, mm, power)
    assert number(answer, "f_number") == pytest.approx(guide / (mm / 1000) * 2 ** (power / 2))
    assert number(answer, "guide_number_here_m") == pytest.approx(guide * 2 ** (power / 2))
    assert answer["f_number"] == answer["effective_f_number"]
    asked = ("ev_change", "found_origin_behind_mm", "needed_power_ev", "needed_distance_mm", "recycling_time_s")
    assert [answer[name] for name in asked] == [None] * 5


@settings(max_examples=25)
@given(
    GUIDE, DISTANCE, st.floats(-6, 0), st.sampled_from([0, 20, 300]), st.floats(0, 2), st.floats(0, 75), st.floats(1, 5)
)
def test_power_and_distance_that_are_needed_bring_the_wanted_stop(
    guide: float, mm: float, power: float, size: float, ratio: float, aside: float, wanted: float
) -> None:
    set_to = {"source_size_mm": size, "magnification": ratio, "incidence_angle_deg": aside}
    try:
        answer = light_answer(guide, mm, power, wanted_f_number=wanted, **set_to)
    except ValueError as error:
        assert "however near it stands" in str(error)  # a wide source is no brighter from nearer by
        return
    needed_ev = number(answer, "needed_power_ev")
    had_ev = 2 * math.log2(wanted / number(answer, "f_number"))
    assert needed_ev == pytest.approx(power + had_ev)
    if number(answer, "needed_distance_mm") > 0.01:
        there = light_answer(guide, number(answer, "needed_distance_mm"), power, **set_to)
        assert number(there, "f_number") == pytest.approx(wanted, rel=1e-4)


@settings(max_examples=25)
@given(st.floats(0, 89))
def test_light_from_aside_falls_off_by_the_cosine(aside: float) -> None:
    loss = number(light_answer(20, 1000, incidence_angle_deg=aside), "incidence_loss_ev")
    assert loss == pytest.approx(-math.log2(math.cos(math.radians(aside))), abs=1e-9)


@settings(max_examples=25)
@given(DISTANCE, st.floats(1.2, 4), st.floats(0, 400))
def test_the_origin_behind_a_shaper_is_found_back_from_the_reading_it_makes(
    mm: float, times: float, behind_mm: float
) -> None:
    far_mm = mm * times
    reading_ev = number(light_answer(20, mm, from_distance_mm=far_mm, origin_behind_mm=behind_mm), "ev_change")
    found = light_answer(20, mm, from_distance_mm=far_mm, reading_change_ev=reading_ev)
    assert number(found, "found_origin_behind_mm") == pytest.approx(behind_mm, abs=1e-3 + 1e-6 * far_mm)
    told = light_answer(20, mm, from_distance_mm=far_mm, origin_behind_mm=behind_mm)
    assert number(found, "f_number") == pytest.approx(number(told, "f_number"), rel=1e-4)


def test_a_frame_too_bright_is_either_a_stronger_flash_or_a_weaker_loss() -> None:
    answer = light_answer(20, 1000, loss_ev=1.5, measured_change_ev=1.0)
    assert number(answer, "calibrated_guide_number_m") == pytest.approx(20 * math.sqrt(2))
    assert answer["calibrated_loss_ev"] == 0.5
    counted = number(answer, "f_number")
    either = (
        light_answer(number(answer, "calibrated_guide_number_m"), 1000, loss_ev=1.5),
        light_answer(20, 1000, loss_ev=0.5),
    )
    for one in either:
        assert 2 * math.log2(number(one, "f_number") / counted) == pytest.approx(1.0)


def test_at_less_power_it_recycles_faster() -> None:
    times = [number(light_answer(20, 1000, ev, full_recycling_time_s=4), "recycling_time_s") for ev in (0, -1, -4)]
    assert times[0] == 4
    assert times == sorted(times, reverse=True)


@settings(max_examples=25)
@given(st.floats(20, 1000), st.floats(20, 1000), st.floats(20, 2000), st.floats(0.02, 1), st.floats(-3, 3))
def test_a_card_gives_back_less_than_falls_on_it(
    width: float, height: float, mm: float, share: float, ev: float
) -> None:
    answer = card_answer(width, height, mm, share, ev)
    fill_ev = number(answer, "fill_ev")
    assert fill_ev < ev
    assert number(answer, "lighting_ratio") == pytest.approx(1 + 2**-fill_ev)  # key and fill on the lit side
    assert number(card_answer(height, width, mm, share, ev), "fill_ev") == pytest.approx(fill_ev)
    assert number(card_answer(width, height, 1.5 * mm, share, ev), "fill_ev") < fill_ev


def test_a_black_card_fills_nothing_in() -> None:
    with pytest.raises(ValueError, match=r"reflectance is 0: such a card fills nothing in\."):
        card_answer(200, 200, 100, reflectance=0.0)


@settings(max_examples=25)
@given(st.floats(0.1, 10), st.floats(1, 80), st.floats(1.3, 2.0))
def test_light_is_neither_made_nor_lost_in_a_plate(thick: float, angle: float, index: float) -> None:
    answer = plate_answer(thick, angle, index)
    assert number(answer, "reflectance") + number(answer, "transmittance") == pytest.approx(1.0)
    product = number(answer, "reflectance") * number(answer, "transmittance")
    assert number(answer, "loss_ev") == pytest.approx(-math.log2(product))
    assert number(answer, "loss_ev") <= number(answer, "mirror_loss_ev")
    if angle < 60:  # beyond, the light across the plane of incidence hardly gets through again
        assert number(answer, "polarised_loss_ev") < number(answer, "loss_ev")
    assert number(answer, "brewster_angle_deg") == pytest.approx(math.degrees(math.atan(index)))
    assert (answer["astigmatism_share"], answer["aim_sideways_mm"], answer["aim_along_axis_mm"]) == (None, None, None)


def test_a_plate_tells_its_share_of_a_depth_and_where_to_aim() -> None:
    answer = plate_answer(2, depth_mm=1.0, plate_distance_mm=100)
    assert number(answer, "astigmatism_share") == pytest.approx(abs(number(answer, "astigmatism_mm")))
    assert number(answer, "aim_sideways_mm") == pytest.approx(100)  # at 45°, level with the plate
    assert number(answer, "aim_along_axis_mm") == pytest.approx(100)
    with pytest.raises(ValueError, match=r"depth_mm is 0 mm"):
        plate_answer(2, depth_mm=0.0)


@settings(max_examples=25)
@given(st.floats(1 / 8000, 1), st.floats(0.0005, 0.02), st.floats(0, 0.002))
def test_a_band_is_dark_just_when_the_time_is_shorter_than_the_curtain_allows(
    exposure: float, travel: float, delay: float
) -> None:
    answer = sync_answer(exposure, travel, delay)
    assert (number(answer, "dark_share") > 0) == (answer["dark_band_side"] is not None)
    assert number(answer, "fastest_exposure_s") == pytest.approx(travel + delay)
    assert number(answer, "sync_margin_ev") == pytest.approx(math.log2(exposure / (travel + delay)), abs=1e-9)
    losses = answer["loss_along_frame_ev"]
    assert isinstance(losses, list)
    assert len(losses) == len(PLACES)
    if exposure > travel + delay:
        assert losses == [0.0] * len(PLACES)


def test_a_long_flash_is_cut_off_sooner_than_a_short_one() -> None:
    short, long = (sync_answer(1 / 200, 0.004, 0.0, t01_s) for t01_s in (0.0, 0.003))
    assert number(long, "edge_loss_ev") > number(short, "edge_loss_ev") == 0.0
    assert number(long, "sync_margin_ev") < number(short, "sync_margin_ev")
    assert (short["dark_band_side"], long["dark_band_side"]) == (None, None)  # less light, but no dark band
