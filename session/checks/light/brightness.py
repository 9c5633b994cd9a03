"""How bright region and picture are against the reference, in EV of linear light, and what is clipped.

The EV is the median over small blocks of the ratio to the same block of the reference, which neither a highlight that
wandered nor a changed corner moves. Blocks too dark or too near to white in the reference are
left out; blocks clipped in the frame count as at least that bright, which a median takes rightly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.material.check_limits import BLACK_CODE, CLIPPED_CODE, CLIPPED_SURFACE_SHARE, EXPOSURE_EV
from session.checks.material.checked_picture import Material, Pair
from session.frame.finding import CheckId, Finding, Level, Remedy, RemedyKind
from session.picture.linear_light import LINEAR, ONE_CODE, block_means, ev_between
from session.picture.noise import MEDIAN_TO_SD
from session.set.setup import Region
from session.units.numbers import percent_text

BLOCK_PX = 8
"""Of the overview: small against the piece, large against noise. Chosen."""

DARKEST_CODE, BRIGHTEST_CODE = 20, 235
"""Codes between which a block is compared: one code is 0.1 EV at 20 (worked out from sRGB), and above 235
part of a block is likely clipped."""

FEWEST_BLOCKS = 4
SURFACE_PX = 5
"""A clipped patch that holds a square of so many overview pixels is a surface, a smaller one a specular."""


@dataclass(frozen=True)
class Exposure:
    """EV against the reference (None without one) and shares 0…1 of clipped pixels.

    region_scatter_ev   standard deviation of the EV between the region's blocks: shading that changed its pattern
    surface_share       clipped in patches that hold a square of `SURFACE_PX`
    specular_share      clipped in smaller ones: highlights on edges and curves, which may clip
    """

    region_ev: float | None
    whole_ev: float | None
    region_scatter_ev: float | None
    region_clipped_share: float
    region_surface_share: float
    whole_clipped_share: float
    whole_surface_share: float
    whole_black_share: float

    @property
    def region_specular_share(self) -> float:
        """Share of the region that is clipped in specular highlights, not in surfaces, 0 to 1."""
        return self.region_clipped_share - self.region_surface_share

    @property
    def whole_specular_share(self) -> float:
        """Share of the whole picture that is clipped in specular highlights, not in surfaces, 0 to 1."""
        return self.whole_clipped_share - self.whole_surface_share


def measure(frame: Material, region: Region, both: Pair | None = None) -> Exposure:
    """Brightness and clipping of a frame; `both` is the frame paired with the reference, None without a reference."""
    rows, columns = frame.region_of_overview(region)
    pixels = frame.overview.pixels
    brightest = np.maximum(np.maximum(pixels[..., 0], pixels[..., 1]), pixels[..., 2])
    clipped = brightest >= int(CLIPPED_CODE)
    surface = _surfaces(clipped)
    region_ev, scatter_ev, whole_ev = _against(both, rows, columns) if both and both.same_size else (None,) * 3
    return Exposure(
        region_ev=region_ev,
        whole_ev=whole_ev,
        region_scatter_ev=scatter_ev,
        region_clipped_share=float(clipped[rows, columns].mean()),
        region_surface_share=float(surface[rows, columns].mean()),
        whole_clipped_share=float(clipped.mean()),
        whole_surface_share=float(surface.mean()),
        whole_black_share=float((brightest <= int(BLACK_CODE)).mean()),
    )


def findings(now: Exposure, before: Exposure | None = None) -> tuple[Finding, ...]:
    """Findings on brightness and clipping; `before` is the reference's own exposure."""
    found = []
    if now.region_ev is not None and abs(now.region_ev) > EXPOSURE_EV:
        found.append(_brightness("The region is", now.region_ev, Level.CAUTION))
    elif now.whole_ev is not None and abs(now.whole_ev) > EXPOSURE_EV:
        found.append(_brightness("The picture as a whole is", now.whole_ev, Level.NOTE))
    for word, share, usual in (
        ("region", now.region_surface_share, before.region_surface_share if before else 0.0),
        ("picture", now.whole_surface_share, before.whole_surface_share if before else 0.0),
    ):
        if share > usual + CLIPPED_SURFACE_SHARE:
            text = f"{percent_text(share)} of the {word} is burnt out, the reference has {percent_text(usual)}."
            if before is None:
                text = f"{percent_text(share)} of the {word} is burnt out."
            remedy = Remedy(RemedyKind.BY_HAND, "less light, or a larger f-number")
            limit = usual + CLIPPED_SURFACE_SHARE
            found.append(Finding(CheckId.CLIPPING, Level.CAUTION, text, share, limit, f"share of the {word}", remedy))
            break
    return tuple(found)


