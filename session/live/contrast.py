"""The number that rises as focus nears: fine contrast of the region, as a percentage of its brightness.

Differences of pixels two apart (Brenner's), each multiplied with its neighbour across:

    C² = ½ · mean[ dx(x, y) · dx(x, y + 1) + dy(x, y) · dy(x + 1, y) ] / (mean + 14)²,   dx = v(x + 2, y) − v(x, y)

- Noise: a square would add the noise's own energy, which changes with the lamps and drowns faint detail. Two
  differences that share no pixel have independent noise, so it averages out, but for the little that JPEG coding
  ties together; detail, which is longer than a pixel, stays. Farther apart, a sharp picture's finest detail would
  count against it.
- Light: an sRGB code plus 14 goes with light to the power 1/2.4 (IEC 61966-2-1, above code 10), so dividing by the
  region's mean takes flicker and exposure out.
- Far out of focus it still rises: a first difference sees coarser detail than a Laplacian.

It says nothing by itself, only against itself: another piece, region or direction of light has other numbers.
Source of the difference: Brenner et al., J. Histochemistry and Cytochemistry 24 (1976) 100 (value from memory); the
products are our own, chosen among eleven measures on photographs under discs and on simulated pieces (shake,
flicker, noise) that tests/benchmarks/test_live_focus.py doesn't use.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from session.live.decode import Codes, Floats
from session.picture.linear_light import block_means
from session.set.setup import Region

APART_PX, BESIDE_PX = 2, 1

SRGB_OFFSET_CODES = 255 * 0.055
"""Offset that makes sRGB codes a pure power of light. IEC 61966-2-1."""

LEAST_REGION_PX = 32
"""A smaller region is measured with what surrounds it: fewer products than this squared are unsteady. Chosen."""

MOST_REGION_PX = 300
"""A region of more pixels than this squared is measured in bands of rows spread evenly over it, BAND_PX high each.
Keeps a frame's cost well under that of its decoding."""

BAND_PX = 16

PLACE_PX = 8
"""Side of the places in which `change_in_view` looks for detail. Their neighbours are looked at too, so that a swing of
so much, or what focusing changes in the picture's size, is no loss."""

STRIP_PLACES = 8
"""Rows of places that are worked out at once: what a strip of a live picture takes then stays in the processor's cache,
and a whole picture takes less than half the time."""

HIDDEN_BELOW, SEEN_SHARE = 0.5, 0.75
"""A place is hidden where less than the first is left of its detail's energy, against where most is left: the place
that the second of the energy doesn't surpass. Focus takes from all places alike: on 20 benches of
tests/support/live_hands.py with seeds from 5000 what could be seen fell by what the whole did, within 0.03 of the
logarithm, up to 0.7 depths of field away. The first was chosen among four on the one hand's tip met there that had been
called past the best; half left 0.02 of its fall. A tip that thins detail by less is still taken for focus."""

LEAST_ENERGY = 1e-6
"""Guards a division; noise of a single code leaves a thousand times more in a place."""

LEAST_CONTRAST = 0.01
"""Percent; below it there is no detail to focus on, and ratios would be of noise."""


def region_pixels(codes: Codes, region: Region) -> Codes:
    """The region of a live picture, (height, width)."""
    height, width = codes.shape
    left, top, right, bottom = region.in_pixels(width, height)
    left, right = _at_least(left, right, width)
    top, bottom = _at_least(top, bottom, height)
    return codes[top:bottom, left:right]


def fine_contrast(pixels: Codes) -> float:
    """Fine contrast, percent of the brightness; at least LEAST_CONTRAST.

    pixels  (height, width) grey sRGB codes of the region, sides of at least 5 px
    """
    bands = _bands(pixels)
    energy = sum(_products(band) * len(band) for band in bands) / sum(len(band) for band in bands)
    bright = float(np.mean([band.mean() for band in bands])) + SRGB_OFFSET_CODES
    return max(100 * float(np.sqrt(max(energy, 0.0) / 2)) / bright, LEAST_CONTRAST)


@dataclass(frozen=True, eq=False)
class Detail:
    """A region by places of PLACE_PX squared: energy of its fine detail, and grey sRGB code; both (rows, columns)."""

    energy: Floats
    bright: Floats


