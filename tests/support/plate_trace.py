"""Real rays through and off a tilted plane plate by Snell's law in vectors: an independent route to its shifts.

The plate's normal lies in the x-z plane, tilted from the axis z; light runs to +z.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]


def refracted(direction: Vector, normal: Vector, index_ratio: float) -> Vector:
    """Direction after a surface whose normal points along the light; index_ratio = from / to."""
    cosine = float(direction @ normal)
    inner = 1 - index_ratio**2 * (1 - cosine**2)
    return np.asarray(index_ratio * direction + (np.sqrt(inner) - index_ratio * cosine) * normal)


def through_plate(
    origin: Vector, direction: Vector, angle_deg: float, refractive_index: float, thickness_mm: float
) -> tuple[Vector, Vector]:
    """Point on the back surface and direction after it, for a plate whose front passes through (0, 0, 0)."""
    angle = np.radians(angle_deg)
    normal = np.array([np.sin(angle), 0.0, np.cos(angle)])
    front = origin + direction * float(-(origin @ normal) / (direction @ normal))
    inside = refracted(direction, normal, 1 / refractive_index)
    back = front + inside * float(thickness_mm / (inside @ normal))
    return back, refracted(inside, normal, refractive_index)


def reflected_pair(angle_deg: float, refractive_index: float, thickness_mm: float) -> float:
    """Distance across the beam between an axial ray off the front and the same ray off the back."""
    angle = np.radians(angle_deg)
    normal = np.array([np.sin(angle), 0.0, np.cos(angle)])
    axis = np.array([0.0, 0.0, 1.0])
    inside = refracted(axis, normal, 1 / refractive_index)
    back = inside * float(thickness_mm / (inside @ normal))
    returning = inside - 2 * float(inside @ normal) * normal
    out = back + returning * float(-thickness_mm / (returning @ normal))
    away = axis - 2 * float(axis @ normal) * normal
    across = out - away * float(out @ away)
    return float(np.linalg.norm(across))


def virtual_focus_mm(
    fan: str, angle_deg: float, refractive_index: float, thickness_mm: float, source_mm: float = 100.0
) -> float:
    """Place along z where a narrow fan from a point source_mm before the plate seems to come from.

    fan  "tangential" (in the plane of the tilt) or "sagittal" (across it)
    """
    origin = np.array([0.0, 0.0, -source_mm])
    chief_at, chief = through_plate(origin, np.array([0.0, 0.0, 1.0]), angle_deg, refractive_index, thickness_mm)
    small = 1e-5
    axis = 0 if fan == "tangential" else 1
    places = []
    for sign in (1, -1):
        tilted = np.zeros(3)
        tilted[axis], tilted[2] = sign * np.sin(small), np.cos(small)
        at, direction = through_plate(origin, tilted, angle_deg, refractive_index, thickness_mm)
        # Both rays as functions of z: where do they have the same coordinate in the fan's plane?
        slope, chief_slope = direction[axis] / direction[2], chief[axis] / chief[2]
        offset = at[axis] - slope * at[2] - (chief_at[axis] - chief_slope * chief_at[2])
        places.append(-offset / (slope - chief_slope))
    return float(np.mean(places))
