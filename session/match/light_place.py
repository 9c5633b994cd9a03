"""Where a light went, told by how its shading over the piece changed since its solo of before.

By falloff: on a level surface E ~ P·l_z / d² and, to first order from place to place, ln E rises by 3·l / d for each mm
towards the light (l its direction along the surface; inverse square and cosine of a point near the piece). So the slope
of the blocks' ratio says how l / d changed: across the old direction the light went around the piece; along it, it went
up or down, or nearer or farther, which the level tells apart. That holds where the picture's sides are those of the
table, so for a camera that looks straight down: seen from the side, a piece that lies falls off otherwise than one that
stands, and nobody recorded which. How sure the slope is, is found by leaving out one part of the picture after the
other (delete-one jackknife), so that relief, whose blocks are not independent, counts.

By shadows, where relief hides the falloff: a light that went up shortens every cast shadow, so that places come into
light and no place goes dark; a light that went down darkens places and lights none; a light that went around does both.
A light that only gives more, or stands nearer, moves no shadow.

By a sum of solos, for three lights and more: on a matt surface the picture under parallel light from any direction is a
sum of those under three others, with the directions summed alike (parallel-light analogy). So the solo of now is fitted
by all solos of before, whose directions were recorded, with Tukey's weights against highlights and cast shadows;
nothing need be known of the surface. It is told only where that sum fits far better than the light's own old solo does.

Sources: Q. Zhang et al., Active Lighting Recurrence by Parallel Lighting Analogy, IEEE TPAMI (preprint 2020); pictures
as sums of three, A. Shashua, Int. J. Computer Vision 21 (1997) 99; jackknife, Efron, SIAM 1982 (values from memory).
Clockwise as seen from above; the picture's right is the right of the camera's side, its lower edge that side.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from session.match.laid_picture import (
    BLOCK_PX,
    FEWEST_BLOCKS,
    LEAST_LIGHT,
    LaidPicture,
    Light,
    blocks_of,
    over_ambient,
    whole_blocks,
)
from session.picture.linear_light import luminance_of
from session.picture.noise import MEDIAN_TO_SD
from session.set.setup import PlacedLight

Values = NDArray[np.float64]

FITS_BETTER = 0.85
"""The sum of solos must leave less than this share of what the light's own solo leaves, or no way is told. Chosen on
turns of a key by 12° around and 10° up before three pieces of the simulated table (seed 3): around left 0.45 to 0.79,
up, which a piece of little relief shows as power, 0.93 to 1.0."""

FEWEST_SOLOS = 3
"""Two directions span a plane: of a turn out of that plane their sum tells another one."""

LEAST_SHIFT, SHIFT_SDS = 0.03, 3.0
"""Change of the light's direction along the surface, of 1, from which on it stands elsewhere: 2.7° at 40°; and in
standard deviations. The same light again came to 0.02 on the simulated table's seeds 1 to 8. Chosen."""

USUAL_AROUND, USUAL_HEIGHT = 0.12, 0.05
"""How far a light put up again by tape and angles usually stands off, change of its direction along the surface, of 1:
9° around and 4° of height at 40° up. The turn that is told is the one to be expected by this and by the slope (a normal
distribution's mean by Bayes' rule). Chosen."""

SURE_SHARE, MOST_AROUND_DEG, MOST_HIGHER_DEG = 0.9, 10.0, 5.0
"""Where so much of the slope's turn or more is to be expected, all of that is told; of one less sure no more than so
many degrees at once, since what is larger is mostly gloss's or relief's: it is measured anew from where the light then
stands. Chosen on the simulated table's seeds 201 to 360."""

DISTANCE_FITS, HEIGHT_FITS = 0.04, 0.1
"""How far falloff and level may contradict a change of distance, and one of height (ln). 70 mm at 450 came to 0.02
and 0.45, 8° of height to 0.14 and 0.02. Chosen."""

