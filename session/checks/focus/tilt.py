"""Is a flat piece out of square since the reference: by how many degrees, and which side is nearer to the camera.

A piece that leans is sharp along one line only, and its blur grows evenly to both sides of it, as far as the piece
leaves the plane of focus. So the square of the blur against the reference is a parabola across the line. Relief makes
none: focused elsewhere, a piece with heights changes that square in proportion to the height.

Blur is alike in front of the plane and behind it, so it doesn't tell the nearer side. That is drawn larger: content
at (x, y) from the middle of the picture moves by (x, y)·(x·tan a + y·tan b) / u, u from the entrance pupil (central
projection). Both are measured apart, and the side is told where they agree.

+right, +down; a slope is a rise towards the camera for each mm in that direction. Nothing is told without a
reference, since what blur there is by itself, a single picture doesn't show.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.drift.drift_verdict import tiles_between
from session.checks.focus.focus_verdict import defocus_mm_of
from session.checks.focus.region import TileBlurs
from session.checks.material.checked_picture import Pair
from session.frame.finding import CheckId, Finding, Level, Remedy, RemedyKind
from session.picture.noise import MEDIAN_TO_SD
from session.set.lens_in_use import lens_in_use
from session.set.setup import Revision
from session.units.numbers import mm_text

Floats = NDArray[np.float64]

FEWEST_TILES = 9
"""A parabola across a line in any direction has four unknowns; so many tiles contradict twice over. Chosen."""

STANDS_OUT_SD = 4.0
"""Standard deviations that the parabola must stand out of the tiles' scatter: one in 16 000 by chance (normal tails),
of some ten directions that differ. Chosen."""

SIDE_SD = 3.0
"""Standard deviations that the drawing must tell one side larger by, and within which both must agree. Chosen."""

DIRECTIONS = 36
"""Directions tried over half a turn, 5° apart; between them a parabola loses a hundredth of its height. Worked out."""

MOST_CONDITION = 1e10
"""Places of which the normal equations are worse conditioned lie on a line across the direction. Chosen."""

ODD_TILE_SD = 3.0
"""A tile so many standard deviations off the parabola counts for nothing, and costs no more from there on. Chosen."""

PARABOLA_ROUNDS, GROWTH_ROUNDS = 4, 6
"""Fits with weights from the fit before; the growth has twice as many unknowns and starts without weights. Chosen."""

TUKEY = 4.685
"""Standard deviations at which the weight of Tukey's biweight ends: 95 % as sharp as least squares for normal errors.
Holland and Welsch, Commun. Statist. A6 (1977) 813 (value from memory)."""

LEAST_OFF_MM = 1e-6
"""Shifts that all lie nearer to the fit are exact: then the weights are not spread by nothing. Chosen."""

LEAST_SPAN_PX = 1e-9
"""Places that span less lie on one line across the direction, and are left out by MOST_CONDITION. Chosen."""

SIDES = ("right", "lower right", "lower", "lower left", "left", "upper left", "upper", "upper right")


@dataclass(frozen=True)
class Tilt:
    """How far the piece is out of square to the camera since the reference.

    tilt_deg, tilt_sd_deg  by the blur, with one standard deviation
    line_deg               direction, clockwise from the right, in which the piece rises or falls
    nearer                 the side of the picture that is nearer to the camera; "" when it can't be told
    apart_mm               how much nearer it is than the opposite side of the region
    blur_px                blur radius at the region's end by this tilt, full-size px
    """

    tilt_deg: float
    tilt_sd_deg: float
    line_deg: float
    nearer: str
    apart_mm: float
    blur_px: float


@dataclass(frozen=True)
class BlurSlope:
    """The blur's growth across the sharp line: px of radius for each px from the line, both full-size.

    ends_px  how far the outermost tiles lie from the sharp line, and from end to end
    """

    direction: tuple[float, float]
    growth: float
    growth_sd: float
    ends_px: tuple[float, float]


def measure(
    both: Pair,
    tiles: TileBlurs | None,
    revision: Revision,
    *,
    f_number: float | None = None,
    sensor_width_mm: float | None = None,
) -> Tilt | None:
    """The tilt; None when none shows that blurs an end of the region beyond the limit, or the optics are unknown.

    tiles     of the region, against the reference
    f_number  as marked, of the frame; the set-up's when None
    """
    f_number = f_number or revision.settings.f_number
    slope = blur_slope(tiles) if tiles is not None and sensor_width_mm and f_number else None
    if slope is None or not sensor_width_mm or not f_number:
        return None
    farthest_px, length_px = slope.ends_px
    blur_px = slope.growth * farthest_px
    if blur_px <= revision.blur_limit_px:
        return None
    try:
        lens = lens_in_use(revision.arrangement, f_number)
    except ValueError:  # an arrangement that can't be; the rules tell it before the release
        return None
    pixel_mm = sensor_width_mm / both.frame.sensor_pixels_across
    off_mm = defocus_mm_of(blur_px * pixel_mm, lens)
    rise = off_mm / (farthest_px * pixel_mm / lens.magnification)
    sd = slope.growth_sd / slope.growth
    tilt_deg = math.degrees(math.atan(rise))
    higher = _higher_side(
        both, slope, (rise, sd * rise), lens.entrance_pupil_distance_mm, lens.magnification / pixel_mm
    )
    right, down = (higher * part for part in slope.direction)
    turned_deg = math.degrees(math.atan2(down, right)) if higher else math.degrees(math.atan2(*slope.direction[::-1]))
    return Tilt(
        tilt_deg=tilt_deg,
        tilt_sd_deg=sd * tilt_deg,
        line_deg=turned_deg % 360,
        nearer=SIDES[round(turned_deg / 45) % 8] if higher else "",
        apart_mm=rise * length_px * pixel_mm / lens.magnification,
        blur_px=blur_px,
    )


def findings(tilt: Tilt | None, limit_px: float) -> tuple[Finding, ...]:
    """A note on the tilt, with the side to move where it can be told; limit_px: the view's, a radius."""
    if tilt is None:
        return ()
    much = f"Out of square by {tilt.tilt_deg:.1f}° since the reference"
    apart = f"{mm_text(tilt.apart_mm)} over the region"
    if tilt.nearer:
        text = f"{much}: {_side(tilt.nearer)} is nearer, {apart}. Its ends are blurred by {tilt.blur_px:.1f} px."
        mend = f"move {_side(tilt.nearer)} {mm_text(tilt.apart_mm)} away from the camera, release again"
    else:
        across = SIDES[round(tilt.line_deg / 45) % 8], SIDES[(round(tilt.line_deg / 45) + 4) % 8]
        text = f"{much}: {across[0]} or {across[1]} is nearer, {apart}; which one, this frame doesn't tell."
        mend = f"move one of the two by {mm_text(tilt.apart_mm / 2)}, release again, and see which way it goes"
    return (
        Finding(
            CheckId.SQUARE,
            Level.NOTE,
            text,
            round(tilt.blur_px, 1),
            limit_px,
            "px",
            Remedy(RemedyKind.BY_HAND, mend),
        ),
    )


