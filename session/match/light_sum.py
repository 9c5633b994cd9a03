"""Does the light of the solos add up to all together, and if not, which frame of the series does not fit.

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
from enum import StrEnum
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from session.match.solo_picture import SoloPicture
from session.picture.linear_light import block_means, ev_between
from session.picture.registration import contrast_of, shift_between
from session.units.refusals import UnlikeShapesError

Values = NDArray[np.float64]
Light = NDArray[np.float32]

POWER_EV = 0.1
"""A light that gave so much more or less alone than together was changed: half of 0.2 EV, which must be told. 140
clean series of the mock camera (seeds 1000 to 1039, 2000 to 2099) reached 0.085, 60 that nothing was chosen by (3000 to
3059) 0.099."""

SURE_EV = 0.033
"""Standard deviation from which on a light can't be checked: three of them reach POWER_EV."""

MOVED_SHARE = 0.25 / 1536
"""Displacement of a solo, as a share of the picture's long side, from which on it lies elsewhere: half of
0.5 px in a picture of 1536, which must be told. The clean series that nothing was chosen by
reached 0.21 px."""

RESIDUAL_EV = 0.05
"""What the fit may leave in a ninth of the picture; the clean series reached 0.03."""

TONE = 0.15
"""Largest c at which the tones are still taken for the standard's; the clean series reached 0.06."""

BINOMIAL = (1 / 16, 4 / 16, 6 / 16, 4 / 16, 1 / 16)

DARK_SHARE = 0.01
"""A solo that adds less than this share of the light over ambient shows no light of its own: 6.6 stops under all
together, less than any fill. Chosen."""

ABSENT_EV = -3.0
"""A light that gave so much less together than alone did not fire: nobody turns a flash down by 3 stops unawares.
Chosen."""

BURNT_SHARE = 0.5
"""More of the picture than this clipped in one of the frames, and nothing is claimed. Chosen."""

PARTS = (4, 6)
"""Rows and columns of the parts that are left out in turn. Chosen."""

BLOCK_PX = 8
"""Side of the blocks whose means the gains are fitted on: their noise is so small that it doesn't pull the gains
together, which single pixels' noise does. Chosen."""

BETTER_BY = 9.0
"""By how much an explanation must fit better than another, χ² of one block: three standard deviations."""

NOISE_MARGIN = 2.0
"""How many times the noise between two explanations' pictures must be outdone before one of them is named. Chosen."""

SEVERAL_EV = POWER_EV / 2
"""A light that differs by so much from the best single explanation, whether ambient and tones are free or not, makes it
doubtful. Chosen."""

SEVERAL_SDS = 5.0
"""And by so many standard deviations: those of the jackknife are too small where patterns are alike. Chosen on 15
series of the mock camera, seeds 60001 to 60015."""

SEVERAL = (
    "The light does not add up, and no single light explains it: two lights or ambient may have changed, or the "
    "camera's tones are not neutral; which, can't be told. Shoot the series again."
)

REGISTERED_SD_PX, RELIT_SD_PX = 0.004, 1.0
"""How sure a solo's displacement is by registration, px of the reduced picture: a constant, and what grows as the solo
looks less like all together, since relief lit from another side seems to lie elsewhere. Seen on 100 series of the mock
camera, seeds 1000 to 1039 and 2000 to 2059."""


class Misfit(StrEnum):
    """The ways in which a series of solos does not add up."""

    MISFIRED = "misfired"
    ABSENT = "did not fire together"
    POWER = "power"
    EXPOSURE = "exposure"
    MOVED = "moved"
    ELSEWHERE = "something else"
    UNSURE = "can't tell"


@dataclass(frozen=True)
class SeriesFinding:
    """What does not fit.

    names  the lights whose solos it is about; () for all together
    text   one sentence, with what to do
    """

    kind: Misfit
    names: tuple[str, ...]
    text: str


@dataclass(frozen=True)
class SummedLight:
    """A light of the series.

    share    of the light over ambient in the picture of all together, as its solo has it
    off_ev   how much more it gave together than alone; sd_ev its standard deviation
    """

    name: str
    share: float
    off_ev: float
    sd_ev: float