DISTANCE_SHARE = 0.5
"""Of the change that another distance would make so much may be missing: a room sends a part of the light back, without
falloff. On seeds 1 to 8 up to a third was. Chosen."""

LEAST_DOWN_DEG = 75.0
"""How far the camera must look down for falloff and shadows to tell the way. Worked out for three points of light, each
12° around, 8° higher or 80 mm farther, over a piece that lies and one that faces the camera: at 75° they are told to 2°
and 1 mm, at 60° one that is only farther is told as 9° higher. Chosen."""

SHADOW_PX = 4
"""Side of the blocks that come into light or go out of it. Chosen."""

SHADOW_LN = 0.4
"""Change of a block beyond the whole's, ln of light, that counts as having come into light, or gone out of it. Chosen:
the same light again left no more than 0.2 % of the blocks beyond it on seeds 1 to 8."""

SHADOW_SHARE = 0.004
"""Share of such blocks from which on shadows have moved: twice that of the same light again. Chosen."""

ONE_WAY = 0.9
"""(lit − dark) / (lit + dark) of these blocks from which on all shadows grew or shrank: on seeds 1 to 8 a light 6° to
12° higher or lower came to 0.94 and more, one 8° to 20° around to 0.85 at most. Chosen."""

UNTOLD_HEIGHT_DEG = 5.0
"""How far a light is to be raised or lowered where shadows tell the way and its level doesn't tell how far. Chosen."""

MOST_HEIGHT_DEG = 10.0
"""No more is asked for at once by shadows: a wrong power would be told as height. Chosen."""

RELIEF = 0.03
"""Scatter of the blocks about a plane, ln of light, from which on their slope is relief's and not the light's own: on
seeds 1 to 8 lights that went around left up to 0.018. Chosen."""

MOST_TURN_DEG = 45.0
"""A falloff that tells a larger turn is not a light's: nobody puts one up so far off by tape and angles. Chosen."""

SHADING = 0.014
"""Scatter of the blocks, ln of light (0.02 EV), from which on a light comes from elsewhere; the same light again, the
camera within a pixel, stays under half of it, see `laid_picture.BLOCK_PX`. Chosen."""

TURNED_DEG = 2.0
"""A light that seems to have turned by less, its blocks scattering little, stands where it did: the same light seems to
turn by up to 0.4°, one turned by 8° by 3° and more. Chosen on the simulated table's seed 3."""

PARTS = (4, 6)
"""Rows and columns of the parts that are left out in turn. Chosen."""

TUKEY, FIT_ROUNDS, LEAST_OFF = 4.685, 12, 1e-6


@dataclass(frozen=True)
class LightPlace:
    """Where a light stands against its old place.

    clockwise_deg  around the piece, seen from above
    higher_deg     above it; both None where the picture doesn't tell the way
    farther_mm     where its distance and neither power nor height changed; else None
    turned         the shading says that the light comes from another direction, told or not
    same_distance  the falloff is that of the old distance
    smooth         the falloff was told, and explains what the blocks show
    scatter        of the blocks about what falloff explains, ln of light
    no_way         why the falloff, which differs, doesn't tell the way, a clause; else ""
    """

    scatter: float
    clockwise_deg: float | None = None
    higher_deg: float | None = None
    farther_mm: float | None = None
    turned: bool = False
    same_distance: bool = False
    smooth: bool = False
    no_way: str = ""

    @property
    def elsewhere(self) -> bool:
        """Whether the shading says that the light comes from another place than before."""
        return self.scatter > SHADING or self.clockwise_deg is not None or self.turned


@dataclass(frozen=True, eq=False)
class Solos:
    """One light's solo of now, and the solos of before by the lights' names, with their ambient pictures."""

    then: Mapping[str, LaidPicture]
    now: LaidPicture
    ambient_then: LaidPicture | None
    ambient_now: LaidPicture | None

    def light_then(self, name: str) -> Light:
        """(3, height, width) of a light before."""
        return over_ambient(self.then[name], self.ambient_then)

    @property
    def light_now(self) -> Light:
        """(3, height, width)"""
        return over_ambient(self.now, self.ambient_now)


