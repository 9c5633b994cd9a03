"""The set drawn to scale as SVG in mm of paper: from above, and from the side.

Seen from above the camera is below the piece and azimuths run clockwise from it, so a light at 90° stands at the left.
Seen from the side the camera is at the right, and heights over the piece go up. A point of the drawing is where a thing
is seen: from above at distance × cos(elevation), from the side at the height distance × sin(elevation). Each thing
has a number, which the card's tables name; lines are black only, for printing in black and white.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from session.set.setup import PassiveItem, PlacedLight, Revision

BOX_MM = 84.0
"""Side of a view on paper (mm): two beside each other on an A4 page with 15 mm of edge."""

SCALES = (1, 2, 5, 10, 20, 25, 50, 100, 200, 500, 1000, 2000, 5000)
"""One mm of paper for so many of the set; the usual ones of drawings (ISO 5455), with 25 and 500 and more besides."""

MARGIN_MM = 9.0
LABEL_MM = 5.0
"""Side of the square that a number takes."""

Placed = PlacedLight | PassiveItem
Point = tuple[float, float]


@dataclass(frozen=True)
class DrawnThing:
    """A thing with its number and where it stands, mm of the set from the piece.

    left_mm, towards_camera_mm, up_mm   negative: to the right, away from the camera, below
    """

    number: int
    thing: Placed
    left_mm: float
    towards_camera_mm: float
    up_mm: float


@dataclass(frozen=True)
class LabelBox:
    """The square of a number on paper, mm from the upper left."""

    number: int
    left_mm: float
    top_mm: float

    def overlaps(self, other: LabelBox) -> bool:
        """Whether the two squares have a part in common."""
        near = abs(self.left_mm - other.left_mm) < LABEL_MM and abs(self.top_mm - other.top_mm) < LABEL_MM
        return near and self.number != other.number


def drawn_things(revision: Revision) -> tuple[DrawnThing, ...]:
    """The things that can be drawn, numbered as in the set-up; things without distance or side are left out."""
    found = []
    for number, thing in enumerate(revision.placed, 1):
        if thing.distance_mm is None or thing.azimuth_deg is None:
            continue
        azimuth, elevation = math.radians(thing.azimuth_deg), math.radians(thing.elevation_deg or 0.0)
        flat_mm = thing.distance_mm * math.cos(elevation)
        left_mm, towards_mm = flat_mm * math.sin(azimuth), flat_mm * math.cos(azimuth)
        found.append(DrawnThing(number, thing, left_mm, towards_mm, thing.distance_mm * math.sin(elevation)))
    return tuple(found)


def scale_for(things: Iterable[DrawnThing]) -> int:
    """The largest scale, 1:n, at which all of it has room in both views; a ratio without a unit."""
    reach_mm = max((max(abs(one.left_mm), abs(one.towards_camera_mm), abs(one.up_mm)) for one in things), default=0.0)
    room_mm = BOX_MM / 2 - MARGIN_MM
    return next((scale for scale in SCALES if reach_mm / scale <= room_mm), SCALES[-1])


def from_above(one: DrawnThing, scale: int) -> Point:
    """Where a thing stands on paper, mm from the upper left of the view from above."""
    return BOX_MM / 2 - one.left_mm / scale, BOX_MM / 2 + one.towards_camera_mm / scale


def from_the_side(one: DrawnThing, scale: int) -> Point:
    """The place of a thing in the view from the side, mm."""
    return BOX_MM / 2 + one.towards_camera_mm / scale, BOX_MM / 2 - one.up_mm / scale


def labels(points: Sequence[tuple[int, Point]]) -> tuple[LabelBox, ...]:
    """A square for each number, near its point, mm; none overlaps another or the piece in the middle."""
    middle = LabelBox(0, BOX_MM / 2 - LABEL_MM / 2, BOX_MM / 2 - LABEL_MM / 2)
    placed = [middle]
    for number, (x, y) in points:
        placed.append(next(box for box in _tries(number, x, y) if not any(box.overlaps(other) for other in placed)))
    return tuple(placed[1:])


def _tries(number: int, x: float, y: float) -> Iterable[LabelBox]:
    """Squares farther and farther from the point, outwards from the piece first."""
    outwards = math.atan2(y - BOX_MM / 2, x - BOX_MM / 2)
    ring = 0
    while True:
        ring += 1
        distance_mm = ring * LABEL_MM * 0.9
        for turn in sorted((k * math.pi / 8 for k in range(-8, 8)), key=abs):
            centre_x = x + distance_mm * math.cos(outwards + turn)
            centre_y = y + distance_mm * math.sin(outwards + turn)
            inside = all(LABEL_MM / 2 <= side <= BOX_MM - LABEL_MM / 2 for side in (centre_x, centre_y))
            if inside or ring > 60:
                yield LabelBox(number, centre_x - LABEL_MM / 2, centre_y - LABEL_MM / 2)


def plan_svg(revision: Revision, *, side: bool) -> str:
    """One view as an SVG element, BOX_MM wide and high; `side`: seen from the side, else from above."""
    things = drawn_things(revision)
    scale = scale_for(things)
    points = [(one, from_the_side(one, scale) if side else from_above(one, scale)) for one in things]
    half = BOX_MM / 2
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{BOX_MM:g}mm" height="{BOX_MM:g}mm"'
        f' viewBox="0 0 {BOX_MM:g} {BOX_MM:g}" role="img" aria-label="set from {"the side" if side else "above"}">',
        f'<rect x="0.1" y="0.1" width="{BOX_MM - 0.2:g}" height="{BOX_MM - 0.2:g}" fill="none" stroke="#000"'
        ' stroke-width=".2"/>',
        f'<path d="M{half - 2:g} {half:g}h4M{half:g} {half - 2:g}v4" stroke="#000" stroke-width=".5"/>',
    ]
    if side:
        lines.append(f'<path d="M3 {half:g}H{BOX_MM - 3:g}" stroke="#000" stroke-width=".15" stroke-dasharray="1 1"/>')
    for one, (x, y) in points:
        lines.append(f'<path d="M{x:.3f} {y:.3f}L{half:g} {half:g}" stroke="#000" stroke-width=".15" fill="none"/>')
        lines.append(_symbol(one, x, y))
    for box, (_, (x, y)) in zip(labels([(one.number, point) for one, point in points]), points, strict=True):
        cx, cy = box.left_mm + LABEL_MM / 2, box.top_mm + LABEL_MM / 2
        lines.append(f'<path d="M{x:.2f} {y:.2f}L{cx:.2f} {cy:.2f}" stroke="#000" stroke-width=".1"/>')
        lines.append(f'<circle cx="{cx:.2f}" cy="{cy:.2f}" r="2.2" fill="#fff" stroke="#000" stroke-width=".2"/>')
        lines.append(
            f'<text x="{cx:.2f}" y="{cy + 1.1:.2f}" font-size="3" text-anchor="middle" font-family="sans-serif">'
            f"{box.number}</text>"
        )
    lines += [_camera(side), _scale_bar(scale), "</svg>"]
    return "\n".join(lines)


def _symbol(one: DrawnThing, x: float, y: float) -> str:
    """A light is a triangle, a reflector an open square, a flag a black one, glass a stroke, all else a cross."""
    where = f'data-number="{one.number}" data-x="{x:.3f}" data-y="{y:.3f}"'
    if isinstance(one.thing, PlacedLight):
        return f'<path {where} d="M{x:.3f} {y - 1.6:.3f}l1.5 2.6h-3z" fill="#000"/>'
    if one.thing.kind in ("bounce", "flag"):
        fill = "#fff" if one.thing.kind == "bounce" else "#000"
        return (
            f'<rect {where} x="{x - 1.3:.3f}" y="{y - 1.3:.3f}" width="2.6" height="2.6" fill="{fill}" stroke="#000"'
            ' stroke-width=".3"/>'
        )
    shape = "m-1.8 1.8l3.6 -3.6" if one.thing.kind == "plate" else "m-1.3 -1.3l2.6 2.6m0 -2.6l-2.6 2.6"
    return f'<path {where} d="M{x:.3f} {y:.3f}{shape}" stroke="#000" stroke-width=".4" fill="none"/>'


def _camera(side: bool) -> str:
    """The arrow to the camera, as a map has one to the north."""
    x, y, shape = (8.0, BOX_MM - 13, "v5l-1 -1.5m1 1.5l1 -1.5")
    if side:
        x, y, shape = BOX_MM - 8, BOX_MM - 4, "h5l-1.5 -1m1.5 1l-1.5 1"
    words_x, words_y = (BOX_MM - 9, BOX_MM - 3) if side else (8, BOX_MM - 14)
    anchor = "end" if side else "middle"
    return (
        f'<path d="M{x:g} {y:g}{shape}" stroke="#000" stroke-width=".3" fill="none"/>'
        f'<text x="{words_x:g}" y="{words_y:g}" font-size="2.8" text-anchor="{anchor}" font-family="sans-serif">'
        "camera</text>"
    )


def _scale_bar(scale: int) -> str:
    """A bar of 10 or 20 mm of paper with its length in the set."""
    paper_mm = 20
    real_mm = paper_mm * scale
    words = f"{real_mm / 1000:g} m" if real_mm >= 1000 else f"{real_mm} mm"
    return (
        f'<path data-scale="{scale}" d="M3 3v2h{paper_mm}v-2" stroke="#000" stroke-width=".3" fill="none"/>'
        f'<text x="{4 + paper_mm}" y="5" font-size="2.8" font-family="sans-serif">{words} · 1:{scale}</text>'
    )