def blur_slope(tiles: TileBlurs) -> BlurSlope | None:
    """The parabola of the squared blur across the line that suits the tiles best; None when no parabola stands out."""
    known = np.isfinite(tiles.sd_px)
    if known.sum() < FEWEST_TILES:
        return None
    centres, radius, sd = tiles.centres_px[known], tiles.radius_px[known], tiles.sd_px[known]
    middle = centres.mean(axis=0)
    squared = np.sign(radius) * radius**2
    weight = 1 / (2 * np.maximum(np.abs(radius), sd) * sd) ** 2
    angles = np.arange(DIRECTIONS) * math.pi / DIRECTIONS
    directions = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    across = directions @ (centres - middle).T
    costs, found, variances = _parabolas(across, squared, weight)
    if not np.isfinite(costs).any():
        return None
    best = int(costs.argmin())
    curve, linear = found[best, :2]
    scatter = max(1.0, float(costs[best]) / (len(squared) - 4))
    curve_sd = math.sqrt(scatter * float(variances[best]))
    if curve <= STANDS_OUT_SD * curve_sd:
        return None
    line, growth = -linear / (2 * curve), math.sqrt(curve)
    right, down = directions[best]
    return BlurSlope(
        (float(right), float(down)),
        growth,
        curve_sd / (2 * growth),
        (float(np.abs(across[best] - line).max()), float(np.ptp(across[best]))),
    )


