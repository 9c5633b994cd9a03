"""Which of several lights is missing, by how much darker the picture is and to which side, against the recorded set.

For each light of the revision the loss of light without it is worked out over the field: a point source at its
recorded distance and direction, inverse square and cosine on a level surface, so that the side it stands on loses most.
A light is named only when the plane through the measured loss fits the loss of that one, and of no other, nor a loss of
all together or of a reflector.

How much each light gives is taken from the guide numbers where the kit knows them all. Where it doesn't, the amounts
are left open: the missing light's share is what the picture lost, the others' shares are those that suit each
explanation best, and only the side decides.

Azimuths count from the camera, which is taken to be below the picture's lower edge; shapers are not known, so the
amounts are held to be right within a stop where guide numbers are known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from session.checks.light.cells import Cells, Plane, change_of_light, plane_of
from session.checks.material.check_limits import EXPOSURE_EV, WEAK_FLASH_EV
from session.checks.material.checked_picture import Pair
from session.frame.finding import CheckId, Finding, Level, Remedy, RemedyKind
from session.set.setup import PassiveItem, PlacedLight, Revision
from session.units.numbers import angles_text

AMOUNT_SD_EV = 0.35
"""Standard deviation of the recorded amounts once one light is gone: shapers take or give about half a stop against
each other where they are alike. Common practice, no source."""

SLOPE_SD_EV, SLOPE_SD_OF_SCATTER, SLOPE_SD_OF_ITSELF = 0.008, 0.45, 0.33
"""Standard deviation of a slope over the field, middle to edge: a constant, a part of the cells' scatter about the
plane, since relief and gloss that scatter them lean it as well, and along the slope a part of itself, for sources with
a size and places noted by hand. Most likely on 88 frames of sets of two lights of the mock camera, seeds 20001 to
20060, recorded within 5 % and 5°, were 0.005, 0.31 and 0.22; taken half as large again, for pieces with more relief."""

FITS_WITHIN = 9.0
"""Sum of squares, of two or three terms, up to which a light fits: three standard deviations."""

BETTER_BY = 6.0
"""By how much every other explanation must fit worse: odds of twenty to one (half the difference of −2·ln likelihood is
the logarithm of the odds)."""

ALL_WEAKER = 3.0
"""Handicap of the explanation that all lights gave less, for leaving the amount open where the lights' amounts are
known: amounts from 0 to 4 EV against AMOUNT_SD_EV, 2·ln(4 / (0.35·√(2π))). Worked out."""

MISSING_OR_WEAK = "is missing or weak"
"""Words for a light whose amount isn't known."""

MOST_MIXES = 60
"""Of the others' shares that are tried where the amounts are open; with three lights every twentieth. Chosen: a slope
between two of them is nearer to one than its standard deviation."""

Values = NDArray[np.float64]


@dataclass(frozen=True)
class MissingLight:
    """The light that is missing. Losses in EV < 0: as measured over the picture, and as the recorded set has it.

    expected_ev  None where the amounts aren't known, and the light may be weak instead
    """

    light: PlacedLight
    measured_ev: float
    expected_ev: float | None


@dataclass(frozen=True)
class _Loss:
    """The change in brightness that an explanation predicts: slopes in EV from the middle to the edges, and the level.

    level_ev   EV; None when the explanation leaves the level open
    """

    across_ev: float = 0.0
    down_ev: float = 0.0
    level_ev: float | None = None


def name_missing_light(
    both: Pair, revision: Revision, guide_numbers_m: Mapping[str, float], field_mm: tuple[float, float]
) -> MissingLight | None:
    """The single light that didn't fire, None when unknown or the picture isn't darker.

    guide_numbers_m  of the set's flashes by name, full power, ISO 100; unless all lights are in it, none is used
    field_mm         width and height of what the picture shows, on the piece
    """
    cells = change_of_light(both)
    if cells is None or not cells.enough:
        return None
    return explanation(cells, revision, guide_numbers_m, field_mm)


def explanation(
    cells: Cells, revision: Revision, guide_numbers_m: Mapping[str, float], field_mm: tuple[float, float]
) -> MissingLight | None:
    """The single light whose absence explains the change of light; enough of the cells must be known.

    guide_numbers_m  by the lights' names, m
    field_mm         width and height of what the picture shows, mm
    """
    lights = revision.lights
    if len(lights) < 2 or not all(_has_place(light) for light in lights):
        return None
    seen = plane_of(cells)
    amounts = all(light.name in guide_numbers_m for light in lights)
    if seen.level_ev > -(EXPOSURE_EV if amounts else WEAK_FLASH_EV):
        return None
    given = [_light_from(light, cells, field_mm) for light in lights]
    if amounts:
        strengths = [guide_numbers_m[light.name] ** 2 * 2.0**light.power_ev for light in lights]
        losses = _losses_of_known([one * lux for one, lux in zip(strengths, given, strict=True)], cells)
    else:
        losses = [_likeliest_loss(seen, cells, its, [*given[:i], *given[i + 1 :]]) for i, its in enumerate(given)]
    reflectors = [
        _likeliest_loss(seen, cells, _light_from(item, cells, field_mm), given)
        for item in revision.passive
        if item.kind == "bounce" and _has_place(item)
    ]
    unlikely = [_unlikelihood(seen, loss) for loss in losses]
    first, *others = sorted(range(len(lights)), key=unlikely.__getitem__)
    all_weaker = _unlikelihood(seen, _Loss()) + (ALL_WEAKER if amounts else 0.0)
    rival = min(all_weaker, unlikely[others[0]], *(_unlikelihood(seen, loss) for loss in reflectors))
    if sum(_squares(seen, losses[first])) > FITS_WITHIN or rival - unlikely[first] < BETTER_BY:
        return None
    return MissingLight(lights[first], seen.level_ev, losses[first].level_ev)


