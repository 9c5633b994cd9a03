"""What must hold for diffraction, focus series, glass and shake whatever the numbers."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from session.optics import aperture, diffraction, fresnel, plate, steps, vibration
from session.optics.aperture import Rule

openings = st.floats(2, 100)
ratios = st.floats(0.1, 5)
waves = st.floats(0, 20)
quick = settings(max_examples=60)


@quick
@given(waves=waves, more=st.floats(1.001, 3))
def test_more_defocus_never_raises_half_contrast(waves: float, more: float) -> None:
    assert diffraction.mtf50(waves * more) <= diffraction.mtf50(waves) + 1e-12
    at = diffraction.mtf50(waves)
    assert float(diffraction.transfer_defocused(at, waves)) == pytest.approx(0.5, abs=1e-9)


@quick
@given(waves=st.floats(0.02, 200))
def test_half_contrast_to_waves_and_back(waves: float) -> None:
    assert diffraction.waves_at_mtf50(diffraction.mtf50(waves)) == pytest.approx(waves, rel=1e-6)


@quick
@given(waves=st.floats(0, 8))
def test_defocus_never_raises_contrast_above_the_focused_one(waves: float) -> None:
    s = np.linspace(0, 1.2, 60)
    defocused = diffraction.transfer_defocused(s, waves)
    assert defocused.shape == s.shape
    assert np.all(np.abs(defocused) <= diffraction.transfer_defocused(s, 0.0) + 1e-9)
    assert defocused[0] == pytest.approx(1, abs=1e-9)
    assert np.all(defocused[s >= 1] == 0)


@quick
@given(blur=st.floats(0, 0.2), n_e=openings, rule=st.sampled_from(["wave", "rss", "linear"]))
def test_combined_blur_grows_with_each_part(blur: float, n_e: float, rule: Rule) -> None:
    total = aperture.combined_blur_mm(blur, n_e, rule=rule)
    assert total <= aperture.combined_blur_mm(blur * 1.2 + 1e-4, n_e, rule=rule)
    assert total >= aperture.combined_blur_mm(0.0, n_e, rule=rule)
    # Far out of focus only the disc is left; the wave rule comes within 2 % of it from below.
    assert total >= 0.98 * blur
    assert total <= aperture.combined_blur_mm(blur, n_e, rule="linear") * (1 + 1e-12)


@quick
@given(depth_mm=st.floats(0.05, 20), m=ratios, other=st.floats(0.5, 2), rule=st.sampled_from(["wave", "rss", "linear"]))
def test_no_other_opening_beats_the_best_one(depth_mm: float, m: float, other: float, rule: Rule) -> None:
    best = aperture.best_aperture(depth_mm, m, rule=rule)
    shift = depth_mm * m * m / 2
    at_other = best.effective_f_number * other
    assume(0.5 < min(at_other, best.effective_f_number) < 2000)
    blur = aperture.combined_blur_mm(shift / at_other, at_other, rule=rule)
    assert blur >= best.blur_mm * (1 - 1e-5)
    own = aperture.combined_blur_mm(shift / best.effective_f_number, best.effective_f_number, rule=rule)
    assert own == pytest.approx(best.blur_mm, rel=1e-5)


@quick
@given(blur=st.floats(0.005, 0.1), m=ratios, rule=st.sampled_from(["wave", "rss", "linear"]))
def test_most_depth_and_best_aperture_are_two_sides_of_one_thing(blur: float, m: float, rule: Rule) -> None:
    most = aperture.most_depth(blur, m, rule=rule)
    best = aperture.best_aperture(most.depth_mm, m, rule=rule)
    assert best.effective_f_number == pytest.approx(most.effective_f_number, rel=1e-5)
    assert best.blur_mm == pytest.approx(blur, rel=1e-5)


@quick
@given(n_e=openings, m=ratios, c=st.floats(0.003, 0.1))
def test_depth_with_diffraction_keeps_the_total_blur(n_e: float, m: float, c: float) -> None:
    deep = aperture.depth_with_diffraction_mm(n_e, m, c)
    if deep == 0:
        assert aperture.combined_blur_mm(0.0, n_e) >= c * (1 - 1e-9)
        return
    at_end = deep * m * m / (2 * n_e)
    assert aperture.combined_blur_mm(at_end, n_e) == pytest.approx(c, rel=1e-6)
    assert deep <= 1.02 * 2 * n_e * c / m**2  # without diffraction: Smith, eqs 9.7 and 9.8


@quick
@given(relief=st.floats(0.01, 50), one=st.floats(0.02, 20), overlap=st.floats(0, 0.6))
def test_frames_cover_and_one_less_never_does(relief: float, one: float, overlap: float) -> None:
    series = steps.focus_steps(relief, one, overlap)
    assert series.span_mm >= relief - 1e-6
    if series.frames > 1:
        assert one + (series.frames - 2) * series.step_mm < relief
    planes = steps.planes_of_focus_mm(relief, one, overlap)
    assert len(planes) == series.frames
    assert planes[0] - one / 2 <= 1e-6
    assert planes[-1] + one / 2 >= relief - 1e-6
    assert np.diff(planes) == pytest.approx(series.step_mm, rel=1e-9)


@quick
@given(m=st.floats(0.3, 2), n=st.floats(4, 16), behind=st.floats(0.5, 10), overlap=st.floats(0.1, 0.5))
def test_ring_series_leaves_no_gap_and_reaches_the_end(m: float, n: float, behind: float, overlap: float) -> None:
    series = steps.ring_series(100, n, m, 0.03, behind, overlap)
    first = series[0].subject_distance_mm
    assert series[-1].far_limit_mm >= first + behind - 1e-6
    for nearer, farther in pairwise(series):
        assert nearer.near_limit_mm < farther.near_limit_mm <= nearer.far_limit_mm < farther.far_limit_mm
        assert farther.magnification < nearer.magnification
    assert all(plane.far_limit_mm < first + behind for plane in series[:-1])


@quick
@given(f=st.floats(20, 200), m=st.floats(0.1, 4), farther=st.floats(0, 50))
def test_refocusing_keeps_the_lens_equation(f: float, m: float, farther: float) -> None:
    moved = steps.refocus(f, m, farther)
    subject, image = f + f / m + farther, f * (1 + m) - moved.ring_shift_mm
    assert 1 / subject + 1 / image == pytest.approx(1 / f, rel=1e-9)
    assert moved.scale == pytest.approx(moved.magnification / m, rel=1e-12)
    assert moved.scale <= 1 + 1e-12


@quick
@given(angle=st.floats(0, 89), index=st.floats(1.01, 3))
def test_fresnel_energies_add_to_one(angle: float, index: float) -> None:
    reflected, passed = fresnel.plate_reflectance(angle, index), fresnel.plate_transmittance(angle, index)
    assert reflected.s + passed.s == pytest.approx(1, abs=1e-12)
    assert reflected.p + passed.p == pytest.approx(1, abs=1e-12)
    assert reflected.mean + passed.mean == pytest.approx(1, abs=1e-12)
    one = fresnel.surface_reflectance(angle, index)
    assert one.s <= reflected.s <= 2 * one.s
    assert one.p <= one.s + 1e-15


@quick
@given(angle=st.floats(1, 80), index=st.floats(1.1, 2))
def test_mirror_like_piece_never_gives_more_than_a_diffuse_one(angle: float, index: float) -> None:
    diffuse, mirrored = (plate.loss_both_passes_ev(angle, index, piece) for piece in ("diffuse", "mirror"))
    assert mirrored >= diffuse - 1e-12
    # No plate passes more than a quarter of unpolarised light on both ways: T + R = 1.
    assert diffuse >= 2


@quick
@given(angle=st.floats(0, 80), index=st.floats(1.1, 2), thickness=st.floats(0.1, 10), scale=st.floats(0.2, 5))
def test_plate_errors_scale_with_its_thickness(angle: float, index: float, thickness: float, scale: float) -> None:
    for error in (plate.shift_mm, plate.double_image_mm, plate.astigmatism_mm):
        assert error(angle, index, scale * thickness) == pytest.approx(
            scale * error(angle, index, thickness), rel=1e-9, abs=1e-12
        )


@quick
@given(distance=st.floats(20, 500), angle=st.floats(5, 80))
def test_light_aimed_at_the_mirror_image_is_reflected_to_the_piece(distance: float, angle: float) -> None:
    # Reflect the straight way from a light at the side about the plate by the law of reflection.
    aim = plate.aim_point(distance, angle)
    tilt = math.radians(angle)
    normal = np.array([math.sin(tilt), math.cos(tilt)])
    centre = np.array([0.0, distance])
    image = np.array([aim.sideways_mm, aim.along_axis_mm])
    assert np.linalg.norm(image - centre) == pytest.approx(distance, rel=1e-9)
    incoming = (image - centre) / distance
    outgoing = incoming - 2 * (incoming @ normal) * normal
    assert centre + distance * outgoing == pytest.approx([0, 0], abs=1e-6)


def test_at_45_degrees_the_light_aims_level_with_the_plate() -> None:
    aim = plate.aim_point(80, 45)
    assert (aim.sideways_mm, aim.along_axis_mm) == pytest.approx((80, 80), rel=1e-12)


@quick
@given(field=st.floats(5, 100), pupil=st.floats(1, 60), reach=st.floats(50, 600), along=st.floats(0.02, 0.98))
def test_clear_aperture_lies_between_field_and_pupil(field: float, pupil: float, reach: float, along: float) -> None:
    width = plate.clear_aperture_mm(field, pupil, reach, max(along * reach, 1.0))
    assert min(field, pupil) - 1e-9 <= width <= max(field, pupil) + 1e-9
    assert plate.plate_length_mm(width, 45, 1.52, 2) > width * math.sqrt(2)


@quick
@given(frequency=st.floats(1, 60), damping=st.floats(0.002, 0.3), share=st.floats(1e-4, 1))
def test_delay_to_share_and_back(frequency: float, damping: float, share: float) -> None:
    delay = vibration.delay_for_share_s(frequency, damping, share)
    assert vibration.share_left(frequency, damping, delay) == pytest.approx(share, rel=1e-9)


@quick
@given(
    amplitude=st.floats(0.1, 500),
    frequency=st.floats(1, 60),
    damping=st.floats(0.005, 0.3),
    exposure=st.floats(0.0005, 1),
    m=ratios,
    limit=st.floats(0.1, 5),
)
def test_hold_off_brings_the_smear_to_its_limit(
    amplitude: float, frequency: float, damping: float, exposure: float, m: float, limit: float
) -> None:
    wait = vibration.hold_off_s(amplitude, frequency, damping, exposure, m, 4.3, limit)
    left = amplitude * math.exp(-damping * 2 * math.pi * frequency * wait)
    blur = vibration.shift_blur_px(vibration.smear_um(left, frequency, exposure), m, 4.3)
    assert blur == pytest.approx(limit, rel=1e-6) if wait > 0 else blur <= limit


@quick
@given(amplitude=st.floats(0.1, 500), frequency=st.floats(1, 60), exposure=st.floats(0.0005, 1), less=st.floats(0.1, 1))
def test_shorter_light_never_smears_more(amplitude: float, frequency: float, exposure: float, less: float) -> None:
    longer = vibration.smear_um(amplitude, frequency, exposure)
    assert vibration.smear_um(amplitude, frequency, exposure * less) <= longer * (1 + 1e-12)
    assert longer <= 2 * amplitude * (1 + 1e-12)
