"""How the light on the set compares with that of before: by ninths, in colour, and light by light from their solos.

The frame is laid onto the reference first, so that the piece's own tones drop out. A solo, ambient taken off, is
compared with the solo of before block by block: their level says how much light there is, their scatter whether it
comes from elsewhere. Power and distance make the same picture, unless the light stands close.

Where a light went is told by the parallel-light analogy: on a matt surface the picture under parallel light from any
direction is a sum of those under three others, with the directions summed alike. So the solo of now is fitted by all
solos of before, whose directions were recorded, with Tukey's weights against highlights and cast shadows; nothing need
be known of the surface. It is told only where that sum fits far better than the light's own old solo does.

EV > 0: brighter now. Sources: Q. Zhang et al., Active Lighting Recurrence by Parallel Lighting Analogy, IEEE TPAMI
(preprint 2020); pictures as sums of three, A. Shashua, Int. J. Computer Vision 21 (1997) 99 (value from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from session.checks.light.colour_difference import ciede2000, lab_of_linear
from session.match.camera_framing import at_size_of
from session.match.solo_picture import SoloPicture
from session.picture.displacement import Motion, moved_back
from session.picture.linear_light import ONE_CODE, block_means, ev_between, luminance_of
from session.picture.noise import MEDIAN_TO_SD
from session.set.setup import PlacedLight
from session.units.surfaces import MID_GREY

Values = NDArray[np.float64]
Light = NDArray[np.float32]

BLOCK_PX = 24
"""Side of the blocks that are compared. On the simulated table (seed 3, three pieces, camera a pixel off) blocks of 24
px of the same light scatter by 0.007 EV, those of 8 px by 0.03 EV, which hides a light turned by 12°."""

LEAST_LIGHT = 4 * ONE_CODE
"""Blocks with less light of a solo are left out: their coding counts for more than their light. Chosen."""

FEWEST_BLOCKS = 40
"""Three lights want so many to contradict them. Chosen: a twentieth of the blocks of a picture of 700 px."""

ABSENT_EV = -3.0
"""A light that gives so much less than before does not fire: nobody turns a flash down by 3 stops unawares. Chosen."""

SHADING_EV = 0.02
"""Scatter of the blocks from which on a light comes from elsewhere; the same light again, camera within a pixel,
stays under half of it, see BLOCK_PX. Chosen."""

FITS_BETTER = 0.85
"""The sum of solos must leave less than this share of what the light's own solo leaves, or no way is told. Chosen on
turns of a key by 12° around and 10° up before three pieces of the simulated table (seed 3): around left 0.45 to 0.79,
up, which a piece of little relief shows as power, 0.93 to 1.0."""

TURNED_DEG = 2.0
"""A light that seems to have turned by less, its blocks scattering little, stands where it did: the same light seems to
turn by up to 0.4°, one turned by 8° by 3° and more. Chosen on the same pieces."""

TUKEY, FIT_ROUNDS, LEAST_OFF = 4.685, 12, 1e-6


@dataclass(frozen=True)
class LightCompared:
    """The whole picture against the reference.

    ninths_ev   (3, 3) EV by ninths of the reference; NaN where nothing can be compared
    difference  ΔE2000 of the picture's grey, at equal luminance
    warmer_ev   red to blue, EV; + = redder
    """

    ninths_ev: tuple[tuple[float, ...], ...]
    difference: float
    warmer_ev: float

    @property
    def known_ev(self) -> tuple[float, ...]:
        """The ninths that can be compared, row by row, EV."""
        return tuple(ev for row in self.ninths_ev for ev in row if not math.isnan(ev))


@dataclass(frozen=True)
class LightAlone:
    """One light now against its solo of before.

    level_ev             how much more light it gives; None where too little of it shows
    scatter_ev           standard deviation between the picture's blocks
    clockwise_deg        how far it stands clockwise around the piece from its old place, seen from above
    higher_deg           how far above it; both None where the picture doesn't tell the way
    difference, warmer_ev   as in LightCompared
    """

    level_ev: float | None
    scatter_ev: float = 0.0
    clockwise_deg: float | None = None
    higher_deg: float | None = None
    difference: float = 0.0
    warmer_ev: float = 0.0

    @property
    def absent(self) -> bool:
        return self.level_ev is not None and self.level_ev < ABSENT_EV

    @property
    def elsewhere(self) -> bool:
        """Whether the shading says that the light comes from another place than before."""
        return self.scatter_ev > SHADING_EV or self.clockwise_deg is not None


@dataclass(frozen=True, eq=False)
class LaidPicture:
    """A picture laid onto the reference's pixels: (3, height, width) linear, and (height, width) where it may count."""

    channels: Light
    counted: NDArray[np.bool_]


