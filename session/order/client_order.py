"""An order as a value: the job, who wants it by when, how the pictures are delivered, and its pieces with their views.

Lengths of a piece are in mm as it lies in the hand: width, height, depth. A delivery's size is in pixels, or in mm with
the pixels per inch (ppi) at which it is printed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field, fields, replace
from datetime import date
from enum import StrEnum
from fractions import Fraction

from session.set.client_standard import Standard
from session.units.names import name_key
from session.units.quantities import is_quantity, require
from session.units.refusals import ImpossibleNumbersError

MM_PER_INCH = 25.4
"""Exactly, since 1959. Source: NIST Special Publication 811, appendix B."""

MOST_RATIO_PARTS = 100
"""A ratio is written with whole numbers up to this: 4:5, 16:9, 100:141. Chosen: what a person reads at a glance."""


class DeliveredFormat(StrEnum):
    """Kinds of files that an order may ask for."""

    JPEG = "jpeg"
    TIFF = "tiff"


@dataclass(frozen=True)
class Delivery:
    """The pictures that the client wants; a value of None or "" was left open.

    crop_ratio      width / height
    margin_percent  of each side that stays free around the piece
    Raises RefusedNumberError for a number that can't be meant, ImpossibleNumbersError for contradictory sizes.
    """

    width_px: int | None = None
    height_px: int | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    ppi: float | None = None
    crop_ratio: float | None = None
    margin_percent: float | None = None
    file_format: DeliveredFormat | None = None
    colour_space: str = ""

    def __post_init__(self) -> None:
        require(**_numbers(self))
        if (self.width_mm or self.height_mm) and self.ppi is None:
            raise ImpossibleNumbersError(
                f"a size of {_size_text(self.width_mm, self.height_mm)} mm needs its pixels per inch (ppi)."
            )
        if (self.width_px or self.height_px) and (self.width_mm or self.height_mm):
            raise ImpossibleNumbersError(
                f"the size is given in pixels ({_size_text(self.width_px, self.height_px)}) and in mm"
                f" ({_size_text(self.width_mm, self.height_mm)}): one of them is enough."
            )

    @property
    def pixels(self) -> tuple[int | None, int | None]:
        """Width and height in pixels (px), None for an open side."""
        if self.ppi is None or not (self.width_mm or self.height_mm):
            return self.width_px, self.height_px
        width, height = (
            None if side_mm is None else max(1, round(side_mm / MM_PER_INCH * self.ppi))
            for side_mm in (self.width_mm, self.height_mm)
        )
        return width, height

    @property
    def ratio(self) -> float | None:
        """Width / height, a ratio: as asked for, else of the size; None for an open shape."""
        width, height = self.pixels
        return self.crop_ratio or (width / height if width and height else None)


@dataclass(frozen=True)
class OrderedPiece:
    """A product of the order. `surface` in the client's words: polished, matt, glass. Raises RefusedNumberError.

    standards  (view, name of its standard), for the views that have one
    """

    name: str
    article_number: str = ""
    width_mm: float | None = None
    height_mm: float | None = None
    depth_mm: float | None = None
    surface: str = ""
    views: tuple[str, ...] = ()
    standards: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        require(**_numbers(self))


@dataclass(frozen=True)
class Order:
    """A client's wishes for a job. The pieces stand in the order in which they came.

    standards  each with a view that has it, in the sequence of `standards_in_use`
    """

    job: str
    client: str = ""
    due_on: date | None = None
    rights: str = ""
    credit: str = ""
    delivery: Delivery = field(default_factory=Delivery)
    pieces: tuple[OrderedPiece, ...] = ()
    standards: tuple[Standard, ...] = ()

    def views(self) -> Iterator[tuple[OrderedPiece, str]]:
        """The views of all pieces, each with its piece."""
        return ((piece, view) for piece in self.pieces for view in piece.views)

    def with_views(self, piece: str, views: tuple[str, ...]) -> Order:
        """The order with these views of a piece besides; a piece that is new comes last."""
        at = next((n for n, known in enumerate(self.pieces) if name_key(known.name) == name_key(piece)), None)
        old = OrderedPiece(piece) if at is None else self.pieces[at]
        named: dict[str, str] = {}
        for view in (*old.views, *views):
            named.setdefault(name_key(view), view)
        wanted = replace(old, views=tuple(named.values()))
        if at is None:
            return replace(self, pieces=(*self.pieces, wanted))
        return replace(self, pieces=(*self.pieces[:at], wanted, *self.pieces[at + 1 :]))

    def standard_of(self, piece: OrderedPiece, view: str) -> Standard | None:
        """The standard agreed for a view of a piece, None where there is none."""
        name = next((name for one, name in piece.standards if name_key(one) == name_key(view)), "")
        return next((one for one in self.standards if name and name_key(one.name) == name_key(name)), None)

    def with_standard(self, standard: Standard, views: Collection[tuple[str, str]]) -> Order:
        """The order with this standard for these views, (piece, view) by name key; standards of no view are dropped."""
        key = name_key(standard.name)
        pieces = []
        for piece in self.pieces:
            names = {name_key(view): name for view, name in piece.standards}
            names |= {view: standard.name for of, view in views if of == name_key(piece.name)}
            kept = tuple((view, names[name_key(view)]) for view in piece.views if name_key(view) in names)
            pieces.append(replace(piece, standards=kept))
        others = [one for one in self.standards if name_key(one.name) != key]
        return replace(self, pieces=tuple(pieces), standards=standards_in_use(pieces, [*others, standard]))


def standards_in_use(pieces: Iterable[OrderedPiece], standards: Iterable[Standard]) -> tuple[Standard, ...]:
    """The standards that views of these pieces have, as the views name them one after another; the others are left out.

    An order holds its standards in this sequence, whether it was typed, read from a table, or comes from the log.
    """
    by_key = {name_key(one.name): one for one in standards}
    used = dict.fromkeys(name_key(name) for piece in pieces for _, name in piece.standards)
    return tuple(by_key[key] for key in used if key in by_key)


def crop_text(ratio: float) -> str:
    """A width / height as it is spoken: `4:5`, `16:9`."""
    parts = Fraction(ratio).limit_denominator(MOST_RATIO_PARTS)
    return f"{parts.numerator}:{parts.denominator}"


def _numbers(thing: Delivery | OrderedPiece) -> dict[str, float]:
    told = {one.name: getattr(thing, one.name) for one in fields(thing) if is_quantity(one.name)}
    return {name: value for name, value in told.items() if value is not None}


def _size_text(width: float | None, height: float | None) -> str:
    return " × ".join("?" if side is None else f"{side:g}" for side in (width, height))
