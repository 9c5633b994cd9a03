"""What a series keeps of a frame when it comes: detail by blocks at three scales, and small pictures.

Detail is the energy of second differences, in contrast to the local mean, so that light drops out: the modified
Laplacian of Nayar and Nakagawa, IEEE Trans. PAMI 16 (1994) 824 (value from memory), squared and taken at three scales
an octave apart, because a blur that takes all from the finest scale leaves something at the coarser ones to tell its
size by.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.picture.displacement import Before, before_of
from session.picture.linear_light import BURNT_CODE, LINEAR, block_means
from session.picture.noise import noise_of
from session.picture.preview import (
    Picture,
    Source,
    UnreadablePicture,
    decode,
    decode_small_and_grey,
    open_picture,
    overview_reduction,
)

Floats = NDArray[np.float32]

SCALES = 3
BLOCK_PX = 8
"""Side of a block, px at hand: the breathing of a series is taken out by whole blocks and parts of them."""

LIMIT_AT_HAND_PX = 0.5
"""The blur limit in px of the picture that detail is measured on. The next frame of a series is out by 1.5 limits,
where the finest scale has lost a third of its energy; of a finer picture most of the cost is decoding. Chosen."""

SMALL_PX = 350
"""Least long side of the small picture, on which frames are registered: its scale came to 0.02 to 0.06 mm of focus on
the simulated camera. Chosen."""

PREVIEW_PX, LARGEST_SHARE = 1280, 1.5
"""Least long side of the colour picture that a preview is merged of, a tablet's screen, and how many times as long it
may be: to merge takes time by the pixel. Chosen."""

DARK_CODES = 16.0
"""Added to the local mean, so that the noise of the blackest places is no contrast. Chosen."""

NOISE_GAIN = 12.0
"""Variance that white noise of variance 1 gets in both second differences together: 2·(1 + 4 + 1)."""

ROWS_AT_ONCE = 128
"""Of a picture of 4128 px: 2 MB of values, which a processor's cache holds. With 256 it took three times as long."""

NOISE_ROWS, NOISE_EVERY = 64, 512
"""Noise is read from so many rows of each so many: an eighth of the time."""


@dataclass(frozen=True, eq=False)
class PlaneFrame:
    """A frame of a series, measured.

    detail   (SCALES, rows, columns) float32, energy of second differences by blocks, contrast²
    noise    (SCALES, rows, columns) float32, what of it is noise
    burnt    (rows, columns) float32, share of each block that is clipped
    small    (height, width) float32, linear light 0…1, to register by
    colours  (height, width, 3) uint8 sRGB, to merge; None where nothing is to be merged
    reduced  full-size pixels of the sensor's picture per pixel of the measured picture
    measured_px  width and height of the measured picture
    """

    detail: NDArray[np.float32]
    noise: NDArray[np.float32]
    burnt: NDArray[np.float32]
    small: NDArray[np.float32]
    colours: NDArray[np.uint8] | None
    reduced: float
    measured_px: tuple[int, int]

    @property
    def full_px(self) -> tuple[int, int]:
        """Width and height of the sensor's picture, as far as it was measured."""
        width, height = self.measured_px
        return round(width * self.reduced), round(height * self.reduced)

    @cached_property
    def tiles(self) -> Before:
        """The small picture in tiles; it is registered with the frame before, and with the frame after."""
        return before_of(self.small)


def reduction_for(source: Source, blur_limit_px: float) -> int:
    """1, 2, 4 or 8: the largest that leaves the blur limit, px of the full size, LIMIT_AT_HAND_PX."""
    return int(min(8, 2 ** math.floor(math.log2(max(1.0, blur_limit_px * source.scale / LIMIT_AT_HAND_PX)) + 1e-9)))


