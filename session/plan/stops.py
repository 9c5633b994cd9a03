"""Every marked stop of a lens tried: how deep one frame is sharp, how many frames cover the piece, with what blur.

The lens is taken as perfect from `sharp_from_f_number` on: diffraction, defocus and the astigmatism of a plate before
it are all the blur there is.
"""

from __future__ import annotations

from dataclasses import dataclass

from session.optics.circle import RADII
from session.optics.sharpness import blur_at_ends_mm, opening, sharp_series
from session.optics.steps import FocusSteps
from session.plan.mounting import Mounted
from session.plan.wish import NoPlanError, Wish
from session.set.lens_in_use import usable_f_numbers


@dataclass(frozen=True)
class Stop:
    """One marked f-number tried.

    depth_mm  sharp in one frame; a quarter wave's where no plane is as sharp as allowed
    slice_mm  what each frame of the series must cover at least
    blur_circle_mm   total blur on the piece at the ends of that slice, as a diameter
    """

    f_number: float
    effective_f_number: float
    depth_mm: float
    series: FocusSteps
    slice_mm: float
    blur_circle_mm: float

    @property
    def blur_radius_mm(self) -> float:
        """The blur circle's radius, mm."""
        return self.blur_circle_mm / RADII


def tried_stops(mounting: Mounted, wish: Wish, astigmatism_mm: float = 0.0) -> tuple[Stop, ...]:
    """All of them, widest first; without those that would take an absurdly long series.

    astigmatism_mm  of glass before the lens, mm
    Raises ValueError when none is left.
    """
    found = (_try_stop(number, mounting, wish, astigmatism_mm) for number in usable_f_numbers(mounting.build.lens))
    stops = tuple(stop for stop in found if stop is not None)
    if not stops:
        raise NoPlanError(
            f"no marked f-number of the lens is sharp and covers {wish.depth_mm:.4g} mm in a series of any length."
        )
    return stops


def _try_stop(f_number: float, mounting: Mounted, wish: Wish, astigmatism_mm: float) -> Stop | None:
    effective = f_number * mounting.lens.effective_f_number
    seen = opening(effective, mounting.magnification)
    try:
        covers = sharp_series(
            wish.depth_mm,
            effective,
            mounting.magnification,
            wish.blur_circle_mm,
            wish.overlap,
            wish.wavelength_um,
            astigmatism_mm,
        )
    except ValueError:
        return None
    series = covers.steps
    # The same number of frames with the same overlap also cover it with shallower slices, that is with less blur.
    slice_mm = wish.depth_mm / (1 + (series.frames - 1) * (1 - wish.overlap))
    blur_circle_mm = blur_at_ends_mm(slice_mm, seen, wish.wavelength_um, astigmatism_mm)
    return Stop(f_number, effective, covers.depth_mm, series, slice_mm, blur_circle_mm)
