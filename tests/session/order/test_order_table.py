"""A CSV file becomes an order whole, or each fault is told by row and column and nothing is read."""

from __future__ import annotations

import csv
import io
import re
from datetime import date

import pytest

from session.order.client_order import DeliveredFormat, Delivery, Order, OrderedPiece
from session.order.order_table import MOST_BYTES, MOST_CHARS, OrderFileError, order_csv, read_order
from session.set.client_standard import ShadowSide, Standard

WHOLE = """job,client,due,rights,credit,width_mm,height_mm,ppi,crop_ratio,margin_percent,file_format,colour_space,\
piece,article_number,piece_width_mm,piece_height_mm,piece_depth_mm,surface,view
spring line,Invented & Sons,2026-12-05,"one year, web",A. Photographer,100,125,300,4:5,10 %,jpg,sRGB,\
ring 1,A-101,21,24,6,polished,front
,,,,,,,,,,,,ring 1,,,,,,top
,,,,,,,,,,,,ring 2,A-102,"22,5",,,matt,front|top
"""

ORDER = Order(
    "spring line",
    "Invented & Sons",
    date(2026, 12, 5),
    "one year, web",
    "A. Photographer",
    Delivery(None, None, 100.0, 125.0, 300.0, 0.8, 10.0, DeliveredFormat.JPEG, "sRGB"),
    (
        OrderedPiece("ring 1", "A-101", 21.0, 24.0, 6.0, "polished", ("front", "top")),
        OrderedPiece("ring 2", "A-102", 22.5, None, None, "matt", ("front", "top")),
    ),
)


STANDARDS = """job,piece,view,standard,standard_background_ev,standard_shadow_side,standard_size_tolerance_percent
spring line,ring 1,front,catalogue-white,2,left,
,ring 1,top,,,,
,ring 2,front,Catalogue-White,,,4 %
"""


def test_a_standard_is_said_once_and_shared_by_its_name() -> None:
    order = read_order(STANDARDS.encode())
    white = Standard("catalogue-white", shadow_side=ShadowSide.LEFT, background_ev=2.0, size_tolerance_percent=4.0)
    assert order.standards == (white,)
    assert [order.standard_of(piece, view) for piece, view in order.views()] == [white, None, white]
    assert read_order(order_csv(order).encode()) == order


def test_a_negative_number_is_no_formula_but_what_looks_like_one_is() -> None:
    order = read_order(STANDARDS.replace(",2,left,", ",-1.5,left,").encode())
    assert order.standards[0].background_ev == -1.5
    assert read_order(order_csv(order).encode()) == order
    with pytest.raises(OrderFileError, match="begins like a formula"):
        read_order(STANDARDS.replace(",2,left,", ",-1+2,left,").encode())
    with pytest.raises(OrderFileError, match="begins like a formula"):
        read_order(STANDARDS.replace("ring 2", "-2").encode())


@pytest.mark.parametrize(
    ("changed", "fault"),
    [
        ((",2,left,", ",2.9,left,"), "Row 2, column standard_background_ev: "),
        ((",2,left,", ",2,top,"), "Row 2, column standard_shadow_side: 'top' is no side"),
        (("top,,,,", "top,,2,,"), "Row 3, column standard_background_ev: the row names no standard"),
        (
            ("White,,,4 %", "White,1.8,,4 %"),
            "Row 4, column standard_background_ev: '1.8', but row 2 says of standard catalogue-white '2.0'",
        ),
    ],
)
def test_a_fault_of_a_standard_is_told_by_row_and_column(changed: tuple[str, str], fault: str) -> None:
    with pytest.raises(OrderFileError) as refused:
        read_order(STANDARDS.replace(*changed).encode())
    assert refused.value.faults[0].startswith(fault), refused.value.faults


def with_separator(text: str, separator: str) -> str:
    written = io.StringIO()
    csv.writer(written, delimiter=separator).writerows(csv.reader(io.StringIO(text)))
    return written.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        WHOLE.encode(),
        WHOLE.encode("utf-8-sig"),
        WHOLE.encode("utf-16"),
        WHOLE.replace("\n", "\r\n").encode(),
        ("\n\n" + WHOLE + "\n\n").encode(),
        with_separator(WHOLE, ";").encode(),
        with_separator(WHOLE, "\t").encode(),
        WHOLE.replace("piece_width_mm", " Piece width mm ").encode(),
    ],
    ids=["plain", "byte order mark", "UTF-16", "CRLF", "empty lines", "semicolons", "tabs", "spelt otherwise"],
)
def test_a_whole_file_is_the_order_however_it_was_saved(data: bytes) -> None:
    assert read_order(data) == ORDER


def test_a_size_in_mm_comes_to_pixels_at_its_ppi() -> None:
    """100 mm = 3.93701 in, at 300 ppi 1181.1 px; 125 mm 1476.4 px (25.4 mm an inch)."""
    assert ORDER.delivery.pixels == (1181, 1476)
    assert Delivery(width_px=2400, height_px=3000).ratio == pytest.approx(0.8)


