"""What must hold for every lens: scaling, brackets, round trips, meeting of exact and close-up forms."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from session.optics import arrangement, closeup, depth, framing

focal_lengths = st.floats(20, 300)
f_numbers = st.floats(1.4, 32)
ratios = st.floats(0.1, 5)
pupils = st.floats(0.4, 2.5)
circles = st.floats(0.003, 0.04)
quick = settings(max_examples=60)


@quick
@given(f=focal_lengths, n=f_numbers, m=ratios, c=circles, p=pupils, scale=st.floats(0.2, 5))
def test_depth_scales_with_all_lengths(f: float, n: float, m: float, c: float, p: float, scale: float) -> None:
    plain = depth.depth_of_field(f, n, m, c, p)
    scaled = depth.depth_of_field(scale * f, n, m, scale * c, p)
    assert scaled.near_mm == pytest.approx(scale * plain.near_mm, rel=1e-9)
    assert scaled.far_mm == pytest.approx(scale * plain.far_mm, rel=1e-9)


@quick
@given(f=focal_lengths, m=ratios, scale=st.floats(0.2, 5))
def test_distances_scale_with_the_focal_length(f: float, m: float, scale: float) -> None:
    assume(scale * f >= 1)
    assert closeup.track_mm(scale * f, m) == pytest.approx(scale * closeup.track_mm(f, m), rel=1e-12)
    assert closeup.effective_f_number(2 * 8, m) == pytest.approx(2 * closeup.effective_f_number(8, m), rel=1e-12)


@quick
@given(f=focal_lengths, n=f_numbers, m=ratios, c=circles, p=pupils)
def test_limits_bracket_the_plane_and_the_far_one_is_the_longer(
    f: float, n: float, m: float, c: float, p: float
) -> None:
    limits = depth.depth_of_field(f, n, m, c, p)
    assert 0 < limits.near_mm < limits.far_mm
    assert limits.near_mm < closeup.entrance_pupil_distance_mm(f, m, p)


@quick
@given(f=focal_lengths, n=f_numbers, wider=st.floats(0.1, 1), m=ratios, c=circles, p=pupils)
def test_wider_aperture_never_deepens(f: float, n: float, wider: float, m: float, c: float, p: float) -> None:
    assume(n * wider >= 0.5)
    small, large = depth.depth_of_field(f, n, m, c, p), depth.depth_of_field(f, n * wider, m, c, p)
    assert large.near_mm <= small.near_mm
    assert large.far_mm <= small.far_mm


@quick
@given(f=st.floats(50, 300), n=st.floats(1.4, 16), m=st.floats(0.1, 5), c=st.floats(0.003, 0.03), p=pupils)
def test_exact_and_close_up_depth_meet_above_a_tenth(f: float, n: float, m: float, c: float, p: float) -> None:
    exact = depth.depth_of_field(f, n, m, c, p).depth_mm
    # Smith, Modern Optical Engineering, eqs 9.7 and 9.8; short by the square of c·N/(m·f)
    assert exact == pytest.approx(2 * n * c * (1 + m / p) / m**2, rel=0.01)


@quick
@given(side=st.floats(5, 60), field=st.floats(2, 500))
def test_framing_to_ratio_and_back(side: float, field: float) -> None:
    m = framing.magnification_for_field(side, field)
    assume(0 < m < 50)
    assert framing.field_mm(side, m) == pytest.approx(field, rel=1e-12)


@quick
@given(wide=st.floats(3, 300), high=st.floats(3, 300), fill=st.floats(0.3, 1))
def test_piece_fits_and_fills_one_side(wide: float, high: float, fill: float) -> None:
    m = framing.magnification_for_piece(36, 24, wide, high, fill)
    shares = wide / framing.field_mm(36, m), high / framing.field_mm(24, m)
    assert max(shares) == pytest.approx(fill, rel=1e-12)
    pitch = framing.pixel_pitch_um(36, 6000)
    assert framing.pixels_on_piece(wide, m, pitch) == pytest.approx(6000 * shares[0], rel=1e-12)
    footprint_mm = framing.pixel_footprint_um(pitch, m) / 1000
    assert footprint_mm * framing.pixels_on_piece(wide, m, pitch) == pytest.approx(wide, rel=1e-12)


@quick
@given(f=focal_lengths, m=st.floats(0.02, 20), h=st.floats(-15, 60))
def test_track_to_focal_length_and_back(f: float, m: float, h: float) -> None:
    track = closeup.track_mm(f, m, h)
    assert closeup.focal_length_in_use_mm(track, m, h) == pytest.approx(f, rel=1e-9)


@quick
@given(n=f_numbers, m=st.floats(0, 10), p=pupils)
def test_marked_to_effective_f_number_and_back(n: float, m: float, p: float) -> None:
    effective = closeup.effective_f_number(n, m, p)
    assert effective >= n
    assert 2 * math.log2(effective / n) == pytest.approx(closeup.exposure_increase_ev(m, p), abs=1e-12)


@quick
@given(f=focal_lengths, n=f_numbers, m=ratios, p=pupils)
def test_reversed_lens_is_a_lens_with_its_pupils_exchanged(f: float, n: float, m: float, p: float) -> None:
    turned = arrangement.reversed_lens(f, n, m, p)
    assert turned.pupil_magnification == pytest.approx(1 / p, rel=1e-12)
    assert turned.f_number == pytest.approx(n / p, rel=1e-12)
    symmetrical = arrangement.reversed_lens(f, n, m, 1.0)
    assert symmetrical == arrangement.bare(f, n, m, 1.0)


@quick
@given(
    f=focal_lengths,
    n=f_numbers,
    m=st.floats(0.6, 4),
    p=pupils,
    k=st.floats(1, 2),
    dioptres=st.sampled_from([0.0, 0.5, 2.0]),
    turned=st.booleans(),
)
def test_added_parts_reach_the_ratio_that_was_asked_for(
    f: float, n: float, m: float, p: float, k: float, dioptres: float, turned: bool
) -> None:
    assume(m / k > f * dioptres / 1000)
    lens = arrangement.equivalent_lens(f, n, m, p, lens_reversed=turned, converter=k, dioptres=dioptres)
    assert lens.magnification == pytest.approx(m, rel=1e-9)
    # What the lens itself is focused to, solved from m/k = own + f·(1 + own)·D/1000, sets the light.
    added = f * dioptres / 1000
    own = (m / k - added) / (1 + added)
    expected = k * (n * (1 / p + own) if turned else n * (1 + own / p))
    assert lens.effective_f_number == pytest.approx(expected, rel=1e-9)


@quick
@given(f=focal_lengths, n=f_numbers, m=ratios, p=pupils)
def test_nothing_added_changes_nothing(f: float, n: float, m: float, p: float) -> None:
    plain = arrangement.bare(f, n, m, p)
    assert arrangement.equivalent_lens(f, n, m, p) == plain
    assert arrangement.with_close_up_lens(plain, 0.0) == plain
    assert arrangement.with_converter(plain, 1.0) == plain


def test_pupil_at_the_focus_of_the_close_up_lens_makes_depth_even() -> None:
    # Entrance pupil 250 mm behind a 4-dioptre lens: beams leave the piece in parallel, near equals far.
    lens = arrangement.with_close_up_lens(arrangement.bare(100, 8, 0.25, 100 / 350), 4)
    assert math.isinf(lens.entrance_pupil_distance_mm)
    limits = depth.depth_of_lens(lens, 0.03)
    assert limits.near_mm == pytest.approx(limits.far_mm, rel=1e-12)
    assert limits.depth_mm == pytest.approx(2 * lens.effective_f_number * 0.03 / lens.magnification**2, rel=1e-12)


def test_clearance_is_what_the_piece_leaves() -> None:
    assert framing.clearance_mm(136, 2.4) == pytest.approx(133.6)
    assert framing.clearance_mm(20, 25) == -5


@quick
@given(n=f_numbers, m=ratios, p=pupils)
def test_the_pupils_are_found_again_from_the_effective_f_number(n: float, m: float, p: float) -> None:
    effective = closeup.effective_f_number(n, m, p)
    assert closeup.pupil_magnification_in_use(n, effective, m) == pytest.approx(p, rel=1e-9)


@pytest.mark.parametrize(("n", "effective", "m"), [(8.0, 8.0, 1.0), (8.0, 7.9, 1.0), (8.0, 12.0, 0.0)])
def test_a_lens_that_shows_no_loss_or_no_ratio_tells_nothing_of_its_pupils(
    n: float, effective: float, m: float
) -> None:
    with pytest.raises(ValueError, match=rf"effective_f_number is {effective:g}, but must be more than .* {n:g}"):
        closeup.pupil_magnification_in_use(n, effective, m)


@quick
@given(f=focal_lengths, dioptres=st.floats(0.5, 10), factor=st.floats(1, 2))
def test_what_the_added_lenses_alone_give_is_reached_in_spite_of_rounding(
    f: float, dioptres: float, factor: float
) -> None:
    alone = f * dioptres / 1000
    whole = arrangement.equivalent_lens(f, 8.0, alone * factor, converter=factor, dioptres=dioptres)
    assert whole.magnification == pytest.approx(alone * factor)
    with pytest.raises(ValueError, match="the added lenses alone give"):
        arrangement.equivalent_lens(f, 8.0, alone * factor * (1 - 1e-9), converter=factor, dioptres=dioptres)


def test_a_quotient_that_rounds_down_is_still_the_ratio_of_the_added_lenses() -> None:
    added = 20 * 5 / 1000
    assert added * 1.4 / 1.4 < added
    assert arrangement.equivalent_lens(20, 8.0, added * 1.4, converter=1.4, dioptres=5).magnification > 0
