"""Did camera or piece move since the reference: shift, turn and scale, in pixels and mm, and which of the two.

+right, +down, turn clockwise as seen, scale above 1 larger; the shift is that of the picture's middle. A bumped
support moves all that the picture shows; a piece that was moved or changed leaves its surroundings where they were.
Where nothing around the piece has detail, or the table moved with it, camera and piece can't be told apart, and neither
is claimed.

A bump is measured at the picture's rim, outside region and piece, and has a small limit of its own: a camera that went
by some pixels goes on to do so, while a piece is laid by hand. While a set is built again, the same numbers become a
task: move the camera or the piece this far, this way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from session.checks.material.check_limits import BUMP_PX, BUMP_SD, DRIFT_SCALE, DRIFT_SHARE, DRIFT_TOLD, DRIFT_TURN_DEG
from session.checks.material.checked_picture import Pair
from session.frame.finding import CheckId, Finding, FlawKind, Level, Move, Remedy, RemedyKind
from session.picture.displacement import AGREES_PX, FEWEST_TILES, Motion, Tiles, before_of, fit_motion, motion_between
from session.picture.registration import Shift
from session.set.setup import Region, Revision
from session.units.numbers import mm_text

TURN_SHOWN_DEG = 0.05
"""A turn that reads as 0.1°."""

FEWEST_STILL = 3
"""Fewest still tiles, apart from the moved tiles, that show the camera stood. Three don't lie by chance."""

RIM_TILES = 1.6
"""How far in from a side a tile's middle may lie to count as at the rim: the outer two tiles. Chosen."""

RIM_SIDES = 3
"""Content at so many sides of the picture must have moved along before all of it is said to have moved."""


CHANGED_UP_TO = 1 / 3
"""The region shows something else when no more of its tiles than this are still like the reference's: a tile may
hold some of the surroundings. Chosen."""


class WhatMoved(StrEnum):
    """The part that moved since the reference."""

    NOTHING = "nothing"
    WHOLE = "whole picture"
    PIECE = "piece"
    CHANGED = "changed piece"
    UNKNOWN = "camera or piece"
    NEARER = "distance or focus"


@dataclass(frozen=True)
class RimMotion:
    """The motion of the picture's rim, at three of its sides or more: the camera moved, or the whole set.

    right_px, down_px   of the picture's middle, full-size pixels
    rotation_deg        clockwise
    corner_px           how far the corner went that went farthest, a change of size left out: refocusing makes that
    sd_px               standard deviation of that distance, from what the tiles leave open
    """

    right_px: float
    down_px: float
    rotation_deg: float
    corner_px: float
    sd_px: float

    @property
    def bumped(self) -> bool:
        """Beyond the limit, and beyond what the measurement leaves open."""
        return self.corner_px > BUMP_PX and self.corner_px > BUMP_SD * self.sd_px


@dataclass(frozen=True)
class Drift:
    """Motion since the reference.

    right_px, down_px   of the picture's middle, full-size pixels of the sensor; of the piece alone when it alone moved
    rotation_deg, scale  clockwise; above 1 larger
    tile_sd_px          scatter of the agreeing tiles about the motion, full-size pixels
    tiles               how many agreed
    region_px           how far the region's middle went, full-size pixels, and `region_share` of the long side
    rim                 how all of the picture moved, by its rim; None where too little shows there
    """

    right_px: float
    down_px: float
    rotation_deg: float
    scale: float
    moved: WhatMoved
    tile_sd_px: float
    tiles: int
    region_px: float
    region_share: float
    rim: RimMotion | None = None


def measure(both: Pair, region: Region) -> Drift | None:
    """The picture's motion since the reference; None for pictures of another size, or with nothing in common."""
    found = tiles_between(both)
    if found is None:
        return None
    motion, tiles = found
    height, width = both.reference.light.shape
    middle = np.array([width / 2, height / 2])
    rim = _rim_motion(
        motion, tiles, middle, region, (width, height), both.frame.px_per_pixel / both.frame.overview.scale
    )
    moved, motion, counted = _which(motion, tiles, middle, region, (width, height))
    left, top, right, bottom = region.in_pixels(width, height)
    there = np.array([[(left + right) / 2, (top + bottom) / 2]])
    far = float(np.hypot(*(motion.move(there, middle) - there)[0]))
    to_sensor = both.frame.px_per_pixel / both.frame.overview.scale
    off = tiles.left[counted] if motion is found[0] else np.zeros((1, 2))
    return Drift(
        right_px=motion.right_px * to_sensor,
        down_px=motion.down_px * to_sensor,
        rotation_deg=motion.turn_deg,
        scale=motion.scale,
        moved=moved,
        tile_sd_px=float(np.sqrt((off**2).mean())) * to_sensor,
        tiles=int(counted.sum()),
        region_px=far * to_sensor,
        region_share=far / max(height, width),
        rim=rim,
    )


