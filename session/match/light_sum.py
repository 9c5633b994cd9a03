"""Does the light of the solos add up to all together, and if not, which frame of the series does not fit.

The causes that may stand behind a misfit are fitted in `light_fit`; here they are weighed against each other, and only
what differs from every other cause by more than noise is named. EV > 0: brighter together than alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from session.match.light_fit import BLOCK_PX, Change, Fitted, Light, Values, fit
from session.match.solo_picture import SoloPicture
from session.picture.linear_light import ev_between
from session.units.refusals import UnlikeShapesError

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

DARK_SHARE = 0.01
"""A solo that adds less than this share of the light over ambient shows no light of its own: 6.6 stops under all
together, less than any fill. Chosen."""

ABSENT_EV = -3.0
"""A light that gave so much less together than alone did not fire: nobody turns a flash down by 3 stops unawares.
Chosen."""

BURNT_SHARE = 0.5
"""More of the picture than this clipped in one of the frames, and nothing is claimed. Chosen."""

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


class Misfit(StrEnum):
    """The ways in which a series of solos does not add up, or can't be told to."""

    MISFIRED = "misfired"
    ABSENT = "did not fire together"
    POWER = "power"
    EXPOSURE = "exposure"
    MOVED = "moved"
    ELSEWHERE = "something else"
    SEVERAL = "no single cause"
    BURNT = "burnt"
    UNSURE = "can't tell"


@dataclass(frozen=True)
class SeriesFinding:
    """What does not fit.

    names  the lights whose solos it is about; () for all together
    text   one sentence, with what to do
    amount by how much: EV, or full-size px of a picture that moved; NaN where no number is told
    """

    kind: Misfit
    names: tuple[str, ...]
    text: str
    amount: float = math.nan


@dataclass(frozen=True)
class FrameNumbers:
    """The numbers of the frames of a series, as findings name them; None and no entry where a frame has none."""

    together: int | None = None
    solos: Mapping[str, int] = field(default_factory=dict)
    ambient: int | None = None

    def of_solo(self, name: str) -> str:
        """`key's solo (frame 12)`."""
        return _with_number(f"{name}'s solo", self.solos.get(name))

    @property
    def of_together(self) -> str:
        return _with_number("all together", self.together)

    @property
    def of_ambient(self) -> str:
        return _with_number("ambient alone", self.ambient)


NO_FRAMES = FrameNumbers()


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
    def changed(self) -> bool:
        """Whether the likeliest explanation has a light give more or less."""
        return any(light.off_ev for light in self.lights if not math.isnan(light.off_ev))

    @property
    def largest_ev(self) -> float:
        """The ninth that is off most, EV, with its sign; NaN when all are burnt."""
        known = [ev for row in self.ninths_ev for ev in row if not math.isnan(ev)]
        return max(known, key=abs, default=math.nan)


