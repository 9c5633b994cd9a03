"""The pictures of the checks: a file is opened and decoded once, as small as will do.

The overview is the whole picture in colour, 700 to 1400 px long, of files above 11,200 px an eighth of their size, of
a stored preview all of it. The close-up is the region with room
around it, grey, at the scale at which the blur limit is about one pixel (finer where it is smaller): a blur
that matters shows there, and noise and the traces of coding are half averaged away.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.picture.exif import Exif, read_exif
from session.picture.linear_light import block_means, linear_channels, luminance_of
from session.picture.preview import (
    Box,
    Grey,
    Picture,
    Source,
    UnreadablePicture,
    decode,
    decode_small_and_grey,
    open_picture,
    overview_reduction,
)
from session.picture.registration import NOT_MOVED, Shift, contrast_of, shift_between
from session.set.setup import Region

T = TypeVar("T")

OVERVIEW_PX = 700
"""Least long side of the overview: one percent of the frame is then some five rows. Chosen."""

LONGEST_PREVIEW_PX = 2800
"""A stored preview up to this size is an overview as it is: that of a picture of 22,400 px. Chosen: a longer one,
whoever wrote it, is made smaller like any picture, so that it doesn't take the memory of a full-size one."""

SMALLEST_PX = 128
"""A picture with a shorter side than this is a thumbnail; nothing is claimed about it. Chosen."""

REGISTRATION_PX = 320
"""Least long side of the picture that the whole frame is registered on. Chosen: 0.1 px there is half a
full-size pixel of the mock camera's picture, and a focus patch needs no more."""

LIMIT_AT_SCALE_PX = 1.0
"""The blur limit in pixels of the close-up. Below one pixel a disc hardly shows against the pixels' own
blur; above two, fine noise and JPEG coding stand in the way (tests/benchmarks/test_focus_rates.py)."""

CROPPED = 1.2
"""A file with up to this many times fewer pixels than the sensor was cropped at its edges; one with still
fewer was scaled down. Guessed: cameras offer 3:2 to 5:4 crops and sizes of two thirds and a half."""

MARGIN_SHARE = 0.25
MARGIN_PX = 64
"""Room around the region, of its own size and at least so many px: what a blur of 30 px brings in."""


@dataclass(frozen=True, eq=False)
class Material:
    """One picture, ready for the checks.

    overview      (height, width, 3) sRGB of the whole picture
    channels      (3, height, width) its linear red, green and blue
    light         (height, width) its linear luminance
    small         (height, width) the same, averaged down for registration
    small_scale   pixels of `small` per pixel of the file's full size
    px_per_pixel  sensor pixels per pixel of the file's own full size: above 1 for a file saved smaller
    """

    source: Source
    exif: Exif
    overview: Picture
    channels: NDArray[np.float32]
    light: NDArray[np.float32]
    small: NDArray[np.float32]
    small_scale: float
    px_per_pixel: float
    _grey: Grey | None = field(default=None, repr=False)
    _known: dict[str, tuple[Hashable, Any]] = field(default_factory=dict, repr=False)

    @property
    def sensor_pixels_across(self) -> float:
        """Sensor pixels along the sensor's long side, which is an upright picture's height."""
        return max(self.source.full_width_px, self.source.full_height_px) * self.px_per_pixel

    def close_up(self, reduce: int, box: Box) -> Picture:
        """Grey pixels of a box, 1/`reduce` of the size."""
        if self._grey and self._grey.reduce == reduce:
            return self._grey.part(box)
        return self.remember("close-up", (reduce, box), lambda: decode(self.source, reduce=reduce, box=box))

    def remember(self, what: str, key: Hashable, make: Callable[[], T]) -> T:
        """The value made of this picture for this key: kept from the last call with the same key, else made now."""
        known = self._known.get(what)
        if known is None or known[0] != key:
            known = self._known[what] = (key, make())
        made: T = known[1]
        return made

    def region_box(self, region: Region) -> Box:
        """The region in the file's full-size pixels."""
        return Box(*region.in_pixels(self.source.full_width_px, self.source.full_height_px))

    def coding_of(self, picture: Picture) -> tuple[int, ...]:
        """Quantisation steps of a part of this picture; () when it was averaged down since it was coded."""
        return self.source.luma_steps if picture.scale == self.source.scale else ()

    def region_of_overview(self, region: Region) -> tuple[slice, slice]:
        """The region as rows and columns of the overview."""
        height, width = self.light.shape
        left, top, right, bottom = region.in_pixels(width, height)
        return slice(top, bottom), slice(left, right)


