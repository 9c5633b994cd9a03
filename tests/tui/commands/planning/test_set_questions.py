"""Single questions on a plate of glass and on swinging supports: published values by the command line."""

from __future__ import annotations

import pytest

from tests.support.plan_answers import answer, run


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
