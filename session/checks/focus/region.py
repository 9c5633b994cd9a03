"""The region of a frame compared with the same region of the reference: how much blurrier, in full-size pixels.

The region is found in the frame by registration, once over the whole picture and once more close by, cut into
patches, and measured by `focus_measure`. A large blur is measured again on smaller pictures, where it is a few
pixels again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.checks.focus.measure import (
    Changes,
    PatchEnergies,
    RelativeBlur,
    Window,
    choose_patches,
    detectability,
    patch_energies,
    relative_blur,
)
from session.checks.material.check_limits import CLIPPED_CODE, FAINT_DETECTABILITY, LEAST_DETECTABILITY
from session.checks.material.checked_picture import REGISTRATION_PX, Material, Pair, close_ups
from session.picture.linear_light import LINEAR, block_means
from session.picture.noise import noise_of
from session.picture.preview import UnreadablePicture
from session.picture.registration import contrast_of, shift_between
from session.set.setup import Region

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

STILL_PX = 1.0
"""The piece counts as moved beyond this, at hand: less is mirror slap and warming up. Guessed."""

CLIPPED_APART = 0.02
"""A patch is left out when one picture has this much more of it burnt out. Guessed."""

COARSER_ABOVE_PX = 4.0
"""A radius above this, at hand, is measured again at half the scale: all bands but the lowest are gone there."""

Codes = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class TileBlurs:
    """Blur of small tiles over the region against the reference, full-size px; negative: sharper.

    centres_px        (n, 2) right and down, from any one place
    radius_px, sd_px  (n,)
    """

    centres_px: NDArray[np.float64]
    radius_px: NDArray[np.float64]
    sd_px: NDArray[np.float64]


@dataclass(frozen=True)
class RegionBlur:
    """Blur of the region against the reference, full-size px; negative: sharper than the reference.

    detectability  in how many standard deviations a blur at the limit would show
    scale          pixels at hand per full-size pixel of the sensor
    in_part        part of the region lost this while another part became sharper
    tiles          None where parts of the region weren't told apart
    """

    blur_px: float
    blur_px_sd: float
    detectability: float
    scale: float
    in_part: bool = False
    tiles: TileBlurs | None = field(default=None, compare=False, repr=False)

    def tells(self, limit_px: float) -> bool:
        """Whether a blur at the limit, px, would show here, or would show faintly and a larger one shows beyond doubt.

        A blur within the limit must also have been measured as well as was promised: a small blur takes energy with
        its square, so where the limit shows in d standard deviations, no blur is known to the limit over √d.
        """
        if self.blur_px - 2 * self.blur_px_sd > limit_px:
            return self.detectability >= FAINT_DETECTABILITY
        as_promised = self.blur_px > limit_px or self.blur_px_sd <= limit_px / math.sqrt(LEAST_DETECTABILITY)
        return self.detectability >= LEAST_DETECTABILITY and as_promised


@dataclass(frozen=True, eq=False)
class _CloseUps:
    """Reference and frame of one shape, the piece lying alike in both but for a fraction of a pixel.

    noises    variances of the noise, code²
    steps     their JPEGs' quantisation steps, () where averaged down since
    inside    the region in both
    moved     the piece lies elsewhere in the frame
    remember  keeps what was made of the reference, by its name and key
    """

    reference: Codes
    frame: Codes
    noises: tuple[float, float]
    steps: tuple[tuple[int, ...], tuple[int, ...]]
    inside: Window
    moved: bool
    remember: Callable[[str, Hashable, Callable[[], PatchEnergies]], PatchEnergies]

    def energies(self, windows: Sequence[Window], what: str) -> tuple[PatchEnergies, PatchEnergies]:
        """Energies of the windows in the reference and in the frame; `what` names the windows for remembering."""
        key = tuple((part.start, part.stop) for window in windows for part in window), self.noises[0]
        before = self.remember(
            what, key, lambda: patch_energies(self.reference, windows, self.noises[0], self.steps[0])
        )
        return before, patch_energies(self.frame, windows, self.noises[1], self.steps[1])

    def half_size(self) -> _CloseUps:
        """The close-ups at half the size."""
        rows, columns = (slice(part.start // 2, part.stop // 2) for part in self.inside)
        noises = self.noises[0] / 4, self.noises[1] / 4
        halves = _half_codes(self.reference), _half_codes(self.frame)
        return _CloseUps(*halves, noises, ((), ()), (rows, columns), self.moved, _make_anew)


def measure(both: Pair, region: Region, blur_limit_px: float, *, relit: bool = False) -> RegionBlur:
    """Measure the region of a registered pair.

    blur_limit_px  the view's limit, a radius in px
    relit          shading changed its pattern: then parts of the region are not told apart, as moved shadows look alike
    Raises UnreadablePicture when the region can't be decoded.
    """
    at_hand, scale = _align(both, region, blur_limit_px)
    changes, windows = Changes(relit, at_hand.moved), _patches(at_hand)
    if not windows:
        return RegionBlur(0.0, math.inf, 0.0, scale)
    energies = at_hand.energies(windows, "patches")
    known = detectability(*energies, blur_limit_px * scale, changes)
    blur = relative_blur(*energies, changes, pooled=True)
    parts = None if relit else _parts(at_hand, changes)
    lost = None if parts is None else _lost_part(parts, blur_limit_px * scale, changes)
    tiles = None if parts is None else parts.at_full_size(scale)
    if lost is not None and lost.radius_px[0] > blur.radius_px[0]:
        worst, worst_sd = float(lost.radius_px[0]) / scale, float(lost.sd_px[0]) / scale
        return RegionBlur(worst, worst_sd, known, scale, in_part=True, tiles=tiles)
    while abs(blur.radius_px[0]) > COARSER_ABOVE_PX and min(at_hand.frame.shape) >= 3 * SMALLEST_PATCH_PX:
        at_hand, scale = at_hand.half_size(), scale / 2
        windows = _patches(at_hand) or windows
        blur = relative_blur(*at_hand.energies(windows, "patches"), changes, pooled=True)
    return RegionBlur(float(blur.radius_px[0]) / scale, float(blur.sd_px[0]) / scale, known, scale, tiles=tiles)


@dataclass(frozen=True, eq=False)
class _Parts:
    """Small windows over the region, what they hold in both pictures, and how much blurrier each is."""

    windows: Sequence[Window]
    reference: PatchEnergies
    frame: PatchEnergies
    blur: RelativeBlur

    def at_full_size(self, scale: float) -> TileBlurs:
        centres = [((columns.start + columns.stop) / 2, (rows.start + rows.stop) / 2) for rows, columns in self.windows]
        return TileBlurs(np.array(centres) / scale, self.blur.radius_px / scale, self.blur.sd_px / scale)


def _parts(at_hand: _CloseUps, changes: Changes) -> _Parts | None:
    """The region's parts, each measured by itself; None for too few."""
    windows = _tiles(at_hand)
    if len(windows) < FEWEST_TILES:
        return None
    reference, frame = at_hand.energies(windows, "small tiles")
    return _Parts(windows, reference, frame, relative_blur(reference, frame, changes))


