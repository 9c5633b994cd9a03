"""A CSV file (RFC 4180) into an order, whole or not at all; every fault becomes a sentence with row and column.

A row is a view of a piece; several views of one piece may stand in one cell, with | between them. What belongs to the
job or to the piece may stand in each of its rows or in one of them, but not differ. Rows are counted as a spreadsheet
counts them: the names of the columns are row 1. UTF-8, or UTF-16 with its byte order mark; comma, semicolon or tab.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, fields
from datetime import date
from fractions import Fraction
from itertools import zip_longest
from typing import Any

from session.order.client_order import DeliveredFormat, Delivery, Order, OrderedPiece, standards_in_use
from session.set.client_standard import VALUES, ShadowSide, Standard
from session.units.names import name_key
from session.units.quantities import is_quantity
from session.units.refusals import UnreadableTextError
from session.units.typed import typed_number

MOST_BYTES = 32 << 20
"""Of a file (B). Chosen: an order of 200 pieces with 3 views has 60 kB."""

MOST_CHARS = 500
"""Of a cell. Chosen: names and a line of rights are far shorter."""

MOST_ROWS = 20_000
"""Chosen: a hundred times a large order."""

MOST_FAULTS = 20
"""Sentences that are told at once. Chosen: a screenful."""

MOST_OF_RATIO = 59
"""Largest number of a ratio that is written with two of them. A spreadsheet takes 4:5 for hours and minutes, and saves
04:05, which is read alike; from 60 minutes on it carries: of 57:80 it makes 58:20. Clients ask for 4:5 or 16:9."""

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}

FORMULA = "=+-@\uff1d\uff0b\uff0d\uff20"
"""What a spreadsheet takes for the beginning of a formula. Source: OWASP, "CSV Injection"."""

SIGNED = re.compile(r"[-+]\d+(?:[.,]\d+)?")
"""A plain number with its sign, which no spreadsheet takes for more."""

NOT_IN_A_NAME = frozenset({"Cc", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories: control, half surrogate pairs, private, unassigned, ends of lines and paragraphs."""

TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters that turn the reading direction of what follows, so that a name looks like another.
Source: Unicode Technical Report 36, 2.5."""

OF_JOB = ("job", "client", "due", "rights", "credit")
OF_DELIVERY = tuple(one.name for one in fields(Delivery))
OF_PIECE = {
    "piece": "name",
    "article_number": "article_number",
    "piece_width_mm": "width_mm",
    "piece_height_mm": "height_mm",
    "piece_depth_mm": "depth_mm",
    "surface": "surface",
}
"""Column → field of a piece."""

OF_STANDARD = {f"standard_{name}": name for name in VALUES}
"""Column → field of the standard that the row names."""

COLUMNS = (*OF_JOB, *OF_DELIVERY, *OF_PIECE, "view", "standard", *OF_STANDARD)
NEEDED = ("piece", "view")

Cells = Mapping[str, str]


class OrderFileError(ValueError):
    """The file is no order; nothing of it was read. `faults` are sentences, each with its row and column."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = tuple(faults)
        more = len(faults) - MOST_FAULTS
        super().__init__("\n".join([*faults[:MOST_FAULTS], *([f"And {more} more faults."] if more > 0 else [])]))


def read_order(data: bytes, job: str = "", *, or_other: bool = False) -> Order:
    """The order in a file's bytes.

    job       the job's name, where the file has no column for it
    or_other  a file that names another job is read as that job's
    Raises OrderFileError with every fault that was found.
    """
    if len(data) > MOST_BYTES:
        raise OrderFileError([f"The file has more than {MOST_BYTES >> 20} MB; an order is far smaller."])
    text = _decode(data)
    separator = _separator(text)
    rows = _rows(text, separator)
    names = _columns(rows[0], separator)
    faults: list[str] = []
    collected = _Collected(faults)
    for number, row in enumerate(rows[1:], 2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) > len(names):
            faults.append(
                f"Row {number}, column {len(names) + 1}: the row has {len(row)} cells, the first row names"
                f" {len(names)}; a text with a {SEPARATORS[separator]} in it stands in quotes."
            )
            continue
        cells = {name: cell.strip() for name, cell in zip(names, row, strict=False)}
        found = [fault for name, cell in cells.items() if (fault := _cell_fault(cell, number, name))]
        faults += found
        if not found:
            collected.add(number, cells)
    order = collected.order(job, or_other=or_other)
    if faults or order is None:
        raise OrderFileError(faults)
    return order


