"""How the light on the set compares with that of before: by ninths, in colour, and light by light from their solos.

The frame is laid onto the reference first, so that the piece's own tones drop out. A solo, ambient taken off, is
compared with the solo of before block by block: the level of the blocks says how much light there is, their scatter
whether the light comes from elsewhere. Power and distance make the same picture, unless the light stands close.

Where a light went is told first by its falloff over the picture. On a level surface E ~ P·l_z / d² and, to first order
from place to place, ln E rises by 3·l / d for each mm towards the light (l its direction along the surface; inverse
square and cosine of a point near the piece). So the slope of the blocks' ratio says how l / d changed: across the old
direction the light went around the piece; along it, it went up or down, or nearer or farther, which the level tells
apart. That holds where the picture's sides are those of the table, so for a camera that looks straight down: seen from
the side, a piece that lies falls off otherwise than one that stands, and nobody recorded which.

Where no distance was recorded, or relief scatters the blocks, it is told by the parallel-light analogy: on a matt
surface the picture under parallel light from any direction is a sum of those under three others, with the directions
summed alike. So the solo of now is fitted by all solos of before, whose directions were recorded, with Tukey's weights
against highlights and cast shadows; nothing need be known of the surface. It is told only where that sum fits far
better than the light's own old solo does.

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

SMOOTH = 0.02
"""Scatter of the blocks about a plane, ln of light, up to which its slope is the light's own falloff and not relief's.
Chosen on the same pieces: turns by 8° to 12° around left up to 0.008, up and down before relief 0.015 to 0.05."""

LEAST_SHIFT, SLOPE_SDS = 0.03, 5.0
"""Change of the light's direction along the surface, of 1, from which on it stands elsewhere: 2.7° at 40°; and in
standard deviations, since blocks are not independent. The same light again came to 0.01. Chosen."""

DISTANCE_FITS, HEIGHT_FITS = 0.04, 0.1
"""How far falloff and level may contradict a change of distance, and must contradict one of height (ln), for distance
to be told: 70 mm at 450 came to 0.02 and 0.45, 8° of height to 0.14 and 0.02. Chosen."""

LEAST_DOWN_DEG = 75.0
"""How far the camera must look down for the falloff to tell the way. Worked out for three points of light, each 12°
around, 8° higher or 80 mm farther, over a piece that lies and one that faces the camera: at 75° they are told to 2° and
1 mm, at 60° one that is only farther is told as 9° higher. Chosen."""

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
    """A light's solo of now against its solo of before.

    level_ev             how much more light it gives; None where too little of it shows
    scatter_ev           standard deviation between the picture's blocks
    clockwise_deg        how far it stands clockwise around the piece from its old place, seen from above
    higher_deg           how far above it; both None where the picture doesn't tell the way
    farther_mm           how far it stands off farther, where that and not its power or height changed; else None
    difference, warmer_ev   as in LightCompared
    no_way               why the falloff, which differs, doesn't tell the way, a clause; else ""
    ambient_due          ambient alone was shot then and not now: it is in both solos, and part of what is told
    """

    level_ev: float | None
    scatter_ev: float = 0.0
    clockwise_deg: float | None = None
    higher_deg: float | None = None
    farther_mm: float | None = None
    difference: float = 0.0
    warmer_ev: float = 0.0
    no_way: str = ""
    ambient_due: bool = False

    @property
    def absent(self) -> bool:
        return self.level_ev is not None and self.level_ev < ABSENT_EV

    @property
    def elsewhere(self) -> bool:
        """Whether the shading says that the light comes from another place than before."""
        return self.scatter_ev > SHADING_EV or self.clockwise_deg is not None or bool(self.no_way)


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
    field_mm: float,
    view_down_deg: float | None,
) -> LightAlone:
    """One light's solo of now against those of before.

    then    the solos of before, by the lights' names; at least that of `name`
    ambient_then, ambient_now   are taken off only where both are there: off one solo alone they would be told as light
    lights  as recorded, with their directions and distances
    field_mm   width of the piece that the pictures show
    view_down_deg   how far the camera looks down; None where nobody recorded it
    """
    ambient_due = ambient_then is not None and ambient_now is None
    if ambient_then is None or ambient_now is None:
        ambient_then = ambient_now = None
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
        return LightAlone(level, ambient_due=ambient_due)
    scatter = MEDIAN_TO_SD * float(np.median(np.abs(ratio - level)))
    difference, warmer = _tint(before, after, usable & (after.min(0) > LEAST_LIGHT))
    light = next((one for one in lights if one.name == name), None)
    change = np.where(
        usable, np.log(np.maximum(grey_now, LEAST_LIGHT / 64) / np.maximum(grey_then, LEAST_LIGHT)), np.nan
    )
    fall = _falloff(change.astype(np.float64), field_mm / own.shape[1])
    clockwise, higher, farther, no_way = None, None, None, ""
    if light and fall.scatter <= SMOOTH and light.distance_mm and _direction(light) is not None:
        if view_down_deg is not None and view_down_deg >= LEAST_DOWN_DEG:
            clockwise, higher, farther = _place_by_falloff(light, fall, level * math.log(2))
        elif math.hypot(fall.right, fall.down) * light.distance_mm / 3 >= _least_shift(light.distance_mm, fall):
            no_way = _no_way(view_down_deg)
        scatter = fall.scatter / math.log(2)
    else:
        over = {key: _over(one, ambient_then) for key, one in then.items()}
        way = _way(name, over, _over(now, ambient_now), mask, lights)
        if way and (scatter > SHADING_EV or max(map(abs, way)) >= TURNED_DEG):
            clockwise, higher = way
    return LightAlone(level, scatter, clockwise, higher, farther, difference, warmer, no_way, ambient_due)


@dataclass(frozen=True)
class Falloff:
    """ln of the light's change, for each mm right and down; one standard deviation; the blocks' scatter about it."""

    right: float
    down: float
    sd: float
    scatter: float


def _falloff(change: Values, mm_per_px: float) -> Falloff:
    """The slope of ln of the change over the blocks, (rows, columns), NaN where it can't be told."""
    rows, columns = change.shape
    down, right = np.mgrid[:rows, :columns].astype(np.float64) * BLOCK_PX * mm_per_px
    known = np.isfinite(change)
    design = np.stack([np.ones(known.sum()), (right - right.mean())[known], (down - down.mean())[known]], 1)
    found, scatter = _robust(design, change[known])
    spread = np.sqrt(np.diag(np.linalg.pinv(design.T @ design))) * scatter
    return Falloff(float(found[1]), float(found[2]), float(spread[1:].max()), scatter)


