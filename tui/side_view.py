"""A plan seen from the side, drawn to scale in characters: camera, lens, plate, piece, depth zone, lights.

The optical axis lies level, the camera at the left, the plane of focus at x = 0 and distances from it growing to
the left; one character is `mm_a_column` wide and twice that high. What is smaller than a character is drawn as
one. A light that stands outside the drawing is shown at its edge, in its true direction, with its distance.
Pure: nothing here knows Textual.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.numbers import mm_text
from session.plan.plan import Plan

CELL_ASPECT = 2.0
"""Height of a character by its width, near enough for terminals' fonts. Common practice, no source."""

BODY_HEIGHT_BY_SENSOR, BODY_DEPTH_BEHIND_MM = 3.5, 25.0
"""A body is about so many sensor heights high, and goes on so far behind the sensor. For the eye only; guessed."""

RIGHT_MARGIN_COLUMNS = 12
"""For the depth zone's number, right of the piece."""


@dataclass(frozen=True)
class SideView:
    """Lines of the drawing, all of one length, and its scale; `beyond` names lights that stand outside it."""

    lines: tuple[str, ...]
    mm_a_column: float
    beyond: tuple[str, ...]


def side_view(plan: Plan, width: int, height: int) -> SideView:
    """The plan in `width` × `height` characters (at least 30 × 5, else empty lines)."""
    track_mm = plan.mounting.track_mm
    if track_mm is None or plan.mounting.working_distance_mm is None or width < 30 or height < 5:
        word = "The kit doesn't tell enough of this lens to draw it." if width >= 52 and height >= 1 else ""
        return SideView(tuple([word.ljust(width)] + [" " * width] * max(0, height - 1)), 0.0, ())
    span_mm = track_mm + BODY_DEPTH_BEHIND_MM
    canvas = _Canvas(width, height, span_mm / (width - RIGHT_MARGIN_COLUMNS))
    canvas.axis()
    _draw_camera(canvas, plan, track_mm)
    _draw_lens(canvas, plan, track_mm)
    if plan.plate is not None:
        _draw_plate(canvas, plan.plate.distance_mm, plan.plate.length_mm, plan.plate.angle_deg)
    _draw_piece(canvas, plan)
    beyond = tuple(_draw_light(canvas, plan, place) for place in range(len(plan.lights)))
    return SideView(canvas.lines(), canvas.mm_a_column, tuple(word for word in beyond if word))


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
        """A rectangle about the axis, from the farther to the nearer distance; its name inside where it fits."""
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


def _draw_camera(canvas: _Canvas, plan: Plan, track_mm: float) -> None:
    body = plan.build.body
    flange_mm = body.flange_distance_mm or 0.0
    half_mm = body.sensor_height_mm * BODY_HEIGHT_BY_SENSOR / 2
    canvas.box(track_mm + BODY_DEPTH_BEHIND_MM, track_mm - flange_mm, half_mm)
    canvas.put(canvas.column(track_mm), canvas.height // 2, "▌")


def _draw_lens(canvas: _Canvas, plan: Plan, track_mm: float) -> None:
    front_mm = plan.mounting.working_distance_mm
    assert front_mm is not None
    mount_mm = track_mm - (plan.build.body.flange_distance_mm or 0.0)
    half_mm = (plan.build.lens.front_diameter_mm or 60.0) / 2
    canvas.box(mount_mm, front_mm, half_mm, "lens")


def _draw_plate(canvas: _Canvas, distance_mm: float, length_mm: float, angle_deg: float) -> None:
    """The plate's edge, tilted so that light from above goes to the piece."""
    along, up = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    steps = max(2, math.ceil(length_mm / canvas.mm_a_column * 2))
    for step in range(steps + 1):
        reach_mm = (step / steps - 0.5) * length_mm
        canvas.put(canvas.column(distance_mm + reach_mm * along), canvas.row(reach_mm * up), "╲")


def _draw_piece(canvas: _Canvas, plan: Plan) -> None:
    """The piece, its near side towards the camera; the depth that is sharp as a number beside it."""
    wish = plan.wish
    half_mm = (wish.piece_width_mm if plan.turned else wish.piece_height_mm) / 2
    near, far = canvas.column(wish.relief_mm / 2), max(canvas.column(-wish.relief_mm / 2), canvas.column(0))
    for row in range(max(0, canvas.row(half_mm)), min(canvas.height - 1, canvas.row(-half_mm)) + 1):
        for column in range(near, far + 1):
            canvas.put(column, row, "█")
    canvas.write(far + 2, canvas.height // 2, f"{plan.stop.depth_mm:.2f} mm"[: RIGHT_MARGIN_COLUMNS - 2])
    canvas.write(far + 2, min(canvas.height - 1, canvas.height // 2 + 1), "sharp")


def _draw_light(canvas: _Canvas, plan: Plan, place: int) -> str:
    """A light at its distance and direction, or at the edge of the drawing; returns what to say of the latter."""
    light = plan.lights[place]
    plate = plan.plate
    if place == 0 and plate is not None:  # from above, onto the plate
        start_mm, angle_deg = plate.distance_mm, 90.0
        distance_mm = max(0.0, light.distance_mm - plate.distance_mm)
    else:
        start_mm, distance_mm = 0.0, light.distance_mm
        angle_deg = plan.wish.light_angle_deg * (1 if place % 2 == 0 else -1)
    along, up = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    inside_mm = distance_mm
    while inside_mm > 0 and not canvas.holds(start_mm + inside_mm * along, inside_mm * up):
        inside_mm -= canvas.mm_a_column / 2
    column, row = canvas.column(start_mm + inside_mm * along), canvas.row(inside_mm * up)
    inside = inside_mm == distance_mm
    canvas.put(column, row, "✶" if inside else ("▲" if up > 0 else "▼"))
    canvas.label(column + 2, row, light.name, inwards=1 if up > 0 else -1)
    return "" if inside else f"{light.name} {mm_text(light.distance_mm)}"