def order_csv(order: Order) -> str:
    """The order as a table that `read_order` reads again: a row for each view, what is of the job in the first."""
    delivery = order.delivery
    of_job = {"job": order.job, "client": order.client, "rights": order.rights, "credit": order.credit}
    of_job |= {name: _cell_text(getattr(delivery, name)) for name in OF_DELIVERY}
    of_job["crop_ratio"] = ratio_cell(delivery.crop_ratio)
    of_job["due"] = order.due_on.isoformat() if order.due_on else ""
    written = io.StringIO()
    rows = csv.DictWriter(written, COLUMNS)
    rows.writeheader()
    told: set[str] = set()
    for piece, view in order.views():
        of_piece = {name: _cell_text(getattr(piece, attribute)) for name, attribute in OF_PIECE.items()}
        standard = order.standard_of(piece, view)
        of_standard = {"standard": standard.name if standard else ""}
        if standard and standard.name not in told:
            told.add(standard.name)
            of_standard |= {name: _cell_text(getattr(standard, field)) for name, field in OF_STANDARD.items()}
        rows.writerow({**of_job, **of_piece, "view": view, **of_standard})
        of_job = {"job": order.job}
    return written.getvalue()


def require_table(order: Order) -> None:
    """Refuse an order whose names no table holds: a typed order is written as a table too.

    Raises UnreadableTextError with one sentence.
    """
    try:
        read = read_order(order_csv(order).encode("utf-8", "replace"))
    except OrderFileError as error:
        raise UnreadableTextError(error.faults[0].partition(": ")[2]) from None
    for typed, found in zip_longest(_names(order), _names(read)):
        if typed != found:
            names = ", ".join(repr(name) for name in typed or found or ())
            raise UnreadableTextError(f"a name holds no | and no blanks at its ends: {names}")


def _names(order: Order) -> Iterator[tuple[str, str]]:
    return ((piece.name, view) for piece, view in order.views())


def _cell_text(value: object) -> str:
    return "" if value is None else f"{value:.15g}" if isinstance(value, float) else str(value)


def ratio_cell(ratio: float | None) -> str:
    """`4:5` for a ratio of small whole numbers, as clients write it, else the number; "" without one."""
    if ratio is None:
        return ""
    small = Fraction(ratio).limit_denominator(MOST_OF_RATIO)
    if abs(small - Fraction(ratio)) > 1e-12 or small.numerator > MOST_OF_RATIO:
        return _cell_text(ratio)
    return f"{small.numerator}:{small.denominator}"


