"""Every marked stop tried: what depth, frames and blur each gives, against the series that it would take."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.optics.sharpness import blur_at_ends_mm, opening
from session.plan.arrangements import Build
from session.plan.mounting import Mounted, mount_build
from session.plan.stops import Stop, tried_stops
from session.plan.wish import NoPlanError, Wish
from tests.support.plan_kits import BODY, LENSES, unit_focusing

LENS = next(lens for lens in LENSES if lens.name == "100 close-up")
HALF_SIZE = mount_build(Build(BODY, LENS), 0.5)


def stops(relief_mm: float = 2.4, blur_mm: float = 0.015, mounting: Mounted = HALF_SIZE) -> tuple[Stop, ...]:
    return tried_stops(mounting, Wish(28, 28, relief_mm, blur_radius_on_piece_mm=blur_mm))


def test_the_stops_are_full_stops_of_the_lens_widest_first() -> None:
    numbers = [stop.f_number for stop in stops()]
    assert numbers == sorted(set(numbers))
    assert numbers[-1] <= 32 * 1.02
    for stop in stops():
        assert stop.effective_f_number / stop.f_number == pytest.approx(HALF_SIZE.lens.effective_f_number)
        assert stop.effective_f_number == pytest.approx(1.5 * stop.f_number)  # (1 + m)·N, pupils of one size


@settings(max_examples=25)
@given(st.floats(0.2, 40), st.floats(0.004, 0.2), st.floats(0.1, 1.0))
def test_the_slices_of_a_series_cover_the_depth_with_no_more_blur_than_wished(
    relief_mm: float, blur_mm: float, ratio: float
) -> None:
    wish = Wish(28, 28, relief_mm, blur_radius_on_piece_mm=blur_mm)
    try:
        tried = tried_stops(mount_build(Build(BODY, LENS), ratio), wish)
    except NoPlanError:
        return
    for stop in tried:
        covered_mm = stop.slice_mm * (1 + (stop.series.frames - 1) * (1 - wish.overlap))
        assert covered_mm == pytest.approx(wish.depth_mm)
        assert stop.slice_mm <= stop.depth_mm * (1 + 1e-9)
        seen = opening(stop.effective_f_number, ratio)
        assert stop.blur_circle_mm == pytest.approx(blur_at_ends_mm(stop.slice_mm, seen, wish.wavelength_um))
        assert stop.blur_radius_mm == stop.blur_circle_mm / 2


def test_depth_grows_with_narrower_stops_until_diffraction_takes_it_back() -> None:
    good = [stop for stop in stops(10.0, 0.03) if stop.blur_radius_mm <= 0.03]
    deepest = max(range(len(good)), key=lambda at: good[at].depth_mm)
    depths = [stop.depth_mm for stop in good]
    assert 3 < deepest < len(good) - 1
    assert depths == sorted(depths[: deepest + 1]) + sorted(depths[deepest + 1 :], reverse=True)


def test_glass_before_the_lens_blurs_every_stop_more() -> None:
    wish = Wish(28, 28, 2.4, blur_radius_on_piece_mm=0.05)
    clear = {stop.f_number: stop for stop in tried_stops(HALF_SIZE, wish)}
    behind_glass = tried_stops(HALF_SIZE, wish, 0.5)
    assert behind_glass
    for stop in behind_glass:
        plain = clear[stop.f_number]
        assert stop.series.frames >= plain.series.frames
        if stop.series.frames == plain.series.frames:
            assert stop.blur_circle_mm > plain.blur_circle_mm


def test_an_absurdly_long_series_is_left_out_and_none_left_is_refused() -> None:
    lens = unit_focusing("wide", 100, 1.0, smallest_f_number=1.5, widest_f_number=1.4)
    mounting = mount_build(Build(BODY, lens), 1.0)
    with pytest.raises(
        NoPlanError, match=r"no marked f-number of the lens is sharp and covers 5000 mm in a series of any length\."
    ):
        stops(5000.0, 1e-4, mounting)


def test_stops_that_would_take_too_long_a_series_are_left_out_and_the_others_stay() -> None:
    """At 1:1 a quarter wave allows 4·λ·N² with N the effective f-number, twice the marked one; a series has at most
    10 000 frames, a quarter of each over the next."""
    lens = unit_focusing("long", 100, 1.0, smallest_f_number=32, widest_f_number=1.4)
    tried = stops(1000.0, 1e-4, mount_build(Build(BODY, lens), 1.0))
    depths_mm = {number: 4 * 0.55e-3 * (2 * number) ** 2 for number in (2.8, 3.2, 3.5, 4.0, 4.5)}
    fits = [number for number, depth_mm in depths_mm.items() if 1000 / depth_mm / 0.75 < 10_000]
    assert fits == [4.0, 4.5]
    assert [stop.f_number for stop in tried if stop.f_number < 5] == fits


@settings(max_examples=25)
@given(st.floats(0.01, 0.1))
def test_more_blur_allowed_is_never_more_frames(blur_mm: float) -> None:
    strict = [stop for stop in stops(8.0, blur_mm) if stop.blur_radius_mm <= blur_mm]
    loose = {stop.f_number: stop.series.frames for stop in stops(8.0, 1.5 * blur_mm)}
    assert strict
    assert all(loose[stop.f_number] <= stop.series.frames for stop in strict)