def test_any_script_and_direction_is_a_name() -> None:
    names = ("חישוק 4", "戒指 四", "Ring “№ 7”", "bague à l'œuf", "بروش", "e\u0301cusson", "👩\u200d🔧 part")
    found = read_order("\n".join(["piece,view", *(f'"{name}",vue' for name in names)]).encode(), "x")
    assert tuple(piece.name for piece in found.pieces) == names


HEAD = "piece,view\n"
BROKEN = {
    "empty": (b"", "Row 1, column 1: the file is empty"),
    "blank": (b"\n \n", "Row 1, column 1: the file is empty"),
    "names only": (HEAD.encode(), "Row 2, column piece: there is no row"),
    "no names": (b"ring 1,front\nring 2,front\n", "Row 1, column 1: the first row names the columns"),
    "a picture": (b"\x89PNG\r\n\x1a\n\x00\x00", "Row 1, column 1: byte 0x89 is no UTF-8"),
    "Latin-1": ("piece,view\nbo\xeete,face\n".encode("latin-1"), "Row 2, column 1: byte 0xee is no UTF-8"),
    "Latin-1, later": ("piece,view\na,b\nc,\xe9t\xe9\n".encode("latin-1"), "Row 3, column 2: byte 0xe9"),
    "cut UTF-16": ("piece,view\na,b".encode("utf-16")[:-1], "Row 2, column 2: byte 0x62 is no UTF-16"),
    "UTF-16 without a mark": ("piece,view\na,b\n".encode("utf-16-le"), "Row 1, column 1: the first row names"),
    "NUL in a name": (b"piece,view\nri\x00ng,front\n", "Row 2, column piece: the cell holds the character U+0000"),
    "escape sequence": (b"piece,view\nri\x1b[2Jng,front\n", "Row 2, column piece: the cell holds the character U+001B"),
    "turned direction": ("piece,view\na\u202egpj.exe,b\n".encode(), "Row 2, column piece: the cell holds the"),
    "line separator": ("piece,view\na,b\u2028c\n".encode(), "Row 2, column view: the cell holds the character U+2028"),
    "two lines in a cell": (b'piece,view\n"ring\n1",front\n', "Row 2, column piece: the cell holds the end of a line"),
    "quotes never close": (b'piece,view\na,b\n"ring 1,front\n', "Row 3, column 1: the quotes of this cell don't close"),
    "quotes close early": (b'piece,view\na,"b"c\n', "Row 2, column 2: the quotes of this cell don't close"),
    "10 MB cell": (b"piece,view\na,b\n" + b"x" * 10_000_000 + b",b\n", "Row 3, column piece: the cell has 10,000,000"),
    "10 MB in quotes": (b'piece,view\na,"' + b"x" * 10_000_000, "Row 2, column 2: the quotes"),
    "long line of names": (b"," * 1_000_000, "Row 1, column 1"),
    "too large": (b"x" * (MOST_BYTES + 1), "The file has more than 32 MB"),
    "too many rows": (b"piece,view\n" + b"\n" * 20_001, "Row 20001, column 1: an order of up to 20000 rows"),
    "formula": (b'piece,view\n"=HYPERLINK(""http://x"")",front\n', "Row 2, column piece: '=HYPERLINK"),
    "formula by plus": (b"piece,view\na,+1+1\n", "Row 2, column view: '+1+1' begins like a formula"),
    "formula by minus": (b"piece,view\na,-1\n", "Row 2, column view: '-1' begins like a formula"),
    "formula by at": (b"piece,view\n@SUM(A1),b\n", "Row 2, column piece: '@SUM(A1)' begins like a formula"),
    "full-width formula": ("piece,view\n\uff1dA1,b\n".encode(), "Row 2, column piece: '\uff1dA1' begins"),
    "unknown column": (b"piece,view,colour\na,b,c\n", "Row 1, column 3: 'colour' is no column of an order"),
    "column twice": (b"piece,view,piece\na,b,c\n", "Row 1, column 3: piece is there twice."),
    "no view column": (b"piece,surface\na,matt\n", "Row 1, column 3: the column view is missing."),
    "too many cells": (b"piece,view\na,b,c\n", "Row 2, column 3: the row has 3 cells"),
    "no piece": (b"piece,view\n,front\n", "Row 2, column piece: the piece has no name."),
    "no view": (b"piece,view\nring 1,\n", "Row 2, column view: no view of ring 1 is named."),
    "view twice": (b"piece,view\nring 1,front\nRING 1,Front\n", "Row 3, column view: Front of RING 1 is in row 2"),
    "view twice in a cell": (b"piece,view\na,b|b\n", "Row 2, column view: b of a is in row 2 already."),
    "article twice": (
        b"piece,view,article_number\na,b,7\nc,b,7\n",
        "Row 3, column article_number: 7 is that of a in row 2.",
    ),
    "two articles": (
        b"piece,view,article_number\na,b,7\na,c,8\n",
        "Row 3, column article_number: '8', but row 2 says of a '7'.",
    ),
    "two sizes": (b"piece,view,piece_width_mm\na,b,7\na,c,8\n", "Row 3, column piece_width_mm: '8', but row 2 says"),
    "size in words": (b"piece,view,piece_width_mm\na,b,big\n", "Row 2, column piece_width_mm: piece_width_mm is a num"),
    "size of nothing": (b"piece,view,piece_width_mm\na,b,0\n", "Row 2, column piece_width_mm: piece_width_mm is 0 mm"),
    "size not a number": (b"piece,view,piece_width_mm\na,b,nan\n", "Row 2, column piece_width_mm: piece_width_mm is"),
    "two jobs": (b"job,piece,view\nx,a,b\ny,c,d\n", "Row 3, column job: 'y', but row 2 says 'x'."),
    "date the other way": (b"piece,view,due\na,b,05.12.2026\n", "Row 2, column due: '05.12.2026' is no date"),
    "no such day": (b"piece,view,due\na,b,2026-02-30\n", "Row 2, column due: '2026-02-30' is no date"),
    "no such format": (b"piece,view,file_format\na,b,webp\n", "Row 2, column file_format: 'webp' is no kind of file"),
    "mm without ppi": (b"piece,view,width_mm\na,b,100\n", "Row 2, column width_mm: a size of 100"),
    "mm and px": (b"piece,view,width_mm,ppi,width_px\na,b,100,300,7\n", "Row 2, column width_px: the size is given in"),
}  # fmt: skip


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_file_is_refused_with_one_sentence_that_says_where(name: str) -> None:
    data, sentence = BROKEN[name]
    with pytest.raises(OrderFileError) as refused:
        read_order(data, "" if name == "two jobs" else "x")
    (fault,) = refused.value.faults
    assert fault.startswith(sentence), fault
    assert fault.endswith(".") and len(fault) < 700
    assert name == "too large" or re.match(r"Row \d+, column [\w ]+: ", fault)