def tiles_between(both: Pair) -> tuple[Motion, Tiles] | None:
    """Motion of the whole picture since the reference, px of the overview, and the tiles it was measured by.

    None for pictures of another size, or with nothing in common.
    """
    if not both.same_size:
        return None
    times = both.reference.overview.scale / both.reference.small_scale
    start = Shift(both.shift.right_px * times, both.shift.down_px * times, both.shift.likeness)
    before = both.reference.remember("tiles", (), lambda: before_of(both.reference.light))
    return motion_between(before, both.frame.light, start)


def findings(
    drift: Drift | None, revision: Revision, mm_per_px: float | None = None, *, building: bool = False
) -> tuple[Finding, ...]:
    """Findings on the drift; none for a drift too small to matter.

    mm_per_px  on the piece, per full-size pixel; None when unknown
    building   the set is being built again: what differs is a task, not an accident
    """
    if drift is None:
        return ()
    if drift.rim is not None and drift.rim.bumped and drift.moved in (WhatMoved.WHOLE, WhatMoved.NOTHING):
        return (_bump(drift, drift.rim, mm_per_px, building=building),)
    if drift.moved is WhatMoved.CHANGED:
        text = "The region shows something else than the reference; its surroundings have not moved. Another piece?"
        remedy = Remedy(RemedyKind.BY_HAND, "a new piece takes a reference of its own")
        return (Finding(CheckId.DRIFT, Level.NOTE, text, remedy=remedy, kind=FlawKind.ANOTHER_PIECE),)
    beyond = (
        drift.region_share / DRIFT_SHARE,
        abs(drift.rotation_deg) / DRIFT_TURN_DEG,
        abs(drift.scale - 1) / DRIFT_SCALE,
    )
    if max(beyond) < DRIFT_TOLD:
        return ()
    level = Level.CAUTION if max(beyond) > 1 else Level.NOTE
    what = drift.moved
    if what is not WhatMoved.PIECE and beyond[2] > max(beyond[:2]):
        what = WhatMoved.NEARER
    text, mend, kind, move = _text_and_remedy(drift, what, mm_per_px, building=building)
    limit_px = drift.region_px / max(drift.region_share, 1e-9) * DRIFT_SHARE
    value, limit, unit = (
        (round(drift.region_px, 1), round(limit_px, 1), "px"),
        (round(drift.rotation_deg, 2), float(DRIFT_TURN_DEG), "°"),
        (round(drift.scale - 1, 4), float(DRIFT_SCALE), "share of the size"),
    )[beyond.index(max(beyond))]
    return (Finding(CheckId.DRIFT, level, text, value, limit, unit, mend, kind, move),)


def _bump(drift: Drift, rim: RimMotion, mm_per_px: float | None, *, building: bool) -> Finding:
    """The finding that the whole picture moved by more than the small limit."""
    seen = replace(
        drift,
        right_px=rim.right_px,
        down_px=rim.down_px,
        rotation_deg=rim.rotation_deg,
        scale=1.0,
        region_px=rim.corner_px,
    )
    text, mend, kind, move = _text_and_remedy(seen, WhatMoved.WHOLE, mm_per_px, building=building)
    corner_px, limit_px = round(rim.corner_px, 1), float(BUMP_PX)
    return Finding(CheckId.DRIFT, Level.CAUTION, text, corner_px, limit_px, "px", mend, kind, move)


def _text_and_remedy(
    drift: Drift, what: WhatMoved, mm_per_px: float | None, *, building: bool
) -> tuple[str, Remedy | None, FlawKind, Move | None]:
    """Sentence, remedy and kind of the flaw; while building also the move that is to be made, else None."""
    if building and what in _MOVES:
        move = _move(drift, mm_per_px, by_camera=what is WhatMoved.WHOLE)
        kind = FlawKind.MOVE_CAMERA if what is WhatMoved.WHOLE else FlawKind.MOVE_PIECE
        words = move_words(move) or [f"{drift.region_px:.0f} px"]
        return f"{_MOVES[what]} {', '.join(words)}.", SEE_AGAIN, kind, move
    return _SAYS[what].format(how=", ".join(_words(drift, mm_per_px))), _MENDS[what], _KINDS[what], None