@dataclass(frozen=True)
class LightSum:
    """The outcome for a series.

    ninths_ev  (3, 3) all together against the sum, by ninths of the picture, EV; NaN where it is burnt
    """

    lights: tuple[SummedLight, ...]
    ninths_ev: tuple[tuple[float, ...], ...]
    findings: tuple[SeriesFinding, ...]

    @property
    def fits(self) -> bool:
        return not self.findings

    @property
    def largest_ev(self) -> float:
        """The ninth that is off most, EV, with its sign; NaN when all are burnt."""
        known = [ev for row in self.ninths_ev for ev in row if not math.isnan(ev)]
        return max(known, key=abs, default=math.nan)


def light_sum(together: SoloPicture, solos: Mapping[str, SoloPicture], ambient: SoloPicture) -> LightSum:
    """Compare all lights together with the sum of the solos.

    solos  by the lights' names, each with the ambient light
    Raises UnlikeShapesError when the pictures differ in shape.
    """
    for picture in (*solos.values(), ambient):
        if picture.light.shape != together.light.shape:
            raise UnlikeShapesError(together.light.shape, picture.light.shape)
    counted = ~np.any([picture.burnt for picture in (together, *solos.values(), ambient)], axis=0)
    shares = _shares(together, solos, ambient, counted)
    if counted.mean() < 1 - BURNT_SHARE:
        text = "Too much of the picture is burnt to be counted; give less light, and shoot the series again."
        return LightSum((), _ninths(together, None, counted), (SeriesFinding(Misfit.UNSURE, (), text),))
    ninths = _ninths(together, _plain_sum(solos, ambient), counted)
    dark = [name for name, share in shares.items() if share < DARK_SHARE]
    if dark:
        lights = tuple(SummedLight(name, share, math.nan, math.nan) for name, share in shares.items())
        return LightSum(lights, ninths, tuple(_dark_finding(name) for name in dark))
    fitted = _fit(together, solos, ambient, counted)
    likeliest, findings = _power_findings(fitted)
    lights = tuple(
        SummedLight(name, share, likeliest.off_ev if name in likeliest.names else 0.0, one.sd_ev)
        for (name, share), one in zip(shares.items(), fitted.alone, strict=True)
    )
    left_ev = _ninths(together, fitted.light_by(likeliest), counted)
    return LightSum(
        lights,
        ninths,
        _findings_elsewhere(left_ev, likeliest, fitted) or findings + _moved_findings(fitted) or _unsure(lights),
    )


def _shares(
    together: SoloPicture, solos: Mapping[str, SoloPicture], ambient: SoloPicture, counted: NDArray[np.bool_]
) -> dict[str, float]:
    """Share of each light in the picture of all together, over ambient."""
    counted = counted if counted.any() else np.ones_like(counted)
    whole = float((together.light - ambient.light)[counted].mean())
    alone = {name: float((solo.light - ambient.light)[counted].mean()) for name, solo in solos.items()}
    most = max(whole, sum(alone.values()), 1e-6)
    return {name: value / most for name, value in alone.items()}


def _plain_sum(solos: Mapping[str, SoloPicture], ambient: SoloPicture) -> Light:
    total: Light = np.sum([solo.light for solo in solos.values()], axis=0) - (len(solos) - 1) * ambient.light
    return total


@dataclass(frozen=True, eq=False)
class _Change:
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
class _Several:
    """Several causes at once: each light by an amount of its own, and the ambient light.

    off_ev, sd_ev  (lights,) as of `_Change`; misfit, found as there
    """

    off_ev: Values
    sd_ev: Values
    misfit: float
    found: Values


@dataclass(frozen=True, eq=False)
class _Fitted:
    """What the series comes to.

    alone     the explanations by one light each, in the lights' order
    none, all_alike  those by no change, and by all together
    ambient   χ² that ambient of another level leaves, the tones being the standard's
    several   several causes at once: lights alone, lights and ambient, and lights, ambient and tones
    equations  for the distance of two explanations
    per_block  χ² that a block has by what no explanation tells
    moved_px, moved_sd_px  (lights, 2) right and down, full-size px; (lights,)
    """

    alone: tuple[_Change, ...]
    none: _Change
    all_alike: _Change
    ambient: float
    several: tuple[_Several, ...]
    equations: _Equations
    per_block: float
    moved_px: Values
    moved_sd_px: Values
    long_side_px: float
    over: Light
    rest: Light

    def light_by(self, change: _Change) -> Light:
        """All together as an explanation has it, (height, width)."""
        gains = [2.0 ** (change.off_ev if one.names[0] in change.names else 0.0) for one in self.alone]
        light: Light = np.tensordot(np.array([*gains, 0, change.tone], np.float32), self.over, 1) + self.rest
        return light


