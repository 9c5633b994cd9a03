"""Where the region of a picture lies in another picture, so that the two regions can be shown beside each other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.material.checked_picture import Material, gather, pair
from session.picture.linear_light import LINEAR
from session.picture.preview import Box, Source, decode
from session.picture.registration import shift_between
from session.set.setup import Region

CLOSE_PX = 512
"""Longest side of the two regions as they are registered close by: a shift of 0.1 px there is a pixel of a region of
5000 px, which the eye doesn't see at any size on a screen. Chosen."""


@dataclass(frozen=True)
class SamePlace:
    """Two rectangles of one size, each in full-size upright pixels of its own picture.

    registered   what one shows was found in the other; False: they are the same part of each frame only
    """

    one: Box
    other: Box
    registered: bool

    @property
    def moved_px(self) -> tuple[int, int]:
        """How far right and down the place lies in the other picture, px."""
        return self.other.left - self.one.left, self.other.top - self.one.top


def same_place(one_path: str, other_path: str, region: Region) -> SamePlace:
    """The region of the first picture, cut to the part that the second shows too, and its place in the second.

    Raises UnreadablePicture with a clause.
    """
    one, other = gather(one_path), gather(other_path)
    box = one.region_box(region)
    both = pair(other, one)
    if not (_size(one.source) == _size(other.source) and both.shift.found):
        return SamePlace(box, other.region_box(region), registered=False)
    right, down = (round(shift / one.small_scale) for shift in (both.shift.right_px, both.shift.down_px))
    first = _within(box, right, down, one)
    if first is None:
        return SamePlace(box, other.region_box(region), registered=False)
    if one.source.stored_size == other.source.stored_size:  # else one has nothing finer in it, as a stored preview
        finer = _closer(one.source, other.source, first, _shift_box(first, right, down))
        right, down = right + finer[0], down + finer[1]
    found = _within(box, right, down, one) or first
    return SamePlace(found, _shift_box(found, right, down), registered=True)


def _size(source: Source) -> tuple[int, int]:
    return source.full_width_px, source.full_height_px


def _shift_box(box: Box, right: int, down: int) -> Box:
    return Box(box.left + right, box.top + down, box.right + right, box.bottom + down)


def _within(box: Box, right: int, down: int, picture: Material) -> Box | None:
    """The part of the box that lies in a picture of this size here and when it is moved; None when none does."""
    width, height = _size(picture.source)
    left, top = max(box.left, -right), max(box.top, -down)
    end, bottom = min(box.right, width - right), min(box.bottom, height - down)
    return Box(left, top, end, bottom) if left < end and top < bottom else None


def _closer(one: Source, other: Source, here: Box, there: Box) -> tuple[int, int]:
    """How much farther right and down the content of one box lies in the other, full-size px; (0, 0) when not found."""
    reduce = next((k for k in (1, 2, 4) if max(here.width, here.height) * one.scale / k <= CLOSE_PX), 8)
    lights = _light(one, here, reduce), _light(other, there, reduce)
    height, width = (min(sides) for sides in zip(lights[0].shape, lights[1].shape, strict=True))
    shift = shift_between(lights[0][:height, :width], lights[1][:height, :width])
    if not shift.found:
        return 0, 0
    return round(shift.right_px * reduce / one.scale), round(shift.down_px * reduce / one.scale)


def _light(source: Source, box: Box, reduce: int) -> NDArray[np.float32]:
    light: NDArray[np.float32] = LINEAR[decode(source, reduce=reduce, box=box).pixels]
    return light
