"""Every marked stop of a lens tried: how deep one frame is sharp, how many frames cover the piece, with what blur.

The lens is taken as perfect from `sharp_from_f_number` on: diffraction and defocus are all the blur there is.
"""

from __future__ import annotations

from dataclasses import dataclass

from session.kit import Lens
from session.optics.aperture import quarter_wave_depth_mm
from session.optics.steps import FocusSteps, focus_steps
from session.plan.mounting import Mounted
from session.plan.series import f_numbers_between
from session.plan.sharpness import blur_at_ends_mm, depth_mm, opening
from session.plan.wish import Wish

SHARP_STOPS_UNDER = 2.0
"""Stops under its widest from which a lens is taken as sharp. Common practice, no source."""


@dataclass(frozen=True)
class Stop:
    """One marked f-number tried.

    depth_mm  sharp in one frame; a quarter wave's where diffraction alone exceeds what is allowed
    slice_mm  what each frame of the series must cover at least
    blur_mm   total blur on the piece at the ends of that slice
    """

    f_number: float
    effective_f_number: float
    depth_mm: float
    series: FocusSteps
    slice_mm: float
    blur_mm: float


def usable_f_numbers(lens: Lens) -> tuple[float, ...]:
    """The marked ones from where the lens is sharp to its smallest opening; empty when they contradict."""
    widest = lens.sharp_from_f_number or min(
        lens.widest_f_number * 2 ** (SHARP_STOPS_UNDER / 2), lens.smallest_f_number
    )
    return f_numbers_between(max(widest, lens.widest_f_number), lens.smallest_f_number)


def tried_stops(mounting: Mounted, wish: Wish) -> tuple[Stop, ...]:
    """All of them, widest first; without those that would take an absurdly long series.

    Raises ValueError when none is left.
    """
    found = (_tried(number, mounting, wish) for number in usable_f_numbers(mounting.build.lens))
    stops = tuple(stop for stop in found if stop is not None)
    if not stops:
        raise ValueError("no marked f-number of the lens is sharp and covers the depth in a series of any length.")
    return stops


def _tried(f_number: float, mounting: Mounted, wish: Wish) -> Stop | None:
    effective = f_number * mounting.lens.effective_f_number
    seen = opening(effective, mounting.magnification)
    deep_mm = depth_mm(wish.blur_mm, seen, wish.wavelength_um)
    if deep_mm == 0:
        deep_mm = quarter_wave_depth_mm(effective, mounting.magnification, wish.wavelength_um)
    try:
        series = focus_steps(wish.depth_mm, deep_mm, wish.overlap)
    except ValueError:
        return None
    # The same number of frames with the same overlap also cover it with shallower slices, that is with less blur.
    slice_mm = wish.depth_mm / (1 + (series.frames - 1) * (1 - wish.overlap))
    blur_mm = blur_at_ends_mm(slice_mm, seen, wish.wavelength_um)
    return Stop(f_number, effective, deep_mm, series, slice_mm, blur_mm)