def where_it_stands(
    name: str,
    solos: Solos,
    lights: Sequence[PlacedLight],
    change: Values,
    field_mm: float,
    view_down_deg: float | None,
    asked_mm: float | None = None,
) -> LightPlace:
    """The place of a light against its old place.

    lights  as recorded, with their directions and distances
    asked_mm  distance at which a substitute wants the light; None for that of then. What is told is against that place
    change  (rows, columns) ln of the change of the light's blocks, NaN where it can't be told
    field_mm, view_down_deg   as in `alone`
    """
    level = float(np.nanmedian(change))
    light = next((one for one in lights if one.name == name), None)
    scatter = MEDIAN_TO_SD * float(np.nanmedian(np.abs(change - level)))
    looks_down = view_down_deg is not None and view_down_deg >= LEAST_DOWN_DEG
    level_only = LightPlace(scatter)
    if light is not None and light.distance_mm and direction_of(light) is not None:
        fall = _falloff(change, field_mm / solos.now.counted.shape[1])
        far_mm = asked_mm or light.distance_mm
        if asked_mm:
            fall, light = _without_move(fall, light, asked_mm), replace(light, distance_mm=asked_mm)
        if not looks_down:
            shifted = math.hypot(fall.right, fall.down) * far_mm / 3 >= _least_shift(far_mm, fall)
            return LightPlace(fall.scatter, turned=shifted, no_way=_no_way(view_down_deg) if shifted else "")
        found = _place_by_falloff(light, fall, level)
        if found.clockwise_deg is not None and _is_plausible(found):
            return _likeliest_place(found, fall, far_mm)
        too_far = found.turned and found.scatter <= RELIEF
        level_only = replace(found, clockwise_deg=None, higher_deg=None, farther_mm=None, turned=too_far)
        scatter = fall.scatter
    lit, dark = _shadows(name, solos, level)
    moved = lit + dark >= SHADOW_SHARE
    if looks_down and moved and abs(lit - dark) >= ONE_WAY * (lit + dark):
        return LightPlace(scatter, 0.0, _rise_deg(light, level, lit > dark), turned=True)
    if level_only.smooth and not moved:
        return level_only
    way = _way(name, solos, lights)
    if way is None or (scatter <= SHADING and max(map(abs, way)) < TURNED_DEG):
        return replace(level_only, turned=moved or level_only.turned)
    return LightPlace(scatter, *way, turned=True)


def _no_way(view_down_deg: float | None) -> str:
    if view_down_deg is None:
        return "while nobody recorded how far the camera looks down"
    return f"by its falloff, since the camera looks down by {view_down_deg:.0f}° only"


# --- falloff --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Falloff:
    """ln of the light's change, for each mm right and down.

    sd       one standard deviation, by the jackknife
    scatter  of the blocks about it
    width_mm of the piece that they cover

    Gloss and relief lie alike in all parts, so that the jackknife doesn't see them; what they scatter they may as well
    do from one side of the picture to the other. On 114 lights of the simulated table (seeds 501 to 560, three pieces,
    camera 0.3 to 2.5 px off) 95 % of the slopes lay within 1.4 and all within 2.4 times that, but only 75 % within one,
    95 % within 2.8 and all within 9.5 standard deviations by the jackknife.
    """

    right: float
    down: float
    sd: float
    scatter: float
    width_mm: float

    @property
    def expected_error(self) -> float:
        """Of the slope, each way, with gloss and relief."""
        return math.hypot(self.sd, self.scatter / self.width_mm)


