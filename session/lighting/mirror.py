"""Flat pieces that shine like a mirror: a lit surface must fill the whole part of the room that the piece reflects.

The lens at u_E before the piece sees, in the piece, whatever lies in the mirror image of its own pupil's
view: the "family of angles" (from memory). Piece and panel are parallel and on the axis here; axial light gets
there by a plate (optics.plate). Source: law of reflection.
"""

from __future__ import annotations

from session.units.quantities import require


def panel_half_width_mm(
    piece_half_width_mm: float, panel_distance_mm: float, entrance_pupil_distance_mm: float
) -> float:
    """Half-width of the panel that fills the piece with light, mm: w·(1 + L/u_E).

    piece_half_width_mm         w
    panel_distance_mm           L, along the reflected path
    entrance_pupil_distance_mm  u_E, piece to entrance pupil
    Raises ValueError when an argument is out of range.
    """
    require(
        piece_half_width_mm=piece_half_width_mm,
        panel_distance_mm=panel_distance_mm,
        entrance_pupil_distance_mm=entrance_pupil_distance_mm,
    )
    return piece_half_width_mm * (1 + panel_distance_mm / entrance_pupil_distance_mm)


def filled_half_width_mm(
    panel_half_width_mm: float, panel_distance_mm: float, entrance_pupil_distance_mm: float
) -> float:
    """Half-width on the piece that a panel fills, mm: the inverse of panel_half_width_mm. Raises ValueError."""
    require(
        panel_half_width_mm=panel_half_width_mm,
        panel_distance_mm=panel_distance_mm,
        entrance_pupil_distance_mm=entrance_pupil_distance_mm,
    )
    return panel_half_width_mm / (1 + panel_distance_mm / entrance_pupil_distance_mm)


def dark_centre_radius_mm(
    ring_inner_radius_mm: float, ring_distance_mm: float, entrance_pupil_distance_mm: float
) -> float:
    """Radius of the dark disc in the middle of the piece under a ring light, mm: R_in/(1 + L/u_E).

    The piece reflects the hole of the ring there. Seen in articles on axial light for coins; derived.
    Raises ValueError when an argument is out of range.
    """
    require(ring_inner_radius_mm=ring_inner_radius_mm, ring_distance_mm=ring_distance_mm)
    return filled_half_width_mm(ring_inner_radius_mm, ring_distance_mm, entrance_pupil_distance_mm)