def lay_picture(picture: SoloPicture, shape: tuple[int, ...], motion: Motion) -> LaidPicture:
    """The picture as it would lie without the motion, at the reference's size."""
    burnt, seen = at_size_of(picture.burnt.astype(np.float32), shape), np.ones(shape, np.float32)
    channels = np.stack([moved_back(at_size_of(channel, shape), motion) for channel in picture.channels])
    counted = (moved_back(burnt, motion) < 1e-3) & (moved_back(seen, motion) > 1 - 1e-3)
    return LaidPicture(channels, counted)


def compare_light(then: LaidPicture, now: LaidPicture) -> LightCompared:
    """The whole of a picture against the reference, both laid onto each other."""
    both = then.counted & now.counted
    before, after = luminance_of(then.channels), luminance_of(now.channels)
    height, width = before.shape
    rows = []
    for top, bottom in pairwise(np.linspace(0, height, 4).astype(int)):
        row = []
        for left, right in pairwise(np.linspace(0, width, 4).astype(int)):
            here = both[top:bottom, left:right]
            means = [float(one[top:bottom, left:right][here].mean()) if here.any() else 0.0 for one in (after, before)]
            row.append(ev_between(*means) if here.mean() > 1 / 4 else math.nan)
        rows.append(tuple(row))
    blocks_then, blocks_now, counted = _blocks(then.channels, both), _blocks(now.channels, both), _whole(both)
    usable = counted & (blocks_then.min(0) > LEAST_LIGHT) & (blocks_now.min(0) > LEAST_LIGHT)
    return LightCompared(tuple(rows), *_tint(blocks_then, blocks_now, usable))


def alone(
    name: str,
    then: Mapping[str, LaidPicture],
    ambient_then: LaidPicture | None,
    now: LaidPicture,
    ambient_now: LaidPicture | None,
    lights: Sequence[PlacedLight],
) -> LightAlone:
    """One light's solo of now against those of before.

    then    the solos of before, by the lights' names; at least that of `name`
    lights  as recorded, with their directions
    """
    mask = np.all([one.counted for one in (*then.values(), now)], axis=0)
    own = then[name].counted & now.counted
    before = _blocks(_over(then[name], ambient_then), own)
    after = _blocks(_over(now, ambient_now), own)
    usable = _whole(own) & (before.min(0) > LEAST_LIGHT)
    if usable.sum() < FEWEST_BLOCKS:
        return LightAlone(None)
    grey_then, grey_now = luminance_of(before), luminance_of(after)
    ratio = np.log2(np.maximum(grey_now, LEAST_LIGHT / 64)[usable] / grey_then[usable])
    level = float(np.median(ratio))
    if level < ABSENT_EV:
        return LightAlone(level)
    scatter = MEDIAN_TO_SD * float(np.median(np.abs(ratio - level)))
    difference, warmer = _tint(before, after, usable & (after.min(0) > LEAST_LIGHT))
    way = _way(
        name, {key: _over(one, ambient_then) for key, one in then.items()}, _over(now, ambient_now), mask, lights
    )
    if way and scatter <= SHADING_EV and max(map(abs, way)) < TURNED_DEG:
        way = None
    clockwise, higher = way or (None, None)
    return LightAlone(level, scatter, clockwise, higher, difference, warmer)


