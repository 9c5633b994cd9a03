"""Paraxial ray trace of two thin lenses with a stop between, by 2x2 matrices: an independent route to pupils,
f-numbers and depth.

Rays are (height, slope); light runs to +z. All distances in mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Matrix = NDArray[np.float64]


def travel(distance_mm: float) -> Matrix:
    return np.array([[1.0, distance_mm], [0.0, 1.0]])


def refract(focal_length_mm: float) -> Matrix:
    return np.array([[1.0, 0.0], [-1.0 / focal_length_mm, 1.0]])


@dataclass(frozen=True)
class TwoLenses:
    """First and second focal length, the gap between, and how far the stop lies behind the first."""

    first_mm: float
    second_mm: float
    gap_mm: float
    stop_mm: float

    @property
    def matrix(self) -> Matrix:
        return refract(self.second_mm) @ travel(self.gap_mm) @ refract(self.first_mm)

    @property
    def before_stop(self) -> Matrix:
        return travel(self.stop_mm) @ refract(self.first_mm)

    @property
    def after_stop(self) -> Matrix:
        return refract(self.second_mm) @ travel(self.gap_mm - self.stop_mm)

    @property
    def focal_length_mm(self) -> float:
        return float(-1 / self.matrix[1, 0])

    @property
    def entrance_pupil_behind_first_mm(self) -> float:
        (a, b), _ = self.before_stop
        return float(b / a)

    @property
    def exit_pupil_before_second_mm(self) -> float:
        (_, b), (_, d) = self.after_stop
        return float(b / d)

    @property
    def pupil_magnification(self) -> float:
        """Exit pupil over entrance pupil, both images of the same stop."""
        entrance = 1 / self.before_stop[0, 0]
        exit_ = self.after_stop[0, 0] - self.exit_pupil_before_second_mm * self.after_stop[1, 0]
        return float(abs(exit_ / entrance))

    def reversed(self) -> TwoLenses:
        return TwoLenses(self.second_mm, self.first_mm, self.gap_mm, self.gap_mm - self.stop_mm)

    def distances_mm(self, magnification: float) -> tuple[float, float]:
        """Object before the first lens and image behind the second, for a ratio counted positive."""
        (a, _), (c, d) = self.matrix
        return float((-1 / magnification - d) / c), float((-magnification - a) / c)

    def stop_radius_mm(self, f_number: float) -> float:
        """Radius of the stop that gives this f-number at infinity."""
        entrance_radius = self.focal_length_mm / (2 * f_number)
        return float(entrance_radius * abs(self.before_stop[0, 0]))

    def marginal_ray(self, object_mm: float, image_mm: float, stop_radius_mm: float) -> NDArray[np.float64]:
        """(height, slope) at a plane image_mm behind the second lens, from an axial point through the stop's edge."""
        to_stop = self.before_stop @ travel(object_mm)
        slope = stop_radius_mm / to_stop[0, 1]
        whole = travel(image_mm) @ self.matrix @ travel(object_mm)
        return np.asarray(whole @ np.array([0.0, slope]))
