"""A plan or a set-up seen from the side, drawn to scale in characters: camera, lens, plate, piece, depth zone, lights.

The optical axis lies level, the camera at the left, the plane of focus at x = 0 and distances from it growing to
the left; one character is `mm_a_column` wide and twice that high. What is smaller than a character is drawn as
one. A light that stands outside the drawing is shown at its edge, in its true direction, with its distance.
Pure: nothing here knows Textual.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.plan.arrangements import build_like
from session.plan.mounting import Mounted, mount_build
from session.plan.ranked_plan import Plan
from session.set.kit import Kit
from session.set.setup import PlacedLight, Revision
from session.units.numbers import mm_text
from tui.words.harmless import harmless

CELL_ASPECT = 2.0
"""Height of a character by its width, near enough for terminals' fonts. Common practice, no source."""

BODY_HEIGHT_BY_SENSOR, BODY_DEPTH_BEHIND_MM = 3.5, 25.0
"""A body is about so many sensor heights high, and goes on so far behind the sensor. For the eye only; guessed."""

USUAL_LENS_MM = 60.0
"""Drawn where the kit doesn't tell the lens's diameter. For the eye only; guessed."""

NEAR_RATIO_STOPS = 0.1
"""A lens that comes so near to a set-up's ratio gives it: 7 %, since both are read off rings. Chosen."""

RIGHT_MARGIN_COLUMNS = 12
"""For the depth zone's number, right of the piece."""


@dataclass(frozen=True)
class SideView:
    """Lines of the drawing, of equal length, and the scale; `beyond` names lights outside the drawing."""

    lines: tuple[str, ...]
    mm_a_column: float
    beyond: tuple[str, ...]


@dataclass(frozen=True)
class SideLight:
    """A light as it is seen from the side.

    start_mm     where on the axis it aims at, from the plane of focus towards the camera
    distance_mm  from there, in the drawing's plane; angle_deg 0 = towards the camera, 90 = straight up
    told_mm      its true distance, for words
    """

    name: str
    distance_mm: float
    angle_deg: float
    told_mm: float
    start_mm: float = 0.0


@dataclass(frozen=True)
class SideScene:
    """The arrangement to draw, in mm; None where the kit doesn't tell.

    track_mm       plane of focus to sensor; front_mm to the foremost rim
    piece          (height, depth) of the piece
    plate          (distance of its centre, length, angle in degrees); None without one
    beside         up to two words beside the piece, one under the other
    """

    track_mm: float | None
    front_mm: float | None
    flange_mm: float
    sensor_height_mm: float
    lens_diameter_mm: float
    piece: tuple[float, float]
    lights: tuple[SideLight, ...] = ()
    plate: tuple[float, float, float] | None = None
    beside: tuple[str, ...] = ()


def side_view(plan: Plan, width: int, height: int) -> SideView:
    """The plan in `width` × `height` characters (at least 30 × 5, else empty lines)."""
    wish, plate = plan.wish, plan.plate
    scene = SideScene(
        *_of_mounting(plan.mounting),
        piece=(wish.piece_width_mm if plan.turned else wish.piece_height_mm, wish.relief_mm),
        lights=tuple(_light_of(plan, place) for place in range(len(plan.lights))),
        plate=(plate.distance_mm, plate.length_mm, plate.angle_deg) if plate else None,
        beside=(f"{plan.stop.depth_mm:.2f} mm", "sharp"),
    )
    return draw(scene, width, height)


def standing(revision: Revision, kit: Kit) -> SideScene | None:
    """A set-up as far as the kit knows its parts; the piece as high as its region.

    None: which lens it is wasn't said, the kit doesn't know the lens, or the lens doesn't come to the set-up's ratio.
    """
    mounting = _mounting_of(revision, kit)
    if mounting is None or not _reaches(mounting, revision):
        return None
    height_mm = revision.region.height * mounting.build.body.sensor_height_mm / mounting.magnification
    lights = tuple(filter(None, (_side_light(light) for light in revision.lights)))
    return SideScene(*_of_mounting(mounting), piece=(height_mm, 0.0), lights=lights, beside=("region",))


def nearest_ratio(revision: Revision, kit: Kit) -> float | None:
    """The nearest ratio to which a set-up's lens comes as it is put up; None for the set-up's own ratio."""
    mounting = _mounting_of(revision, kit)
    return None if mounting is None or _reaches(mounting, revision) else mounting.magnification