def _brightness(subject: str, ev: float, level: Level) -> Finding:
    word = "darker" if ev < 0 else "brighter"
    text = f"{subject} {abs(ev):.1f} EV {word} than the reference."
    return Finding(CheckId.EXPOSURE, level, text, round(ev, 2), float(EXPOSURE_EV), "EV")


def overlap(both: Pair) -> tuple[NDArray[np.float32], NDArray[np.float32], int, int]:
    """Light of frame and reference where they show the same, and the place (top, left) of that in the frame."""
    times = both.reference.overview.scale / both.reference.small_scale
    right, down = (round(s * times) if both.shift.found else 0 for s in (both.shift.right_px, both.shift.down_px))
    height, width = both.frame.light.shape
    right, down = max(-width // 2, min(width // 2, right)), max(-height // 2, min(height // 2, down))
    frame = both.frame.light[max(0, down) : height + min(0, down), max(0, right) : width + min(0, right)]
    reference = both.reference.light[max(0, -down) : height - max(0, down), max(0, -right) : width - max(0, right)]
    return frame, reference, max(0, down), max(0, right)


def _against(both: Pair, rows: slice, columns: slice) -> tuple[float, float, float]:
    frame, reference, top, left = overlap(both)
    inside = (
        slice(max(0, rows.start - top), max(1, rows.stop - top)),
        slice(max(0, columns.start - left), max(1, columns.stop - left)),
    )
    region_ev, scatter_ev = _ev_of_blocks(frame[inside], reference[inside])
    return region_ev, scatter_ev, _ev_of_blocks(frame, reference)[0]


def _ev_of_blocks(frame: NDArray[np.float32], reference: NDArray[np.float32]) -> tuple[float, float]:
    """Median of the EV of blocks and its scatter (by the median of absolute deviations)."""
    side = max(1, min(BLOCK_PX, *frame.shape))
    ours, theirs = block_means(frame, side, side), block_means(reference, side, side)
    compared = (theirs > LINEAR[DARKEST_CODE]) & (theirs < LINEAR[BRIGHTEST_CODE])
    if compared.sum() < FEWEST_BLOCKS:
        return ev_between(float(frame.mean()), float(reference.mean())), 0.0
    dark = np.float32(ONE_CODE / 10)
    ev = np.log2((ours[compared] + dark) / (theirs[compared] + dark))
    return float(np.median(ev)), float(MEDIAN_TO_SD * np.median(np.abs(ev - np.median(ev))))


def _surfaces(clipped: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Clipped pixels of every square of SURFACE_PX that is clipped throughout (an opening: shrunk, then grown back)."""
    inner = clipped
    for axis in (0, 1):
        inner = np.logical_and.reduce([_step_along(inner, step, axis) for step in range(SURFACE_PX)])
    for axis in (0, 1):
        inner = np.logical_or.reduce([_step_along(inner, -step, axis) for step in range(SURFACE_PX)])
    return inner


def _step_along(values: NDArray[np.bool_], step: int, axis: int) -> NDArray[np.bool_]:
    """Values `step` places further on; False from beyond the edge."""
    out = np.zeros_like(values)
    kept = max(0, values.shape[axis] - abs(step))
    first, last = max(0, step), max(0, -step)
    here, there = [slice(None)] * 2, [slice(None)] * 2
    here[axis], there[axis] = slice(last, last + kept), slice(first, first + kept)
    out[tuple(here)] = values[tuple(there)]
    return out