def _fit(
    together: SoloPicture, solos: Mapping[str, SoloPicture], ambient: SoloPicture, counted: NDArray[np.bool_]
) -> _Fitted:
    count, alone = len(solos), [solo.light for solo in solos.values()]
    variance = together.variance + (count - 1) ** 2 * ambient.variance
    variance = variance + np.sum([solo.variance for solo in solos.values()], axis=0)
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
    equations = _Equations.of(np.stack(blocks[:-2]), left, whole, blocks[-1], np.stack(noise))
    freest, _ = equations.solve(np.delete(np.eye(count + 2), count, axis=1))
    per_block = max(equations.misfit(freest) / max(int(whole.sum()) - count - 1, 1), 1e-12)
    of_ambient, _ = equations.solve(np.eye(count + 2)[:, [count]])
    names = tuple(solos)
    return _Fitted(
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


def _change(equations: _Equations, which: tuple[int, ...], names: tuple[str, ...]) -> _Change:
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
    return _Change(told, math.log2(gain), sd_ev, equations.misfit(found), found)


def _several(equations: _Equations, basis: Values) -> _Several:
    """Several causes among the combinations of `basis`, whose last rows are ambient and tones."""
    found, spread = equations.solve(basis)
    gains = np.maximum(1 + found[:-2], 2.0**-8)
    return _Several(np.log2(gains), spread[:-2] / gains / math.log(2), equations.misfit(found), found)


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
    equations = _Equations.of(np.stack([*smoothed, *slopes]), smooth(wanted), seen, variance)
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
class _Equations:
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
    ) -> _Equations:
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
            *alone, ambient = ((noise / variance)[:, seen].sum(axis=1) / BLOCK_PX**2).astype(float)
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


def _ninths(
    together: SoloPicture, predicted: Light | None, counted: NDArray[np.bool_]
) -> tuple[tuple[float, ...], ...]:
    """All together against a prediction, (3, 3), EV; NaN where nothing is counted."""
    height, width = together.light.shape
    found: list[tuple[float, ...]] = []
    for top, bottom in pairwise(np.linspace(0, height, 4).astype(int)):
        row = []
        for left, right in pairwise(np.linspace(0, width, 4).astype(int)):
            here = counted[top:bottom, left:right]
            if predicted is None or not here.any():
                row.append(math.nan)
                continue
            seen, summed = (float(light[top:bottom, left:right][here].mean()) for light in (together.light, predicted))
            row.append(ev_between(seen, summed))
        found.append(tuple(row))
    return tuple(found)


# --- words ----------------------------------------------------------------------------------------


def _dark_finding(name: str) -> SeriesFinding:
    text = (
        f"{name} gives no light of its own: it did not fire in its solo, or was on for ambient too. Shoot both again."
    )
    return SeriesFinding(Misfit.MISFIRED, (name,), text)


def _findings_elsewhere(
    left_ev: tuple[tuple[float, ...], ...], likeliest: _Change, fitted: _Fitted
) -> tuple[SeriesFinding, ...]:
    """What no light's power explains: something else changed, or the tones are not linear."""
    off = max((abs(ev) for row in left_ev for ev in row if not math.isnan(ev)), default=0.0)
    if off > RESIDUAL_EV:
        text = (
            f"The light does not add up, by up to {off:.2f} EV in a part of the picture; which frame, can't be told. "
            "Was a reflector or flag moved, a hand in the picture, or ambient changed? Shoot the series again."
        )
        return (SeriesFinding(Misfit.ELSEWHERE, (), text),)
    if abs(likeliest.tone) <= TONE:
        return ()
    if fitted.several[1].misfit - likeliest.misfit < BETTER_BY * fitted.per_block:
        return (SeriesFinding(Misfit.UNSURE, (), SEVERAL),)
    text = (
        "The light does not add up as if the camera's tones were not those of the sRGB standard. "
        "Is its picture style neutral? If so, something else changed: shoot the series again."
    )
    return (SeriesFinding(Misfit.UNSURE, (), text),)