@dataclass(frozen=True, eq=False)
class Pair:
    """A frame and its reference; `shift` is the shift of the whole picture from reference to frame, px of `small`."""

    frame: Material
    reference: Material
    shift: Shift

    @property
    def same_size(self) -> bool:
        return self.frame.light.shape == self.reference.light.shape


def gather(path: str, pixels_across: int | None = None, blur_limit_px: float | None = None) -> Material:
    """Open a picture and decode what the checks need of the whole of it.

    pixels_across  of the sensor's full-size picture, when known
    blur_limit_px  full-size pixels of the sensor, when a close-up will be wanted: then one decode may do for both
    Raises UnreadablePicture with a clause.
    """
    source = open_picture(path)
    if min(source.stored_size) < SMALLEST_PX:
        raise UnreadablePicture(f"has only {source.stored_size[0]} × {source.stored_size[1]} pixels")
    longest = max(source.full_width_px, source.full_height_px)
    scaled = pixels_across is not None and pixels_across > CROPPED * longest
    px_per_pixel = pixels_across / longest if pixels_across and scaled else 1.0
    closer = close_up_reduction(source.scale, blur_limit_px / px_per_pixel) if blur_limit_px else 1
    overview, grey = _overview_and_source(source, closer)
    return _material(source, read_exif(path), overview, px_per_pixel, grey)


