"""The glass plate against tmm, colour-science, prysm and real rays; shiny pieces. Sources: SOURCES.md."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
import tmm
from hypothesis import given, settings
from hypothesis import strategies as st
from prysm import thinfilm

from session.lighting import mirror
from session.optics import depth, fresnel, plate
from tests.support.plate_trace import reflected_pair, through_plate, virtual_focus_mm

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # tells of plotting parts that aren't installed
    from colour.phenomena import polarised_light_reflection_coefficient

CROWN, WINDOW = 1.5168, 1.52

# The usual borosilicate crown of the glass catalogues (Sellmeier): three strengths, three resonances in µm².
SELLMEIER = ((1.03961212, 0.00600069867), (0.231792344, 0.0200179144), (1.01046945, 103.560653))


def sellmeier_index(wavelength_um: float) -> float:
    square = wavelength_um**2
    return math.sqrt(1 + sum(b * square / (square - c) for b, c in SELLMEIER))


def tmm_plate(polarisation: str, index: float, angle_deg: float) -> tuple[float, float]:
    """(R, T) of a plate 2 mm thick with incoherent inner reflections."""
    result = tmm.inc_tmm(
        polarisation, [1, index, 1], [np.inf, 2e6, np.inf], ["i", "i", "i"], math.radians(angle_deg), 550
    )
    return float(result["R"]), float(result["T"])


def test_g0_index_of_crown_glass() -> None:
    # G0. Sellmeier sum with the coefficients of the glass catalogue, at the d, F and C lines.
    d, f, c = (sellmeier_index(w) for w in (0.5875618, 0.4861327, 0.6562725))
    assert d == pytest.approx(1.51680003, abs=5e-8)
    assert f == pytest.approx(1.522376, abs=1e-6)
    assert c == pytest.approx(1.514322, abs=1e-6)
    assert (d - 1) / (f - c) == pytest.approx(64.17, abs=5e-3)
    assert pytest.approx(d, abs=5e-5) == fresnel.CROWN_GLASS_INDEX


# Index, then R_s, R_p, mean and its stops; plate R_s, R_p, mean, stops; plate T_s, T_p, mean, stops.
GLASS = {
    "crown": (
        CROWN,
        (0.095978, 0.0092118, 0.052595, -4.249),
        (0.175146, 0.018256, 0.096701, -3.370),
        (0.824854, 0.981745, 0.903299, -0.147),
    ),
    "window": (
        WINDOW,
        (0.096733, 0.0093573, 0.053045, -4.237),
        (0.176402, 0.018541, 0.097472, -3.359),
        (0.823598, 0.981459, 0.902528, -0.148),
    ),
}


@pytest.mark.parametrize("glass", GLASS, ids=lambda name: f"G1-G5-{name}")
def test_reflected_and_passed_light_at_45_degrees(glass: str) -> None:
    # G1 to G5. Fresnel; tmm and colour-science below.
    index, one, reflected, passed = GLASS[glass]
    got = (
        fresnel.surface_reflectance(45, index),
        fresnel.plate_reflectance(45, index),
        fresnel.plate_transmittance(45, index),
    )
    for value, want in zip(got, (one, reflected, passed), strict=True):
        assert value.s == pytest.approx(want[0], abs=5.1e-7)
        assert value.p == pytest.approx(want[1], abs=5.1e-7)
        assert value.mean == pytest.approx(want[2], abs=5.1e-7)
        assert math.log2(value.mean) == pytest.approx(want[3], abs=5.1e-4)


@settings(max_examples=60)
@given(angle=st.floats(0.5, 85), index=st.floats(1.1, 2.5))
def test_g1_g2_surface_agrees_with_colour_science_and_tmm(angle: float, index: float) -> None:
    # prysm's p coefficient agrees too; its s coefficient has another denominator and isn't used.
    inside = math.degrees(math.asin(math.sin(math.radians(angle)) / index))
    s, p = polarised_light_reflection_coefficient(1, index, angle, inside).real
    got = fresnel.surface_reflectance(angle, index)
    assert got.s == pytest.approx(float(s), rel=1e-9)
    assert got.p == pytest.approx(float(p), rel=1e-9, abs=1e-14)
    radians = math.radians(angle), math.radians(inside)
    assert got.s == pytest.approx(float(tmm.interface_R("s", 1, index, *radians)), rel=1e-9)
    assert got.p == pytest.approx(float(thinfilm.fresnel_rp(1, index, *radians)) ** 2, rel=1e-9, abs=1e-14)


@settings(max_examples=60)
@given(angle=st.floats(0, 85), index=st.floats(1.1, 2.5))
def test_g4_g5_plate_agrees_with_tmm(angle: float, index: float) -> None:
    reflected, passed = fresnel.plate_reflectance(angle, index), fresnel.plate_transmittance(angle, index)
    for polarisation in ("s", "p"):
        want_r, want_t = tmm_plate(polarisation, index, angle)
        assert getattr(reflected, polarisation) == pytest.approx(want_r, rel=1e-9, abs=1e-14)
        assert getattr(passed, polarisation) == pytest.approx(want_t, rel=1e-9)


@settings(max_examples=40)
@given(index=st.floats(1.05, 3))
def test_g2_at_45_degrees_p_is_the_square_of_s(index: float) -> None:
    # G2. An identity at 45°.
    one = fresnel.surface_reflectance(45, index)
    assert one.p == pytest.approx(one.s**2, rel=1e-9)


@pytest.mark.parametrize(
    ("index", "diffuse", "mirrored", "polarised"),
    [(CROWN, 3.517, 3.622, 2.791), (WINDOW, 3.507, 3.613, 2.783)],
    ids=["G6-G8-crown", "G6-G8-window"],
)
def test_stops_to_add_for_both_passes(index: float, diffuse: float, mirrored: float, polarised: float) -> None:
    # G6, G7, G8. Products of G4 and G5; with tmm's numbers again. The shares: 0.087350, 0.081196, 0.144470 for crown.
    (r_s, t_s), (r_p, t_p) = tmm_plate("s", index, 45), tmm_plate("p", index, 45)
    assert plate.loss_both_passes_ev(45, index) == pytest.approx(diffuse, abs=5.1e-4)
    assert plate.loss_both_passes_ev(45, index, "mirror") == pytest.approx(mirrored, abs=5.1e-4)
    assert plate.loss_with_polariser_ev(45, index) == pytest.approx(polarised, abs=5.1e-4)
    assert 2 ** -plate.loss_both_passes_ev(45, index) == pytest.approx((r_s + r_p) * (t_s + t_p) / 4, rel=1e-9)
    assert 2 ** -plate.loss_both_passes_ev(45, index, "mirror") == pytest.approx((r_s * t_s + r_p * t_p) / 2, rel=1e-9)
    assert 2 ** -plate.loss_with_polariser_ev(45, index) == pytest.approx(r_s * t_s, rel=1e-9)


def test_g6_g7_g8_shares() -> None:
    shares = {CROWN: (0.087350, 0.081196, 0.144470), WINDOW: (0.087971, 0.081741, 0.145285)}
    for index, (diffuse, mirrored, polarised) in shares.items():
        assert 2 ** -plate.loss_both_passes_ev(45, index) == pytest.approx(diffuse, abs=5.1e-7)
        assert 2 ** -plate.loss_both_passes_ev(45, index, "mirror") == pytest.approx(mirrored, abs=5.1e-7)
        assert 2 ** -plate.loss_with_polariser_ev(45, index) == pytest.approx(polarised, abs=5.1e-7)


@pytest.mark.parametrize(
    ("index", "degree", "second_s", "second_p"),
    [(CROWN, 0.8112, 0.8173, 0.9817), (WINDOW, 0.8098, 0.8159, 0.9814)],
    ids=["G10-G15-crown", "G10-G15-window"],
)
def test_polarisation_and_secondary_images(index: float, degree: float, second_s: float, second_p: float) -> None:
    # G10, G15. Derived from G1 and G2.
    assert fresnel.plate_reflectance(45, index).degree_of_polarisation == pytest.approx(degree, abs=5.1e-5)
    second = fresnel.second_image_strength(45, index)
    assert second.s == pytest.approx(second_s, abs=1e-4)
    assert second.p == pytest.approx(second_p, abs=1e-4)


@pytest.mark.parametrize(
    ("index", "angle", "square_on"), [(CROWN, 56.604, 0.042165), (WINDOW, 56.659, 0.042580)], ids=["G11a", "G11b"]
)
def test_brewster_angle_and_square_on_reflectance(index: float, angle: float, square_on: float) -> None:
    # G11. prysm.thinfilm.brewsters_angle.
    got = fresnel.brewster_angle_deg(index)
    assert got == pytest.approx(angle, abs=5.1e-4)
    assert got == pytest.approx(float(thinfilm.brewsters_angle(1, index)), rel=1e-9)
    assert fresnel.surface_reflectance(got, index).p == pytest.approx(0, abs=1e-15)
    assert fresnel.surface_reflectance(0, index).mean == pytest.approx(square_on, abs=5.1e-7)


@pytest.mark.parametrize(
    ("index", "angle", "shift", "double"),
    [
        (CROWN, 30, 0.19762, 0.60476),
        (CROWN, 45, 0.33450, 0.74521),
        (CROWN, 60, 0.51830, 0.69546),
        (WINDOW, 30, 0.19834, 0.60333),
        (WINDOW, 45, 0.33550, 0.74321),
        (WINDOW, 60, 0.51938, 0.69329),
    ],
    ids=lambda v: f"G13-G14-{v}",
)
def test_lateral_shift_and_double_image_of_a_plate(index: float, angle: float, shift: float, double: float) -> None:
    # G13 [19], G14 derived; real rays by Snell's law.
    assert plate.shift_mm(angle, index, 1) == pytest.approx(shift, abs=5.1e-6)
    assert plate.double_image_mm(angle, index, 1) == pytest.approx(double, abs=5.1e-6)


@settings(max_examples=40)
@given(angle=st.floats(1, 80), index=st.floats(1.1, 2.2), thickness=st.floats(0.5, 5))
def test_g13_g14_shifts_agree_with_real_rays(angle: float, index: float, thickness: float) -> None:
    at, direction = through_plate(np.array([0.0, 0.0, -50.0]), np.array([0.0, 0.0, 1.0]), angle, index, thickness)
    assert direction == pytest.approx([0, 0, 1], abs=1e-12)
    assert plate.shift_mm(angle, index, thickness) == pytest.approx(abs(float(at[0])), rel=1e-9, abs=1e-12)
    assert plate.double_image_mm(angle, index, thickness) == pytest.approx(
        reflected_pair(angle, index, thickness), rel=1e-9
    )


@pytest.mark.parametrize(("index", "astigmatism"), [(CROWN, -0.26914), (WINDOW, -0.26898)], ids=["G18a", "G18b"])
def test_astigmatism_of_a_plate_at_45_degrees(index: float, astigmatism: float) -> None:
    # G18. Two fans of real rays.
    got = plate.astigmatism_mm(45, index, 1)
    assert got == pytest.approx(astigmatism, abs=5.1e-6)
    # The tangential fan seems to come from nearer the lens, so its plane of focus is the farther one.
    fans = virtual_focus_mm("sagittal", 45, index, 1) - virtual_focus_mm("tangential", 45, index, 1)
    assert got == pytest.approx(fans, rel=1e-6)


def test_g19_worked_plate_of_two_millimetres() -> None:
    # G19. G13 to G18 at t = 2 mm, against the depth of D1.
    assert plate.shift_mm(45, CROWN, 2) == pytest.approx(0.669, abs=5e-4)
    assert plate.double_image_mm(45, CROWN, 2) == pytest.approx(1.490, abs=1e-3)
    astigmatism = abs(plate.astigmatism_mm(45, CROWN, 2))
    assert astigmatism == pytest.approx(0.538, abs=5e-4)
    assert astigmatism / depth.depth_of_field(100, 11, 1, 0.03).depth_mm == pytest.approx(0.41, abs=5e-3)
    assert plate.plate_length_mm(50, 45, CROWN, 2) == pytest.approx(50 * math.sqrt(2) + 0.669, abs=1e-3)


def test_g21_panel_that_fills_a_mirror_like_piece() -> None:
    # G21. Law of reflection; "family of angles" from memory. A pupil of no size, as the row has it; the pupil's true
    # size is in tests/session/lighting/test_mirror.py, by rays thrown back.
    assert mirror.panel_half_width_mm(20, 300, 200, 0) == pytest.approx(50, rel=1e-12)


def test_g22_dark_centre_of_a_ring_light() -> None:
    # G22. Derived; the effect in [20]. A pupil of no size, as above.
    assert mirror.dark_centre_radius_mm(35, 150, 150, 0) == pytest.approx(17.5, rel=1e-12)


@pytest.mark.parametrize("angle", [30.0, 45.0, 60.0])
def test_plate_is_long_enough_for_every_ray_of_the_beam_and_no_longer(angle: float) -> None:
    # Parallel rays 50 mm wide meet the front along its tilt; the last ray leaves the back by the shift aside.
    tilt = np.radians(angle)
    along = np.array([np.cos(tilt), 0.0, -np.sin(tilt)])
    places = []
    for x in (-25.0, 25.0):
        origin, axis = np.array([x, 0.0, -200.0]), np.array([0.0, 0.0, 1.0])
        normal = np.array([np.sin(tilt), 0.0, np.cos(tilt)])
        front = origin + axis * float(-(origin @ normal) / (axis @ normal))
        places.append(float(front @ along))
    back, direction = through_plate(np.array([0.0, 0.0, -200.0]), np.array([0.0, 0.0, 1.0]), angle, CROWN, 2)
    assert direction == pytest.approx([0, 0, 1], abs=1e-12)
    moved = abs(float(back[0]))
    needed = abs(places[1] - places[0]) + moved
    assert plate.plate_length_mm(50, angle, CROWN, 2) == pytest.approx(needed, rel=1e-9)