def _power_findings(fitted: _Fitted) -> tuple[_Change, tuple[SeriesFinding, ...]]:
    """The likeliest explanation, and what is said of it."""
    told = sorted((fitted.all_alike, *fitted.alone), key=lambda change: change.misfit)
    best = told[0]
    if fitted.none.misfit - best.misfit < BETTER_BY * fitted.per_block or abs(best.off_ev) < POWER_EV:
        return fitted.none, _several_findings(fitted, fitted.none)
    if any(_is_rival(fitted, best, change) for change in told[1:]):
        text = "A light, or all, gave another power together than alone; which, can't be told. Shoot the series again."
        return best, (SeriesFinding(Misfit.POWER, (), text),)
    if doubts := _several_findings(fitted, best):
        return best, doubts
    if len(best.names) == len(fitted.alone) > 1:
        text = f"All together is {_ev_words(best.off_ev)} than the sum of the solos. Shoot all together again."
        return best, (SeriesFinding(Misfit.EXPOSURE, (), text),)
    if best.off_ev < ABSENT_EV:
        text = (  # with it on in another solo too, all together holds nothing that the other solos lack either
            f"{best.names[0]} is missing in all together: it did not fire there, or was on in another solo too. "
            "Shoot those again, each light off that is to be off."
        )
        return best, (SeriesFinding(Misfit.ABSENT, best.names, text),)
    text = f"{best.names[0]} is {_ev_words(best.off_ev)} together than alone. Look at its power, and shoot it again."
    return best, (SeriesFinding(Misfit.POWER, best.names, text),)


def _is_rival(fitted: _Fitted, best: _Change, other: _Change) -> bool:
    """Whether another explanation fits about as well, or makes a picture that only noise tells from the best one's.

    The smaller gain adds less of a solo's noise, so that misfits alone would tell lights of one pattern apart.
    """
    limit = BETTER_BY * fitted.per_block
    return other.misfit - best.misfit < limit or not _is_apart(fitted, best.found, other.found)


def _is_apart(fitted: _Fitted, one: Values, other: Values) -> bool:
    """Whether the pictures of two solutions differ by more than noise."""
    apart, by_noise = fitted.equations.apart(one, other)
    noise_times = fitted.per_block * BLOCK_PX**2  # what blocks leave against what the pictures' noise would
    return apart > BETTER_BY * fitted.per_block + NOISE_MARGIN * noise_times * by_noise


def _several_findings(fitted: _Fitted, best: _Change) -> tuple[SeriesFinding, ...]:
    """Where lights left free surely don't do as the best single explanation says, or ambient fits as well."""
    limit = BETTER_BY * fitted.per_block
    single_ev = np.array([best.off_ev if one.names[0] in best.names else 0.0 for one in fitted.alone])
    differs = np.ones(len(single_ev), bool)
    for several in fitted.several:
        off_ev = np.abs(several.off_ev - single_ev)
        differs &= _is_apart(fitted, best.found, several.found)
        differs &= (off_ev > SEVERAL_EV) & (off_ev > SEVERAL_SDS * several.sd_ev)
    if differs.any() or (best.names and fitted.ambient < best.misfit + limit):
        return (SeriesFinding(Misfit.UNSURE, (), SEVERAL),)
    return ()


def _moved_findings(fitted: _Fitted) -> tuple[SeriesFinding, ...]:
    far_px = np.hypot(fitted.moved_px[:, 0], fitted.moved_px[:, 1])
    limit_px = MOVED_SHARE * fitted.long_side_px
    moved = [n for n, far in enumerate(far_px) if far > limit_px and far > 3 * fitted.moved_sd_px[n]]
    if not moved:
        return ()
    most = max(float(far_px[n]) for n in moved)
    if len(moved) == len(fitted.alone) > 1:
        text = f"All together lies {most:.1f} px off the solos: camera or piece moved. Shoot all together again."
        return (SeriesFinding(Misfit.MOVED, (), text),)
    names = tuple(fitted.alone[n].names[0] for n in moved)
    text = f"{' and '.join(names)} lies {most:.1f} px off all together: camera or piece moved. Shoot it again."
    return (SeriesFinding(Misfit.MOVED, names, text),)


def _unsure(lights: Sequence[SummedLight]) -> tuple[SeriesFinding, ...]:
    unsure = [light.name for light in lights if light.sd_ev > SURE_EV]
    if not unsure:
        return ()
    text = f"Can't tell whether {' and '.join(unsure)} fits: too little of its light shows in the picture."
    return (SeriesFinding(Misfit.UNSURE, tuple(unsure), text),)


def _ev_words(ev: float) -> str:
    return f"{abs(ev):.1f} EV {'brighter' if ev > 0 else 'darker'}"
