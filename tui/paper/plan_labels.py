"""Places for the labels of a drawing: beside their points, clear of labels and lines, else away from them on a leader.

Lengths are mm on paper from the upper left. A label is a rectangle; each takes the place of least cost out of a raster
over the drawing. Cost is the leader's length, and a price for each thing that label or leader covers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
Segment = tuple[Point, Point]
Numbers = NDArray[np.float64]

FONT_MM = 2.5
HEIGHT_MM = 3.8
"""Of a label's type, 7 points, and of its rectangle. Chosen."""

EDGE_MM = 0.6
"""Of white on both sides of a label's text. Chosen."""

EM = {" ": 0.318, "·": 0.318, "m": 0.974, **dict.fromkeys("0123456789", 0.636), "r": 0.411}
WIDE_EM = 0.65
"""Width of a sign as a share of the type's size, in the widest sans serif that systems come with; WIDE_EM: of all
others. Measured."""

STEP_MM = 1.2
"""Of the raster. Chosen: a third of a label's height."""

CLEAR_MM = 0.4
"""Between a label and what it may not lie on. Chosen."""

SYMBOL_MM = (2.2, 1.8)
"""Half the width and height of the place that a symbol takes, of the widest, the camera. Measured."""

ON_LABEL, ON_SYMBOL, ON_SIGHT, ON_BEAM, ON_EDGE = 1e6, 1e5, 1e4, 1e3, 4.0
LEADER_ON_LABEL, LEADER_ON_SYMBOL, LEADER_ON_SIGHT = 1e4, 30.0, 2.0
"""The price, in mm of leader, of what a label or its leader lies on. Chosen: labels, symbols, lines and beams stay
clear wherever there is a place for that; an outline is crossed before a leader becomes 4 mm longer."""


ROUNDS = 5
"""In which labels are placed while one lies badly. Chosen: of 200 views of sets by chance four need a second, of
600 others none is left with a label on anything after it."""


@dataclass(frozen=True)
class LabelBox:
    """The rectangle of a label, and the end of its leader at the rectangle. `text` "": kept free of labels."""

    text: str
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float = HEIGHT_MM
    leader_to: Point = (0.0, 0.0)

    def overlaps(self, other: LabelBox) -> bool:
        """Whether the two rectangles have a part in common."""
        across = abs(2 * (self.left_mm - other.left_mm) + self.width_mm - other.width_mm)
        along = abs(2 * (self.top_mm - other.top_mm) + self.height_mm - other.height_mm)
        inside = across < self.width_mm + other.width_mm and along < self.height_mm + other.height_mm
        return self is not other and inside


@dataclass(frozen=True)
class Drawn:
    """What labels keep clear of.

    points  of the things, one for each label
    sights  lines from things to the piece
    beams   strokes of the lights' signs
    edges   of outlines, and other lines that a label may cross where it must
    free    rectangles without labels
    """

    points: Sequence[Point]
    sights: Sequence[Segment]
    beams: Sequence[Segment] = ()
    edges: Sequence[Segment] = ()
    free: Sequence[LabelBox] = ()


def text_width_mm(text: str) -> float:
    """Width of a label's rectangle, mm, in any usual sans serif."""
    return sum(EM.get(sign, WIDE_EM) for sign in text) * FONT_MM + 2 * EDGE_MM


def place_labels(texts: Sequence[str], drawn: Drawn, side_mm: float) -> tuple[LabelBox, ...]:
    """A rectangle for each text, beside the point of the same number, in a square drawing of that side.

    One after the other; where one lies badly they are placed anew, with the worst first.
    """
    places = {width_mm: _Places(width_mm, side_mm, drawn) for width_mm in {text_width_mm(text) for text in texts}}
    order = [*range(len(texts))]
    best: tuple[float, dict[int, LabelBox]] = (np.inf, {})
    for _ in range(ROUNDS):
        placed: dict[int, LabelBox] = {}
        costs: dict[int, float] = {}
        for number in order:
            text = texts[number]
            placed[number], costs[number] = places[text_width_mm(text)].best(text, number, placed)
        best = min(best, (sum(costs.values()), placed), key=lambda found: found[0])
        if max(costs.values(), default=0.0) < ON_BEAM:
            break
        order.sort(key=lambda number: -costs[number])
    return tuple(best[1][number] for number in range(len(texts)))