def test_there_are_forty_kinds_of_broken_files() -> None:
    assert len(BROKEN) >= 40


def test_all_faults_are_told_at_once_and_the_rest_is_counted() -> None:
    with pytest.raises(OrderFileError) as refused:
        read_order((HEAD + "=1,front\n" * 30).encode(), "x")
    assert len(refused.value.faults) == 30
    assert str(refused.value).splitlines()[-1] == "And 10 more faults."


def test_the_job_needs_a_name_and_one_that_fits() -> None:
    with pytest.raises(OrderFileError, match="Row 1, column job: the job has no name"):
        read_order(b"piece,view\na,b\n")
    with pytest.raises(OrderFileError, match="Row 2, column job: 'x', but 'y' was asked for"):
        read_order(b"job,piece,view\nx,a,b\n", "y")


def test_a_cell_may_be_as_long_as_is_said() -> None:
    assert read_order(f"piece,view\n{'x' * MOST_CHARS},b\n".encode(), "j").pieces[0].name == "x" * MOST_CHARS


def test_the_columns_that_there_are_are_told_once() -> None:
    with pytest.raises(OrderFileError) as refused:
        read_order(b"piece,colour,shape,view,price\na,b,c,d,e\n", "job")
    assert len(refused.value.faults) == 3
    assert [fault.count("there are job, client") for fault in refused.value.faults] == [1, 0, 0]


@pytest.mark.parametrize(
    ("written", "cell"),
    [("4:5", "4:5"), ("0.8", "4:5"), ("04:05", "4:5"), ("3/2", "3:2"), ("1", "1:1"), ("0.8127", "0.8127")],
)
def test_a_crop_is_written_as_clients_write_it(written: str, cell: str) -> None:
    order = read_order(f"piece,view,crop_ratio\nring,front,{written}\n".encode(), "job")
    assert next(csv.DictReader(io.StringIO(order_csv(order))))["crop_ratio"] == cell
    assert read_order(order_csv(order).encode()) == order


def test_a_crop_of_which_a_spreadsheet_made_a_time_is_read_alike_or_refused_with_the_reason() -> None:
    """A time of 60 minutes and more is carried to the hours, so no crop is written with such a number."""
    table = order_csv(read_order(b"piece,view,crop_ratio\nring,front,57:80\n", "job"))
    assert next(csv.DictReader(io.StringIO(table)))["crop_ratio"] == "0.7125"
    with pytest.raises(OrderFileError) as refused:
        read_order(b"piece,view,crop_ratio\nring,front,04:05:00\n", "job")
    assert "like 4:5 or 0.8 (a spreadsheet may make a time of 4:5), not '04:05:00'" in refused.value.faults[0]
