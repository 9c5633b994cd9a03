"""Where the piece lies on plain ground, how bright the ground is, and where the shadow falls, from one picture alone.

The ground is what the picture's rim shows, when nearly all of it is one surface whose light falls off evenly: a plane
through the light in EV. Places that differ from the plane are the piece or its shadow. A shadow is darker than the
ground and has the ground's colour; of a piece that is bright, coloured or has such parts over most of it, shadows are
left out, of a dark grey piece a shadow with a hard edge counts to the piece.

Everything is told in percent of the picture and EV. The picture is looked at in blocks of `BLOCK_PX` of the overview.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.light.brightness import DARKEST_CODE
from session.checks.light.cells import PLAIN_EV, Cells, plane_of
from session.checks.material.check_limits import CLIPPED_CODE
from session.checks.material.checked_picture import Material
from session.picture.linear_light import LINEAR, ONE_CODE, block_means
from session.set.client_standard import ShadowSide
from session.units.surfaces import MID_GREY

BLOCK_PX = 4
"""Of the overview, whose long side has 700 px at least: half a percent of the picture. Chosen."""

RIM_SHARE = 0.06
"""The rim, of each side of the picture: less than the tenth that stays free around a piece. Common practice, no
source."""

PLAIN_RIM_SHARE = 0.7
"""So much of the rim must be one surface: a piece may run out of the picture at one of the four sides. Chosen."""

MOST_GRAIN_EV = 0.3
"""Scatter of the rim's blocks about the plane up to which it is one surface: cloth and paper scatter less, wood and
printed ground more. Chosen."""

STANDS_OUT_SD = 4.0
"""Standard deviations of the rim by which a block differs from the ground: one block in 16 000 by chance. Chosen."""

COLOURED_EV = 0.35
"""Red or blue to green against the ground's: twice what shadows filled by walls and cards do. Chosen."""

NEIGHBOURS = 3
"""Fewest differing blocks beside a differing block: less is dust. Chosen."""

MOSTLY_BRIGHT = 0.5
"""Share of the differing area that the parts without shadow span. Chosen."""

CUT_OFF_SHARE = 0.02
"""What comes nearer than this to two opposite edges, of the picture's side, runs out of it: the blocks at the very edge
have fewer neighbours. Chosen."""

NEAR_RIM_SHARE = 0.04
"""What comes nearer to the rim on three sides is a pattern, or a piece that fills the picture. Chosen."""

MOST_RUNS = 5
"""Separate parts along the usual row or column; more are a pattern and no piece. Chosen."""

SHADOW_REACH = 0.5
"""How far beside the piece a shadow is looked for, of the piece's size. Chosen."""

FEWEST_SHADOW_BLOCKS = 8
"""Fewest blocks of dark ground that tell on which side a shadow lies. Chosen."""

SHADOW_OFF_MIDDLE = 0.3
"""A shadow lies on a side when its middle is so far off the piece's, in halves of the piece's size: less is the dark
that is all around what stands on a ground. Chosen."""

SIDE_SHARE = 0.4
"""Least share of the distance that lies towards a side for the side to be named: from 24° off up. Chosen."""

FEWEST_GROUND_BLOCKS = 40
"""Fewest blocks of which the ground's light and colour are told: the median of so many has a standard error of a fifth
of their scatter (1.25 / √40). Chosen."""

Ev = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Outline:
    """The rectangle round the piece, in percent of the picture from its left and upper edge."""

    left_percent: float
    top_percent: float
    right_percent: float
    bottom_percent: float

    @property
    def middle_percent(self) -> tuple[float, float]:
        """Across and down."""
        return (self.left_percent + self.right_percent) / 2, (self.top_percent + self.bottom_percent) / 2

    @property
    def margins_percent(self) -> dict[str, float]:
        """The free part of the picture's width or height on each side, percent."""
        return {
            "left": self.left_percent,
            "right": 100 - self.right_percent,
            "above": self.top_percent,
            "below": 100 - self.bottom_percent,
        }


