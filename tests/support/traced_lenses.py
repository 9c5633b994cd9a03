"""Random lenses with what is added to them, by two routes: what the planner is told, and what rays say.

The planner is told what a photographer can read or measure: focal length, marked f-number, pupil magnification in
normal orientation, millimetres of tube, dioptres, the converter's factor. The same glass as two thin lenses with a stop
is traced by matrices (paraxial_trace), and the simulated camera is given the traced lens: focal length, pupils,
f-number and ratio of the whole, as if it were one lens.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from session.optics.arrangement import (
    EquivalentLens,
    bare,
    magnification_with_extension,
    reversed_lens,
    reversed_magnification,
    stacked_lenses,
    with_close_up_lens,
    with_converter,
)
from session.optics.framing import magnification_for_field
from tests.support.paraxial_trace import TwoLenses

Chance = np.random.Generator
SENSOR_WIDTH_MM = 24.0
WIDE_OPEN = 2.8  # f-number of a lens reversed before another


@dataclass(frozen=True)
class Traced:
    """One lens as rays see it: what the simulated camera is set to.

    f_number  focal length over the diameter of the entrance pupil
    """

    focal_length_mm: float
    pupil_magnification: float
    f_number: float
    magnification: float


@dataclass(frozen=True)
class Put:
    """An arrangement: in words, as the planner works it out, as rays go through it."""

    words: str
    planned: EquivalentLens
    traced: Traced


def traced(system: TwoLenses, magnification: float, stop_radius_mm: float) -> Traced:
    """The whole as one lens, at a ratio, with a stop of that radius."""
    entrance_radius_mm = stop_radius_mm / abs(system.before_stop[0, 0])
    f = system.focal_length_mm
    return Traced(f, system.pupil_magnification, f / (2 * entrance_radius_mm), magnification)


def ratio_at_mm(system: TwoLenses, image_mm: float) -> float:
    """Ratio of a system that is focused with its sensor so far behind the second lens."""
    (a, _), (c, _) = system.matrix
    return float(-a - image_mm * c)


def even(chance: Chance, low: float, high: float) -> float:
    """A number of which every factor is as likely as any other."""
    return float(math.exp(chance.uniform(math.log(low), math.log(high))))


def thick_lens(chance: Chance) -> TwoLenses:
    """Two lenses with a stop between, of 25 to 180 mm; those with unlike pupils are kept more often."""
    while True:
        first, second = even(chance, 40, 160), even(chance, 40, 160) * chance.choice([1, 1, -1])
        gap = chance.uniform(8, 40)
        system = TwoLenses(first, float(second), float(gap), float(gap * chance.uniform(0.1, 0.9)))
        if chance.random() < 0.5:
            system = system.reversed()
        unlike = abs(math.log(system.pupil_magnification)) > chance.uniform(0, math.log(2))
        upright = system.before_stop[0, 0] > 0.1 and system.after_stop[1, 1] > 0.1
        if upright and unlike and 25 < system.focal_length_mm < 180 and 0.4 < system.pupil_magnification < 2.5:
            return system


def _bare(chance: Chance, n: float) -> Put:
    system, field_mm = thick_lens(chance), even(chance, 8, 120)
    f, p = system.focal_length_mm, system.pupil_magnification
    m = magnification_for_field(SENSOR_WIDTH_MM, field_mm)
    _, behind_mm = system.distances_mm(SENSOR_WIDTH_MM / field_mm)
    lens = traced(system, ratio_at_mm(system, behind_mm), system.stop_radius_mm(n))
    return Put(f"{f:.0f} mm, {field_mm:.0f} mm across", bare(f, n, m, p), lens)


def _on_tubes(chance: Chance, n: float) -> Put:
    system, own, tube_mm = thick_lens(chance), chance.uniform(0.05, 0.5), chance.uniform(10, 100)
    f, p = system.focal_length_mm, system.pupil_magnification
    _, behind_mm = system.distances_mm(own)
    planned = bare(f, n, magnification_with_extension(f, own, tube_mm), p)
    lens = traced(system, ratio_at_mm(system, behind_mm + tube_mm), system.stop_radius_mm(n))
    return Put(f"{f:.0f} mm on {tube_mm:.0f} mm of tubes", planned, lens)


def _reversed(chance: Chance, n: float) -> Put:
    system, m = thick_lens(chance), even(chance, 0.4, 3)
    f, p = system.focal_length_mm, system.pupil_magnification
    turned = system.reversed()
    _, behind_mm = turned.distances_mm(m)
    (a, _), (c, _) = turned.matrix
    plane_to_sensor_mm = behind_mm - (1 - a) / c  # from the rear principal plane
    planned = reversed_lens(f, n, reversed_magnification(f, plane_to_sensor_mm), p)
    lens = traced(turned, ratio_at_mm(turned, behind_mm), system.stop_radius_mm(n))
    return Put(f"{f:.0f} mm reversed", planned, lens)


def _close_up_lens(chance: Chance, n: float) -> Put:
    f, own, dioptres, gap = even(chance, 50, 150), chance.uniform(0, 0.5), chance.uniform(2, 10), chance.uniform(1, 25)
    system = TwoLenses(1000 / dioptres, f, gap, gap)
    planned = with_close_up_lens(bare(f, n, own), dioptres, gap)
    lens = traced(system, ratio_at_mm(system, f * (1 + own)), f / (2 * n))
    return Put(f"{f:.0f} mm with {dioptres:.1f} dioptres", planned, lens)


def _converter(chance: Chance, n: float) -> Put:
    f, own, k = even(chance, 50, 150), chance.uniform(0.3, 1), float(chance.choice([1.4, 1.7, 2.0]))
    converter_mm = chance.uniform(0.3, 0.6) * f
    # the image of the lens lies s behind the converter, which throws it k times as far
    s = converter_mm * (1 - 1 / k)
    system = TwoLenses(f, -converter_mm, f * (1 + own) - s, 0.0)
    planned = with_converter(bare(f, n, own), k)
    lens = traced(system, ratio_at_mm(system, k * s), f / (2 * n))
    return Put(f"{f:.0f} mm with a converter x{k:g}", planned, lens)


def _stacked(chance: Chance, n: float) -> Put:
    rear_mm, front_mm, gap_mm = chance.uniform(80, 160), chance.uniform(40, 75), chance.uniform(5, 20)
    # the beam is parallel between them: the narrower of both lenses is the stop
    rear_radius_mm, front_radius_mm = rear_mm / (2 * n), front_mm / (2 * WIDE_OPEN)
    stop_mm = gap_mm if rear_radius_mm < front_radius_mm else 0.0
    system = TwoLenses(front_mm, rear_mm, gap_mm, stop_mm)
    planned = stacked_lenses(rear_mm, n, front_mm, WIDE_OPEN)
    lens = traced(system, ratio_at_mm(system, rear_mm), min(rear_radius_mm, front_radius_mm))
    return Put(f"{front_mm:.0f} mm reversed before {rear_mm:.0f} mm", planned, lens)


KINDS: dict[str, Callable[[Chance, float], Put]] = {
    "bare": _bare,
    "tubes": _on_tubes,
    "reversed": _reversed,
    "close-up lens": _close_up_lens,
    "converter": _converter,
    "stacked": _stacked,
}