_SAYS = {
    WhatMoved.WHOLE: "All of the picture moved: {how}. Camera, support or table was bumped, or a piece that fills it.",
    WhatMoved.PIECE: "The piece moved: {how}. Its surroundings stand.",
    WhatMoved.UNKNOWN: "Camera or piece moved: {how}. Nothing around the piece tells which.",
    WhatMoved.NEARER: "The picture is {how}: the distance changed, or the focus ring was turned.",
    WhatMoved.NOTHING: "A part of the picture moved: {how}.",
}
_KINDS = {
    WhatMoved.WHOLE: FlawKind.CAMERA_MOVED,
    WhatMoved.PIECE: FlawKind.PIECE_MOVED,
    WhatMoved.UNKNOWN: FlawKind.CAMERA_OR_PIECE_MOVED,
    WhatMoved.NEARER: FlawKind.SIZE_CHANGED,
    WhatMoved.NOTHING: FlawKind.PART_MOVED,
}
_MENDS = {
    WhatMoved.WHOLE: Remedy(
        RemedyKind.BY_HAND, "look at support and head, then focus; put it back, or take a new reference"
    ),
    WhatMoved.PIECE: Remedy(RemedyKind.BY_HAND, "lay the piece back to its marks"),
    WhatMoved.UNKNOWN: Remedy(RemedyKind.BY_HAND, "look at support and piece; put it back, or take a new reference"),
    WhatMoved.NEARER: Remedy(RemedyKind.BY_HAND, "look at the focus ring and the distance, then release again"),
    WhatMoved.NOTHING: None,
}


SEE_AGAIN = Remedy(RemedyKind.BY_HAND, "release again and see")

_MOVES = {
    WhatMoved.WHOLE: "Move the camera",
    WhatMoved.PIECE: "Move the piece",
    WhatMoved.UNKNOWN: "Move the piece",
}
"""How a task begins."""


def _move(drift: Drift, mm_per_px: float | None, *, by_camera: bool) -> Move:
    """The move that brings the picture back to the reference.

    A piece goes back the way it lies off, a camera follows it: what shows too far right wants the camera farther right.
    """
    least_px = max(1.0, 0.1 * math.hypot(drift.right_px, drift.down_px))
    sign, times = (1.0 if by_camera else -1.0), mm_per_px or 1.0
    right, down = (sign * px * times if abs(px) >= least_px else 0.0 for px in (drift.right_px, drift.down_px))
    turn_deg = sign * drift.rotation_deg if abs(drift.rotation_deg) >= TURN_SHOWN_DEG else 0.0
    return Move(right, down, turn_deg, "mm" if mm_per_px else "px")


def move_words(move: Move) -> list[str]:
    """`0.8 mm right`, `0.2 mm up`, `turn it 0.4° anticlockwise`, as far as each is worth a move."""
    words = []
    for far, ways in ((move.right, ("right", "left")), (move.down, ("down", "up"))):
        if far:
            words.append(f"{mm_text(abs(far)) if move.unit == 'mm' else f'{abs(far):.0f} px'} {ways[far < 0]}")
    if move.turn_deg:
        words.append(f"turn it {abs(move.turn_deg):.1f}° {'clockwise' if move.turn_deg > 0 else 'anticlockwise'}")
    return words


def _words(drift: Drift, mm_per_px: float | None) -> list[str]:
    """`12 px (0.19 mm) right`, `turned 0.4° clockwise`, `0.5 % larger`, as far as each is worth telling."""
    words = []
    for px, ways in ((drift.right_px, ("right", "left")), (drift.down_px, ("down", "up"))):
        if abs(px) >= max(1.0, 0.1 * math.hypot(drift.right_px, drift.down_px)):
            mm = f" ({mm_text(abs(px) * mm_per_px)})" if mm_per_px else ""
            words.append(f"{abs(px):.0f} px{mm} {ways[px < 0]}")
    if abs(drift.rotation_deg) >= DRIFT_TURN_DEG * DRIFT_TOLD:
        words.append(
            f"turned {abs(drift.rotation_deg):.1f}° {'clockwise' if drift.rotation_deg > 0 else 'anticlockwise'}"
        )
    if abs(drift.scale - 1) >= DRIFT_SCALE * DRIFT_TOLD:
        words.append(f"{abs(drift.scale - 1) * 100:.1f} % {'larger' if drift.scale > 1 else 'smaller'}")
    return words or [f"{drift.region_px:.0f} px at the region"]