@dataclass(frozen=True)
class PieceOnGround:
    """The piece and the ground as found; `reason`, a clause, says why the ground or the piece can't be told.

    ground_ev       EV over mid grey; None without plain ground
    ground_rgb      linear red, green, blue of the ground, 0 to 1
    clipped_share   of the ground that is burnt out, 0 to 1
    outline         None where no piece stands out, or it runs out of the picture
    shadow_sides    the sides on which the shadow lies, the darkest first; () where none can be told
    """

    reason: str = ""
    ground_ev: float | None = None
    ground_rgb: tuple[float, float, float] | None = None
    clipped_share: float = 0.0
    outline: Outline | None = None
    shadow_sides: tuple[ShadowSide, ...] = ()


def find(frame: Material) -> PieceOnGround:
    """Look for ground, piece and shadow in a picture."""
    channels = np.stack([block_means(channel, BLOCK_PX, BLOCK_PX) for channel in frame.channels])
    light = block_means(frame.light, BLOCK_PX, BLOCK_PX).astype(np.float64) + ONE_CODE / 10
    ev = np.log2(light)
    off, sd = _off_ground(ev)
    rim = _rim(ev.shape)
    least = max(PLAIN_EV, STANDS_OUT_SD * sd)
    if sd > MOST_GRAIN_EV or (np.abs(off[rim]) < least).mean() < PLAIN_RIM_SHARE:
        return PieceOnGround("the rim of the picture shows no plain ground")
    differs = _without_dust(np.abs(off) >= least)
    shadow = differs & (off < 0) & ~_other_colour(channels, rim & (np.abs(off) < least))
    box, reason = _box(differs, shadow)
    ground = (np.abs(off) < least) & (_outside(box, ev.shape) if box else True)
    if ground.sum() < FEWEST_GROUND_BLOCKS:
        return PieceOnGround("too little ground shows")
    red, green, blue = (float(np.median(channel[ground])) for channel in channels)
    outline = _outline(box, ev.shape) if box else None
    return PieceOnGround(
        reason=reason,
        ground_ev=float(np.median(ev[ground])) - math.log2(MID_GREY),
        ground_rgb=(red, green, blue),
        clipped_share=float((channels.max(axis=0)[ground] >= LINEAR[int(CLIPPED_CODE)]).mean()),
        outline=outline,
        shadow_sides=_shadow_sides(off, differs, shadow, box) if box else (),
    )


def _off_ground(ev: Ev) -> tuple[Ev, float]:
    """EV of each block off the plane through the rim, and the scatter of the rim about it, EV."""
    rows, columns = ev.shape
    x, y = np.meshgrid(np.linspace(-1, 1, columns), np.linspace(-1, 1, rows))
    plane = plane_of(Cells(np.where(_rim(ev.shape), ev, np.nan), x, y))
    return ev - plane.at(x, y), plane.scatter_ev


def _rim(shape: tuple[int, ...]) -> Mask:
    rows, columns = shape
    rim: Mask = np.ones((rows, columns), bool)
    down, right = max(2, round(RIM_SHARE * rows)), max(2, round(RIM_SHARE * columns))
    rim[down:-down, right:-right] = False
    return rim


def _without_dust(mask: Mask) -> Mask:
    """The mask without blocks that have fewer than NEIGHBOURS of it beside them."""
    padded = np.pad(mask, 1).astype(np.int8)
    rows, columns = mask.shape
    beside = sum(padded[i : i + rows, j : j + columns] for i in range(3) for j in range(3)) - padded[1:-1, 1:-1]
    found: Mask = mask & (beside >= NEIGHBOURS)
    return found


def _other_colour(channels: NDArray[np.float32], ground: Mask) -> Mask:
    """Blocks of another colour than the ground, as far as they are light enough to show one."""
    dark = np.float32(ONE_CODE)
    ratios = np.log2((channels[[0, 2]] + dark) / (channels[1] + dark))
    usual = np.array([np.median(ratio[ground]) if ground.any() else 0.0 for ratio in ratios])
    far = np.abs(ratios - usual[:, None, None]).max(axis=0) > COLOURED_EV
    found: Mask = far & (channels.max(axis=0) > LINEAR[DARKEST_CODE])
    return found


