"""A lens of the kit with what is added to it, traced from the piece to the sensor by ray matrices.

The kit tells a lens by its focal length in use, where its principal planes and its entrance pupil lie, and how much
larger the exit pupil is; that is glass enough for paraxial rays. Nothing here knows a formula for ratios, effective
f-numbers or added lenses: the sensor stands where the lens by itself would be focused to its own ratio, the piece where
a fan of rays from the sensor meets, and the light is what a ray through the edge of the pupil brings.

Matrices are (a, b, c, d), rays (height, slope); light runs from the piece to the sensor. Lengths in mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from session.plan.ranked_plan import Plan

Matrix = tuple[float, float, float, float]

CONVERTER_MM = 50.0
"""Focal length of a converter's negative lens; what it does to the image doesn't depend on it."""


def travel(distance_mm: float) -> Matrix:
    return (1.0, distance_mm, 0.0, 1.0)


def refract(focal_length_mm: float) -> Matrix:
    return (1.0, 0.0, -1.0 / focal_length_mm, 1.0)


def through(*parts: Matrix) -> Matrix:
    """The parts in the order in which light meets them."""
    a, b, c, d = 1.0, 0.0, 0.0, 1.0
    for e, f, g, h in parts:
        a, b, c, d = e * a + f * c, e * b + f * d, g * a + h * c, g * b + h * d
    return a, b, c, d


@dataclass(frozen=True)
class TracedBuild:
    """What rays say of a build focused to one place.

    ratio         image over piece
    room_mm       piece to the foremost rim
    light_factor  effective f-number at a marked one of 1: half the inverse slope of the marginal ray at the sensor
    """

    ratio: float
    room_mm: float
    light_factor: float


def trace(
    focal_mm: float,
    pupil: float,
    rim_to_pupil_mm: float,
    own: float,
    *,
    extension_mm: float = 0.0,
    dioptres: float = 0.0,
    factor: float = 1.0,
    flange_mm: float = 0.0,
    turned: bool = False,
) -> TracedBuild:
    """A lens at its own ratio, with what is added; `turned`: its rim to the camera, focused at infinity.

    focal_mm  in use; pupil = exit over entrance pupil; its principal planes are taken as one
    """
    # A lens that images its entrance pupil x before it `pupil` times as large: f/(f − x) = pupil.
    pupil_before_mm = focal_mm * (pupil - 1) / pupil
    rim_to_plane_mm = rim_to_pupil_mm + pupil_before_mm
    if turned:
        behind = through(refract(focal_mm), travel(flange_mm + extension_mm + rim_to_plane_mm))
        # Of the pupil that now faces the piece: the image of the other one, by the lens equation.
        facing_mm = pupil_before_mm * focal_mm / (pupil_before_mm - focal_mm)
        return _traced(behind, (), -facing_mm, pupil * focal_mm / 2, focal_mm - flange_mm)
    # With the sensor v behind it a lens draws 1 − v/f times as large: v for −own.
    sensor_mm = focal_mm * (1 + own) + extension_mm
    inner_mm = CONVERTER_MM * (1 - 1 / factor)
    after = (travel(sensor_mm - inner_mm), refract(-CONVERTER_MM), travel(factor * inner_mm))
    behind = through(travel(rim_to_plane_mm), refract(focal_mm), *(after if factor > 1 else (travel(sensor_mm),)))
    before = (refract(1000 / dioptres),) if dioptres else ()
    return _traced(behind, before, rim_to_pupil_mm, focal_mm / 2, 0.0)


def _traced(
    behind: Matrix, before: tuple[Matrix, ...], to_pupil_mm: float, pupil_radius_mm: float, inside_mm: float
) -> TracedBuild:
    """behind: from the place where distances count to the sensor; before: what light meets there first.

    to_pupil_mm  from there to the pupil that faces the piece; inside_mm from the foremost rim to there
    """
    a, b, _, _ = whole = through(*before, behind)
    piece_mm = -b / a if a else float("inf")
    to_pupil = through(travel(piece_mm), *before, travel(to_pupil_mm))
    slope = pupil_radius_mm / to_pupil[1]
    _, _, _, d = through(travel(piece_mm), whole)
    return TracedBuild(-a, piece_mm - inside_mm, abs(1 / (2 * slope * d)))


def kit_lens(lens: Any, body: Any, own: float) -> tuple[float, float, float]:
    """Focal length in use at its own ratio, pupil magnification, and rim to entrance pupil of a lens of the kit.

    An internal-focus lens is 1/(1/u + 1/v) long at its closest focus, where u + v is the track and v/u the ratio;
    between there and infinity it falls evenly. Its rim follows from the maker's working distance there, else from its
    length at infinity, where the sensor is a focal length behind its plane.
    """
    marked, closest, pupil = lens.focal_length_mm, lens.closest_magnification, lens.pupil_magnification
    focal = marked
    close_focal = marked
    if lens.track_mm is not None and closest > 0:
        object_mm = (lens.track_mm - lens.principal_gap_mm) / (1 + closest)
        close_focal = 1 / (1 / object_mm + 1 / (object_mm * closest))
        focal = marked + (close_focal - marked) * own / closest
    if lens.front_to_pupil_mm is not None:
        return focal, pupil, lens.front_to_pupil_mm
    if lens.closest_working_distance_mm is not None:
        # The pupil is one of the places whose image is `pupil` times as large; the piece stands u before the plane.
        plane_mm = close_focal * (1 + 1 / closest)
        return focal, pupil, plane_mm - close_focal * (pupil - 1) / pupil - lens.closest_working_distance_mm
    plane_mm = body.flange_distance_mm + lens.length_mm - marked - lens.principal_gap_mm
    return focal, pupil, plane_mm - marked * (pupil - 1) / pupil


def trace_plan(plan: Plan) -> TracedBuild:
    """A plan's build by rays, the lens focused to the same ratio of its own."""
    build, own = plan.build, plan.mounting.own_ratio
    return trace(
        *kit_lens(build.lens, build.body, own),
        own,
        extension_mm=sum(tube.extension_mm for tube in build.tubes) + (build.ring.extension_mm if build.ring else 0.0),
        dioptres=build.supplementary.dioptres if build.supplementary else 0.0,
        factor=build.converter.factor if build.converter else 1.0,
        flange_mm=build.body.flange_distance_mm or 0.0,
        turned=build.ring is not None,
    )
