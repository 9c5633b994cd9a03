"""The note beside the tables: every table of a hand-over by its name, its day and program, and every caution."""

from __future__ import annotations

from datetime import date

import pytest

from session.lighting.cautions import CAUTIONS, LAST_WORD
from session.order.client_order import Order, OrderedPiece
from session.order.order_progress import Progress
from storage.handover.tables import PLANE, tables
from tui.paper.tables_note import tables_note


@pytest.mark.parametrize(("ordered", "in_planes"), [(False, False), (True, False), (True, True)])
def test_each_table_is_named_and_the_cautions_stand_below(ordered: bool, in_planes: bool) -> None:
    order = Order("Rings", pieces=(OrderedPiece("ring 1", views=("front",)),))
    progress = Progress(order, ()) if ordered else None
    planes = [dict.fromkeys(PLANE, "")] if in_planes else []
    names = {name.partition(".")[0] for name, _ in tables((), progress, planes)} - {"tables"}
    there = {"ordered": ordered, "in_planes": in_planes}
    note = tables_note("Rings \x1b[2J", "Invented & Sons", ("01.1", "07.3"), "stillset 0", date(2026, 12, 5), **there)
    told = {line.split("  ")[0].strip() for line in note.splitlines() if "  " in line}
    assert told == names
    assert "2026-12-05 · set-ups 01.1, 07.3 · stillset 0" in note and "\x1b" not in note
    assert all(caution in note for caution in (*CAUTIONS.values(), LAST_WORD))
