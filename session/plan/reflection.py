"""The set's reflection in a flat, mirror-like piece, and the surface that it asks for: sizes by the law of reflection.

Piece and sensor are parallel, so without a plate the piece shows the lens and what is around its rim; over a plate it
shows what stands along the light's bent way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.lighting.mirror import (
    dark_centre_radius_mm,
    filled_half_width_mm,
    lit_from_radius_mm,
    mirror_level_ev,
    panel_half_width_mm,
)
from session.optics.sharpness import opening
from session.plan.mounting import Mounted
from session.plan.powers import LightPlan
from session.plan.room import PlatePlace
from session.plan.stops import Stop
from session.plan.wish import Wish
from session.units.numbers import mm_text

FARTHEST_PUPIL_MM = 10_000.0
"""A pupil beyond this is as good as at infinity. Chosen."""


@dataclass(frozen=True)
class Reflection:
    """The mirror image that the piece shows, lengths in mm; None where the kit doesn't tell, or nothing is shown.

    panel_distance_mm   along the reflected way, where a lit surface must stand to fill the piece
    panel_width_mm, panel_height_mm   at least so large there
    piece_radius_mm     from the middle of the piece to its corner
    filled_mm           of the piece that the key's own surface fills, across
    dark_radius_mm      in the middle of the piece, wholly dark, as it shows the lens; None over a plate
    lit_from_radius_mm  outwards from there a ring or a panel around the lens lights it wholly
    """

    panel_distance_mm: float
    panel_width_mm: float
    panel_height_mm: float
    piece_radius_mm: float
    filled_mm: float | None = None
    dark_radius_mm: float | None = None
    lit_from_radius_mm: float | None = None


def reflection_of(
    mounting: Mounted, stop: Stop, wish: Wish, plate: PlatePlace | None, lights: tuple[LightPlan, ...]
) -> Reflection | None:
    """The reflection in a mirror-like piece at a stop; None for another piece, or a pupil not known to be near."""
    pupil_mm = mounting.lens.entrance_pupil_distance_mm
    if wish.surface != "mirror" or not 0 < pupil_mm < FARTHEST_PUPIL_MM:
        return None
    pupil = pupil_mm, pupil_mm / opening(stop.effective_f_number, mounting.magnification)
    front_mm, rim_mm = mounting.working_distance_mm, mounting.build.lens.front_diameter_mm
    distance_mm = lights[0].distance_mm if plate and lights else front_mm
    if distance_mm is None or distance_mm <= 0:
        return None
    width_mm, height_mm = (
        2 * panel_half_width_mm(side_mm / 2, distance_mm, *pupil)
        for side_mm in (wish.piece_width_mm, wish.piece_height_mm)
    )
    radius_mm = math.hypot(wish.piece_width_mm, wish.piece_height_mm) / 2
    if plate is not None:
        source_mm = lights[0].source_size_mm if lights else 0.0
        filled_mm = 2 * filled_half_width_mm(source_mm / 2, distance_mm, *pupil) if source_mm else None
        return Reflection(distance_mm, width_mm, height_mm, radius_mm, filled_mm)
    if rim_mm is None:
        return Reflection(distance_mm, width_mm, height_mm, radius_mm)
    return Reflection(
        distance_mm,
        width_mm,
        height_mm,
        radius_mm,
        dark_radius_mm=dark_centre_radius_mm(rim_mm / 2, distance_mm, *pupil),
        lit_from_radius_mm=lit_from_radius_mm(rim_mm / 2, distance_mm, *pupil),
    )


def reflection_texts(shown: Reflection, key: LightPlan | None) -> tuple[str, ...]:
    """A phrase each on the reflection in the piece, and on place and size of the lit surface."""
    size = f"{mm_text(shown.panel_width_mm)} × {mm_text(shown.panel_height_mm)}"
    if shown.dark_radius_mm is not None and shown.dark_radius_mm >= shown.piece_radius_mm:
        return ("shows the lens all over, and stays dark: take a plate, or tilt it",)
    if shown.dark_radius_mm is not None and shown.lit_from_radius_mm is not None:
        return (
            f"shows the lens: wholly dark to a radius of {mm_text(shown.dark_radius_mm)} from the middle",
            f"lit from {mm_text(shown.lit_from_radius_mm)} outwards by a surface around the lens, {size}; else take a "
            "plate, or tilt it",
        )
    told = [
        f"shows what stands {mm_text(shown.panel_distance_mm)} along the light's way: a lit surface, at least {size}"
    ]
    if key is not None and shown.filled_mm is not None:
        across_mm = 2 * shown.piece_radius_mm
        corners = f"the piece's corners lie {mm_text(across_mm)} apart: put the light nearer"
        less = "" if shown.filled_mm >= across_mm else f"; {corners}"
        fills = f"{key.shaper or key.name} fills {mm_text(shown.filled_mm)} of the piece"
        told.append(f"{fills}, its power set by its luminance{less}")
    elif key is not None:
        told.append(f"{key.name} has no lit surface in the kit: put a diffuser of that size there")
    return tuple(told)


def satin_text(light: LightPlan) -> str:
    """How much brighter a satin piece can show a source than a matt one, a sentence; "" for a source without size."""
    if not light.source_size_mm:
        return ""
    lit_ev = light.level_ev + light.incidence_loss_ev  # of what faces the light, against a right exposure
    more_ev = lit_ev + mirror_level_ev(light.source_size_mm, light.distance_mm)
    return f"A satin piece shows {light.name} up to {more_ev:.1f} EV over mid grey where it mirrors it: bracket."
