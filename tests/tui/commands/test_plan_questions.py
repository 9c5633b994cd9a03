"""The single questions of `stillset plan`: published values by the command line."""

from __future__ import annotations

from importlib import resources

import pytest

from tests.support.plan_answers import LENS, answer, run


# f, N, c, m, P → N_e, near, far: published check values (exact limits; a marginal-ray trace agrees).
@pytest.mark.parametrize(
    ("ratio", "pupil", "effective", "near", "far"),
    [
        ("1", "1", 22, 0.65783, 0.66219),
        ("0.5", "1", 16.5, 1.96702, 1.99315),
        ("1:10", "1", 12.1, 35.1404, 37.5388),
        ("1", "0.6", 29.3333, 0.87711, 0.88291),
        ("1", "1.6", 17.875, 0.53449, 0.53803),
    ],
)
def test_depth_of_field(ratio, pupil, effective, near, far):
    told = answer("depth", *LENS, "--magnification", ratio, "--pupil-magnification", pupil)
    assert told["effective_f_number"] == pytest.approx(effective, rel=1e-4)
    assert told["near_mm"] == pytest.approx(near, rel=1e-4)
    assert told["far_mm"] == pytest.approx(far, rel=1e-4)
    assert told["depth_mm"] == pytest.approx(near + far, rel=1e-4)


# Published: Airy diameter 2.43934·λ·N_e; stops 2·log2(1 + m/P); reversed N(1/P + m); converter k·N(1 + m0/P), 24 and
# not 32; close-up lens on infinity leaves f/8 though m = 0.4, 3.00 mm deep and not 4.20.
@pytest.mark.parametrize(
    ("more", "key", "value"),
    [
        (("--magnification", "1"), "airy_diameter_um", 29.516),
        (("--magnification", "0.5"), "airy_diameter_um", 22.137),
        (("--magnification", "1"), "exposure_increase_ev", 2.0),
        (("--magnification", "1", "--pupil-magnification", "0.6"), "exposure_increase_ev", 2.830),
        (("--magnification", "2", "--pupil-magnification", "1.6", "--reversed"), "exposure_increase_ev", 2.785),
        (("--magnification", "2", "--pupil-magnification", "0.6", "--reversed"), "effective_f_number", 40.333),
        (("--magnification", "1", "--converter", "2", "--f-number", "8"), "effective_f_number", 24),
        (("--magnification", "0.4", "--dioptres", "4", "--f-number", "8"), "effective_f_number", 8),
        (("--magnification", "0.4", "--dioptres", "4", "--f-number", "8"), "depth_mm", 3.0),
        (("--magnification", "1", "--wavelength-um", "0.45"), "airy_diameter_um", 29.516 * 0.45 / 0.55),
    ],
)
def test_arrangements_and_diffraction(more, key, value):
    assert answer("depth", *LENS, *more)[key] == pytest.approx(value, rel=2e-4)


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


def test_a_light_of_the_kit_is_calibrated_by_one_frame_for_itself_or_for_its_shaper(tmp_path):
    """GN·2^(e/2) of the flash alone; the loss of what stands before it is less by e. Closed forms."""
    kit = tmp_path / "kit.toml"
    kit.write_text(resources.files("session").joinpath("demo_kit.toml").read_text())
    asked = ("light", "--light", "key", "--kit", str(kit), "--distance-mm", "620")
    before = answer(*asked)
    assert before["f_number"] == pytest.approx(36 / 0.62 * 2 ** (-1.5 / 2))  # guide number 36 m, the tube takes 1.5 EV
    assert "tube takes 1.10 EV from key" in run(*asked, "--measured-change-ev", "0.4", "--keep")
    assert answer(*asked)["f_number"] == pytest.approx(before["f_number"] * 2**0.2)
    bare = (*asked, "--shaper", "")
    assert "guide number of key is 25.5 m" in run(*bare, "--measured-change-ev", "-1", "--keep")
    assert answer(*bare)["guide_number_m"] == 25.5