def _decode(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding, words = "utf-16", "UTF-16"
    else:
        encoding, words = "utf-8-sig", "UTF-8"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        before = data[: error.start].decode(encoding, "replace")
        row, column = _place(before, _separator_or_comma(before))
        raise OrderFileError(
            [
                f"Row {row}, column {column}: byte {data[error.start]:#04x} is no {words};"
                " save the table as CSV in UTF-8."
            ]
        ) from None


def _separator(text: str) -> str:
    if not text.strip():
        raise OrderFileError(["Row 1, column 1: the file is empty; the first row names the columns, piece and view."])
    return _separator_or_comma(text)


def _separator_or_comma(text: str) -> str:
    """The sign that parts the first line into most names of columns."""
    first = re.split(r"[\r\n]", text.lstrip("\r\n")[: 100 * MOST_CHARS], maxsplit=1)[0]

    def names_known(separator: str) -> int:
        return sum(_column_key(name) in COLUMNS for name in first.replace('"', "").split(separator))

    return max(SEPARATORS, key=names_known)


def _rows(text: str, separator: str) -> list[list[str]]:
    """The rows as cells. Raises OrderFileError where the quotes don't close, or there are too many rows."""
    rows: list[list[str]] = []
    with _cells_of_any_length(len(text)):
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
        try:
            for row in reader:
                rows.append(row)
                if len(rows) > MOST_ROWS:
                    raise OrderFileError(
                        [f"Row {MOST_ROWS + 1}, column 1: an order of up to {MOST_ROWS} rows is read."]
                    )
        except csv.Error:
            row_number, column = _place(text, separator)
            raise OrderFileError(
                [
                    f"Row {row_number}, column {column}: the quotes of this cell don't close,"
                    ' or something stands behind them; a quote inside a text is written "".'
                ]
            ) from None
    while rows and not any(cell.strip() for cell in rows[0]):  # a file may begin with empty lines
        rows.pop(0)
    return rows or [[""]]


@contextmanager
def _cells_of_any_length(characters: int) -> Iterator[None]:
    """csv refuses long cells without saying where; they are refused by row and column afterwards."""
    before = csv.field_size_limit(characters + 1)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _place(text: str, separator: str) -> tuple[int, int]:
    """Row and column, from 1, of the cell at which the text can't be read on, or at which it ends."""
    sign = re.escape(separator)
    cell = re.compile(rf'(?:"(?:[^"]|"")*"|[^{sign}"\r\n][^{sign}\r\n]*|)({sign}|\r\n|\n|\r)')
    at, row, column = 0, 1, 1
    while found := cell.match(text, at):
        at = found.end()
        row, column = (row, column + 1) if found[1] == separator else (row + 1, 1)
    return row, column


def _columns(names: list[str], separator: str) -> list[str]:
    keys = [_column_key(name) for name in names]
    while keys and not keys[-1]:
        keys.pop()
    faults: list[str] = []
    for number, (key, name) in enumerate(zip(keys, names, strict=False), 1):
        if key not in COLUMNS:
            there_are = "" if faults else f"; there are {', '.join(COLUMNS)}"  # told once, however many are unknown
            faults.append(f"Row 1, column {number}: {name.strip()[:40]!r} is no column of an order{there_are}.")
        elif key in keys[: number - 1]:
            faults.append(f"Row 1, column {number}: {key} is there twice.")
    if not any(key in COLUMNS for key in keys):  # it is no table of ours, or its names are missing
        shown = f"; {faults[0]}" if faults else "."
        faults = [f"Row 1, column 1: the first row names the columns, with {SEPARATORS[separator]}s between{shown}"]
    else:
        missing = [name for name in NEEDED if name not in keys]
        faults += [f"Row 1, column {len(keys) + 1}: the column {name} is missing." for name in missing]
    if faults:
        raise OrderFileError(faults)
    return keys


def _column_key(name: str) -> str:
    return name.strip().casefold().replace(" ", "_")


def _cell_fault(cell: str, row: int, name: str) -> str:
    """The fault of any cell, "" for a good cell."""
    where = f"Row {row}, column {name}:"
    if len(cell) > MOST_CHARS:
        return f"{where} the cell has {len(cell):,} characters; up to {MOST_CHARS} are read."
    bad = next((c for c in cell if unicodedata.category(c) in NOT_IN_A_NAME or c in TURNING), None)
    if bad in ("\n", "\r"):
        return f"{where} the cell holds the end of a line; a name stands on one line."
    if bad is not None:
        return f"{where} the cell holds the character U+{ord(bad):04X}, which is no part of a text."
    if cell[:1] and cell[0] in FORMULA and not (is_quantity(name) and SIGNED.fullmatch(cell)):
        return f"{where} {cell[:40]!r} begins like a formula of a spreadsheet; give its value as text."
    return ""


@dataclass
class _Collected:
    """The facts that the rows told so far, each once, with the row that told the fact first."""

    faults: list[str]
    job: dict[str, Any] = field(default_factory=dict)
    delivery: dict[str, Any] = field(default_factory=dict)
    pieces: dict[str, dict[str, Any]] = field(default_factory=dict)
    views: dict[str, dict[str, tuple[str, int]]] = field(default_factory=dict)
    articles: dict[str, tuple[str, int]] = field(default_factory=dict)
    standards: dict[str, dict[str, Any]] = field(default_factory=dict)
    agreed: dict[tuple[str, str], str] = field(default_factory=dict)
    said_in: dict[tuple[str, str], int] = field(default_factory=dict)

    def add(self, row: int, cells: Cells) -> None:
        """Take in a row; what is wrong with it goes to the faults."""
        for name in (*OF_JOB, *OF_DELIVERY):
            target = self.job if name in OF_JOB else self.delivery
            self._take("", target, name, name, row, cells)
        key = name_key(cells["piece"])
        if not key:
            self.faults.append(f"Row {row}, column piece: the piece has no name.")
            return
        piece = self.pieces.setdefault(key, {})
        for name, attribute in OF_PIECE.items():
            self._take(key, piece, attribute, name, row, cells)
        self._note_article(key, row, cells)
        self._note_standard(row, cells)
        views = self.views.setdefault(key, {})
        for view in filter(None, (part.strip() for part in cells.get("view", "").split("|"))):
            before = views.get(name_key(view))
            if before is not None:
                self.faults.append(f"Row {row}, column view: {view} of {cells['piece']} is in row {before[1]} already.")
            views.setdefault(name_key(view), (view, row))
            if name_key(cells.get("standard", "")):
                self.agreed[key, name_key(view)] = name_key(cells["standard"])
        if not cells.get("view", "").strip(" |"):
            self.faults.append(f"Row {row}, column view: no view of {cells['piece']} is named.")

    def _take(self, of: str, target: dict[str, Any], attribute: str, name: str, row: int, cells: Cells) -> None:
        """A cell's value, where it says something; a fault where another row said something else."""
        text = cells.get(name, "")
        if not text:
            return
        try:
            value = _READERS.get(name, _text)(text, name)
        except ValueError as error:
            self.faults.append(f"Row {row}, column {name}: {error}")
            return
        first = self.said_in.setdefault((of, name), row)
        if name != "piece" and target.setdefault(attribute, value) != value:
            whose = f"of {of if name in OF_STANDARD else cells['piece']} " if of else ""
            self.faults.append(
                f"Row {row}, column {name}: {text!r}, but row {first} says {whose}{str(target[attribute])!r}."
            )
        target.setdefault(attribute, value)

    def _note_article(self, key: str, row: int, cells: Cells) -> None:
        article = cells.get("article_number", "")
        if not article:
            return
        other, first = self.articles.setdefault(name_key(article), (key, row))
        if other != key:
            self.faults.append(
                f"Row {row}, column article_number: {article} is that of {self.pieces[other]['name']} in row {first}."
            )

    def _note_standard(self, row: int, cells: Cells) -> None:
        key = name_key(cells.get("standard", ""))
        said = [name for name in OF_STANDARD if cells.get(name, "")]
        if said and not key:
            self.faults.append(f"Row {row}, column {said[0]}: the row names no standard; its column is standard.")
        if not key:
            return
        standard = self.standards.setdefault(key, {"name": cells["standard"]})
        for name, attribute in OF_STANDARD.items():
            self._take(f"standard {standard['name']}", standard, attribute, name, row, cells)

    def _ratio_faults(self, delivery: Delivery) -> list[str]:
        """A crop ratio that isn't that of the size, each side being rounded to a pixel."""
        (width_px, height_px), ratio = delivery.pixels, delivery.crop_ratio
        if not (width_px and height_px and ratio) or abs(width_px - ratio * height_px) <= 1 + ratio:
            return []
        row = self.said_in.get(("", "crop_ratio"), 1)
        told = f"{width_px} × {height_px} px are {width_px / height_px:.3g}"
        return [f"Row {row}, column crop_ratio: {ratio_cell(ratio)} is {ratio:.3g}, but {told}: one of them is wrong."]

    def order(self, job: str, *, or_other: bool) -> Order | None:
        """The order, None after a fault."""
        told = self.job.get("job", "")
        if job and told and name_key(job) != name_key(told) and not or_other:
            self.faults.append(f"Row {self.said_in['', 'job']}, column job: {told!r}, but {job!r} was asked for.")
        if not (job or told):
            self.faults.append("Row 1, column job: the job has no name; give it in this column, or with --job.")
        if not self.pieces and not self.faults:
            self.faults.append("Row 2, column piece: there is no row with a piece.")
        try:
            delivery = Delivery(**self.delivery)
        except ValueError as error:
            row = max((self.said_in.get(("", name), 1) for name in OF_DELIVERY), default=1)
            column = next((name for name in OF_DELIVERY if ("", name) in self.said_in), OF_DELIVERY[0])
            self.faults.append(f"Row {row}, column {column}: {error}")
        else:
            self.faults += self._ratio_faults(delivery)
        if self.faults:
            return None
        pieces = tuple(
            OrderedPiece(
                **piece,
                views=tuple(view for view, _ in self.views[key].values()),
                standards=tuple(
                    (view, self.standards[self.agreed[key, name_key(view)]]["name"])
                    for view, _ in self.views[key].values()
                    if (key, name_key(view)) in self.agreed
                ),
            )
            for key, piece in self.pieces.items()
        )
        standards = standards_in_use(pieces, (Standard(**values) for values in self.standards.values()))
        own = {name: self.job[name] for name in ("client", "rights", "credit") if name in self.job}
        return Order(
            told or job,
            **own,
            due_on=self.job.get("due"),
            delivery=delivery,
            pieces=pieces,
            standards=standards,
        )


def _text(text: str, name: str) -> str:
    return text


def _number(text: str, name: str) -> float:
    return typed_number(name, text)


def read_due(text: str, name: str = "due") -> date:
    """The day, written as ISO 8601 has it: 2026-12-05. Raises ValueError with one sentence."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UnreadableTextError(f"{text!r} is no date; write it year first, like 2026-12-05.") from None


def read_format(text: str, name: str = "file_format") -> DeliveredFormat:
    """The kind of file by its name or its ending. Raises ValueError with one sentence."""
    bare = text.casefold().lstrip(".")
    try:
        return DeliveredFormat({"jpg": "jpeg", "tif": "tiff"}.get(bare, bare))
    except ValueError:
        raise UnreadableTextError(f"{text!r} is no kind of file that is delivered; there are jpeg and tiff.") from None


def read_side(text: str, name: str = "shadow_side") -> ShadowSide:
    """The side of a shadow by its word. Raises ValueError with one sentence."""
    try:
        return ShadowSide(text.casefold())
    except ValueError:
        raise UnreadableTextError(f"{text!r} is no side of a shadow; there are {', '.join(ShadowSide)}.") from None


_READERS: dict[str, Callable[[str, str], Any]] = {
    "due": read_due,
    "file_format": read_format,
    "standard_shadow_side": read_side,
    **{name: _number for name in COLUMNS if is_quantity(name)},
}