def light_sum(
    together: SoloPicture,
    solos: Mapping[str, SoloPicture],
    ambient: SoloPicture,
    frames: FrameNumbers = NO_FRAMES,
    *,
    least_share: float = DARK_SHARE,
) -> LightSum:
    """Compare all lights together with the sum of the solos.

    solos   by the lights' names, each with the ambient light
    frames  for the words of the findings
    least_share  of all together that a solo must add, or it is said to show no light of its own
    Raises UnlikeShapesError when the pictures differ in shape, and UnfittedLightError where they have no fit.
    """
    for picture in (*solos.values(), ambient):
        if picture.light.shape != together.light.shape:
            raise UnlikeShapesError(together.light.shape, picture.light.shape)
    counted = ~np.any([picture.burnt for picture in (together, *solos.values(), ambient)], axis=0)
    shares = _shares(together, solos, ambient, counted)
    if counted.mean() < 1 - BURNT_SHARE:
        text = "Too much of the picture is burnt to be counted; give less light, and shoot the series again."
        return LightSum((), _ninths(together, None, counted), (SeriesFinding(Misfit.BURNT, (), text),))
    ninths = _ninths(together, _plain_sum(solos, ambient), counted)
    dark = [name for name, share in shares.items() if share < least_share]
    if dark:
        lights = tuple(SummedLight(name, share, math.nan, math.nan) for name, share in shares.items())
        return LightSum(lights, ninths, tuple(_dark_finding(name, frames) for name in dark))
    fitted = fit(together, solos, ambient, counted)
    likeliest, findings = _power_findings(fitted, frames)
    lights = tuple(
        SummedLight(name, share, likeliest.off_ev if name in likeliest.names else 0.0, one.sd_ev)
        for (name, share), one in zip(shares.items(), fitted.alone, strict=True)
    )
    left_ev = _ninths(together, fitted.light_by(likeliest), counted)
    return LightSum(
        lights,
        ninths,
        _findings_elsewhere(left_ev, likeliest, fitted)
        or findings + _moved_findings(fitted, frames)
        or _unsure(lights, frames),
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


def _with_number(words: str, number: int | None) -> str:
    return words if number is None else f"{words} (frame {number})"


def _dark_finding(name: str, frames: FrameNumbers) -> SeriesFinding:
    text = (
        f"{frames.of_solo(name)} shows no light of its own: {name} did not fire there, or was on in "
        f"{frames.of_ambient} too. Shoot both again."
    )
    return SeriesFinding(Misfit.MISFIRED, (name,), text)


def _findings_elsewhere(
    left_ev: tuple[tuple[float, ...], ...], likeliest: Change, fitted: Fitted
) -> tuple[SeriesFinding, ...]:
    """What no light's power explains: something else changed, or the tones are not linear."""
    off = max((abs(ev) for row in left_ev for ev in row if not math.isnan(ev)), default=0.0)
    if off > RESIDUAL_EV:
        text = (
            f"The light does not add up, by up to {off:.2f} EV in a part of the picture; which frame, can't be told. "
            "Was a reflector or flag moved, a hand in the picture, or ambient changed? Shoot the series again."
        )
        return (SeriesFinding(Misfit.ELSEWHERE, (), text, off),)
    if len(fitted.alone) == 1 or abs(likeliest.tone) <= TONE:  # with one light nothing overlaps that tones could bend
        return ()
    if fitted.several[1].misfit - likeliest.misfit < BETTER_BY * fitted.per_block:
        return (SeriesFinding(Misfit.SEVERAL, (), SEVERAL),)
    text = (
        "The light does not add up as if the camera's tones were not those of the sRGB standard. "
        "Is its picture style neutral? If so, something else changed: shoot the series again."
    )
    return (SeriesFinding(Misfit.SEVERAL, (), text),)


def _power_findings(fitted: Fitted, frames: FrameNumbers) -> tuple[Change, tuple[SeriesFinding, ...]]:
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
        whole = frames.of_together.capitalize()
        text = f"{whole} is {_ev_words(best.off_ev)} than the sum of the solos. Shoot all together again."
        return best, (SeriesFinding(Misfit.EXPOSURE, (), text, best.off_ev),)
    if best.off_ev < ABSENT_EV:
        others = " or ".join(frames.of_solo(one.names[0]) for one in fitted.alone if one is not best)
        twice = f", or was on in {others} too" if others else ""  # all together then holds nothing that these lack
        text = (
            f"{best.names[0]} is missing in {frames.of_together}: it did not fire there{twice}. "
            "Shoot those again, each light off that is to be off."
        )
        return best, (SeriesFinding(Misfit.ABSENT, best.names, text, best.off_ev),)
    less = f"{abs(best.off_ev):.1f} EV {'less' if best.off_ev > 0 else 'more'}"
    text = (
        f"{frames.of_solo(best.names[0])} has {less} of its light than {frames.of_together}. "
        "Look at its power, and shoot the solo again."
    )
    return best, (SeriesFinding(Misfit.POWER, best.names, text, best.off_ev),)


def _is_rival(fitted: Fitted, best: Change, other: Change) -> bool:
    """Whether another explanation fits about as well, or makes a picture that only noise tells from the best one's.

    The smaller gain adds less of a solo's noise, so that misfits alone would tell lights of one pattern apart.
    """
    limit = BETTER_BY * fitted.per_block
    return other.misfit - best.misfit < limit or not _is_apart(fitted, best.found, other.found)


def _is_apart(fitted: Fitted, one: Values, other: Values) -> bool:
    """Whether the pictures of two solutions differ by more than noise."""
    apart, by_noise = fitted.equations.apart(one, other)
    noise_times = fitted.per_block * BLOCK_PX**2  # what blocks leave against what the pictures' noise would
    return apart > BETTER_BY * fitted.per_block + NOISE_MARGIN * noise_times * by_noise


def _several_findings(fitted: Fitted, best: Change) -> tuple[SeriesFinding, ...]:
    """Where lights left free surely don't do as the best single explanation says, or ambient fits as well."""
    limit = BETTER_BY * fitted.per_block
    single_ev = np.array([best.off_ev if one.names[0] in best.names else 0.0 for one in fitted.alone])
    differs = np.ones(len(single_ev), bool)
    for several in fitted.several:
        off_ev = np.abs(several.off_ev - single_ev)
        differs &= _is_apart(fitted, best.found, several.found)
        differs &= (off_ev > SEVERAL_EV) & (off_ev > SEVERAL_SDS * several.sd_ev)
    if differs.any() or (best.names and fitted.ambient < best.misfit + limit):
        return (SeriesFinding(Misfit.SEVERAL, (), SEVERAL),)
    return ()


def _moved_findings(fitted: Fitted, frames: FrameNumbers) -> tuple[SeriesFinding, ...]:
    far_px = np.hypot(fitted.moved_px[:, 0], fitted.moved_px[:, 1])
    limit_px = MOVED_SHARE * fitted.long_side_px
    moved = [n for n, far in enumerate(far_px) if far > limit_px and far > 3 * fitted.moved_sd_px[n]]
    if not moved:
        return ()
    most = max(float(far_px[n]) for n in moved)
    if len(moved) == len(fitted.alone) > 1:
        whole = frames.of_together.capitalize()
        text = f"{whole} lies {most:.1f} px off the solos: camera or piece moved. Shoot all together again."
        return (SeriesFinding(Misfit.MOVED, (), text, most),)
    names = tuple(fitted.alone[n].names[0] for n in moved)
    lie = "lies" if len(names) == 1 else "lie"
    solos = " and ".join(map(frames.of_solo, names))
    again = "it" if len(names) == 1 else "them"
    off = f"{lie} {most:.1f} px off {frames.of_together}"
    text = f"{solos} {off}: camera or piece moved. Shoot {again} again."
    return (SeriesFinding(Misfit.MOVED, names, text, most),)


def _unsure(lights: Sequence[SummedLight], frames: FrameNumbers) -> tuple[SeriesFinding, ...]:
    unsure = [light.name for light in lights if light.sd_ev > SURE_EV]
    if not unsure:
        return ()
    solos = " and ".join(map(frames.of_solo, unsure))
    text = f"Can't tell whether {solos} fits: too little of its light shows in the picture."
    return (SeriesFinding(Misfit.UNSURE, tuple(unsure), text),)


def _ev_words(ev: float) -> str:
    return f"{abs(ev):.1f} EV {'brighter' if ev > 0 else 'darker'}"
