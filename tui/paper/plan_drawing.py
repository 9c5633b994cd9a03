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
from session.units.quantities import require
from tui.paper.plan_labels import FONT_MM, Drawn, LabelBox, Point, Segment, place_labels

BOX_MM = 84.0
"""Side of a view on paper (mm): two beside each other on an A4 page with 15 mm of edge."""

SCALES = (1, 2, 5, 10, 20, 25, 50, 100, 200, 500, 1000, 2000, 5000)
"""One mm of paper for so many of the set; the usual ones of drawings (ISO 5455), with 25 and 500 and more besides."""

MARGIN_MM = 9.0
CAMERA = 0
"""The number of the camera, which has none on paper."""

NARROW, WIDE, PLAIN = 8.0, 60.0, 30.0
BEAM_WORDS = {
    "tube": NARROW, "snoot": NARROW, "grid": NARROW,
    "softbox": WIDE, "umbrella": WIDE, "diffuser": WIDE, "panel": WIDE,
}  # fmt: skip
"""Word in a shaper's name → the whole angle of its sign on paper (°). Chosen to be told apart, not measured."""

BEAM_MM = 11.0
"""Length of a beam's sign on paper (mm), at most half the way to the piece."""

PIECE = LabelBox("", BOX_MM / 2 - 2.2, BOX_MM / 2 - 2.2, 4.4, 4.4)
SCALE_BAR = LabelBox("", 2.0, 2.0, 48.0, 4.5)
ARROW_ABOVE, ARROW_ASIDE = LabelBox("", 2.0, BOX_MM - 8, 18.0, 7.0), LabelBox("", BOX_MM - 22, BOX_MM - 7, 21.0, 6.0)
"""Places of a view that have no labels, mm of paper."""

Placed = PlacedLight | PassiveItem
Direction = tuple[float, float, float]


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

    @property
    def place_mm(self) -> Direction:
        """(left, towards the camera, up) from the piece, mm of the set."""
        return self.left_mm, self.towards_camera_mm, self.up_mm

    @property
    def text(self) -> str:
        """`2 · 410 mm`, `camera · 182 mm`: the label beside it."""
        name = "camera" if self.number == CAMERA else str(self.number)
        return f"{name} · {self.thing.distance_mm or 0:.0f} mm"


PLACES = (
    "working_distance_mm", "camera_height_mm", "view_down_deg", "view_around_deg",
    "distance_mm", "azimuth_deg", "elevation_deg", "width_mm", "height_mm", "turned_deg",
)  # fmt: skip
"""The numbers of camera, lights and things that a drawing may be made from."""


def drawn_things(revision: Revision) -> tuple[DrawnThing, ...]:
    """The things that can be drawn, numbered as in the set-up; things without distance or side are left out."""
    return tuple(
        _place_of(number, thing)
        for number, thing in enumerate(revision.placed, 1)
        if thing.distance_mm is not None and thing.azimuth_deg is not None
    )


def camera_place(revision: Revision) -> DrawnThing | None:
    """The camera where the tape says that it stands; None when nobody measured."""
    if revision.working_distance_mm is None:
        return None
    place = (revision.working_distance_mm, 0.0, revision.view_down_deg or 0.0)
    return _place_of(CAMERA, PassiveItem("camera", "camera", *place))


def _place_of(number: int, thing: Placed) -> DrawnThing:
    distance_mm = thing.distance_mm or 0.0
    azimuth, elevation = math.radians(thing.azimuth_deg or 0.0), math.radians(thing.elevation_deg or 0.0)
    flat_mm = distance_mm * math.cos(elevation)
    left_mm, towards_mm = flat_mm * math.sin(azimuth), flat_mm * math.cos(azimuth)
    return DrawnThing(number, thing, left_mm, towards_mm, distance_mm * math.sin(elevation))


def scale_for(things: Iterable[DrawnThing]) -> int:
    """The largest scale, 1:n, at which all of it has room in both views, with its size; a ratio without a unit."""
    points = [point for one in things for point in (one.place_mm, *corners_mm(one))]
    reach_mm = max((abs(coordinate_mm) for point in points for coordinate_mm in point), default=0.0)
    room_mm = BOX_MM / 2 - MARGIN_MM
    return next((scale for scale in SCALES if reach_mm / scale <= room_mm), SCALES[-1])


def from_above(one: DrawnThing, scale: int) -> Point:
    """Where a thing stands on paper, mm from the upper left of the view from above."""
    return BOX_MM / 2 - one.left_mm / scale, BOX_MM / 2 + one.towards_camera_mm / scale


def from_the_side(one: DrawnThing, scale: int) -> Point:
    """The place of a thing in the view from the side, mm."""
    return BOX_MM / 2 + one.towards_camera_mm / scale, BOX_MM / 2 - one.up_mm / scale


