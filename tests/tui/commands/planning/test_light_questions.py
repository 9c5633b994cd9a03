"""Single questions on flash, reflectors and sync: published values by the command line."""

from __future__ import annotations

import pytest

from tests.support.plan_answers import answer, run


# Published: GN 36, a sixteenth, 0.5 m, m = 0.5 → f/12, ISO 200 f/16.97; 0.75 m, m = 1 → f/24 (ISO 1230:1992).
@pytest.mark.parametrize(
    ("more", "f_number"),
    [
        (("--power-ev", "-4", "--distance-mm", "500", "--magnification", "0.5"), 12.0),
        (("--power-ev", "1/16", "--distance-mm", "500", "--magnification", "0.5", "--iso", "200"), 16.97),
        (("--distance-mm", "750", "--magnification", "1:1"), 24.0),
    ],
)
def test_the_f_number_of_a_flash(more, f_number):
    assert answer("light", "--guide-number-m", "36", *more)["f_number"] == pytest.approx(f_number, rel=2e-4)


# Published: inverse square −2 from 1 to 2 m; a 60 cm disc from 1 to 0.5 m +1.681, from 0.5 to 0.25 m +1.157 EV.
@pytest.mark.parametrize(
    ("before", "now", "size", "change"),
    [("1000", "2000", "0", -2.0), ("1000", "500", "600", 1.681), ("500", "250", "600", 1.157)],
)
def test_a_moved_light(before, now, size, change):
    told = answer(
        "light", "--guide-number-m", "36", "--distance-mm", now, "--from-distance-mm", before, "--source-size-mm", size
    )
    assert told["ev_change"] == pytest.approx(change, abs=1e-3)


@pytest.mark.parametrize(("angle_deg", "loss_ev"), [("0", 0.0), ("45", 0.5), ("60", 1.0)])
def test_a_light_from_aside_loses_by_the_cosine_of_its_angle(angle_deg, loss_ev):
    """Lambert's cosine law, any handbook (value from memory): half the light, one stop, at 60°."""
    given = ("light", "--guide-number-m", "36", "--distance-mm", "750")
    told = answer(*given, "--incidence-angle-deg", angle_deg)
    assert told["incidence_loss_ev"] == pytest.approx(loss_ev, abs=1e-9)
    assert told["f_number"] == pytest.approx(answer(*given)["f_number"] * 2 ** (-loss_ev / 2))


def test_power_distance_calibration_and_charging():
    told = answer(
        *("light", "--guide-number-m", "36", "--distance-mm", "500", "--magnification", "0.5", "--power-ev", "-2"),
        *("--wanted-f-number", "f/12", "--measured-change-ev", "1", "--full-recycling-time-s", "2"),
    )
    assert told["needed_power_ev"] == pytest.approx(-4)
    assert told["needed_distance_mm"] == pytest.approx(1000)  # a quarter of the power reaches half of 2 m
    assert told["calibrated_guide_number_m"] == pytest.approx(50.912, rel=1e-4)
    assert told["recycling_time_s"] == pytest.approx(0.5)
    assert told["cautions"]


# Published table of the two-curtain model: travel 3.0 or 3.6 ms, delay 0 or 0.5 ms.
@pytest.mark.parametrize(
    ("time", "travel", "delay", "dark"),
    [
        ("1/250", "0.003", "0", 0),
        ("1/400", "0.003", "0", 0.1667),
        ("1/500", "0.0036", "0.0005", 0.5833),
        ("1/1000", "0.003", "0.0005", 0.8333),
        ("1/2000", "0.003", "0.0005", 1),
    ],
)
def test_the_dark_share(time, travel, delay, dark):
    told = answer("sync", "--exposure-s", time, "--curtain-travel-s", travel, "--trigger-delay-s", delay)
    assert told["dark_share"] == pytest.approx(dark, abs=5e-5)
    assert (told["edge_loss_ev"] is None) == (dark > 0)  # no light at all at that edge: infinite, null in JSON


def test_the_fastest_safe_time_and_the_loss_inside_it():
    times = ("--exposure-s", "0.004", "--curtain-travel-s", "0.003", "--trigger-delay-s", "0.0002")
    told = answer("sync", *times, "--flash-duration-t01-s", "0.002")
    assert told["fastest_exposure_s"] == pytest.approx(0.0052)
    assert told["edge_loss_ev"] == pytest.approx(0.732, abs=1e-3)
    assert told["loss_along_frame_ev"][0] == pytest.approx(0.732, abs=1e-3)
    assert told["loss_along_frame_ev"][-1] < 0.02


def test_two_readings_tell_how_far_behind_its_front_a_light_comes_from():
    # a lamp 150 mm behind the front, inverse square from there: 770 mm to 350 mm is 2.275 EV
    readings = ("--from-distance-mm", "620", "--distance-mm", "200", "--reading-change-ev", "2.275")
    told = answer("light", "--guide-number-m", "36", *readings)
    assert told["found_origin_behind_mm"] == pytest.approx(150, abs=0.5)
    assert told["f_number"] == pytest.approx(36 / 0.35, rel=2e-3)
    assert "Two readings tell it" in run(
        "light", "--guide-number-m", "36", "--distance-mm", "200", "--reading-change-ev", "2", exit_code=2
    )


def test_a_card_beside_the_piece_fills_in_what_it_is_seen_to_fill():
    # 0.9 of the view factor of a 300 x 400 mm rectangle at 400 mm, 0.19000 by an integral over it
    told = answer("card", "--width-mm", "300", "--height-mm", "400", "--distance-mm", "400")
    assert told["fill_ev"] == pytest.approx(-2.548, abs=5e-3)
    assert told["lighting_ratio"] == pytest.approx(1 + 2**2.548, rel=5e-3)
    assert "fills nothing" in run(
        "card", "--width-mm", "300", "--height-mm", "400", "--distance-mm", "400", "--reflectance", "0", exit_code=2
    )
