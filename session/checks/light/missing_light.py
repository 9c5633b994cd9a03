"""Which of several lights is missing, by how much darker the picture is and to which side, against the recorded set.

For each light of the revision whose place is known, the loss of light without it is worked out over the field: a
point source at its distance and direction, inverse square and cosine on a level surface. A light is named only when
what was measured fits the loss of that one, and of no other, nor a loss of all together.

Azimuths count from the camera, which is taken to be below the picture's lower edge; shapers are not known, so the
amounts are held to be right within a stop where guide numbers are known, and said nothing of where they aren't.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.light.cells import Cells, change_of_light, plane_of
from session.checks.material.limits import EXPOSURE_EV
from session.checks.material.picture import Pair
from session.frame.finding import CheckId, Finding, Level, Remedy, RemedyKind
from session.set.setup import PlacedLight, Revision
from session.units.numbers import angles_text

AMOUNT_SD_EV = 0.35
"""Standard deviation of the recorded amounts once one light is gone: shapers take or give about half a stop against
each other where they are alike. Common practice, no source."""

SLOPE_SD_EV = 0.04
"""Of the slope over the field, middle to edge. Relief and gloss left 0.025 (root mean square; 0.06 at most) between
measured and worked-out slopes on the mock camera's seeds 201 to 204 with two lights, and 0.024 on 8101 to 8104; taken
half as large again, for pieces with more relief than those."""

FITS_WITHIN = 9.0
"""Sum of squares, of three terms, up to which a light fits: three standard deviations."""

BETTER_BY = 6.0
"""So much worse must every other explanation be: odds of twenty to one (half the difference of the sums of squares is
the logarithm of the odds)."""

ALL_WEAKER = 3.0
"""What the explanation that all lights gave less, by just this amount, bears for leaving the amount open: amounts
from 0 to 4 EV against AMOUNT_SD_EV, 2·ln(4 / (0.35·√(2π))). Worked out."""


@dataclass(frozen=True)
class MissingLight:
    """The light that is missing. Losses in EV < 0: as measured over the picture, and as the recorded set has it."""

    light: PlacedLight
    measured_ev: float
    expected_ev: float


def named(
    both: Pair, revision: Revision, guide_numbers_m: Mapping[str, float], field_mm: tuple[float, float]
) -> MissingLight | None:
    """The one light that didn't fire, None when it can't be told or the picture isn't darker.

    guide_numbers_m  of the set's flashes by name, full power, ISO 100; lights that aren't in it are left out
    field_mm         width and height of what the picture shows, on the piece
    """
    cells = change_of_light(both)
    if cells is None or not cells.enough:
        return None
    seen = plane_of(cells)
    lights = [light for light in revision.lights if light.name in guide_numbers_m and _placed(light)]
    if seen.level_ev > -EXPOSURE_EV or len(lights) < 2 or len(lights) < len(revision.lights):
        return None
    given = [_illuminance(light, guide_numbers_m[light.name], cells, field_mm) for light in lights]
    together = np.sum(given, axis=0)
    misfits = []
    for light, its in zip(lights, given, strict=True):
        lost = plane_of(Cells(np.where(cells.known, np.log2(1 - its / together), np.nan), cells.x, cells.y))
        off = (
            (seen.level_ev - lost.level_ev) / AMOUNT_SD_EV,
            (seen.across_ev - lost.across_ev) / SLOPE_SD_EV,
            (seen.down_ev - lost.down_ev) / SLOPE_SD_EV,
        )
        misfits.append((sum(term**2 for term in off), lost.level_ev, light))
    misfits.sort(key=lambda one: one[0])
    best, expected_ev, light = misfits[0]
    all_weaker = ALL_WEAKER + (seen.across_ev / SLOPE_SD_EV) ** 2 + (seen.down_ev / SLOPE_SD_EV) ** 2
    if best > FITS_WITHIN or min(misfits[1][0], all_weaker) - best < BETTER_BY:
        return None
    return MissingLight(light, seen.level_ev, expected_ev)


def findings(missing: MissingLight | None) -> tuple[Finding, ...]:
    """The light by its name and place."""
    if missing is None:
        return ()
    light = missing.light
    place = angles_text(light.azimuth_deg, light.elevation_deg)
    text = (
        f"{light.name} seems not to have fired ({place}): {-missing.measured_ev:.1f} EV darker, "
        f"without it {-missing.expected_ev:.1f} EV are to be expected."
    )
    remedy = Remedy(RemedyKind.BY_HAND, f"look at the trigger and lamp of {light.name}, release again")
    return (
        Finding(
            CheckId.LIGHT,
            Level.CAUTION,
            text,
            round(missing.measured_ev, 2),
            round(missing.expected_ev, 2),
            "EV",
            remedy,
        ),
    )


def _placed(light: PlacedLight) -> bool:
    return bool(light.distance_mm) and light.azimuth_deg is not None and light.elevation_deg is not None


def _illuminance(
    light: PlacedLight, guide_number_m: float, cells: Cells, field_mm: tuple[float, float]
) -> NDArray[np.float64]:
    """Light on the level of the piece in each cell, relative; (rows, columns)."""
    azimuth, elevation = math.radians(light.azimuth_deg or 0.0), math.radians(light.elevation_deg or 0.0)
    distance_mm = light.distance_mm or 1.0
    right = cells.x * field_mm[0] / 2 + distance_mm * math.sin(azimuth) * math.cos(elevation)
    down = cells.y * field_mm[1] / 2 - distance_mm * math.cos(azimuth) * math.cos(elevation)
    height = max(distance_mm * math.sin(elevation), 1.0)
    strength = guide_number_m**2 * 2.0**light.power_ev
    lux: NDArray[np.float64] = strength * height / (right**2 + down**2 + height**2) ** 1.5
    return lux