def labels(placed: Sequence[tuple[DrawnThing, Point]], scale: int, *, side: bool) -> tuple[LabelBox, ...]:
    """A rectangle for each label, clear of the other labels and of what is drawn; mm from the upper left."""
    half = BOX_MM / 2
    edges = [((3.0, half), (BOX_MM - 3, half))] if side else []  # the plane of the piece
    for one, point in placed:
        corners = outline(one, point, scale, side=side)
        edges += [(here, there) for here, there in zip(corners, (*corners[1:], *corners[:1]), strict=True)]
    drawn = Drawn(
        [point for _, point in placed],
        [(point, (half, half)) for _, point in placed],
        [stroke for one, point in placed for stroke in beam(one, point)],
        edges,
        [PIECE, SCALE_BAR, ARROW_ASIDE if side else ARROW_ABOVE],
    )
    return place_labels([one.text for one, _ in placed], drawn, BOX_MM)


def plan_svg(revision: Revision, *, side: bool) -> str:
    """One view as an SVG element, BOX_MM wide and high; `side`: seen from the side, else from above.

    Raises RefusedNumberError for a place or size that can't be meant.
    """
    for thing in (revision, *revision.placed):
        told = {name: getattr(thing, name, None) for name in PLACES}
        require(**{name: value for name, value in told.items() if value is not None})
    camera = camera_place(revision)
    things = (*drawn_things(revision), *([camera] if camera else []))
    scale = scale_for(things)
    shown = [one for one in things if one is not camera or not side or revision.view_down_deg is not None]
    points = [(one, from_the_side(one, scale) if side else from_above(one, scale)) for one in shown]
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
        lines += [_strokes(beam(one, (x, y)))] if isinstance(one.thing, PlacedLight) else []
        lines.append(_outline(one, outline(one, (x, y), scale, side=side)))
    boxes = labels(points, scale, side=side)
    for box, (_, (x, y)) in zip(boxes, points, strict=True):
        end_x, end_y = box.leader_to
        lines.append(f'<path d="M{x:.2f} {y:.2f}L{end_x:.2f} {end_y:.2f}" stroke="#000" stroke-width=".1"/>')
    lines += [_symbol(one, x, y) for one, (x, y) in points]
    for box in boxes:
        lines.append(
            f'<rect x="{box.left_mm:.2f}" y="{box.top_mm:.2f}" width="{box.width_mm:.2f}" height="{box.height_mm:g}"'
            ' rx="1" fill="#fff" stroke="#000" stroke-width=".2"/>'
        )
        middle_mm, foot_mm = box.left_mm + box.width_mm / 2, box.top_mm + box.height_mm / 2 + 0.9
        lines.append(
            f'<text x="{middle_mm:.2f}" y="{foot_mm:.2f}" font-size="{FONT_MM}" text-anchor="middle"'
            f' font-family="sans-serif">{box.text}</text>'
        )
    lines += [_camera(side), _scale_bar(scale), "</svg>"]
    return "\n".join(lines)


def beam_deg(light: PlacedLight) -> float:
    """The whole angle of a light's sign on paper, by the words of its shaper (°)."""
    words = light.shaper.casefold()
    return next((angle for word, angle in BEAM_WORDS.items() if word in words), PLAIN)


def beam(one: DrawnThing, point: Point) -> tuple[Segment, ...]:
    """The two strokes of a light's sign on paper, on both sides of the way to the piece, mm; none for other things."""
    if not isinstance(one.thing, PlacedLight):
        return ()
    (x, y), middle = point, BOX_MM / 2
    way, far = math.atan2(middle - y, middle - x), math.hypot(middle - x, middle - y)
    length, half = min(BEAM_MM, far / 2), math.radians(beam_deg(one.thing) / 2)
    turns = (way - half, way + half)
    return tuple((point, (x + length * math.cos(turn), y + length * math.sin(turn))) for turn in turns)


def _strokes(beam: Sequence[Segment]) -> str:
    strokes = "".join(f"M{x:.3f} {y:.3f}L{to_x:.3f} {to_y:.3f}" for (x, y), (to_x, to_y) in beam)
    return f'<path d="{strokes}" stroke="#000" stroke-width=".25" stroke-dasharray=".8 .6" fill="none"/>'


def outline(one: DrawnThing, point: Point, scale: int, *, side: bool) -> tuple[Point, ...]:
    """The corners of a thing as it is seen, mm of paper; () for a thing without recorded size."""
    found = []
    for left_mm, towards_mm, up_mm in corners_mm(one):
        right = towards_mm - one.towards_camera_mm if side else one.left_mm - left_mm
        down = one.up_mm - up_mm if side else towards_mm - one.towards_camera_mm
        found.append((point[0] + right / scale, point[1] + down / scale))
    return tuple(found)