def _falloff(change: Values, mm_per_px: float) -> Falloff:
    """The slope of ln of the change over the blocks, (rows, columns), NaN where it can't be told."""
    rows, columns = change.shape
    at_row, at_column = np.mgrid[:rows, :columns]
    known = np.isfinite(change)
    down, right = (at[known] * BLOCK_PX * mm_per_px for at in (at_row, at_column))
    design = np.stack([np.ones(known.sum()), right - right.mean(), down - down.mean()], 1)
    found, scatter = _robust(design, change[known])
    part = at_row[known] * PARTS[0] // rows * PARTS[1] + at_column[known] * PARTS[1] // columns
    without = [_robust(design[part != one], change[known][part != one])[0] for one in np.unique(part)]
    spread = np.sqrt((len(without) - 1) * np.var(np.array(without), axis=0))
    width_mm = columns * BLOCK_PX * mm_per_px
    return Falloff(float(found[1]), float(found[2]), float(spread[1:].max()), scatter, width_mm)


def _without_move(fall: Falloff, light: PlacedLight, asked_mm: float) -> Falloff:
    """The slope without the part that the light's move to another distance, in its old direction, makes: 3·l / d."""
    old, far_mm = direction_of(light), light.distance_mm
    if old is None or far_mm is None:
        return fall
    steeper = 3 * (1 / asked_mm - 1 / far_mm)
    return replace(fall, right=fall.right + steeper * float(old[0]), down=fall.down - steeper * float(old[1]))


def _is_plausible(found: LightPlace) -> bool:
    turns = [abs(deg) for deg in (found.clockwise_deg, found.higher_deg) if deg is not None]
    return found.scatter <= RELIEF and max(turns, default=0.0) <= MOST_TURN_DEG


def _likeliest_place(found: LightPlace, fall: Falloff, far_mm: float) -> LightPlace:
    """The place with its turns as large as they are to be expected of a light so far away."""
    sd = fall.expected_error * far_mm / 3
    kept_around, kept_height = (usual**2 / (usual**2 + sd**2) for usual in (USUAL_AROUND, USUAL_HEIGHT))
    return replace(
        found,
        clockwise_deg=_expected_deg(found.clockwise_deg, kept_around, MOST_AROUND_DEG),
        higher_deg=_expected_deg(found.higher_deg, kept_height, MOST_HIGHER_DEG),
    )


def _expected_deg(deg: float | None, share: float, most_deg: float) -> float | None:
    if deg is None:
        return None
    return share * deg if share >= SURE_SHARE else max(-most_deg, min(most_deg, share * deg))


def _least_shift(far_mm: float, fall: Falloff) -> float:
    """Change of l along the surface, of 1, that is sure for a light so far away."""
    return max(LEAST_SHIFT, SHIFT_SDS * fall.sd * far_mm / 3)


def _place_by_falloff(light: PlacedLight, fall: Falloff, level: float) -> LightPlace:
    """The place that the falloff tells; without a way for a light that surely hasn't moved, or that it doesn't tell.

    level  ln of the light's change
    """
    old, far_mm = direction_of(light), light.distance_mm
    if old is None or far_mm is None or old[2] >= 1:
        return LightPlace(fall.scatter)
    was_along = np.array([-old[0], old[1]])
    along = was_along + np.array([fall.right, fall.down]) * far_mm / 3
    was, least = math.hypot(old[0], old[1]), _least_shift(far_mm, fall)
    outward = float(along @ was_along) / was
    beside = float(was_along[0] * along[1] - was_along[1] * along[0]) / was  # clockwise as seen in the picture
    by_distance = was * math.expm1(level / 2)
    if max(abs(outward - was), abs(beside)) < least:
        smooth = fall.scatter <= SHADING
        return LightPlace(fall.scatter, same_distance=abs(by_distance) >= 2 * least, smooth=smooth)
    length = min(math.hypot(outward, beside), 0.999)
    clockwise = math.degrees(math.atan2(beside, outward)) if abs(beside) >= least else 0.0
    if abs(length - was) < least:
        return LightPlace(fall.scatter, clockwise, 0.0, turned=True)
    height_misfit = abs(level - math.log(math.sqrt(1 - length**2) / old[2])) / HEIGHT_FITS
    distance_misfit = abs(length - was - by_distance)
    if distance_misfit < max(DISTANCE_FITS, DISTANCE_SHARE * abs(by_distance)) and height_misfit > max(
        1.0, distance_misfit / DISTANCE_FITS
    ):
        return LightPlace(fall.scatter, clockwise, 0.0, far_mm * math.expm1(-level / 2), turned=clockwise != 0)
    return LightPlace(
        fall.scatter, clockwise, math.degrees(math.acos(length) - math.acos(min(was, 0.999))), turned=True
    )