def _least_shift(far_mm: float, fall: Falloff) -> float:
    """Change of l along the surface, of 1, that is sure for a light so far away."""
    return max(LEAST_SHIFT, SLOPE_SDS * fall.sd * far_mm / 3)


def _no_way(view_down_deg: float | None) -> str:
    if view_down_deg is None:
        return "while nobody recorded how far the camera looks down"
    return f"by its falloff, since the camera looks down by {view_down_deg:.0f}° only"


def _place_by_falloff(
    light: PlacedLight, fall: Falloff, level: float
) -> tuple[float, float, float | None] | tuple[None, None, None]:
    """Clockwise and higher, °, or farther, mm; None for a light that wasn't moved.

    level  ln of the light's change
    """
    old, far_mm = _direction(light), light.distance_mm
    if old is None or far_mm is None or old[2] >= 1:
        return None, None, None
    # the picture's right is the right of the camera's side, its lower edge that side
    was_along = np.array([-old[0], old[1]])
    along = was_along + np.array([fall.right, fall.down]) * far_mm / 3
    was, least = math.hypot(old[0], old[1]), _least_shift(far_mm, fall)
    outward = float(along @ was_along) / was
    beside = float(was_along[0] * along[1] - was_along[1] * along[0]) / was  # clockwise as seen in the picture
    if max(abs(outward - was), abs(beside)) < least:
        return None, None, None
    length = min(math.hypot(outward, beside), 0.999)
    clockwise = math.degrees(math.atan2(beside, outward)) if abs(beside) >= least else 0.0
    if abs(length - was) < least:
        return clockwise, 0.0, None
    by_height = abs(level - math.log(math.sqrt(1 - length**2) / old[2]))
    by_distance = abs(length - was * math.exp(level / 2))
    if by_distance < DISTANCE_FITS and by_height > HEIGHT_FITS:
        return clockwise, 0.0, far_mm * (math.exp(-level / 2) - 1)
    return clockwise, math.degrees(math.acos(length) - math.acos(was)), None


def _way(
    name: str, then: Mapping[str, Light], now: Light, mask: NDArray[np.bool_], lights: Sequence[PlacedLight]
) -> tuple[float, float] | None:
    """How far, °, the light went clockwise and up, by a sum of the solos of before; None where no sum fits."""
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
    """Unit vector to the light: left, towards the camera's side, up; None without measured angles."""
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
