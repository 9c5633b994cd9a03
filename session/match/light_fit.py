"""The light of all together fitted by the light of the solos: how much each light gave, and how far a picture lay off.

Light adds. With A all lights together, S each light alone with the ambient light, and B the ambient light alone,

    A − B  =  Σ g·(S − B)  +  Σ (∂/∂x, ∂/∂y)(S − B)·d  +  c·(Σ S² − (n−1) B² − A²)

in linear light, pixel by pixel, with g = 1, d = 0 and c = 0 where nothing was changed. The unknowns are fitted by least
squares, each pixel weighed by its noise: g is how much more a light gave together than alone, d how far the picture
lay elsewhere in a solo, and c the curve that the camera laid over the standard's tones, to first order. The lights
stand in different places, so that relief, gloss and falloff tell one light's pattern from another's.

How sure g is, is found by leaving out one part of the picture after the other (delete-one jackknife), so that coding
and gloss, which noise doesn't know of, count too. Sources: superposition of irradiance; displacement by gradients,
Lucas and Kanade, Proc. 7th IJCAI (1981) 674; jackknife, Efron, The Jackknife, the Bootstrap and Other Resampling Plans,
SIAM 1982 (values from memory).

+right, +down, full-size pixels; EV > 0: brighter together than alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from session.match.solo_picture import SoloPicture
from session.picture.linear_light import block_means
from session.picture.registration import contrast_of, shift_between

Values = NDArray[np.float64]
Light = NDArray[np.float32]

BINOMIAL = (1 / 16, 4 / 16, 6 / 16, 4 / 16, 1 / 16)

PARTS = (4, 6)
"""Rows and columns of the parts that are left out in turn. Chosen."""

BLOCK_PX = 8
"""Side of the blocks whose means the gains are fitted on: their noise is so small that it doesn't pull the gains
together, which single pixels' noise does. Chosen."""

REGISTERED_SD_PX, RELIT_SD_PX = 0.004, 1.0
"""How sure a solo's displacement is by registration, px of the reduced picture: a constant, and what grows as the solo
looks less like all together, since relief lit from another side seems to lie elsewhere. Seen on 100 series of the mock
camera, seeds 1000 to 1039 and 2000 to 2059."""


class UnfittedLightError(ValueError):
    """The light of all together has no fit by the solos; the text is a clause that follows `the picture`."""

    def __init__(self) -> None:
        super().__init__(
            "of all together has no fit by the solos, since nothing in them can be weighed by its noise; "
            "shoot the series again, with the piece in the picture"
        )


@dataclass(frozen=True, eq=False)
class Change:
    """An explanation: these lights gave more or less together than alone, all of them alike.

    off_ev, sd_ev  by how much, and how sure; 0 where none is taken to have changed
    misfit         χ² of what it leaves
    found          (lights + 2,) the weight of each column
    """

    names: tuple[str, ...]
    off_ev: float
    sd_ev: float
    misfit: float
    found: Values

    @property
    def tone(self) -> float:
        """c"""
        return float(self.found[-1])


@dataclass(frozen=True, eq=False)
class Several:
    """Several causes at once: each light by an amount of its own, and the ambient light.

    off_ev, sd_ev  (lights,) as of `Change`; misfit, found as there
    """

    off_ev: Values
    sd_ev: Values
    misfit: float
    found: Values


@dataclass(frozen=True, eq=False)
class Fitted:
    """What the series comes to.

    alone     the explanations by one light each, in the lights' order
    none, all_alike  those by no change, and by all together
    ambient   χ² that ambient of another level leaves, the tones being the standard's
    several   several causes at once: lights alone, lights and ambient, and lights, ambient and tones
    equations  for the distance of two explanations
    per_block  χ² that a block has by what no explanation tells
    moved_px, moved_sd_px  (lights, 2) right and down, full-size px; (lights,)
    """

    alone: tuple[Change, ...]
    none: Change
    all_alike: Change
    ambient: float
    several: tuple[Several, ...]
    equations: Equations
    per_block: float
    moved_px: Values
    moved_sd_px: Values
    long_side_px: float
    over: Light
    rest: Light

    def light_by(self, change: Change) -> Light:
        """All together as an explanation has it, (height, width)."""
        gains = [2.0 ** (change.off_ev if one.names[0] in change.names else 0.0) for one in self.alone]
        light: Light = np.tensordot(np.array([*gains, 0, change.tone], np.float32), self.over, 1) + self.rest
        return light