def _way(
    name: str, then: Mapping[str, Light], now: Light, mask: NDArray[np.bool_], lights: Sequence[PlacedLight]
) -> tuple[float, float] | None:
    """How far, °, the light went clockwise and up, by a sum of the solos of before; None where that doesn't fit."""
    known = {one.name: _direction(one) for one in lights if one.name in then and _direction(one) is not None}
    if name not in known or len(known) < 2:
        return None
    columns = np.stack([luminance_of(_blocks(then[one], mask)) for one in known])
    wanted = luminance_of(_blocks(now, mask))
    usable = _whole(mask) & (columns.min(0) > LEAST_LIGHT) & (wanted > LEAST_LIGHT)
    if usable.sum() < FEWEST_BLOCKS:
        return None
    own = list(known).index(name)
    scaled = columns[:, usable].astype(np.float64) / columns[own][usable]
    relative = (wanted[usable] / columns[own][usable]).astype(np.float64)
    shares, left = _robust(scaled.T, relative)
    _, left_by_own = _robust(scaled[[own]].T, relative)
    if left > FITS_BETTER * left_by_own:
        return None
    total = np.zeros(3)
    for share, direction, column in zip(shares, known.values(), columns, strict=True):
        assert direction is not None
        total += share * float(np.median(column[usable])) / max(float(direction[2]), 0.05) * direction
    old = known[name]
    if old is None or not np.linalg.norm(total):
        return None
    (was_round, was_up), (round_deg, up_deg) = _angles(old), _angles(total)
    return (round_deg - was_round + 180) % 360 - 180, up_deg - was_up


def _robust(design: Values, wanted: Values) -> tuple[Values, float]:
    """Least squares with Tukey's weights, and the scatter of what is left."""
    trust, spread = np.ones(len(wanted)), 0.0
    found: Values = np.zeros(design.shape[1])
    for _ in range(FIT_ROUNDS):
        root = np.sqrt(trust)
        found = np.asarray(np.linalg.lstsq(design * root[:, None], wanted * root, rcond=None)[0], np.float64)
        off = np.abs(wanted - design @ found)
        spread = max(MEDIAN_TO_SD * float(np.median(off)), LEAST_OFF)
        trust = np.where(off < TUKEY * spread, (1 - (off / (TUKEY * spread)) ** 2) ** 2, 0.0)
    return found, spread


def _direction(light: PlacedLight) -> Values | None:
    """Unit vector to the light: left, towards the camera's side, up; None where nobody measured its angles."""
    if light.azimuth_deg is None or light.elevation_deg is None or light.elevation_deg <= 0:
        return None
    around, up = math.radians(light.azimuth_deg), math.radians(light.elevation_deg)
    return np.array([math.sin(around) * math.cos(up), math.cos(around) * math.cos(up), math.sin(up)])


def _angles(direction: Values) -> tuple[float, float]:
    left, front, up = (float(value) for value in direction)
    return math.degrees(math.atan2(left, front)), math.degrees(math.atan2(up, math.hypot(left, front)))


def _over(picture: LaidPicture, ambient: LaidPicture | None) -> Light:
    return picture.channels if ambient is None else picture.channels - ambient.channels


def _blocks(channels: Light, counted: NDArray[np.bool_]) -> Light:
    """(3, rows, columns) means of the blocks."""
    return np.stack([block_means(channel * counted, BLOCK_PX, BLOCK_PX) for channel in channels])


def _whole(counted: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The blocks of which every pixel counts."""
    whole: NDArray[np.bool_] = block_means(counted.astype(np.float32), BLOCK_PX, BLOCK_PX) > 1 - 1e-3
    return whole


def _tint(then: Light, now: Light, usable: NDArray[np.bool_]) -> tuple[float, float]:
    """ΔE2000 of a middle grey, and red to blue in EV, by the median of the usable blocks; 0 for none."""
    if usable.sum() < FEWEST_BLOCKS:
        return 0.0, 0.0
    ratios = np.log2(now[:, usable] / then[:, usable])
    red, blue = (float(np.median(ratios[n] - ratios[1])) for n in (0, 2))
    grey, tinted = np.full(3, MID_GREY), MID_GREY * np.exp2([red, 0.0, blue])
    tinted *= MID_GREY / float(luminance_of(tinted.astype(np.float32)[:, None, None])[0, 0])
    return ciede2000(lab_of_linear(grey), lab_of_linear(tinted)), red - blue