def _material(source: Source, exif: Exif, overview: Picture, px_per_pixel: float, grey: Grey | None) -> Material:
    channels = linear_channels(overview.pixels)
    light = luminance_of(channels)
    times = max(1, max(light.shape) // REGISTRATION_PX)
    return Material(
        source=source,
        exif=exif,
        overview=overview,
        channels=channels,
        light=light,
        small=block_means(light, times, times),
        small_scale=overview.scale / times,
        px_per_pixel=px_per_pixel,
        _grey=grey,
    )


def _overview_and_source(source: Source, closer: int) -> tuple[Picture, Grey | None]:
    """The overview, and where close-ups at 1/`closer` come from the same decode, what they are cut from.

    At full size that costs more than it saves, and an overview as large as the close-up is decoded alone.
    """
    overview_already = source.is_stored_preview and max(source.stored_size) <= LONGEST_PREVIEW_PX
    reduce = 1 if overview_already else overview_reduction(source, OVERVIEW_PX)
    if source.header and 1 < closer < reduce:
        try:
            return decode_small_and_grey(source, small=reduce, grey=closer)
        except UnreadablePicture:  # damaged, or without chroma: the plain decode tells
            pass
    return decode(source, reduce=reduce, colour=True), None


def pair(frame: Material, reference: Material) -> Pair:
    """Register the frame on the reference; pictures of different size or shape stay where they are.

    A stored preview that doesn't know its original's size (an earlier version's archive made it) is taken for one of a
    picture as large as the frame, if its shape fits.
    """
    if _of_unknown_size(reference) and _only_larger(reference, frame):
        size = frame.source.full_width_px, frame.source.full_height_px
        reference = reference.remember(
            "at the scale of a frame", (size, frame.light.shape), lambda: _as_large_as(frame, reference)
        )
    if frame.small.shape != reference.small.shape:
        return Pair(frame, reference, NOT_MOVED)
    before = reference.remember("small contrast", (), lambda: contrast_of(reference.small))
    return Pair(frame, reference, shift_between(before, frame.small))


def _of_unknown_size(one: Material) -> bool:
    return one.source.is_stored_preview and one.source.scale == 1


def _only_larger(one: Material, other: Material) -> bool:
    """Whether the overview of the one is the larger, with sides as those of the other, to a pixel."""
    (height, width), (height_then, width_then) = one.light.shape, other.light.shape
    return bool(width > width_then and abs(height * width_then / width - height_then) <= 1)


def _as_large_as(frame: Material, reference: Material) -> Material:
    """The reference as a picture of the frame's full size, its overview at the scale of the frame's."""
    height, width = frame.light.shape
    overview = Image.fromarray(reference.overview.pixels).resize((width, height), Image.Resampling.BOX)
    full = frame.source
    source = replace(reference.source, full_width_px=full.full_width_px, full_height_px=full.full_height_px)
    picture = Picture(np.asarray(overview), frame.overview.scale)
    return _material(source, reference.exif, picture, frame.px_per_pixel, None)


def close_ups(both: Pair, region: Region, blur_limit_px: float) -> tuple[Picture, Picture, tuple[slice, slice]]:
    """Close-ups of the region with room around, of the reference and of the frame, and the region's place in them.

    The close-ups have equal shape and scale; the frame's begins where the whole picture's shift puts it.
    blur_limit_px  full-size pixels of the sensor
    Raises UnreadablePicture when the frame ends before the region.
    """
    reference, frame = both.reference, both.frame
    scale = min(reference.source.scale, frame.source.scale)
    reduce = close_up_reduction(scale, blur_limit_px / frame.px_per_pixel)
    step = round(reduce / scale)
    right, down = (round(s / reference.small_scale / step) * step for s in (both.shift.right_px, both.shift.down_px))
    if not both.shift.found:
        right = down = 0
    wanted = reference.region_box(region)
    box = _with_room(wanted, right, down, reference.source, step)
    ours = reference.close_up(reduce, box)
    theirs = frame.close_up(reduce, Box(*_shift_edges(box, right, down)))
    height, width = (min(sides) for sides in zip(ours.pixels.shape, theirs.pixels.shape, strict=True))
    inside = (
        _slice(wanted.top, wanted.bottom, ours.top_px, ours.scale, height),
        _slice(wanted.left, wanted.right, ours.left_px, ours.scale, width),
    )
    return _cut(ours, height, width), _cut(theirs, height, width), inside


def close_up_reduction(source_scale: float, blur_limit_px: float) -> int:
    """1, 2, 4 or 8: the largest that leaves the blur limit (px of the file's full size) its pixel."""
    pixels = max(blur_limit_px * source_scale / LIMIT_AT_SCALE_PX, 1.0)
    return int(min(8, 2 ** math.floor(math.log2(pixels) + 1e-9)))


def _with_room(box: Box, right: int, down: int, source: Source, step: int) -> Box:
    """The box with room around, cut so that it lies inside the picture as it is and moved by (right, down)."""
    across = max(MARGIN_PX, round(MARGIN_SHARE * box.width))
    along = max(MARGIN_PX, round(MARGIN_SHARE * box.height))
    left = max(0, -right, box.left - across)
    top = max(0, -down, box.top - along)
    return Box(
        -(-left // step) * step,
        -(-top // step) * step,
        min(source.full_width_px, source.full_width_px - right, box.right + across),
        min(source.full_height_px, source.full_height_px - down, box.bottom + along),
    )


def _shift_edges(box: Box, right: int, down: int) -> tuple[int, int, int, int]:
    return box.left + right, box.top + down, box.right + right, box.bottom + down


def _slice(low: int, high: int, start: int, scale: float, size: int) -> slice:
    first = max(0, round((low - start) * scale))
    return slice(min(first, size), max(min(first, size), min(size, round((high - start) * scale))))


def _cut(picture: Picture, height: int, width: int) -> Picture:
    return Picture(picture.pixels[:height, :width], picture.scale, picture.left_px, picture.top_px)