def fit(
    together: SoloPicture, solos: Mapping[str, SoloPicture], ambient: SoloPicture, counted: NDArray[np.bool_]
) -> Fitted:
    """Fit each explanation of all together by the solos.

    solos    by the lights' names, each with the ambient light; all pictures have one shape
    counted  (height, width) where no picture clips
    Raises UnfittedLightError where pictures show no noise at all (each of one even tone), or numbers that are no light.
    """
    try:
        return _fit(together, solos, ambient, counted)
    except np.linalg.LinAlgError:
        raise UnfittedLightError from None


def _fit(
    together: SoloPicture, solos: Mapping[str, SoloPicture], ambient: SoloPicture, counted: NDArray[np.bool_]
) -> Fitted:
    count, alone = len(solos), [solo.light for solo in solos.values()]
    variance = together.variance + (count - 1) ** 2 * ambient.variance
    variance = variance + np.sum([solo.variance for solo in solos.values()], axis=0)
    if not (variance[counted] > 0).all():
        raise UnfittedLightError
    over = np.stack([light - ambient.light for light in alone])
    wanted = together.light - ambient.light
    moved, moved_sd = _displacements(together, solos, over, wanted, counted, variance)
    for n, (right, down) in enumerate(moved):
        slope_down, slope_right = np.gradient(over[n])
        over[n] += np.float32(right) * slope_right + np.float32(down) * slope_down
    columns = np.stack([*over, ambient.light, _tone_column(together, alone, ambient)])
    blocks = [block_means(values * counted, BLOCK_PX, BLOCK_PX) for values in (*columns, wanted, variance)]
    whole = block_means(counted.astype(np.float32), BLOCK_PX, BLOCK_PX) > 1 - 1e-3
    left = blocks[-2] - np.sum(blocks[:count], axis=0)
    noise = [block_means(solo.variance, BLOCK_PX, BLOCK_PX) for solo in (*solos.values(), ambient)]
    equations = Equations.of(np.stack(blocks[:-2]), left, whole, blocks[-1], np.stack(noise))
    freest, _ = equations.solve(np.delete(np.eye(count + 2), count, axis=1))
    per_block = max(equations.misfit(freest) / max(int(whole.sum()) - count - 1, 1), 1e-12)
    of_ambient, _ = equations.solve(np.eye(count + 2)[:, [count]])
    names = tuple(solos)
    return Fitted(
        alone=tuple(_change(equations, (n,), names) for n in range(count)),
        none=_change(equations, (), names),
        all_alike=_change(equations, tuple(range(count)), names),
        ambient=equations.misfit(of_ambient),
        several=tuple(_several(equations, np.eye(count + 2)[:, :free]) for free in range(count, count + 3)),
        equations=equations,
        per_block=per_block,
        moved_px=moved * together.px_per_pixel,
        moved_sd_px=moved_sd * together.px_per_pixel,
        long_side_px=max(wanted.shape) * together.px_per_pixel,
        over=columns,
        rest=ambient.light,
    )


def _change(equations: Equations, which: tuple[int, ...], names: tuple[str, ...]) -> Change:
    """The explanation that the lights at these places changed alike."""
    count = len(names)
    basis = np.zeros((count + 2, 2))
    basis[list(which), 0], basis[count + 1, 1] = 1, 1
    if not which:
        basis = basis[:, 1:]
    found, spread = equations.solve(basis)
    gain = max(1 + float(found[which[0]]), 2.0**-8) if which else 1.0
    sd_ev = float(spread[which[0]]) / gain / math.log(2) if which else 0.0
    told = tuple(names[n] for n in which)
    return Change(told, math.log2(gain), sd_ev, equations.misfit(found), found)


def _several(equations: Equations, basis: Values) -> Several:
    """Several causes among the combinations of `basis`, whose last rows are ambient and tones."""
    found, spread = equations.solve(basis)
    gains = np.maximum(1 + found[:-2], 2.0**-8)
    return Several(np.log2(gains), spread[:-2] / gains / math.log(2), equations.misfit(found), found)


def _tone_column(together: SoloPicture, alone: Sequence[Light], ambient: SoloPicture) -> Light:
    squares: Light = np.sum([light * light for light in alone], axis=0) - together.light**2
    return squares - np.float32(len(alone) - 1) * ambient.light**2