def _outline(one: DrawnThing, corners: Sequence[Point]) -> str:
    """The thing's rectangle, a stroke where it is seen edge-on; "" without corners."""
    if not corners:
        return ""
    places = "L".join(f"{x:.3f} {y:.3f}" for x, y in corners)
    return (
        f'<path data-size="{one.number}" d="M{places}z" stroke="#000" stroke-width=".5"'
        ' stroke-linejoin="round" fill="none"/>'
    )


def corners_mm(one: DrawnThing) -> tuple[Direction, ...]:
    """The corners of a thing with a size, (left, towards the camera, up) from the piece, mm; a side that isn't known
    counts 0."""
    thing = one.thing
    if one.number == CAMERA or (thing.width_mm is None and thing.height_mm is None):
        return ()
    across, along = (thing.width_mm or 0.0) / 2, (thing.height_mm or 0.0) / 2
    wide, high = face(thing)
    return tuple(
        _sum(one.place_mm, (right * across, wide), (up * along, high))
        for right, up in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    )


def _sum(start: Direction, *steps: tuple[float, Direction]) -> Direction:
    """A point after so many mm in each of the directions."""
    a, b, c = (begin + sum(mm * way[i] for mm, way in steps) for i, begin in enumerate(start))
    return a, b, c


def face(thing: Placed) -> tuple[Direction, Direction]:
    """The ways of a thing's width and of its height, as unit vectors (left, towards the camera, up), no unit.

    Without a turn both are square to the way to the piece, the height as upright as that lets it be. A turn to the left
    is clockwise around the piece, a turn up is one of the face that looks at the piece.
    """
    azimuth, elevation = math.radians(thing.azimuth_deg or 0.0), math.radians(thing.elevation_deg or 0.0)
    sin_a, cos_a, sin_e, cos_e = math.sin(azimuth), math.cos(azimuth), math.sin(elevation), math.cos(elevation)
    outwards = (cos_e * sin_a, cos_e * cos_a, sin_e)
    wide, high = (cos_a, -sin_a, 0.0), (-sin_e * sin_a, -sin_e * cos_a, cos_e)
    if isinstance(thing, PlacedLight) or not (thing.turned_deg and thing.turned_to):
        return wide, high
    turn = math.radians(thing.turned_deg) * (1 if thing.turned_to in ("left", "up") else -1)
    if thing.turned_to in ("left", "right"):
        return _between(wide, outwards, turn), high
    return wide, _between(high, outwards, turn)


def _between(one: Direction, other: Direction, turn: float) -> Direction:
    """A direction turned towards another that is square to it, by so many radians."""
    a, b, c = (first * math.cos(turn) + second * math.sin(turn) for first, second in zip(one, other, strict=True))
    return a, b, c


def _symbol(one: DrawnThing, x: float, y: float) -> str:
    """A light is a triangle, a reflector an open square, a flag a black one, glass a stroke, the camera a frame with a
    lens, all else a cross."""
    where = f'data-number="{one.number}" data-x="{x:.3f}" data-y="{y:.3f}"'
    if isinstance(one.thing, PlacedLight):
        return f'<path {where} d="M{x:.3f} {y - 1.6:.3f}l1.5 2.6h-3z" fill="#000"/>'
    if one.number == CAMERA:
        return (
            f'<g {where} fill="#fff" stroke="#000" stroke-width=".3"><rect x="{x - 2:.3f}" y="{y - 1.5:.3f}" width="4"'
            f' height="3"/><circle cx="{x:.3f}" cy="{y:.3f}" r=".9"/></g>'
        )
    if one.thing.kind in ("bounce", "flag"):
        fill = "#fff" if one.thing.kind == "bounce" else "#000"
        return (
            f'<rect {where} x="{x - 1.3:.3f}" y="{y - 1.3:.3f}" width="2.6" height="2.6" fill="{fill}" stroke="#000"'
            ' stroke-width=".3"/>'
        )
    shape = "m-1.8 1.8l3.6 -3.6" if one.thing.kind == "plate" else "m-1.3 -1.3l2.6 2.6m0 -2.6l-2.6 2.6"
    return f'<path {where} d="M{x:.3f} {y:.3f}{shape}" stroke="#000" stroke-width=".4" fill="none"/>'


def _camera(side: bool) -> str:
    """The arrow to the camera, as a map has one to the north, in the margin that no thing reaches."""
    x, y, shape = (4.0, BOX_MM - 7, "v5l-1 -1.5m1 1.5l1 -1.5")
    if side:
        x, y, shape = BOX_MM - 8, BOX_MM - 4, "h5l-1.5 -1m1.5 1l-1.5 1"
    words_x, anchor = (BOX_MM - 9, "end") if side else (6.5, "start")
    return (
        f'<path d="M{x:g} {y:g}{shape}" stroke="#000" stroke-width=".3" fill="none"/>'
        f'<text x="{words_x:g}" y="{BOX_MM - 3:g}" font-size="2.8" text-anchor="{anchor}" font-family="sans-serif">'
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