def _mounting_of(revision: Revision, kit: Kit) -> Mounted | None:
    build = build_like(kit, revision.body, revision.arrangement) if revision.arrangement.lens else None
    try:
        return mount_build(build, revision.arrangement.magnification) if build else None
    except ValueError:  # the kit tells too little of the lens
        return None


def _reaches(mounting: Mounted, revision: Revision) -> bool:
    return abs(math.log2(mounting.magnification / revision.arrangement.magnification)) <= NEAR_RATIO_STOPS


def draw(scene: SideScene, width: int, height: int) -> SideView:
    """The scene in `width` × `height` characters (at least 30 × 5, else empty lines)."""
    track_mm, front_mm = scene.track_mm, scene.front_mm
    known = track_mm is not None and front_mm is not None and math.isfinite(track_mm)
    if not known or width < 30 or height < 5:
        word = "" if known or width < 52 or height < 1 else "The kit doesn't tell enough of this lens to draw it."
        return SideView(tuple([word.ljust(width)] + [" " * width] * max(0, height - 1)), 0.0, ())
    assert track_mm is not None and front_mm is not None
    span_mm = track_mm + BODY_DEPTH_BEHIND_MM
    canvas = _Canvas(width, height, span_mm / (width - RIGHT_MARGIN_COLUMNS))
    canvas.axis()
    _draw_camera(canvas, scene, track_mm)
    canvas.box(track_mm - scene.flange_mm, front_mm, scene.lens_diameter_mm / 2, "lens")
    if scene.plate is not None:
        _draw_plate(canvas, *scene.plate)
    _draw_piece(canvas, scene)
    beyond = tuple(_draw_light(canvas, light) for light in scene.lights)
    return SideView(canvas.lines(), canvas.mm_a_column, tuple(word for word in beyond if word))


def _of_mounting(mounting: Mounted) -> tuple[float | None, float | None, float, float, float]:
    body, lens = mounting.build.body, mounting.build.lens
    flange_mm, diameter_mm = body.flange_distance_mm or 0.0, lens.front_diameter_mm or USUAL_LENS_MM
    return mounting.track_mm, mounting.working_distance_mm, flange_mm, body.sensor_height_mm, diameter_mm


def _light_of(plan: Plan, place: int) -> SideLight:
    """A light of the plan: with a plate the first shines onto it from above; others alternate above and below."""
    light, plate = plan.lights[place], plan.plate
    if place == 0 and plate is not None:
        distance_mm = max(0.0, light.distance_mm - plate.distance_mm)
        return SideLight(light.name, distance_mm, 90.0, light.distance_mm, plate.distance_mm)
    angle_deg = light.from_axis_deg * (1 if place % 2 == 0 else -1)
    return SideLight(light.name, light.distance_mm, angle_deg, light.distance_mm)


def _side_light(light: PlacedLight) -> SideLight | None:
    """A placed light, laid into the plane of the axis and the upright; None for a light of unmeasured place."""
    if light.distance_mm is None or light.azimuth_deg is None or light.elevation_deg is None:
        return None
    azimuth, elevation = math.radians(light.azimuth_deg), math.radians(light.elevation_deg)
    along, up = math.cos(elevation) * math.cos(azimuth), math.sin(elevation)
    far = light.distance_mm
    return SideLight(light.name, far * math.hypot(along, up), math.degrees(math.atan2(up, along)), far)