def _which(
    motion: Motion, tiles: Tiles, middle: NDArray[np.float64], region: Region, size: tuple[int, int]
) -> tuple[WhatMoved, Motion, NDArray[np.bool_]]:
    """The thing that moved, the whole picture or the piece, with its motion and the tiles that show the motion."""
    gone = np.hypot(*(motion.move(tiles.centres, middle) - tiles.centres + tiles.left).T)
    still = tiles.alike & (gone < AGREES_PX)
    on_region = _on_region(tiles, region, size)
    if still.sum() > tiles.alike.sum() / 2:  # most of the picture stands
        piece = _stray_motion(tiles, motion.move(tiles.centres, middle) - tiles.centres + tiles.left, middle)
        if piece is not None and (piece[1] & on_region).any():
            return WhatMoved.PIECE, *piece
        seen = on_region & tiles.textured
        if seen.any() and (still & seen).sum() <= CHANGED_UP_TO * seen.sum() and still.sum() >= FEWEST_TILES:
            return WhatMoved.CHANGED, motion, still
        return WhatMoved.NOTHING, motion, tiles.agreeing
    if (still & ~tiles.agreeing).sum() >= FEWEST_STILL:
        return WhatMoved.PIECE, motion, tiles.agreeing
    if _sides(tiles.centres[tiles.agreeing], tiles.size_px, size) >= RIM_SIDES:
        return WhatMoved.WHOLE, motion, tiles.agreeing
    return WhatMoved.UNKNOWN, motion, tiles.agreeing


def _rim_motion(
    motion: Motion,
    tiles: Tiles,
    middle: NDArray[np.float64],
    region: Region,
    size: tuple[int, int],
    to_sensor: float,
) -> RimMotion | None:
    """How the tiles at the picture's rim moved, but the region's; None where too few agree, or at too few sides."""
    rim = tiles.alike & _at_rim(tiles.centres, tiles.size_px, size) & ~_on_region(tiles, region, size)
    if rim.sum() < FEWEST_TILES:
        return None
    centres = tiles.centres[rim]
    shifts = (motion.move(tiles.centres, middle) - tiles.centres + tiles.left)[rim]
    found = fit_motion(centres, shifts, middle)
    off = np.hypot(*(found.move(centres, middle) - centres - shifts).T)
    agreeing = off < AGREES_PX
    enough = agreeing.sum() >= max(FEWEST_TILES, rim.sum() / 2)
    if not enough or _sides(centres[agreeing], tiles.size_px, size) < RIM_SIDES:
        return None
    rigid = replace(found, scale=1.0)
    corners = np.array([[x, y] for x in (0, size[0]) for y in (0, size[1])], np.float64)
    far = float(np.hypot(*(rigid.move(corners, middle) - corners).T).max())
    # four parameters are fitted; a corner's error is that of shift and turn together, about twice a mean's
    free = max(1, 2 * int(agreeing.sum()) - 4)
    sd = 2 * math.sqrt(float((off[agreeing] ** 2).sum()) / free / int(agreeing.sum()))
    return RimMotion(
        found.right_px * to_sensor, found.down_px * to_sensor, found.turn_deg, far * to_sensor, sd * to_sensor
    )


def _stray_motion(
    tiles: Tiles, shifts: NDArray[np.float64], middle: NDArray[np.float64]
) -> tuple[Motion, NDArray[np.bool_]] | None:
    """The motion on which tiles agree that didn't stand still with the rest, and these tiles; None for too few."""
    strayed = tiles.alike & ~tiles.agreeing
    if strayed.sum() < FEWEST_TILES:
        return None
    motion = fit_motion(tiles.centres[strayed], shifts[strayed], middle)
    off = np.hypot(*(motion.move(tiles.centres, middle) - tiles.centres - shifts).T)
    agreeing: NDArray[np.bool_] = strayed & (off < 2 * AGREES_PX)  # their rims hold some of what stands
    return (motion, agreeing) if agreeing.sum() >= FEWEST_TILES else None


def _on_region(tiles: Tiles, region: Region, size: tuple[int, int]) -> NDArray[np.bool_]:
    """Tiles with their middle in the region; for a region without any, the tile nearest to the region's middle."""
    left, top, right, bottom = region.in_pixels(*size)
    corners = np.array([[left, top], [right, bottom]])
    inside: NDArray[np.bool_] = np.all((tiles.centres >= corners[0]) & (tiles.centres <= corners[1]), axis=1)
    if not inside.any():
        off = tiles.centres - ((left + right) / 2, (top + bottom) / 2)
        inside[int((off**2).sum(axis=1).argmin())] = True
    return inside


def _at_rim(centres: NDArray[np.float64], tile: tuple[int, int], size: tuple[int, int]) -> NDArray[np.bool_]:
    """Tiles within two tiles of a side of the picture (the outermost may have moved out)."""
    near = RIM_TILES * np.array(tile)
    beyond = (centres < near) | (centres > np.array(size) - near)
    at_rim: NDArray[np.bool_] = np.any(beyond, axis=1)
    return at_rim


def _sides(centres: NDArray[np.float64], tile: tuple[int, int], size: tuple[int, int]) -> int:
    """At how many sides of the picture these tiles lie, within two tiles of it (the rim may have moved out)."""
    near = RIM_TILES * np.array(tile)
    return int((centres < near).any(axis=0).sum() + (centres > np.array(size) - near).any(axis=0).sum())
