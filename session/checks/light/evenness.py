"""Is the light as even as it was: fall-off to one side, a dark or bright centre, a hot spot, in EV.

Against the reference the piece's own tones drop out, and what is told is how the light changed. Without one only
a plain picture (a card, a backdrop, an empty table) can show it, for light and tone look alike on anything else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.light.cells import Cells, cells_of_plain, change_of_light, plane_of
from session.checks.material.check_limits import EVENNESS_EV, HOT_SPOT_EV
from session.checks.material.checked_picture import Material, Pair
from session.frame.finding import CheckId, Finding, FlawKind, Level, Remedy, RemedyKind
from session.units.numbers import percent_text

CENTRE_RADIUS, SURROUND_RADIUS = 0.4, 0.75
"""What counts as centre and surround, in half sides of the picture. Chosen."""

FEWEST = 4
"""Cells in centre and in surround. Chosen."""


@dataclass(frozen=True)
class Evenness:
    """How the light lies over the picture.

    across_ev    right side against left, down_ev bottom against top: edge to edge, of the plane
    centre_ev    centre against surround, the plane taken out; None when either can't be seen
    hot_spot_ev  of the brightest cell against the cells around; `hot_spot_at` (x, y) in fractions of the picture
    absolute     seen on a plain picture, without a reference
    """

    across_ev: float
    down_ev: float
    centre_ev: float | None
    hot_spot_ev: float
    hot_spot_at: tuple[float, float]
    absolute: bool = False


def against_reference(both: Pair) -> Evenness | None:
    """How the evenness changed since the reference; None when too little of the picture can be compared."""
    cells = change_of_light(both)
    return _evenness_of(cells, absolute=False) if cells is not None and cells.enough else None


def alone(frame: Material) -> Evenness | None:
    """The evenness of a plain picture; None for any other."""
    cells = cells_of_plain(frame)
    return _evenness_of(cells, absolute=True) if cells is not None and cells.enough else None


def findings(even: Evenness | None) -> tuple[Finding, ...]:
    """Findings on the evenness, the gravest first; only a note without a reference."""
    if even is None:
        return ()
    level = Level.NOTE if even.absolute else Level.CAUTION
    than = "" if even.absolute else " than in the reference"
    found = []
    side_ev, side = max(
        (abs(even.across_ev), "right" if even.across_ev < 0 else "left"),
        (abs(even.down_ev), "bottom" if even.down_ev < 0 else "top"),
    )
    if side_ev > EVENNESS_EV:
        text = f"Light falls off to the {side}, by {side_ev:.1f} EV{' more' + than if than else ''}."
        remedy = Remedy(RemedyKind.BY_HAND, "look where the lights stand, and what shades them")
        found.append(_finding(level, text, side_ev, EVENNESS_EV, remedy, FlawKind.FALLS_OFF))
    if even.centre_ev is not None and abs(even.centre_ev) > EVENNESS_EV:
        word = "darker" if even.centre_ev < 0 else "brighter"
        text = f"The centre is {abs(even.centre_ev):.1f} EV {word} against its surround{than}."
        hint = "a ring light mirrors its hole: diffuse it, or move it off axis" if even.centre_ev < 0 else ""
        remedy = Remedy(RemedyKind.BY_HAND, hint or "move the light back, or diffuse it")
        found.append(
            Finding(
                CheckId.EVENNESS,
                level,
                text,
                round(even.centre_ev, 2),
                float(EVENNESS_EV),
                "EV",
                remedy,
                FlawKind.CENTRE,
            )
        )
    elif even.hot_spot_ev > HOT_SPOT_EV:
        x, y = even.hot_spot_at
        text = (
            f"A hot spot of {even.hot_spot_ev:.1f} EV, {percent_text(x)} from the left, {percent_text(y)} from the top."
        )
        remedy = Remedy(RemedyKind.BY_HAND, "look for what mirrors a light there")
        found.append(
            Finding(
                CheckId.EVENNESS,
                level,
                text,
                round(even.hot_spot_ev, 2),
                float(HOT_SPOT_EV),
                "EV",
                remedy,
                FlawKind.HOT_SPOT,
            )
        )
    return tuple(found)


def _finding(level: Level, text: str, value_ev: float, limit_ev: float, remedy: Remedy, kind: FlawKind) -> Finding:
    return Finding(CheckId.EVENNESS, level, text, round(value_ev, 2), float(limit_ev), "EV", remedy, kind)


def _evenness_of(cells: Cells, *, absolute: bool) -> Evenness:
    plane = plane_of(cells)
    rest = np.where(cells.known, cells.ev - plane.at(cells.x, cells.y), np.nan)
    hot_ev, at = _hot_spot(rest, cells)
    return Evenness(2 * plane.across_ev, 2 * plane.down_ev, _centre(rest, cells), hot_ev, at, absolute)


def _centre(rest: NDArray[np.float64], cells: Cells) -> float | None:
    radius = np.hypot(cells.x, cells.y)
    inner, outer = (rest[cells.known & where] for where in (radius < CENTRE_RADIUS, radius > SURROUND_RADIUS))
    if len(inner) < FEWEST or len(outer) < FEWEST:
        return None
    return float(np.median(inner) - np.median(outer))


def _hot_spot(rest: NDArray[np.float64], cells: Cells) -> tuple[float, tuple[float, float]]:
    """The cell that lies highest above its neighbours' median, with at least one neighbour half as high."""
    far, near = (_around(np.where(cells.known, rest, np.nan), reach)[cells.known] for reach in (2, 1))
    level = np.nanmedian(far, axis=(1, 2))
    second = np.sort(np.nan_to_num(near, nan=-np.inf).reshape(len(near), -1), axis=1)[:, -2]
    above, company = rest[cells.known] - level, second - level
    hot: NDArray[np.float64] = np.zeros_like(rest)
    hot[cells.known] = np.where((above > 0) & (company > above / 2), above, 0.0)
    rows, columns = hot.shape
    row, column = divmod(int(hot.argmax()), columns)
    if not hot[row, column]:
        return 0.0, (0.5, 0.5)
    return float(hot[row, column]), ((column + 0.5) / columns, (row + 0.5) / rows)


def _around(values: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    """(rows, columns, 2·reach + 1, 2·reach + 1): each cell with its neighbours, NaN beyond the edge."""
    side = 2 * reach + 1
    padded = np.pad(values, reach, constant_values=np.nan)
    return np.lib.stride_tricks.sliding_window_view(padded, (side, side))
