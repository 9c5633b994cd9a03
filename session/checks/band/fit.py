"""Where a dark band begins, how soft its edge is and how much light it lost: the model laid on the light of the rows.

Rows that the shutter's second curtain had covered when the flash fired hold ambient light only. With a flash tail
exp(−t/τ) what a row lost falls off beyond the edge as exp(−y/y₀), y from the edge into the lit part; with a short
flash the edge is hard (two-curtain model, derived). The lit part's own change along the rows is a straight line.

Rows run towards the band's side; places are in rows, row 0 at −0.5 … 0.5.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from session.checks.band.shadow import Band

WINDOW_SHARE = 0.2
"""Of the picture, on each side of the edge: what the model is laid on. Over so much the light of any lamp that stands
outside of the picture changes along a line or a parabola. Chosen."""

SOFTNESSES = (0.0, 0.005, 0.01, 0.02, 0.03, 0.045, 0.065, 0.09, 0.13)
"""y₀ in shares of the picture, looked at first: τ of up to 0.4 ms with curtains that take 3 ms. Worked out."""

PLACES, ROUNDS = 25, 3
"""Beginnings looked at first, and how often the grid is narrowed around the best: to a twentieth of a row. Chosen."""

ROW_EV = 0.02
"""Least uncertainty of a row's mean, EV, whatever the scatter: half a code at mid grey is 0.01 EV. Chosen."""

ALIKE_ROWS = 8
"""So many rows err alike, for they show the same detail and lie off by the same: 1 to 2 % of the frame. Chosen."""

DEEPEST_EV = 12.0
"""Beyond what eight bits of sRGB hold (11.7 EV from code 1 to white)."""


@dataclass(frozen=True)
class Edge:
    """The band that fits best.

    begin      row, with a fraction, beyond which the flash didn't reach; `soft_rows` is y₀
    ev         light lost beyond it, EV > 0
    lit, slope lit level at `begin`, EV, and its change for each row
    log_odds   natural logarithm of the odds against a light that merely changes along a parabola
    """

    begin: float
    soft_rows: float
    ev: float
    lit_ev: float
    slope_ev: float
    log_odds: float

    def lit_at(self, rows: NDArray[np.float64]) -> NDArray[np.float64]:
        """EV that each row would have without the band, (n,) for rows (n,)."""
        level: NDArray[np.float64] = self.lit_ev + self.slope_ev * (rows - self.begin)
        return level

    def band(self, side: str, rows: int, cut: int, length: int) -> Band:
        """The edge as a band; `rows` were looked at, `cut` more lie beyond them, of `length` in the whole picture."""
        share = (rows - 0.5 - self.begin + cut) / length
        lost = share + self.soft_rows * math.log(2) / length
        return Band(side, min(1.0, max(0.0, share)), min(1.0, max(0.0, lost)), self.ev)


def fit_edge(profile: NDArray[np.float64], seen: NDArray[np.bool_], around: int, room: int, length: int) -> Edge | None:
    """The band whose edge lies near a row; None when the rows there have lost no light.

    profile  (rows,) EV, the side's rows last; only `seen` ones count
    around   row at which the dark begins, about; `room` rows before it may belong to the edge
    length   rows of the whole picture
    """
    window = round(WINDOW_SHARE * length)
    first, last = max(0, around - room - window), min(len(profile), around + window)
    rows = np.arange(first, last)[seen[first:last]].astype(np.float64)
    above = float(np.median(profile[first:around][seen[first:around]]))
    light = 2.0 ** (profile[rows.astype(int)] - above)
    line = np.stack([np.ones_like(rows), (rows - around) / window], axis=1)
    axes = np.linalg.qr(line)[0]
    left = light - axes @ (axes.T @ light)
    reach = room + max(4, length // 100)
    begins = np.linspace(max(rows[0], around - reach), min(rows[-1] - 0.5, around + reach), PLACES)
    softs = np.array(SOFTNESSES) * length
    begin = soft = loss = squares = 0.0
    for _ in range(ROUNDS):
        tried = np.array(np.meshgrid(begins, softs, indexing="ij")).reshape(2, -1)
        lost = _lost_shares(rows, tried[0], tried[1])
        lost -= (lost @ axes) @ axes.T
        power, common = (lost**2).sum(axis=1), lost @ left
        gain = np.where((common < 0) & (power > 0), common**2 / np.maximum(power, 1e-9), 0.0)
        best = int(np.argmax(gain))
        if gain[best] <= 0:
            return None
        begin, soft = float(tried[0, best]), float(tried[1, best])
        loss, squares = float(-common[best] / power[best]), float((left**2).sum() - gain[best])
        begins, softs = _around(begins, begin), _around(softs, soft)
    whole = light + loss * _lost_shares(rows, np.array([begin]), np.array([soft]))[0]
    at_around, slope = (float(value) for value in np.linalg.lstsq(line, whole, rcond=None)[0])
    slope /= window
    lit = max(at_around + slope * (begin - around), 2.0**-DEEPEST_EV)
    lit_ev, slope_ev = above + math.log2(lit), slope / lit / math.log(2)
    dark = rows[rows > begin]
    ev = float(np.median(lit_ev + slope_ev * (dark - begin) - profile[dark.astype(int)]))
    parabola = np.concatenate([line, line[:, 1:] ** 2], axis=1)
    against = _squares_left(light, parabola)
    known = len(rows) * (ROW_EV * math.log(2)) ** 2
    odds = len(rows) / ALIKE_ROWS / 2 * math.log((against + known) / (squares + known))
    return Edge(begin, soft, ev, lit_ev, slope_ev, odds)


def _lost_shares(
    rows: NDArray[np.float64], begins: NDArray[np.float64], softs: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Share of the flash that each row lost, for bands of these beginnings and softnesses; (bands, rows)."""
    into_lit = begins[:, None] - rows[None]
    soft = np.maximum(softs, 0.5)[:, None]  # below half a row an edge is as good as hard
    tail = np.exp(-np.maximum(into_lit, 0.0) / soft)
    lost: NDArray[np.float64] = np.where(softs[:, None] > 0.5, tail, np.clip(0.5 - into_lit, 0, 1))
    return lost


def _around(values: NDArray[np.float64], best: float) -> NDArray[np.float64]:
    """A finer grid from the neighbour below the best to the one above."""
    at = int(np.abs(values - best).argmin())
    return np.linspace(values[max(0, at - 1)], values[min(len(values) - 1, at + 1)], 9)


def _squares_left(values: NDArray[np.float64], design: NDArray[np.floating[Any]]) -> float:
    axes = np.linalg.qr(design)[0]
    return float(((values - axes @ (axes.T @ values)) ** 2).sum())