def test_what_can_not_be_kept_is_refused_and_the_kit_stays(tmp_path, monkeypatch):
    monkeypatch.delenv("STILLSET_KIT", raising=False)
    frame = ("--measured-change-ev", "0.4", "--keep")
    assert "demo's kit" in run("light", "--light", "key", *frame, exit_code=2)
    assert "key, rim, fill" in run("light", "--light", "moon", exit_code=2)
    assert "tube, small softbox" in run("light", "--light", "key", "--shaper", "moon", exit_code=2)
    assert "--light" in run("light", *frame, exit_code=2)
    assert "--measured-change-ev" in run("light", "--light", "key", "--keep", exit_code=2)


def test_a_plate_at_45_degrees():
    # crown glass: R 0.096701, T 0.903299, both passes 3.517 stops (3.622 mirror-like, 2.791 polarised); shift 0.33450
    # and double image 0.74521 of the thickness (Fresnel; thin-film and colour libraries agree)
    told = answer("plate", "--angle-deg", "45", "--refractive-index", "1.5168", "--thickness-mm", "2")
    assert told["reflectance"] == pytest.approx(0.096701, abs=1e-6)
    assert told["transmittance"] == pytest.approx(0.903299, abs=1e-6)
    assert told["loss_ev"] == pytest.approx(3.517, abs=5e-4)
    assert told["mirror_loss_ev"] == pytest.approx(3.622, abs=5e-4)
    assert told["polarised_loss_ev"] == pytest.approx(2.791, abs=5e-4)
    assert told["shift_mm"] == pytest.approx(2 * 0.33450, abs=1e-4)
    assert told["double_image_mm"] == pytest.approx(2 * 0.74521, abs=1e-4)
    assert told["brewster_angle_deg"] == pytest.approx(56.604, abs=1e-3)


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


# Published: relief, depth, overlap → frames; 1.32 at a fifth steps 1.056 mm.
@pytest.mark.parametrize(
    ("relief", "depth", "overlap", "frames"),
    [("10", "1.32", "0.2", 10), ("10", "1.32", "0", 8), ("5", "0.36", "0.3", 20), ("1.32", "1.32", "0.25", 1),
     ("1.116", "0.36", "0.3", 4)],
)  # fmt: skip
def test_focus_steps(relief, depth, overlap, frames):
    told = answer("steps", "--relief-mm", relief, "--depth-mm", depth, "--overlap", overlap)
    assert told["frames"] == frames
    assert len(told["planes_mm"]) == frames
    if overlap == "0.2":
        assert told["step_mm"] == pytest.approx(1.056)


def test_focus_steps_by_the_ring_take_the_depth_from_the_lens():
    told = answer("steps", "--relief-mm", "10", *LENS, "--magnification", "1", "--overlap", "0.2")
    assert told["depth_mm"] == pytest.approx(1.32001, rel=1e-4)
    # published recursion: 10 frames for 10 mm behind the first plane; here that plane lies 0.66 mm into the relief
    assert told["ring_frames"] == 9
    assert 0.90 < told["ring_scale"] < 0.93


# Published: Hz, ζ → share after 2 s, wait to a hundredth.
@pytest.mark.parametrize(
    ("frequency", "damping", "left", "wait"),
    [("10", "0.02", 0.0810, 3.665), ("10", "0.05", 0.00187, 1.466), ("5", "0.03", 0.1518, 4.886)],
)
def test_how_long_a_stand_swings(frequency, damping, left, wait):
    told = answer("shake", "--frequency-hz", frequency, "--damping-ratio", damping, "--delay-s", "2")
    assert told["share_left"] == pytest.approx(left, rel=2e-3)
    assert told["delay_for_one_percent_s"] == pytest.approx(wait, abs=5.1e-4)


def test_stand_of_the_kit_tells_its_own_swing(tmp_path):
    kit = tmp_path / "kit.toml"
    column = '[[support]]\nname = "column"\nfrequency_hz = 10\ndamping_ratio = 0.02\n'
    kit.write_text('[[support]]\nname = "tripod"\n\n' + column)
    told = answer("shake", "--kit", str(kit), "--support", "column", "--delay-s", "2")
    assert told["share_left"] == pytest.approx(0.0810, rel=2e-3)
    other = answer("shake", "--kit", str(kit), "--support", "column", "--damping-ratio", "0.05", "--delay-s", "2")
    assert other["share_left"] == pytest.approx(0.00187, rel=2e-3)


