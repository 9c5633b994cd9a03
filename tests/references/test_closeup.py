"""Distances, field and added parts against published values and other routes. Sources: SOURCES.md."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from prysm import thinlens

from session.optics import arrangement, closeup, framing
from tests.support.paraxial_trace import TwoLenses, refract, travel

# Two systems of two thin lenses with the stop between them: a telephoto type and a retrofocus type.
TELEPHOTO = TwoLenses(60, -80, 25, 20)
RETROFOCUS = TwoLenses(-90, 45, 40, 38)

focal_lengths = st.floats(10, 600)
ratios = st.floats(0.01, 10)


@pytest.mark.parametrize(
    ("focal_length_mm", "m", "u", "v", "track"),
    [
        (100, 0.1, 1100, 110, 1210),
        (100, 0.25, 500, 125, 625),
        (100, 0.5, 300, 150, 450),
        (100, 1, 200, 200, 400),
        (50, 2, 75, 150, 225),
        (35, 5, 42, 210, 252),
    ],
    ids=lambda value: f"O1-{value}",
)
def test_thin_lens_distances_are_the_textbook_ones(
    focal_length_mm: float, m: float, u: float, v: float, track: float
) -> None:
    # O1. [2] Smith, Modern Optical Engineering; any optics text.
    assert closeup.subject_distance_mm(focal_length_mm, m) == pytest.approx(u, rel=1e-12)
    assert closeup.image_distance_mm(focal_length_mm, m) == pytest.approx(v, rel=1e-12)
    assert closeup.track_mm(focal_length_mm, m) == pytest.approx(track, rel=1e-12)


@settings(max_examples=60)
@given(focal_length_mm=focal_lengths, m=ratios)
def test_o1_thin_lens_distances_agree_with_prysm(focal_length_mm: float, m: float) -> None:
    # prysm counts the subject's distance negative in one function and the ratio negative in the other.
    u = closeup.subject_distance_mm(focal_length_mm, m)
    assert u == pytest.approx(thinlens.mag_to_object_dist(focal_length_mm, m), rel=1e-9)
    v = thinlens.object_to_image_dist(focal_length_mm, -u)
    assert closeup.image_distance_mm(focal_length_mm, m) == pytest.approx(v, rel=1e-6)


@pytest.mark.parametrize("system", [TELEPHOTO, RETROFOCUS], ids=["O2-telephoto", "O2-retrofocus"])
@pytest.mark.parametrize("m", [0.25, 1.0, 3.0])
def test_track_of_a_real_lens_agrees_with_a_ray_trace(system: TwoLenses, m: float) -> None:
    # O2. Derived; the gap between the principal planes is read off the ray trace itself.
    before, behind = system.distances_mm(m)
    f = system.focal_length_mm
    front_principal = f * (1 + 1 / m) - before  # behind the first lens
    rear_principal = f * (1 + m) - behind  # before the second lens
    principal_gap = system.gap_mm - rear_principal - front_principal
    track = closeup.track_mm(f, m, principal_gap)
    assert track == pytest.approx(before + system.gap_mm + behind, rel=1e-12)
    assert closeup.track_mm(100, 1, 0) == 400


@pytest.mark.parametrize(("gap", "expected"), [(0, 75), (20, 70), (-20, 80)], ids=["O3-0", "O3-20", "O3-minus20"])
def test_focal_length_in_use_follows_from_track_and_ratio(gap: float, expected: float) -> None:
    # O3. Derived from O1: a lens marked 100 mm that reaches 1:1 at 300 mm works near 75 mm there.
    assert closeup.focal_length_in_use_mm(300, 1, gap) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("system", "m", "focal", "pupil_ratio", "u_e", "v_x"),
    [
        (TELEPHOTO, 1.0, 106.6667, 0.62745, 276.6667, 173.5948),
        (RETROFOCUS, 0.5, 47.6471, 1.48837, 127.307, 94.7401),
    ],
    ids=["O4-telephoto", "O4-retrofocus"],
)
def test_pupil_distances_agree_with_a_ray_trace(
    system: TwoLenses, m: float, focal: float, pupil_ratio: float, u_e: float, v_x: float
) -> None:
    # O4. [3] van Walree; ray trace; thinlens.twolens_efl.
    f, pupil = system.focal_length_mm, system.pupil_magnification
    assert f == pytest.approx(focal, abs=5e-5)
    assert f == pytest.approx(thinlens.twolens_efl(system.first_mm, system.second_mm, system.gap_mm), rel=1e-12)
    assert pupil == pytest.approx(pupil_ratio, abs=5e-6)
    before, _ = system.distances_mm(m)
    traced_u = before + system.entrance_pupil_behind_first_mm
    assert closeup.entrance_pupil_distance_mm(f, m, pupil) == pytest.approx(traced_u, rel=1e-9)
    assert closeup.entrance_pupil_distance_mm(f, m, pupil) == pytest.approx(u_e, abs=5e-4)


@pytest.mark.parametrize(("m", "wide", "high"), [(0.5, 72, 48), (1, 36, 24), (2, 18, 12)], ids=["O5a", "O5b", "O5c"])
def test_field_is_the_sensor_over_the_ratio(m: float, wide: float, high: float) -> None:
    # O5. Geometry.
    assert framing.field_mm(36, m) == pytest.approx(wide, rel=1e-12)
    assert framing.field_mm(24, m) == pytest.approx(high, rel=1e-12)


@pytest.mark.parametrize(
    ("focal_now", "own", "extension", "expected"),
    [(50, 0.15, 25, 0.65), (50, 0, 25, 0.5), (75, 1, 25, 1.33333)],
    ids=["O7-normal", "O7-infinity", "O7-internal-focus"],
)
def test_extension_adds_its_length_over_the_focal_length_in_use(
    focal_now: float, own: float, extension: float, expected: float
) -> None:
    # O7. Derived from v = f(1 + m).
    got = arrangement.magnification_with_extension(focal_now, own, extension)
    assert got == pytest.approx(expected, rel=1e-4)
    assert got == pytest.approx(thinlens_ratio_at_image(focal_now, (1 + own) * focal_now + extension), rel=1e-9)


def thinlens_ratio_at_image(focal_length_mm: float, image_mm: float) -> float:
    """Ratio by the lens equation solved for the subject: v/u."""
    return image_mm * (1 / focal_length_mm - 1 / image_mm)


def traced_before(gap_mm: float, own: float) -> tuple[float, float]:
    """Ratio, and piece to a thin +4 lens, by rays through it and a thin 100 mm lens focused to a ratio of its own."""
    system, sensor_mm = TwoLenses(250, 100, gap_mm, gap_mm), 100 * (1 + own)
    (a, _), (c, d) = system.matrix
    ratio = float(-a - sensor_mm * c)
    return ratio, float((-1 / ratio - d) / c)


@pytest.mark.parametrize("gap", [0, 15, 64], ids=lambda gap: f"O8-gap{gap}")
@pytest.mark.parametrize("own", [0.0, 0.25, 1.0])
def test_close_up_lens_raises_the_ratio_as_rays_say(own: float, gap: float) -> None:
    # O8, in contact: 0.400 at infinity, 0.750 focused to 1:4; before the lens less. Ray matrices of two thin lenses.
    lens = arrangement.with_close_up_lens(arrangement.bare(100, 8, own), 4, gap)
    ratio, piece_mm = traced_before(gap, own)
    assert lens.magnification == pytest.approx(ratio, rel=1e-12)
    assert lens.subject_distance_mm == pytest.approx(piece_mm, rel=1e-9)
    assert lens.focal_length_mm == pytest.approx(thinlens.twolens_efl(250, 100, gap), rel=1e-12)
    if gap == 0 and own < 1:
        assert ratio == pytest.approx({0.0: 0.4, 0.25: 0.75}[own])


@pytest.mark.parametrize("gap", [0, 15, 60, 200], ids=lambda gap: f"O9-gap{gap}")
def test_close_up_lens_before_a_lens_at_infinity_works_at_its_own_focal_length(gap: float) -> None:
    # O9. 0.400 and 250 mm whatever the gap: ray matrices of two thin lenses.
    lens = arrangement.with_close_up_lens(arrangement.bare(100, 8, 0, 0.8), 4, gap)
    ratio, piece_mm = traced_before(gap, 0)
    assert (ratio, piece_mm) == (pytest.approx(0.4, rel=1e-9), pytest.approx(250, rel=1e-9))
    assert (lens.magnification, lens.subject_distance_mm) == (pytest.approx(ratio), pytest.approx(piece_mm))


def test_o10_reversed_lens_ratio_follows_from_the_image_distance() -> None:
    # O10. Ray matrices of a thin lens and 150 mm behind it: the height of a ray at the sensor by that at the lens.
    (a, _), _ = travel(150) @ refract(50)
    assert arrangement.reversed_magnification(50, 150) == pytest.approx(-float(a), rel=1e-12)


@pytest.mark.parametrize(("rear", "front", "m"), [(200, 50, 4.0), (100, 35, 2.8571)], ids=["O11a", "O11b"])
def test_stacked_lenses_give_the_quotient_of_their_focal_lengths(rear: float, front: float, m: float) -> None:
    # O11. [4] published answers on stacked lenses. The working distance is a value from memory.
    assert arrangement.stacked_lenses(rear, 8, front, 2.8).magnification == pytest.approx(m, abs=5e-5)
    assert arrangement.stacked_lenses(rear, 8, front, 2.8).subject_distance_mm == pytest.approx(front, rel=1e-12)
    assert framing.reversed_working_distance_mm(front, 44, 50) == pytest.approx(44 + front / 50, rel=1e-12)


@pytest.mark.parametrize(("k", "stops"), [(1.4, 0.971), (2, 2.0)], ids=["O12-1.4", "O12-2"])
def test_converter_multiplies_the_ratio_and_costs_its_stops(k: float, stops: float) -> None:
    # O12. Derived: the image is scaled.
    plain = arrangement.bare(100, 8, 0.5)
    longer = arrangement.with_converter(plain, k)
    assert longer.magnification == pytest.approx(0.5 * k, rel=1e-12)
    assert longer.subject_distance_mm == pytest.approx(plain.subject_distance_mm, rel=1e-12)
    assert 2 * math.log2(longer.effective_f_number / plain.effective_f_number) == pytest.approx(stops, abs=5e-4)


def test_o13_pixel_footprint_is_the_pitch_over_the_ratio() -> None:
    # O13. Definition.
    assert framing.pixel_footprint_um(4.3, 0.5) == pytest.approx(8.6, rel=1e-12)
    assert framing.pixel_footprint_um(6.0, 2) == pytest.approx(3.0, rel=1e-12)
    assert framing.pixel_pitch_um(36, 6000) == pytest.approx(6.0, rel=1e-12)
    assert framing.pixel_pitch_um(36, 8256) == pytest.approx(4.3605, abs=5e-5)
