"""The region of a frame held against the same region of the reference: how much blurrier, in full-size pixels.

The region is found in the frame by registration, once over the whole picture and once more close by, cut into
patches, and measured by `focus_measure`. A large blur is measured again on smaller pictures, where it is a few
pixels again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.focus_measure import Window, chosen, detectability, noise_of, patch_energies, relative_blur
from session.checks.light import LINEAR, block_means
from session.checks.material import Pair, close_ups
from session.checks.registration import shift_between
from session.setup import Region

LARGEST_PATCH_PX = 256
SMALLEST_PATCH_PX = 48
MOST_PATCHES = 12
"""The region is measured as at most so many patches of at most this size at hand, each with a gain of its own; a
region smaller than the smallest is measured with what surrounds it. Chosen: 2.5 waves across it are 20 px."""

TILE_PX = 40
FEWEST_TILES, MOST_TILES = 6, 80
CLEAR_AT_LIMITS = 0.35
PART_OF_REGION = 0.15
"""Tiles in which the region's parts are told apart, at hand; a tile counts when it changed by two standard
deviations and this share of the limit, and a part when it holds this share of the tiles. Chosen on pictures that
tests/benchmarks/test_focus_rates.py doesn't use."""

COARSER_ABOVE_PX = 4.0
"""A radius above this, at hand, is measured again at half the scale: all bands but the lowest are gone there."""

Codes = NDArray[np.uint8]


@dataclass(frozen=True)
class RegionBlur:
    """Blur of the region against the reference, full-size px; negative: sharper than the reference.

    detectability  in how many standard deviations a blur at the limit would show
    scale          pixels at hand per full-size pixel of the sensor
    in_part        part of the region lost this while another part became sharper
    """

    blur_px: float
    blur_px_sd: float
    detectability: float
    scale: float
    in_part: bool = False


def measure(both: Pair, region: Region, blur_limit_px: float) -> RegionBlur:
    """Measure the region of a registered pair. Raises UnreadablePicture when it can't be decoded."""
    reference, frame, inside = close_ups(both, region, blur_limit_px)
    scale = frame.scale / both.frame.px_per_pixel
    noises = noise_of(reference.pixels), noise_of(frame.pixels)
    ours, theirs = _aligned(reference.pixels, frame.pixels)
    first = _measure(ours, theirs, noises, inside, blur_limit_px * scale)
    lost = _lost_part(ours, theirs, noises, inside, blur_limit_px * scale)
    found, halvings = first, 0
    while abs(found.blur_px) > COARSER_ABOVE_PX and min(ours.shape) >= 4 * SMALLEST_PATCH_PX:
        ours, theirs, inside = _halved(ours), _halved(theirs), _halved_window(inside)
        noises, halvings = (noises[0] / 4, noises[1] / 4), halvings + 1
        found = _measure(ours, theirs, noises, inside, blur_limit_px * scale / 2**halvings)
    at_hand = scale / 2**halvings
    blur_px, sd_px = found.blur_px / at_hand, found.blur_px_sd / at_hand
    if lost and lost[0] / scale > blur_px:
        return RegionBlur(lost[0] / scale, lost[1] / scale, first.detectability, scale, in_part=True)
    return RegionBlur(blur_px, sd_px, first.detectability, at_hand)


def _measure(ours: Codes, theirs: Codes, noises: tuple[float, float], inside: Window, limit_px: float) -> RegionBlur:
    windows = _patches(inside, ours.shape)
    sharp = patch_energies(ours, windows, noises[0])
    blurred = patch_energies(theirs, windows, noises[1])
    blur = relative_blur(sharp, blurred, pooled=True)
    return RegionBlur(float(blur.radius_px[0]), float(blur.sd_px[0]), detectability(sharp, blurred, limit_px), 1.0)


def _lost_part(
    ours: Codes, theirs: Codes, noises: tuple[float, float], inside: Window, limit_px: float
) -> tuple[float, float] | None:
    """Blur of the part that lost most, px at hand and its sd, when the region falls into parts.

    A region that holds several heights may look as sharp as before on the whole, with another height in focus
    than the one that was chosen.
    """
    windows = _tiles(inside)
    if len(windows) < FEWEST_TILES:
        return None
    sharp = patch_energies(ours, windows, noises[0])
    blurred = patch_energies(theirs, windows, noises[1])
    blur = relative_blur(sharp, blurred)
    usual = float(np.median(blur.radius_px))
    lost = blur.radius_px - np.maximum(2 * blur.sd_px, CLEAR_AT_LIMITS * limit_px) > usual
    if lost.mean() < PART_OF_REGION or float(np.median(blur.radius_px[lost])) < 0:
        return None
    pooled = relative_blur(chosen(sharp, lost), chosen(blurred, lost), pooled=True)
    return float(pooled.radius_px[0]), float(pooled.sd_px[0])


def _tiles(inside: Window) -> list[Window]:
    """Small windows over the region, spread evenly where there are too many."""
    rows, columns = (
        [slice(at, at + TILE_PX) for at in range(part.start, part.stop - TILE_PX + 1, TILE_PX)] for part in inside
    )
    windows = [(row, column) for row in rows for column in columns]
    every = max(1, -(-len(windows) // MOST_TILES))
    return windows[::every]


def _aligned(reference: Codes, frame: Codes) -> tuple[Codes, Codes]:
    """The frame moved by whole pixels so that the piece lies as in the reference; what is left is under a pixel.

    Where content had to be moved in from outside, the reference's edge pixels stand: the fade-out of patches
    hides them, or the margin holds them.
    """
    shift = shift_between(LINEAR[reference], LINEAR[frame])
    if not shift.found:
        return reference, frame
    right, down = round(shift.right_px), round(shift.down_px)
    height, width = reference.shape
    moved = reference.copy()
    moved[max(0, -down) : height - max(0, down), max(0, -right) : width - max(0, right)] = frame[
        max(0, down) : height + min(0, down), max(0, right) : width + min(0, right)
    ]
    return reference, moved


def _patches(inside: Window, shape: tuple[int, ...]) -> list[Window]:
    """Windows of one size that cover the region, or as many as are measured, spread evenly."""
    rows, columns = (_spans(part.start, part.stop, size) for part, size in zip(inside, shape, strict=True))
    windows = [(row, column) for row in rows for column in columns]
    every = -(-len(windows) // MOST_PATCHES)
    return windows[every // 2 :: every]


def _spans(start: int, stop: int, size: int) -> list[slice]:
    length = stop - start
    if length < SMALLEST_PATCH_PX:
        length = min(SMALLEST_PATCH_PX, size)
        start = min(max(0, (start + stop - length) // 2), size - length)
    count = -(-length // LARGEST_PATCH_PX)
    side = length // count
    return [slice(start + i * side, start + (i + 1) * side) for i in range(count)]


def _halved(codes: Codes) -> Codes:
    halved: Codes = np.rint(block_means(codes.astype(np.float32), 2, 2)).astype(np.uint8)
    return halved


def _halved_window(window: Window) -> Window:
    rows, columns = (slice(part.start // 2, part.stop // 2) for part in window)
    return rows, columns
