"""Pieces that shine like a mirror show the source itself, so the source's size, place and luminance count.

What the lens sees in a flat piece is whatever lies in the mirror image of its own pupil's view: the "family of angles"
(from memory). Piece and panel are parallel and on the axis here; axial light gets there by a plate (optics.plate).
Every point of the piece is lit wholly where each point of the pupil sees the panel in it, since the pupil has a size D:

    panel half-width = w + (w + D/2)·L/u_E

A mirror shows the luminance of the source, whatever its distance. Source: law of reflection; conservation of luminance.
"""

from __future__ import annotations

import math

from session.lighting.flash import GUIDE_ISO
from session.lighting.source import disc_view_factor
from session.units.quantities import RefusedNumberError, require
from session.units.surfaces import MID_GREY

POLISHED_REFLECTANCE = 0.6
"""Of polished steel; silver has 0.95, gold 0.8, dark stone 0.05. Values from memory."""

SHOWN_EV = 2.0
"""So far above mid grey a lit surface shows in the piece: bright, half a stop short of burning out. Chosen."""


def panel_half_width_mm(
    piece_half_width_mm: float,
    panel_distance_mm: float,
    entrance_pupil_distance_mm: float,
    entrance_pupil_diameter_mm: float,
) -> float:
    """Half-width of the panel that fills the piece with light for the whole pupil, mm: w + (w + D/2)·L/u_E.

    piece_half_width_mm         w
    panel_distance_mm           L, along the reflected path
    entrance_pupil_distance_mm  u_E, piece to entrance pupil
    entrance_pupil_diameter_mm  D, at the opening in use
    Raises ValueError when an argument is out of range.
    """
    require(piece_half_width_mm=piece_half_width_mm, panel_distance_mm=panel_distance_mm)
    reach = _reach(panel_distance_mm, entrance_pupil_distance_mm, entrance_pupil_diameter_mm)
    return piece_half_width_mm + (piece_half_width_mm + entrance_pupil_diameter_mm / 2) * reach


def filled_half_width_mm(
    panel_half_width_mm: float,
    panel_distance_mm: float,
    entrance_pupil_distance_mm: float,
    entrance_pupil_diameter_mm: float,
) -> float:
    """Half-width on the piece that a panel fills, mm: the inverse of panel_half_width_mm; 0 for an unfilled piece.

    Lengths in mm. Raises ValueError.
    """
    require(panel_half_width_mm=panel_half_width_mm, panel_distance_mm=panel_distance_mm)
    reach = _reach(panel_distance_mm, entrance_pupil_distance_mm, entrance_pupil_diameter_mm)
    return max(0.0, (panel_half_width_mm - entrance_pupil_diameter_mm / 2 * reach) / (1 + reach))


def dark_centre_radius_mm(
    inner_radius_mm: float,
    ring_distance_mm: float,
    entrance_pupil_distance_mm: float,
    entrance_pupil_diameter_mm: float,
) -> float:
    """Radius of the wholly dark disc in the middle of the piece under a ring light, mm: (R_in − D/2·L/u_E)/(1 + L/u_E).

    The piece reflects the hole of the ring there, or the lens itself, to every point of the pupil. Outwards it grows
    lighter up to lit_from_radius_mm. 0 where no part is wholly dark. Lengths in mm, as in panel_half_width_mm.
    Seen in articles on axial light for coins; derived. Raises ValueError when an argument is out of range.
    """
    require(inner_radius_mm=inner_radius_mm, ring_distance_mm=ring_distance_mm)
    return filled_half_width_mm(
        inner_radius_mm, ring_distance_mm, entrance_pupil_distance_mm, entrance_pupil_diameter_mm
    )


def lit_from_radius_mm(
    inner_radius_mm: float,
    ring_distance_mm: float,
    entrance_pupil_distance_mm: float,
    entrance_pupil_diameter_mm: float,
) -> float:
    """Radius on the piece from which the ring lights it wholly, mm: (R_in + D/2·L/u_E)/(1 + L/u_E).

    Lengths in mm, as in dark_centre_radius_mm. Raises ValueError.
    """
    require(inner_radius_mm=inner_radius_mm, ring_distance_mm=ring_distance_mm)
    reach = _reach(ring_distance_mm, entrance_pupil_distance_mm, entrance_pupil_diameter_mm)
    return (inner_radius_mm + entrance_pupil_diameter_mm / 2 * reach) / (1 + reach)


def mirror_level_ev(source_size_mm: float, distance_mm: float, reflectance: float = POLISHED_REFLECTANCE) -> float:
    """How far above mid grey a mirror-like piece shows a source whose light on a matt piece is right, EV.

    log2(ρ/(0.18·F)), F the view factor of the source: its luminance against that of the grey card that it lights

    source_size_mm  diameter of the disc that shines, > 0, mm; distance_mm from the piece
    reflectance     ρ of the piece
    Raises ValueError when an argument is out of range, or the source has no size.
    """
    require(source_size_mm=source_size_mm, distance_mm=distance_mm, reflectance=reflectance)
    _require_seen(source_size_mm, reflectance)
    return math.log2(reflectance / (MID_GREY * disc_view_factor(source_size_mm, distance_mm)))


def power_ev_for_luminance(
    effective_f_number: float,
    guide_number_m: float,
    source_size_mm: float,
    iso: float = GUIDE_ISO,
    shown_ev: float = SHOWN_EV,
    reflectance: float = POLISHED_REFLECTANCE,
    loss_ev: float = 0.0,
) -> float:
    """Power in EV at which a mirror-like piece shows the source so far above mid grey, wherever it stands.

    2·log2(N_e·R/GN) − log2(S/100) + shown + log2(0.18/ρ) + loss

    effective_f_number  N_e at the sensor
    guide_number_m      GN in metres, full power; source_size_mm the diameter 2R, mm, > 0
    shown_ev            above mid grey, EV; reflectance ρ; loss_ev lost in shaper and plate, EV
    Above 0 the flash hasn't enough. Raises ValueError when an argument is out of range, or the source has no size.
    Source: derived; luminance of a disc by ISO 1230's guide number at a distance, the same at every distance.
    """
    require(
        effective_f_number=effective_f_number,
        guide_number_m=guide_number_m,
        source_size_mm=source_size_mm,
        iso=iso,
        shown_ev=shown_ev,
        reflectance=reflectance,
        loss_ev=loss_ev,
    )
    _require_seen(source_size_mm, reflectance)
    full_ev = 2 * math.log2(effective_f_number * source_size_mm / 2000 / guide_number_m)
    return full_ev - math.log2(iso / GUIDE_ISO) + shown_ev + math.log2(MID_GREY / reflectance) + loss_ev


def _reach(distance_mm: float, entrance_pupil_distance_mm: float, entrance_pupil_diameter_mm: float) -> float:
    """L/u_E, the pupil checked."""
    require(
        entrance_pupil_distance_mm=entrance_pupil_distance_mm,
        entrance_pupil_diameter_mm=entrance_pupil_diameter_mm,
    )
    return distance_mm / entrance_pupil_distance_mm


def _require_seen(source_size_mm: float, reflectance: float) -> None:
    """Refuse what no mirror shows. Raises ValueError."""
    for name, value in (("source_size_mm", source_size_mm), ("reflectance", reflectance)):
        if value == 0:
            raise RefusedNumberError(name, value, but="only a source with a size is seen, in a piece that reflects")