def _lost_part(parts: _Parts, limit_px: float, changes: Changes) -> RelativeBlur | None:
    """Blur of the region's part that lost sharpness while another part gained; None without a lost part.

    A region that holds several heights may look as sharp as before on the whole, with another height in focus
    than the one that was chosen.
    """
    blur = parts.blur
    clear = np.abs(blur.radius_px) > np.maximum(2 * blur.sd_px, CLEAR_AT_LIMITS * limit_px)
    lost, gained = clear & (blur.radius_px > 0), clear & (blur.radius_px < 0)
    if min(lost.mean(), gained.mean()) < PART_OF_REGION:
        return None
    return relative_blur(choose_patches(parts.reference, lost), choose_patches(parts.frame, lost), changes, pooled=True)


def _align(both: Pair, region: Region, blur_limit_px: float) -> tuple[_CloseUps, float]:
    """Both close-ups cut to what they share, and their scale in pixels per pixel of the sensor."""
    reference, frame, inside = close_ups(both, region, blur_limit_px)
    place = (reference.scale, reference.left_px, reference.top_px, reference.pixels.shape)
    right_px, down_px = _shift(both.reference, place, reference.pixels, frame.pixels)
    right, down = round(right_px), round(down_px)
    height, width = reference.pixels.shape
    here = (slice(max(0, -down), height - max(0, down)), slice(max(0, -right), width - max(0, right)))
    there = (slice(max(0, down), height + min(0, down)), slice(max(0, right), width + min(0, right)))
    rows, columns = (
        slice(max(0, part.start - cut.start), min(part.stop, cut.stop) - cut.start)
        for part, cut in zip(inside, here, strict=True)
    )
    if min(rows.stop - rows.start, columns.stop - columns.start) < 1:
        raise UnreadablePicture(f"doesn't reach as far as the region, being moved by {right} and {down} px")
    steps = both.reference.coding_of(reference), both.frame.coding_of(frame)
    noise = both.reference.remember("noise", place, lambda: noise_of(reference.pixels, steps[0]))
    noises = noise, noise_of(frame.pixels, steps[1])
    if both.reference.exif.iso is not None and both.reference.exif.iso == both.frame.exif.iso:
        # at one ISO speed both have the same noise, and the picture with less texture tells it better
        noises = min(noises), min(noises)
    across = right_px + (frame.left_px - reference.left_px) * frame.scale
    along = down_px + (frame.top_px - reference.top_px) * frame.scale
    at_hand = _CloseUps(
        reference=reference.pixels[here],
        frame=frame.pixels[there],
        noises=noises,
        steps=steps,
        inside=(rows, columns),
        moved=math.hypot(across, along) > STILL_PX,
        remember=lambda what, key, make: both.reference.remember(what, (place, right, down, key), make),
    )
    return at_hand, frame.scale / both.frame.px_per_pixel