class _Canvas:
    """Characters at places in millimetres: x along the axis from the plane of focus to the camera, y upwards."""

    def __init__(self, width: int, height: int, mm_a_column: float) -> None:
        self.width, self.height, self.mm_a_column = width, height, mm_a_column
        self._cells = [[" "] * width for _ in range(height)]
        self._zero = width - RIGHT_MARGIN_COLUMNS

    def column(self, x_mm: float) -> int:
        return self._zero - round(x_mm / self.mm_a_column)

    def row(self, y_mm: float) -> int:
        return self.height // 2 - round(y_mm / (self.mm_a_column * CELL_ASPECT))

    def holds(self, x_mm: float, y_mm: float) -> bool:
        return 0 <= self.column(x_mm) < self.width and 0 <= self.row(y_mm) < self.height

    def put(self, column: int, row: int, sign: str) -> None:
        if 0 <= column < self.width and 0 <= row < self.height:
            self._cells[row][column] = sign

    def write(self, column: int, row: int, text: str) -> None:
        start = max(0, min(self.width - len(text), column))
        for place, sign in enumerate(text):
            self.put(start + place, row, sign)

    def label(self, column: int, row: int, text: str, *, inwards: int) -> None:
        """A name beside a sign, on the first row towards the axis where there is room for it."""
        start = max(0, min(self.width - len(text), column))
        while 0 <= row < self.height:
            if all(sign == " " for sign in self._cells[row][start : start + len(text)]):
                self.write(start, row, text)
                return
            row += inwards

    def axis(self) -> None:
        for column in range(self._zero):
            self.put(column, self.height // 2, "·" if column % 2 else " ")

    def box(self, from_mm: float, to_mm: float, half_height_mm: float, name: str = "") -> None:
        """Draw a rectangle about the axis, from the farther to the nearer distance, with its name inside if it fits."""
        left, right = self.column(max(from_mm, to_mm)), self.column(min(from_mm, to_mm))
        top, bottom = max(0, self.row(half_height_mm)), min(self.height - 1, self.row(-half_height_mm))
        right = max(right, left + 1)
        for column in range(left, right + 1):
            for row in range(top, bottom + 1):
                self.put(column, row, " ")
            self.put(column, top, "─")
            self.put(column, bottom, "─")
        for row in range(top, bottom + 1):
            self.put(left, row, "│")
            self.put(right, row, "│")
        for column, row, sign in ((left, top, "┌"), (right, top, "┐"), (left, bottom, "└"), (right, bottom, "┘")):
            self.put(column, row, sign)
        if len(name) <= right - left - 1:
            self.write((left + right - len(name)) // 2 + 1, self.height // 2, name)

    def lines(self) -> tuple[str, ...]:
        return tuple("".join(row) for row in self._cells)


def _draw_camera(canvas: _Canvas, scene: SideScene, track_mm: float) -> None:
    half_mm = scene.sensor_height_mm * BODY_HEIGHT_BY_SENSOR / 2
    canvas.box(track_mm + BODY_DEPTH_BEHIND_MM, track_mm - scene.flange_mm, half_mm)
    canvas.put(canvas.column(track_mm), canvas.height // 2, "▌")


def _draw_plate(canvas: _Canvas, distance_mm: float, length_mm: float, angle_deg: float) -> None:
    """The plate's edge, tilted so that light from above goes to the piece."""
    along, up = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    steps = max(2, math.ceil(length_mm / canvas.mm_a_column * 2))
    for step in range(steps + 1):
        reach_mm = (step / steps - 0.5) * length_mm
        canvas.put(canvas.column(distance_mm + reach_mm * along), canvas.row(reach_mm * up), "╲")


def _draw_piece(canvas: _Canvas, scene: SideScene) -> None:
    """The piece, its near side towards the camera, and the words beside it."""
    height_mm, depth_mm = scene.piece
    half_mm = height_mm / 2
    near, far = canvas.column(depth_mm / 2), max(canvas.column(-depth_mm / 2), canvas.column(0))
    for row in range(max(0, canvas.row(half_mm)), min(canvas.height - 1, canvas.row(-half_mm)) + 1):
        for column in range(near, far + 1):
            canvas.put(column, row, "█")
    for below, word in enumerate(scene.beside):
        row = min(canvas.height - 1, canvas.height // 2 + below)
        canvas.write(far + 2, row, word[: RIGHT_MARGIN_COLUMNS - 2])


def _draw_light(canvas: _Canvas, light: SideLight) -> str:
    """A light at its distance and direction, or at the edge of the drawing; returns what to say of the latter."""
    along, up = math.cos(math.radians(light.angle_deg)), math.sin(math.radians(light.angle_deg))
    inside_mm = light.distance_mm
    while inside_mm > 0 and not canvas.holds(light.start_mm + inside_mm * along, inside_mm * up):
        inside_mm -= canvas.mm_a_column / 2
    column, row = canvas.column(light.start_mm + inside_mm * along), canvas.row(inside_mm * up)
    inside = inside_mm == light.distance_mm
    canvas.put(column, row, "✶" if inside else ("▲" if up > 0 else "▼"))
    name = harmless(light.name, 20)
    canvas.label(column + 2, row, name, inwards=1 if up > 0 else -1)
    return "" if inside else f"{name} {mm_text(light.told_mm)}"