def read_plane_frame(path: str, blur_limit_px: float, *, keep_colours: bool) -> PlaneFrame:
    """Open a frame's picture, decode it as small as the blur limit, px of the full size, allows, and measure it.

    Raises UnreadablePicture with a clause.
    """
    source = open_picture(path)
    if source.is_stored_preview:
        raise UnreadablePicture("isn't here any more: its stored preview is too small to be measured")
    reduce = reduction_for(source, blur_limit_px)
    colours, grey = _colours_and_grey(source, reduce)
    coding = source.luma_steps if reduce == 1 else ()
    detail, noise = _detail(grey.pixels, noise_of(_some_rows(grey.pixels), coding))
    burnt = _burnt_shares(grey.pixels)
    luma = np.ascontiguousarray(colours[..., 1])
    times = max(1, max(luma.shape) // SMALL_PX)
    small = block_means(LINEAR[luma], times, times)
    kept = colours if keep_colours else None
    return PlaneFrame(detail, noise, burnt, small, kept, 1 / grey.scale, grey.pixels.shape[::-1])


def live_plane_frame(codes: NDArray[np.uint8], full_width_px: int) -> PlaneFrame:
    """A frame of live view, measured; it is registered by, but not merged.

    codes          (height, width) grey
    full_width_px  of the sensor's picture: so wide is what live view shows
    """
    detail, noise = _detail(codes, noise_of(codes))
    times = max(1, max(codes.shape) // SMALL_PX)
    small = block_means(LINEAR[codes], times, times)
    return PlaneFrame(
        detail, noise, _burnt_shares(codes), small, None, full_width_px / codes.shape[1], codes.shape[::-1]
    )


def _colours_and_grey(source: Source, reduce: int) -> tuple[NDArray[np.uint8], Picture]:
    """The picture in colour for the preview, and in grey for the detail, from one decode where that is less work."""
    stored_px = max(source.stored_size)
    if source.header and reduce > 1 and stored_px >= PREVIEW_PX * reduce:
        times = max(1, stored_px // reduce // PREVIEW_PX)
        most_px = PREVIEW_PX if stored_px > LARGEST_SHARE * PREVIEW_PX * reduce * times else 0
        try:
            colours, grey = decode_small_and_grey(source, small=reduce * times, grey=reduce, most_px=most_px)
            return colours.pixels, grey.whole()
        except UnreadablePicture:  # damaged, or without chroma: the plain decode tells
            pass
    whole = decode(source, reduce=overview_reduction(source, PREVIEW_PX), colour=True).pixels
    times = max(1, max(whole.shape) // PREVIEW_PX)
    return np.asarray(Image.fromarray(whole).reduce(times)), decode(source, reduce=reduce)


def _detail(codes: NDArray[np.uint8], noise_variance: float) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Detail and noise by blocks, (SCALES, rows, columns), of grey codes, (height, width); strip by strip."""
    height, width = (side // BLOCK_PX * BLOCK_PX for side in codes.shape)
    rows, columns = height // BLOCK_PX, width // BLOCK_PX
    detail = np.zeros((SCALES, rows, columns), np.float32)
    noise = np.zeros_like(detail)
    by_scale = np.array([NOISE_GAIN * noise_variance / 4**scale for scale in range(SCALES)], np.float32)
    # room that is used again: fresh memory takes as long as the sums
    room = np.empty((3, ROWS_AT_ONCE + 2 * BLOCK_PX, width), np.float32)
    for top in range(0, height, ROWS_AT_ONCE):
        bottom = min(height, top + ROWS_AT_ONCE)
        # room of a block above and below, so that differences run on over the strip's edges
        above, below = min(top, BLOCK_PX), min(codes.shape[0] - bottom, BLOCK_PX) // BLOCK_PX * BLOCK_PX
        strip = codes[top - above : bottom + below, :width]
        values = room[0, : len(strip)]
        values[...] = strip
        kept = slice(above // BLOCK_PX, (above + bottom - top) // BLOCK_PX)
        into = slice(top // BLOCK_PX, bottom // BLOCK_PX)
        for scale in range(SCALES):
            side = BLOCK_PX >> scale
            detail[scale, into] = block_means(_second_differences(values, room[1], room[2]), side, side)[kept]
            values = block_means(values, 2, 2)
        contrast = (values[kept] + np.float32(DARK_CODES)) ** 2  # halved three times, a pixel is a block
        detail[:, into] /= contrast
        noise[:, into] = by_scale[:, None, None] / contrast
    return detail, noise


def _second_differences(values: Floats, room: Floats, more_room: Floats) -> Floats:
    """Sum of both squared second differences, (height, width), made in the first room; 0 at the edges."""
    height, width = values.shape
    squares, down = room[:height, :width], more_room[: height - 2, :width]
    across = squares[:, 1:-1]
    np.multiply(values[:, 1:-1], np.float32(-2), out=across)
    across += values[:, 2:]
    across += values[:, :-2]
    across *= across
    squares[:, 0] = squares[:, -1] = 0
    np.multiply(values[1:-1], np.float32(-2), out=down)
    down += values[2:]
    down += values[:-2]
    down *= down
    squares[1:-1] += down
    return squares


def _some_rows(codes: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Every eighth strip of a large picture, one on the other; a seam spoils one row of the noise's blocks in four."""
    if codes.shape[0] <= 2 * NOISE_EVERY:
        return codes
    return np.concatenate([codes[top : top + NOISE_ROWS] for top in range(0, codes.shape[0], NOISE_EVERY)])


def _burnt_shares(codes: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Share of each block that is clipped, (rows, columns); strip by strip, most of which hold nothing burnt."""
    rows, columns = (side // BLOCK_PX for side in codes.shape)
    shares = np.zeros((rows, columns), np.float32)
    for top in range(0, rows, ROWS_AT_ONCE // BLOCK_PX):
        strip = codes[top * BLOCK_PX : min(rows, top + ROWS_AT_ONCE // BLOCK_PX) * BLOCK_PX]
        if strip.max() >= BURNT_CODE:
            burnt = block_means((strip >= BURNT_CODE).astype(np.float32), BLOCK_PX, BLOCK_PX)
            shares[top : top + len(burnt)] = burnt
    return shares