class _Places:
    """The places that labels of one width may have: a raster of middles, with the price of what is drawn there."""

    def __init__(self, width_mm: float, side_mm: float, drawn: Drawn) -> None:
        self._half = width_mm / 2, HEIGHT_MM / 2
        across, along = (np.arange(1 + half, side_mm - 1 - half, STEP_MM) for half in self._half)
        self._x, self._y = (axis.ravel() for axis in np.meshgrid(across, along))
        self._drawn = drawn
        self._symbols = [(x, y, *SYMBOL_MM) for x, y in drawn.points]
        clear = self._half[0] + CLEAR_MM, self._half[1] + CLEAR_MM
        everywhere = self._x, self._y, *clear
        self._price = np.asarray(
            ON_SYMBOL * _count_boxes(everywhere, self._symbols)
            + ON_LABEL * _count_boxes(everywhere, [*map(_middle, drawn.free)])
            + ON_SIGHT * _count_under(everywhere, drawn.sights)
            + ON_BEAM * _count_under(everywhere, drawn.beams)
            + ON_EDGE * _count_under(everywhere, drawn.edges)
        )

    def best(self, text: str, number: int, placed: Mapping[int, LabelBox]) -> tuple[LabelBox, float]:
        """The cheapest place for the label of a point beside those that are placed, and its cost."""
        x, y = self._drawn.points[number]
        ends_x = np.clip(x, self._x - self._half[0], self._x + self._half[0])
        ends_y = np.clip(y, self._y - self._half[1], self._y + self._half[1])
        cost = self._price + np.hypot(ends_x - x, ends_y - y) + self._beside(number, (ends_x, ends_y), placed)
        at = int(np.argmin(cost))
        left_mm, top_mm = float(self._x[at]) - self._half[0], float(self._y[at]) - self._half[1]
        leader_to = float(ends_x[at]), float(ends_y[at])
        return LabelBox(text, left_mm, top_mm, 2 * self._half[0], leader_to=leader_to), float(cost[at])

    def _beside(self, number: int, ends: tuple[Numbers, Numbers], placed: Mapping[int, LabelBox]) -> Numbers:
        """The price of the other labels, and of what the leaders go over, (n,)."""
        here = self._x, self._y, *self._half
        point, points = self._drawn.points[number], self._drawn.points
        boxes = [*map(_middle, placed.values())]
        leaders = [(points[other], box.leader_to) for other, box in placed.items()]
        symbols = [box for other, box in enumerate(self._symbols) if other != number]
        sights = [sight for other, sight in enumerate(self._drawn.sights) if other != number]
        return np.asarray(
            ON_LABEL * _count_boxes(here, boxes)
            + LEADER_ON_LABEL * (_count_under(here, leaders) + _count_over(point, ends, boxes))
            + LEADER_ON_SYMBOL * _count_over(point, ends, symbols)
            + LEADER_ON_SIGHT * _count_crossed(point, ends, [*sights, *leaders])
        )


Box = tuple[float, float, float, float]
"""Middle and half size of a rectangle: across, along, half its width, half its height."""

Places = tuple[Numbers, Numbers, float, float]
"""The middles of n rectangles of one size, and half their size."""


def _middle(box: LabelBox) -> Box:
    half, high = box.width_mm / 2, box.height_mm / 2
    return box.left_mm + half, box.top_mm + high, half, high


def _count_boxes(places: Places, boxes: Iterable[Box]) -> Numbers:
    """How many of the boxes each place lies on, (n,)."""
    x, y, half, high = places
    count = np.zeros(len(x))
    for box_x, box_y, box_half, box_high in boxes:
        count += (np.abs(x - box_x) < half + box_half) & (np.abs(y - box_y) < high + box_high)
    return count


def _count_under(places: Places, segments: Iterable[Segment]) -> Numbers:
    """How many of the segments each place lies on, (n,)."""
    count = np.zeros(len(places[0]))
    for (x, y), (to_x, to_y) in segments:
        middle, along = ((x + to_x) / 2, (y + to_y) / 2), ((to_x - x) / 2, (to_y - y) / 2)
        count += _meets((places[0] - middle[0], places[1] - middle[1]), places[2:], along)
    return count


def _count_over(point: Point, ends: tuple[Numbers, Numbers], boxes: Iterable[Box]) -> Numbers:
    """How many of the boxes a leader from the point to each of the ends goes over, (n,)."""
    along = (ends[0] - point[0]) / 2, (ends[1] - point[1]) / 2
    count = np.zeros(len(ends[0]))
    for x, y, half, high in boxes:
        count += _meets((x - point[0] - along[0], y - point[1] - along[1]), (half, high), along)
    return count


def _meets(
    apart: tuple[Numbers, Numbers], half: tuple[float, float], along: tuple[Numbers | float, Numbers | float]
) -> NDArray[np.bool_]:
    """Whether a rectangle and a segment have a part in common, (n,), by separating axes.

    apart  from the segment's middle to the rectangle's
    half   the rectangle's size
    along  half the segment
    """
    near = (np.abs(apart[0]) <= half[0] + np.abs(along[0])) & (np.abs(apart[1]) <= half[1] + np.abs(along[1]))
    turned = np.abs(along[0] * apart[1] - along[1] * apart[0])
    return np.asarray(near & (turned <= half[0] * np.abs(along[1]) + half[1] * np.abs(along[0])))


def _count_crossed(point: Point, ends: tuple[Numbers, Numbers], segments: Iterable[Segment]) -> Numbers:
    """How many of the segments a leader from the point to each of the ends crosses, (n,)."""
    count = np.zeros(len(ends[0]))
    for start, stop in segments:
        parted = _side(point, ends, start) * _side(point, ends, stop) < 0
        count += parted & (_side(start, stop, point) * _side(start, stop, ends) < 0)
    return count


Axis = Numbers | float


def _side(start: tuple[Axis, Axis], stop: tuple[Axis, Axis], point: tuple[Axis, Axis]) -> Axis:
    """On which side of the line from start to stop a point lies: the sign of what is given."""
    return (stop[0] - start[0]) * (point[1] - start[1]) - (stop[1] - start[1]) * (point[0] - start[0])