def detail(codes: Codes) -> Detail:
    """The detail of a region, place by place.

    codes  (height, width) grey sRGB codes of the region, sides of at least 12 px
    """
    high = STRIP_PLACES * PLACE_PX
    tops = range(0, max(1, (codes.shape[0] - APART_PX) // PLACE_PX * PLACE_PX), high)
    energy, bright = zip(*(_by_place(codes[top : top + high + APART_PX]) for top in tops), strict=True)
    return Detail(np.concatenate(energy), np.concatenate(bright))


def change_in_view(before: Detail, now: Detail) -> float:
    """The change of the fine contrast where it can still be seen, as the natural logarithm of a ratio.

    Defocus lowers the contrast everywhere; a hand, of whatever tone, takes it where the hand hides the piece and leaves
    the rest. So places that lost far more than the rest are left out, before and now. 0 when there is no detail.
    before, now  of one region
    """
    left = _with_neighbours(now.energy) / np.maximum(_with_neighbours(before.energy), LEAST_ENERGY)
    rank = np.argsort(left, axis=None)
    held = np.cumsum(before.energy.ravel()[rank])
    most_left = left.ravel()[rank[np.searchsorted(held, SEEN_SHARE * held[-1])]]
    seen = left >= HIDDEN_BELOW * most_left
    energy_before, energy_now = float(before.energy[seen].sum()), float(now.energy[seen].sum())
    if min(energy_before, energy_now) <= 0:
        return 0.0
    bright_before, bright_now = (float(one.bright[seen].mean()) + SRGB_OFFSET_CODES for one in (before, now))
    return math.log(energy_now / energy_before) / 2 - math.log(bright_now / bright_before)


def _by_place(codes: Codes) -> tuple[Floats, Floats]:
    """Products as in `fine_contrast`, summed over places; what noise makes negative is 0. And the places' means."""
    values = codes.astype(np.float32)
    across, along = values[:, APART_PX:] - values[:, :-APART_PX], values[APART_PX:] - values[:-APART_PX]
    products = across[BESIDE_PX:-BESIDE_PX] * across[: -2 * BESIDE_PX]
    products += along[:, BESIDE_PX:-BESIDE_PX] * along[:, : -2 * BESIDE_PX]
    energy: Floats = np.maximum(block_means(products, PLACE_PX, PLACE_PX), 0)
    bright: Floats = block_means(values[:-APART_PX, :-APART_PX], PLACE_PX, PLACE_PX)
    return energy, bright


def _with_neighbours(places: Floats) -> Floats:
    padded = np.pad(places, 1)
    height, width = places.shape
    total: Floats = sum(
        (padded[y : y + height, x : x + width] for y in range(3) for x in range(3)), np.zeros_like(places)
    )
    return total


def _products(codes: Codes) -> float:
    values = codes.astype(np.float32)
    across, along = values[:, APART_PX:] - values[:, :-APART_PX], values[APART_PX:] - values[:-APART_PX]
    below = float(np.vdot(across[BESIDE_PX:], across[:-BESIDE_PX]))
    # each pixel with the next in reading order, then without those at the ends of rows: one pass and no copy
    flat = along.ravel()
    beside = float(np.vdot(flat[BESIDE_PX:], flat[:-BESIDE_PX])) - float(np.vdot(along[1:, 0], along[:-1, -1]))
    return below / across[BESIDE_PX:].size + beside / along[:, BESIDE_PX:].size


def _bands(pixels: Codes) -> list[Codes]:
    height, width = pixels.shape
    count = max(1, MOST_REGION_PX**2 // (BAND_PX * width))
    if height <= count * BAND_PX:
        return [pixels]
    starts = ((np.arange(count) + 0.5) * height / count - BAND_PX / 2).astype(int)
    return [pixels[start : start + BAND_PX] for start in starts]


def _at_least(low: int, high: int, size: int) -> tuple[int, int]:
    if high - low >= LEAST_REGION_PX:
        return low, high
    low = max(0, min((low + high - LEAST_REGION_PX) // 2, size - LEAST_REGION_PX))
    return low, min(size, low + LEAST_REGION_PX)