def findings(missing: MissingLight | None) -> tuple[Finding, ...]:
    """The light by its name and place."""
    if missing is None:
        return ()
    light, expected_ev = missing.light, missing.expected_ev
    place = angles_text(light.azimuth_deg, light.elevation_deg)
    if expected_ev is None:
        text = f"{light.name} {MISSING_OR_WEAK} ({place}): {-missing.measured_ev:.1f} EV darker, most on its side."
    else:
        text = (
            f"{light.name} seems not to have fired ({place}): {-missing.measured_ev:.1f} EV darker, "
            f"without it {-expected_ev:.1f} EV are to be expected."
        )
    remedy = Remedy(RemedyKind.BY_HAND, f"look at the trigger and lamp of {light.name}, release again")
    limit = round(expected_ev, 2) if expected_ev is not None else -float(WEAK_FLASH_EV)
    return (Finding(CheckId.LIGHT, Level.CAUTION, text, round(missing.measured_ev, 2), limit, "EV", remedy),)


def _has_place(thing: PlacedLight | PassiveItem) -> bool:
    return bool(thing.distance_mm) and thing.azimuth_deg is not None and thing.elevation_deg is not None


def _light_from(thing: PlacedLight | PassiveItem, cells: Cells, field_mm: tuple[float, float]) -> Values:
    """Light on the level of the piece in each cell that is known, from a source of unit strength; (cells,)."""
    azimuth, elevation = math.radians(thing.azimuth_deg or 0.0), math.radians(thing.elevation_deg or 0.0)
    distance_mm = thing.distance_mm or 1.0
    x, y = cells.x[cells.known], cells.y[cells.known]
    right = x * field_mm[0] / 2 + distance_mm * math.sin(azimuth) * math.cos(elevation)
    down = y * field_mm[1] / 2 - distance_mm * math.cos(azimuth) * math.cos(elevation)
    height = max(distance_mm * math.sin(elevation), 1.0)
    lux: Values = height / (right**2 + down**2 + height**2) ** 1.5
    return lux


def _losses_of_known(given: Sequence[Values], cells: Cells) -> list[_Loss]:
    """The loss without each light, where all amounts are known."""
    together = np.sum(given, axis=0)
    planes = [_plane_through(np.log2(1 - its / together), cells) for its in given]
    return [_Loss(across, down, level) for level, across, down in planes]


def _likeliest_loss(seen: Plane, cells: Cells, gone: Values, left: Sequence[Values]) -> _Loss:
    """The loss without a light that gave what the picture lost, with the likeliest mix of the other lights."""
    share = 1 - 2.0**seen.level_ev
    alike = [light / light.mean() for light in left]
    losses = []
    for mix in _mixes(len(left)):
        rest = (1 - share) * np.sum([part * light for part, light in zip(mix, alike, strict=True)], axis=0)
        _, across, down = _plane_through(np.log2(rest / (rest + share * gone / gone.mean())), cells)
        losses.append(_Loss(across, down))
    return min(losses, key=lambda loss: _unlikelihood(seen, loss))


def _mixes(count: int) -> Iterator[tuple[float, ...]]:
    """Shares of so many lights that add up to 1, in even steps."""
    steps = max((n for n in range(1, 21) if math.comb(n + count - 1, n) <= MOST_MIXES), default=1)
    for bars in combinations(range(steps + count - 1), count - 1):
        ends = (-1, *bars, steps + count - 1)
        yield tuple((ends[i + 1] - ends[i] - 1) / steps for i in range(count))


def _plane_through(ev: Values, cells: Cells) -> tuple[float, float, float]:
    """Level, across and down of the plane through values that lie smooth; (cells,)."""
    x, y = cells.x[cells.known], cells.y[cells.known]
    level, across, down = np.linalg.lstsq(np.stack([np.ones_like(x), x, y], axis=1), ev, rcond=None)[0]
    return float(level), float(across), float(down)


def _variances(seen: Plane, loss: _Loss) -> tuple[float, float]:
    """Variances of the measured slope, EV², across the expected slope and along it."""
    across = SLOPE_SD_EV**2 + (SLOPE_SD_OF_SCATTER * seen.scatter_ev) ** 2
    return across, across + SLOPE_SD_OF_ITSELF**2 * (loss.across_ev**2 + loss.down_ev**2)


def _squares(seen: Plane, loss: _Loss) -> tuple[float, ...]:
    """Squares of what was seen off the loss, in variances: across its slope, along it, and of the amount if known."""
    slope = math.hypot(loss.across_ev, loss.down_ev)
    along_x, along_y = (loss.across_ev / slope, loss.down_ev / slope) if slope else (1.0, 0.0)
    off_x, off_y = seen.across_ev - loss.across_ev, seen.down_ev - loss.down_ev
    across, along = off_y * along_x - off_x * along_y, off_x * along_x + off_y * along_y
    across_variance, along_variance = _variances(seen, loss)
    amount = () if loss.level_ev is None else (((seen.level_ev - loss.level_ev) / AMOUNT_SD_EV) ** 2,)
    return across**2 / across_variance, along**2 / along_variance, *amount


def _unlikelihood(seen: Plane, loss: _Loss) -> float:
    """−2·ln of the likelihood of what was seen, normal errors, but for a constant."""
    return sum(_squares(seen, loss)) + sum(math.log(variance) for variance in _variances(seen, loss))