def _parabolas(across: Floats, values: Floats, weight: Floats) -> tuple[Floats, Floats, Floats]:
    """The best parabola along each direction: cost, (curve, slope, height), variance of the curve.

    across   (directions, n) places along each direction; values, weight  (n,)
    The cost is infinite where the places leave a parabola undetermined. An odd tile doesn't decide: weights after
    Tukey, from the plain fit on.
    """
    span = np.maximum(np.abs(across).max(axis=1, keepdims=True), LEAST_SPAN_PX)
    design = np.stack([(across / span) ** 2, across / span, np.ones_like(across)], axis=2)
    scale = np.concatenate([span**-2, 1 / span, np.ones_like(span)], axis=1)
    whole = np.linalg.cond(np.swapaxes(design, 1, 2) @ (design * weight[:, None])) < MOST_CONDITION
    trust, root = np.broadcast_to(weight, across.shape), np.sqrt(weight)
    found, inverse, off = np.zeros((len(across), 3)), np.zeros((len(across), 3, 3)), np.zeros_like(across)
    for _ in range(PARABOLA_ROUNDS):
        normal = np.swapaxes(design, 1, 2) @ (design * trust[..., None])
        inverse[whole] = np.linalg.pinv(normal[whole], hermitian=True)
        found = (inverse @ (np.swapaxes(design, 1, 2) @ (trust * values)[..., None]))[..., 0]
        off = np.abs(values - (design @ found[..., None])[..., 0]) * root
        reach = ODD_TILE_SD * np.maximum(1.0, MEDIAN_TO_SD * np.median(off, axis=1, keepdims=True))
        trust = weight * np.where(off < reach, (1 - (off / reach) ** 2) ** 2, 0.0)
    costs = np.where(whole, (np.minimum(off, ODD_TILE_SD) ** 2).sum(axis=1), np.inf)
    return costs, found * scale, inverse[:, 0, 0] * scale[:, 0] ** 2


def _higher_side(both: Pair, slope: BlurSlope, rise: tuple[float, float], pupil_mm: float, px_per_mm: float) -> int:
    """1 when the piece rises in the slope's direction, −1 when it falls, 0 when the drawing doesn't tell or disagrees.

    rise       (mm for each mm, its standard deviation) by the blur
    px_per_mm  full-size pixels for a mm on the piece
    """
    found = tiles_between(both)
    if found is None or not 0 < pupil_mm < math.inf:
        return 0
    tiles = found[1]
    counted = tiles.alike
    height, width = both.reference.light.shape
    to_mm = both.frame.px_per_pixel / both.frame.overview.scale / px_per_mm
    places = (tiles.centres[counted] - (width / 2, height / 2)) * to_mm
    shifts = tiles.left[counted] * to_mm
    told = _growth_towards(places, shifts, slope.direction)
    if told is None:
        return 0
    growth, sd = (value * pupil_mm for value in told)
    apart = abs(abs(growth) - rise[0])
    if abs(growth) < SIDE_SD * sd or apart > SIDE_SD * math.hypot(sd, rise[1]):
        return 0
    return 1 if growth > 0 else -1


def _growth_towards(places: Floats, shifts: Floats, direction: tuple[float, float]) -> tuple[float, float] | None:
    """How much larger the drawing grows towards a direction, 1/mm, and its standard deviation; None for too few tiles.

    places, shifts  (n, 2) mm on the piece from the middle of the picture
    Shift, turn and size of the whole are left free, and growth across the direction.
    """
    if len(places) < FEWEST_TILES:
        return None
    x, y = places.T
    along, beside = places @ direction, places @ (-direction[1], direction[0])
    none, one = np.zeros_like(x), np.ones_like(x)
    design = np.concatenate(
        [
            np.stack([x * along, x * beside, one, none, x, -y], axis=1),
            np.stack([y * along, y * beside, none, one, y, x], axis=1),
        ]
    )
    values, trust = np.concatenate([shifts[:, 0], shifts[:, 1]]), np.ones(2 * len(x))
    found, off = np.zeros(6), np.zeros_like(values)
    for _ in range(GROWTH_ROUNDS):
        root = np.sqrt(trust)
        found = np.linalg.lstsq(design * root[:, None], values * root, rcond=None)[0]
        off = np.abs(values - design @ found)
        reach = TUKEY * MEDIAN_TO_SD * max(float(np.median(off)), LEAST_OFF_MM)
        trust = np.where(off < reach, (1 - (off / reach) ** 2) ** 2, 0.0)
    free = trust.sum() - 6
    if free < 1:
        return None
    spread = float((trust * off**2).sum()) / free
    covariance = spread * np.linalg.pinv(design.T @ (design * trust[:, None]))
    return float(found[0]), math.sqrt(float(covariance[0, 0]))


def _side(nearer: str) -> str:
    return f"the {nearer} {'corner' if ' ' in nearer else 'side'}"
