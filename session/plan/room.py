"""The room between piece and lens: for a light that comes in beside it, or a plate for axial light.

Distances count from the plane of focus towards the lens, mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.optics import plate as glass
from session.optics.arrangement import EquivalentLens
from session.optics.fresnel import plate_transmittance
from session.plan.wish import Wish
from session.set.kit import Lens, Plate
from session.set.lens_in_use import plate_astigmatism_mm
from session.units.quantities import require

CLAMP_ROOM_MM = 10.0
"""Above and below a plate, for clamps and taped edges. Common practice, no source."""


@dataclass(frozen=True)
class PlatePlace:
    """A plate where it stands; lengths in mm.

    length_needed_mm   along its tilt, to clear the beam; width_needed_mm across it
    length_mm          that it has along its tilt, as it is best turned; the needed one where its size isn't known
    width_mm           that it has across it, likewise
    size_known         whether the kit says how large it is
    room_mm            along the axis, clamps included
    distance_mm        plane of focus to its centre
    loss_ev            both passes, diffuse piece; mirror_loss_ev for a piece that shines like a mirror
    passing_loss_ev    for lights that don't come over the plate
    aim_sideways_mm, aim_along_axis_mm   where the light must aim, from the piece
    """

    name: str
    angle_deg: float
    length_needed_mm: float
    width_needed_mm: float
    length_mm: float
    width_mm: float
    size_known: bool
    room_mm: float
    distance_mm: float
    loss_ev: float
    mirror_loss_ev: float
    passing_loss_ev: float
    shift_mm: float
    double_image_mm: float
    astigmatism_mm: float
    aim_sideways_mm: float
    aim_along_axis_mm: float


def light_room_mm(
    front_diameter_mm: float, piece_width_mm: float, piece_height_mm: float, light_angle_deg: float
) -> float:
    """Room that a light needs to pass the rim of the lens and reach the far corner of the piece, mm.

    (rim radius + half the piece's diagonal) / tan(angle); light_angle_deg counts from the optical axis.
    Raises ValueError when an argument is out of range. Derived.
    """
    require(
        front_diameter_mm=front_diameter_mm,
        piece_width_mm=piece_width_mm,
        piece_height_mm=piece_height_mm,
        light_angle_deg=light_angle_deg,
    )
    reach_mm = (front_diameter_mm + math.hypot(piece_width_mm, piece_height_mm)) / 2
    return reach_mm / math.tan(math.radians(light_angle_deg))


def beside_axis_mm(lens: Lens, wish: Wish) -> float:
    """How far lens and picture reach from the optical axis, mm: where no part of a light may stand."""
    picture_mm = math.hypot(wish.piece_width_mm, wish.piece_height_mm) / wish.fill
    return max(lens.front_diameter_mm or 0.0, picture_mm) / 2


def beam_mm(field_mm: float, distance_mm: float, lens: EquivalentLens, opening: float) -> float:
    """Width of the imaging beam so far before the plane of focus, mm: field·|1 − z/u_E| + z/a.

    opening  a = N_e/m
    As optics.plate.clear_aperture_mm, but for any place of the pupil, also infinite or on the piece's side.
    """
    return field_mm * abs(1 - distance_mm / lens.entrance_pupil_distance_mm) + distance_mm / opening


def plate_place(
    plate: Plate,
    angle_deg: float,
    framed_mm: tuple[float, float],
    front_mm: float,
    in_front_mm: float,
    lens: EquivalentLens,
    opening: float,
) -> PlatePlace:
    """The plate as low as it goes over the piece; the beam is taken at its wider end, so the size is safe.

    angle_deg    the plate's angle of incidence, degrees
    framed_mm    width and height of the delivered picture on the piece; the shorter one lies along the tilt
    front_mm     plane of focus to the lens's rim
    in_front_mm  how far the piece rises from the plane of focus
    opening      a = N_e/m of the widest stop used
    Raises ValueError when an argument is out of range.
    """
    index, thick_mm = plate.refractive_index, plate.thickness_mm
    along_mm, across_mm = (max(field, beam_mm(field, front_mm, lens, opening)) for field in sorted(framed_mm))
    needed_mm = glass.plate_length_mm(along_mm, angle_deg, index, thick_mm)
    length_mm, width_mm = _turned_best(plate, needed_mm, across_mm)
    room_mm = length_mm * math.sin(math.radians(angle_deg)) + 2 * CLAMP_ROOM_MM
    distance_mm = in_front_mm + room_mm / 2
    aim = glass.aim_point(distance_mm, angle_deg)
    return PlatePlace(
        name=plate.name,
        angle_deg=angle_deg,
        length_needed_mm=needed_mm,
        width_needed_mm=across_mm,
        length_mm=length_mm,
        width_mm=width_mm,
        size_known=plate.width_mm is not None and plate.height_mm is not None,
        room_mm=room_mm,
        distance_mm=distance_mm,
        **plate_losses_ev(plate, angle_deg),
        shift_mm=glass.shift_mm(angle_deg, index, thick_mm),
        double_image_mm=glass.double_image_mm(angle_deg, index, thick_mm),
        astigmatism_mm=plate_astigmatism_mm(plate, angle_deg),
        aim_sideways_mm=aim.sideways_mm,
        aim_along_axis_mm=aim.along_axis_mm,
    )


def plate_losses_ev(plate: Plate, angle_deg: float) -> dict[str, float]:
    """EV (stops) lost over and through the plate at an angle in degrees, by PlatePlace's names. Raises ValueError."""
    index = plate.refractive_index
    return {
        "loss_ev": glass.loss_both_passes_ev(angle_deg, index),
        "mirror_loss_ev": glass.loss_both_passes_ev(angle_deg, index, "mirror"),
        "passing_loss_ev": -math.log2(plate_transmittance(angle_deg, index).mean),
    }


def _turned_best(plate: Plate, needed_mm: float, across_mm: float) -> tuple[float, float]:
    """The plate's sides along and across the tilt: the shorter way round that is large enough, else the larger."""
    if plate.width_mm is None or plate.height_mm is None:
        return needed_mm, across_mm
    ways = sorted(((plate.width_mm, plate.height_mm), (plate.height_mm, plate.width_mm)))
    enough = [way for way in ways if way[0] >= needed_mm and way[1] >= across_mm]
    return enough[0] if enough else max(ways, key=lambda way: min(way[0] / needed_mm, way[1] / across_mm))