def _displacements(
    together: SoloPicture,
    solos: Mapping[str, SoloPicture],
    over: Light,
    wanted: Light,
    counted: NDArray[np.bool_],
    variance: Light,
) -> tuple[Values, Values]:
    """(lights, 2) right and down, and (lights,) their standard deviations, px of the arrays.

    over    the solos over ambient, (lights, height, width); `wanted` all together over ambient
    By gradients, and by registration as surely as the solo looks like all together.
    """
    count, smoothed = len(over), [smooth(light) for light in over]
    slopes = [slope for light in smoothed for slope in np.gradient(light)[::-1]]
    seen = smooth(counted.astype(np.float32)) > 1 - 1e-3
    # smoothing takes from the noise what it makes neighbours share, so that pixels count as if nothing was smoothed
    equations = Equations.of(np.stack([*smoothed, *slopes]), smooth(wanted), seen, variance)
    matrix, side = equations.products.sum(axis=0), equations.sides.sum(axis=0)
    before = contrast_of(together.light)
    for n, solo in enumerate(solos.values()):
        shift = shift_between(before, solo.light)
        surety = (REGISTERED_SD_PX + RELIT_SD_PX * (1 - shift.likeness)) ** -2 if shift.found else 0.0
        for at, far in ((count + 2 * n, shift.right_px), (count + 2 * n + 1, shift.down_px)):
            matrix[at, at] += surety
            side[at] += surety * far
    moved, spread = _solve(matrix, side)[count:], np.sqrt(np.diag(np.linalg.pinv(matrix)))[count:]
    return moved.reshape(-1, 2), spread.reshape(-1, 2).max(axis=1)


def smooth(values: Light) -> Light:
    """Under a binomial of five, a Gaussian of 1 px; edges go on as they end. (height, width)"""
    for axis in (0, 1):
        widths = [(2, 2) if axis == n else (0, 0) for n in (0, 1)]
        wide, length = np.pad(values, widths, mode="edge"), values.shape[axis]
        parts = [np.take(wide, range(n, n + length), axis) * np.float32(weight) for n, weight in enumerate(BINOMIAL)]
        values = np.sum(parts, axis=0)
    return values


@dataclass(frozen=True, eq=False)
class Equations:
    """Normal equations of each part of the picture: (parts, k, k), (parts, k), and the sums of squares (parts,).

    noise  (k, k) what noise alone adds to the sum of products; 0 for columns that aren't known of
    """

    products: Values
    sides: Values
    squares: Values
    noise: Values

    @classmethod
    def of(
        cls, columns: Light, wanted: Light, seen: NDArray[np.bool_], variance: Light, noise: Light | None = None
    ) -> Equations:
        """columns (k, height, width); wanted and variance (height, width), linear light and its square.

        noise  (lights + 1, height, width) variance of a pixel of the solos and of ambient, where columns are blocks
        """
        height, width = wanted.shape
        edges = [np.linspace(0, length, n + 1).astype(int) for length, n in zip((height, width), PARTS, strict=True)]
        products, sides, squares = [], [], []
        for (top, bottom), (left, right) in product(*(pairwise(one) for one in edges)):
            here = (slice(top, bottom), slice(left, right))
            mask, root = seen[here], 1 / np.sqrt(variance[here][seen[here]].astype(np.float64))
            design, value = columns[:, top:bottom, left:right][:, mask] * root, wanted[here][mask] * root
            products.append(design @ design.T)
            sides.append(design @ value)
            squares.append(float(value @ value))
        known = np.zeros((len(columns), len(columns)))
        if noise is not None:
            *alone, ambient = ((noise[:, seen] / variance[seen]).sum(axis=1) / BLOCK_PX**2).astype(float)
            known[: len(alone), : len(alone)] = np.diag(alone) + ambient
        return cls(np.array(products), np.array(sides), np.array(squares), known)

    def solve(self, basis: Values) -> tuple[Values, Values]:
        """Solution and standard deviation (k,) among the combinations of the columns of `basis` (k, free)."""
        matrices, sides = basis.T @ self.products @ basis, self.sides @ basis
        matrix, side = matrices.sum(axis=0), sides.sum(axis=0)
        without = [_solve(matrix - part, side - its) for part, its in zip(matrices, sides, strict=True)]
        spread = np.sqrt((len(without) - 1) * np.var(np.array(without) @ basis.T, axis=0))
        return basis @ _solve(matrix, side), spread

    def apart(self, one: Values, other: Values) -> tuple[float, float]:
        """χ² by which the pictures of two solutions differ, and how much of it noise alone makes."""
        step = one - other
        return float(step @ self.products.sum(axis=0) @ step), float(step @ self.noise @ step)

    def misfit(self, found: Values) -> float:
        """χ² of what a solution leaves."""
        matrix, side = self.products.sum(axis=0), self.sides.sum(axis=0)
        return float(self.squares.sum() - 2 * found @ side + found @ matrix @ found)


def _solve(matrix: Values, side: Values) -> Values:
    return np.asarray(np.linalg.lstsq(matrix, side, rcond=1e-12)[0], np.float64)
