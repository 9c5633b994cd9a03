"""Single questions on lens, depth and focus steps: published values by the command line."""

from __future__ import annotations

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


def test_a_lens_reversed_before_another_is_worked_out_from_both():
    # published: 200 mm behind 50 mm reversed give 4:1; the narrower beam decides, 4 x 2.8 = 11.2 here
    lens = ("--focal-length-mm", "200", "--f-number", "8", "--blur-circle-mm", "0.03")
    told = answer("depth", *lens, "--front-focal-length-mm", "50", "--front-f-number", "2.8")
    assert told["effective_f_number"] == pytest.approx(11.2)
    assert told["magnification"] == pytest.approx(4.0)
    assert "give --front-f-number too" in run("depth", *lens, "--front-focal-length-mm", "50", exit_code=2)