Box = tuple[int, int, int, int]


def _box(differs: Mask, shadow: Mask) -> tuple[Box | None, str]:
    """Left, top, right, bottom of the piece in blocks; None with the reason."""
    everything, bright = _bounds(differs), _bounds(_without_dust(differs & ~shadow))
    if everything is None:
        return None, "nothing stands out from the ground"
    box = bright if bright and _area(bright) >= MOSTLY_BRIGHT * _area(everything) else everything
    rows, columns = differs.shape
    free = (box[0], box[1], columns - box[2], rows - box[3])
    if max(free[0], free[2]) < CUT_OFF_SHARE * columns or max(free[1], free[3]) < CUT_OFF_SHARE * rows:
        return None, "the piece runs out of the picture on opposite sides"
    near = [blocks < NEAR_RIM_SHARE * side for blocks, side in zip(free, (columns, rows) * 2, strict=True)]
    if sum(near) > 2:
        return None, "the piece, or a pattern, reaches the rim on three sides"
    if max(_usual_runs(differs), _usual_runs(differs.T)) > MOST_RUNS:
        return None, "the picture shows a pattern"
    return box, ""


def _usual_runs(mask: Mask) -> float:
    """The median number of separate parts along the rows that have any."""
    starts = (np.diff(mask.astype(np.int8), axis=1, prepend=0) == 1).sum(axis=1)
    return float(np.median(starts[starts > 0]))


def _bounds(mask: Mask) -> Box | None:
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not len(rows):
        return None
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def _area(box: Box) -> int:
    return (box[2] - box[0]) * (box[3] - box[1])


def _outside(box: Box, shape: tuple[int, ...]) -> Mask:
    outside: Mask = np.ones(shape, bool)
    outside[max(0, box[1] - 1) : box[3] + 1, max(0, box[0] - 1) : box[2] + 1] = False
    return outside


def _outline(box: Box, shape: tuple[int, ...]) -> Outline:
    rows, columns = shape
    return Outline(box[0] / columns * 100, box[1] / rows * 100, box[2] / columns * 100, box[3] / rows * 100)


def _shadow_sides(off: Ev, differs: Mask, shadow: Mask, box: Box) -> tuple[ShadowSide, ...]:
    """The sides to which the dark ground beside the piece's bright parts lies off the piece's middle."""
    bright = differs & ~shadow
    beside = shadow & _reach(box, off.shape) & ~_between(bright)
    if beside.sum() < FEWEST_SHADOW_BLOCKS:
        return ()
    rows, columns = np.nonzero(beside)
    lost = np.clip(-off[beside], 0, 3)
    right = float(np.average((columns + 0.5 - (box[0] + box[2]) / 2) / ((box[2] - box[0]) / 2), weights=lost))
    down = float(np.average((rows + 0.5 - (box[1] + box[3]) / 2) / ((box[3] - box[1]) / 2), weights=lost))
    far = math.hypot(right, down)
    if far < SHADOW_OFF_MIDDLE:
        return ()
    ways = (
        (abs(right), ShadowSide.RIGHT if right > 0 else ShadowSide.LEFT),
        (abs(down), ShadowSide.BELOW if down > 0 else ShadowSide.ABOVE),
    )
    return tuple(side for way, side in sorted(ways, reverse=True) if way >= SIDE_SHARE * far)


def _reach(box: Box, shape: tuple[int, ...]) -> Mask:
    reach = round(SHADOW_REACH * max(box[2] - box[0], box[3] - box[1]))
    near: Mask = np.zeros(shape, bool)
    near[max(0, box[1] - reach) : box[3] + reach, max(0, box[0] - reach) : box[2] + reach] = True
    return near


def _between(mask: Mask) -> Mask:
    """Blocks that lie between two blocks of the mask, along their row or their column."""
    spanned = np.zeros_like(mask)
    for axis in (0, 1):
        before = np.logical_or.accumulate(mask, axis=axis)
        after = np.flip(np.logical_or.accumulate(np.flip(mask, axis), axis=axis), axis)
        spanned |= before & after
    return spanned