# --- shadows --------------------------------------------------------------------------------------


def _shadows(name: str, solos: Solos, level: float) -> tuple[float, float]:
    """Shares of the picture that came into the light, and that went out of it."""
    counted = solos.then[name].counted & solos.now.counted
    before, after = (
        luminance_of(blocks_of(light, counted, SHADOW_PX)) for light in (solos.light_then(name), solos.light_now)
    )
    usable = whole_blocks(counted, SHADOW_PX) & (np.maximum(before, after * math.exp(-level)) > LEAST_LIGHT)
    if not usable.any():
        return 0.0, 0.0
    floor = LEAST_LIGHT / 4
    change = np.log(np.maximum(after[usable], floor) / np.maximum(before[usable], floor)) - level
    return float((change > SHADOW_LN).mean()), float((change < -SHADOW_LN).mean())


def _rise_deg(light: PlacedLight | None, level: float, higher: bool) -> float:
    """How much higher the light stands, °: as far as its level on a level surface says, l_z growing with it."""
    sign = 1.0 if higher else -1.0
    old = direction_of(light) if light is not None else None
    if old is None or level * sign <= 0:
        return sign * UNTOLD_HEIGHT_DEG
    up = math.asin(min(0.999, float(old[2]) * math.exp(level))) - math.asin(min(0.999, float(old[2])))
    return sign * min(MOST_HEIGHT_DEG, max(1.0, abs(math.degrees(up))))


# --- sums of solos --------------------------------------------------------------------------------


def _way(name: str, solos: Solos, lights: Sequence[PlacedLight]) -> tuple[float, float] | None:
    """How far, °, the light went clockwise and up, by a sum of the solos of before; None where no sum fits."""
    known = {one.name: way for one in lights if one.name in solos.then and (way := direction_of(one)) is not None}
    if name not in known or len(known) < FEWEST_SOLOS:
        return None
    mask = np.all([one.counted for one in (*solos.then.values(), solos.now)], axis=0)
    columns = np.stack([luminance_of(blocks_of(solos.light_then(one), mask)) for one in known])
    wanted = luminance_of(blocks_of(solos.light_now, mask))
    usable = whole_blocks(mask) & (columns.min(0) > LEAST_LIGHT) & (wanted > LEAST_LIGHT)
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
        total += share * float(np.median(column[usable])) / max(float(direction[2]), 0.05) * direction
    if not np.linalg.norm(total):
        return None
    (was_round, was_up), (round_deg, up_deg) = _angles(known[name]), _angles(total)
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


def direction_of(light: PlacedLight) -> Values | None:
    """Unit vector to the light: left, towards the camera's side, up; None without measured angles."""
    if light.azimuth_deg is None or light.elevation_deg is None or light.elevation_deg <= 0:
        return None
    around, up = math.radians(light.azimuth_deg), math.radians(light.elevation_deg)
    return np.array([math.sin(around) * math.cos(up), math.cos(around) * math.cos(up), math.sin(up)])


def _angles(direction: Values) -> tuple[float, float]:
    left, front, up = (float(value) for value in direction)
    return math.degrees(math.atan2(left, front)), math.degrees(math.atan2(up, math.hypot(left, front)))