def _make_anew(what: str, key: Hashable, make: Callable[[], PatchEnergies]) -> PatchEnergies:
    return make()


def _shift(known: Material, place: Hashable, reference: Codes, frame: Codes) -> tuple[float, float]:
    """Where the close-up's content went, (right, down) px at hand; nowhere when it isn't found.

    known, place  the reference, and which close-up of it this is
    """
    times = max(1, max(reference.shape) // REGISTRATION_PX)
    before = known.remember("close-up contrast", place, lambda: contrast_of(_mean_light(reference, times)))
    shift = shift_between(before, _mean_light(frame, times))
    return (shift.right_px * times, shift.down_px * times) if shift.found else (0.0, 0.0)


def _mean_light(codes: Codes, times: int) -> NDArray[np.float32]:
    """Light of the mean codes of blocks; registration is content with that, and it is quick."""
    height, width = (side // times * times for side in codes.shape)
    light: NDArray[np.float32] = LINEAR[np.asarray(Image.fromarray(codes[:height, :width]).reduce(times))]
    return light


def _tiles(at_hand: _CloseUps) -> list[Window]:
    """Small windows over the region, spread evenly where there are too many."""
    rows, columns = (
        [slice(at, at + TILE_PX) for at in range(part.start, part.stop - TILE_PX + 1, TILE_PX)]
        for part in at_hand.inside
    )
    windows = [(row, column) for row in rows for column in columns]
    every = max(1, -(-len(windows) // MOST_TILES))
    return [window for window in windows[::every] if _clip_alike(at_hand, window)]


def _patches(at_hand: _CloseUps) -> list[Window]:
    """Windows of one size that cover the region, or as many as are measured, spread evenly."""
    rows, columns = (
        _spans(part.start, part.stop, size) for part, size in zip(at_hand.inside, at_hand.frame.shape, strict=True)
    )
    windows = [(row, column) for row in rows for column in columns]
    every = -(-len(windows) // MOST_PATCHES)
    return [window for window in windows[every // 2 :: every] if _clip_alike(at_hand, window)]


def _clip_alike(at_hand: _CloseUps, window: Window) -> bool:
    """Whether about as much is burnt out in both pictures: detail lost in white says nothing of the focus."""
    shares = [float((picture[window] >= CLIPPED_CODE).mean()) for picture in (at_hand.reference, at_hand.frame)]
    return abs(shares[0] - shares[1]) <= CLIPPED_APART


def _spans(start: int, stop: int, size: int) -> list[slice]:
    length = stop - start
    if length < SMALLEST_PATCH_PX:
        length = min(SMALLEST_PATCH_PX, size)
        start = min(max(0, (start + stop - length) // 2), size - length)
    count = -(-length // LARGEST_PATCH_PX)
    side = length // count
    return [slice(start + i * side, start + (i + 1) * side) for i in range(count)]


def _half_codes(codes: Codes) -> Codes:
    halved: Codes = np.rint(block_means(codes.astype(np.float32), 2, 2)).astype(np.uint8)
    return halved