def test_stand_that_the_kit_lacks_or_knows_nothing_of_is_refused(tmp_path):
    kit = tmp_path / "kit.toml"
    kit.write_text('[[support]]\nname = "tripod"\n')
    for support, words in (
        ("column", "has no support 'column'; it has tripod"),
        ("tripod", "Missing: frequency_hz in Hz"),
    ):
        assert words in run("shake", "--kit", str(kit), "--support", support, "--delay-s", "2", exit_code=2)


def test_what_of_the_swing_shows():
    support = ("--frequency-hz", "10", "--damping-ratio", "0.02", "--delay-s", "0", "--amplitude-um", "10")
    picture = ("--exposure-s", "0.001", "--magnification", "1", "--pixel-pitch-um", "4.3", "--blur-px", "0.1")
    told = answer("shake", *support, *picture)
    assert told["smear_um"] == pytest.approx(0.628, abs=1e-3)
    assert told["smear_px"] == pytest.approx(0.146, abs=1e-3)
    assert told["hold_off_s"] > 0


def test_two_readings_tell_how_far_behind_its_front_a_light_comes_from():
    # a lamp 150 mm behind the front, inverse square from there: 770 mm to 350 mm is 2.275 EV
    readings = ("--from-distance-mm", "620", "--distance-mm", "200", "--reading-change-ev", "2.275")
    told = answer("light", "--guide-number-m", "36", *readings)
    assert told["found_origin_behind_mm"] == pytest.approx(150, abs=0.5)
    assert told["f_number"] == pytest.approx(36 / 0.35, rel=2e-3)
    assert "Two readings tell it" in run(
        "light", "--guide-number-m", "36", "--distance-mm", "200", "--reading-change-ev", "2", exit_code=2
    )


def test_a_grey_card_corrects_what_a_lens_that_focuses_inside_lets_through(tmp_path):
    kit = tmp_path / "kit.toml"
    kit.write_text(
        '[[lens]]\nname = "inner"\nfocal_length_mm = 60\nwidest_f_number = 2.8\nclosest_magnification = 1\n'
        "track_mm = 185  # by the maker\n"
    )
    # counted as N·(1 + 1); 0.5 EV brighter is 2^(−0.25) of that: 2·0.8409 = 1.6818, at f/2.8 4.709
    asked = ("lens", "--kit", str(kit), "--lens", "inner", "--measured-change-ev", "0.5")
    assert answer(*asked)["closest_effective_f_number"] == pytest.approx(4.709, abs=1e-3)
    assert "Kept in" in run(*asked, "--keep")
    assert "closest_effective_f_number = 4.71" in kit.read_text() and "by the maker" in kit.read_text()
    # the next frame of the same lens comes out as counted
    again = answer("lens", "--kit", str(kit), "--lens", "inner", "--measured-change-ev", "0")
    assert again["closest_effective_f_number"] == pytest.approx(4.71, abs=1e-3)
    assert "no lens 'none'" in run("lens", "--lens", "none", "--measured-change-ev", "0", exit_code=2)


def test_a_card_beside_the_piece_fills_in_what_it_is_seen_to_fill():
    # 0.9 of the view factor of a 300 x 400 mm rectangle at 400 mm, 0.19000 by an integral over it
    told = answer("card", "--width-mm", "300", "--height-mm", "400", "--distance-mm", "400")
    assert told["fill_ev"] == pytest.approx(-2.548, abs=5e-3)
    assert told["lighting_ratio"] == pytest.approx(1 + 2**2.548, rel=5e-3)
    assert "fills nothing" in run(
        "card", "--width-mm", "300", "--height-mm", "400", "--distance-mm", "400", "--reflectance", "0", exit_code=2
    )


def test_a_lens_reversed_before_another_is_worked_out_from_both():
    # published: 200 mm behind 50 mm reversed give 4:1; the narrower beam decides, 4 x 2.8 = 11.2 here
    lens = ("--focal-length-mm", "200", "--f-number", "8", "--blur-circle-mm", "0.03")
    told = answer("depth", *lens, "--front-focal-length-mm", "50", "--front-f-number", "2.8")
    assert told["effective_f_number"] == pytest.approx(11.2)
    assert told["magnification"] == pytest.approx(4.0)
    assert "give --front-f-number too" in run("depth", *lens, "--front-focal-length-mm", "50", exit_code=2)
