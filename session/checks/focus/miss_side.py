"""Is a missed focus nearer or farther than it should be: told on a piece that is known to lie aslant to the camera.

Blur is alike on both sides of the plane of focus, so one place doesn't tell the side. On a piece that lies on the table
while the camera looks down at an angle, what is higher in the picture is farther away, by offset · cot(angle). Focused
z0 farther than in the reference, a place z farther than the region changes the square of its blur by k²·(z0² − 2·z·z0):
the far places gain and the near ones lose, along a line whose slope has the sign of z0 and the size that the miss in
the middle of the region gives it. Where the slope has another size, the piece doesn't lie so, and nothing is told.

Depths along the axis, + = away from the camera; +down in the picture. Derived; the same square as `tilt` uses.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.focus.region import TileBlurs
from session.frame.finding import FocusJudgement
from session.set.setup import Revision
from session.units.numbers import mm_text

Floats = NDArray[np.float64]

FEWEST_TILES = 9
"""As many as a tilt is told by. Chosen."""

LEAST_VIEW_DEG, MOST_VIEW_DEG = 15.0, 85.0
"""Looking lower a camera sees pieces that stand rather than the table; looking down steeper the table is square to it
within what a hand levels. Chosen."""

SURELY_SDS, LIKELY_SDS = 4.0, 2.5
"""Standard deviations by which the slope must differ from that of the other side. 2.5 on one side alone is 1 of 160 by
chance (normal tails); relief that leans makes more."""

SIZE_WITHIN = 2.0
"""The slope's size must be within this many times of what miss and angle give. Chosen."""

ROUNDS, ODD_TILE_SD = 4, 3.0
"""Fits with tiles left out that lie so many standard deviations off the line before."""


@dataclass(frozen=True)
class MissSide:
    """On which side of the region the focus lies.

    nearer  to the camera than the region; else farther
    surely  by SURELY_SDS; else likely, by LIKELY_SDS
    """

    nearer: bool
    surely: bool

    def words(self, miss_mm: float) -> str:
        """`sharpest about 1.2 mm nearer (surely)`."""
        side, certainty = "nearer" if self.nearer else "farther", "surely" if self.surely else "likely"
        return f"sharpest about {mm_text(miss_mm)} {side} ({certainty})"

    def remedy(self, miss_mm: float) -> str:
        """`focus 1.2 mm farther in live view`."""
        return f"focus {mm_text(miss_mm)} {'farther' if self.nearer else 'nearer'} in live view"


def miss_side(
    focus: FocusJudgement, tiles: TileBlurs | None, revision: Revision, sensor_width_mm: float | None, pixels: float
) -> MissSide | None:
    """The side of a miss; None where angle, optics or tiles don't tell it.

    tiles    of the region, against the reference
    pixels   of the full-size picture along the sensor's long side, `sensor_width_mm`
    """
    angle_deg, miss_mm, ratio = revision.view_down_deg, focus.defocus_mm, revision.arrangement.magnification
    if tiles is None or angle_deg is None or not miss_mm or not focus.blur_px or not sensor_width_mm or ratio <= 0:
        return None
    if not LEAST_VIEW_DEG <= angle_deg <= MOST_VIEW_DEG or len(tiles.radius_px) < FEWEST_TILES:
        return None
    farther_mm = -tiles.centres_px[:, 1] * sensor_width_mm / pixels / ratio / math.tan(math.radians(angle_deg))
    farther_mm -= farther_mm.mean()
    gained = np.sign(tiles.radius_px) * tiles.radius_px**2
    sd = 2 * np.abs(tiles.radius_px) * tiles.sd_px + tiles.sd_px**2
    slope, slope_sd = _line(farther_mm, gained, sd)
    wanted = 2 * focus.blur_px**2 / miss_mm  # 2·k²·z0, by k·z0 the blur in the middle
    stands_out = abs(slope) / max(slope_sd, 1e-12)
    if stands_out < LIKELY_SDS or not 1 / SIZE_WITHIN <= abs(slope) / wanted <= SIZE_WITHIN:
        return None
    return MissSide(nearer=bool(slope > 0), surely=bool(stands_out >= SURELY_SDS))


def _line(x: Floats, y: Floats, sd: Floats) -> tuple[float, float]:
    """Slope of the weighted line through (x, y) and its standard deviation, by the scatter where that is larger."""
    kept = np.ones(len(x), bool)
    slope, slope_sd = 0.0, math.inf
    for _ in range(ROUNDS):
        weight = kept / np.maximum(sd, np.median(sd)) ** 2
        total = weight.sum()
        x0, y0 = float((weight * x).sum() / total), float((weight * y).sum() / total)
        spread = float((weight * (x - x0) ** 2).sum())
        if kept.sum() < FEWEST_TILES or spread <= 0:
            return 0.0, math.inf
        slope = float((weight * (x - x0) * (y - y0)).sum()) / spread
        off = (y - y0 - slope * (x - x0)) * np.sqrt(1 / np.maximum(sd, np.median(sd)) ** 2)
        scatter = max(1.0, float(np.sqrt((off[kept] ** 2).sum() / (kept.sum() - 2))))
        slope_sd = scatter / math.sqrt(spread)
        kept = np.abs(off) < ODD_TILE_SD * scatter
    return slope, slope_sd
