"""The order at the bench: what is to go stands on the screen, the next view is on one key, leaving says which."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from session.frame.finding import FocusVerdict
from session.order.client_order import Delivery, Order, OrderedPiece
from session.order.order_progress import Progress
from storage.reading.log_reader import LogReader
from tests.support.bench_events import FOUND, judged, released
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, bench, running
from tests.support.scripted import Studio
from tests.support.scripted_table import PLACE, READING, REVISION, FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog, written_log
from tui.app.stillset_app import StillsetApp
from tui.follow.followed_log import seen_in
from tui.follow.page.shown import progress_line
from tui.planner.planner_screen import PlannerScreen
from tui.screen.help import LeaveScreen

WANTED = Order(
    PLACE.job,
    pieces=(
        OrderedPiece(PLACE.piece, views=(PLACE.view, "top")),
        OrderedPiece("barrel 7", views=("top",)),
        OrderedPiece(
            "a bridge with a name so long that no line of any terminal has room for all of it", views=("top",)
        ),
    ),
)


class LateReader:
    """A reader of the log that tells the order as it was at first, as one that is behind the keys does."""

    def __init__(self, reader: LogReader) -> None:
        self._reader = reader
        self._at_first = reader.progress(PLACE.job)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._reader, name)

    def progress(self, job: str) -> Progress | None:
        return self._at_first


@pytest.fixture
def written(tmp_path: Path, table: ScriptedTable) -> WrittenLog:
    """A view with a sharp frame, and an order that wants three more."""
    log = written_log(tmp_path / "log.db", REVISION, READING, (FocusVerdict.SHARP,))
    log.log.keep_order(WANTED)
    table.reader = log.reader
    return log


@pytest.mark.parametrize(
    ("size", "words"),
    [(SMALL, " · 1 of 3 · 3 to go"), (LARGE, "set-up 07.3 · piece 1 of 3 · 3 views to go")],
)
async def test_what_is_to_go_stands_on_the_screen(
    written: WrittenLog, table: ScriptedTable, clock: FixedClock, size: tuple[int, int], words: str
) -> None:
    async with bench(table, clock, size, FOUND) as at:
        assert words in at.text
        assert "N next view" in at.text
    assert progress_line(seen_in(written.reader)).endswith("piece 1 of 3 · 3 views to go")


async def test_handing_over_stands_in_the_key_line_once_all_views_are_done_and_opens_at_the_bench(
    written: WrittenLog, table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        assert "hand over" not in at.key_line
        written.log.keep_order(replace(WANTED, pieces=(replace(WANTED.pieces[0], views=(PLACE.view,)),)))
        at.app.read_progress()
        await at.settle()
        assert "H hand over" in at.key_line
        await at.press("H")
        assert at.text.startswith(f"HAND-OVER  {PLACE.job}") and "bench: " in at.text


async def test_the_next_view_to_go_is_on_one_key_and_a_new_one_asks_what_it_begins_from(written: WrittenLog) -> None:
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        state = at.studio.shoot.shoot_state
        await at.press("N")
        assert "NEW VIEW" in at.text and "barrel 6 of 24 · top" in at.text
        assert state.place.view == PLACE.view, "nothing was chosen yet"
        await at.press("y")
        assert (state.place.piece, state.place.view) == (PLACE.piece, "top")
        assert state.revision.setup_number == REVISION.setup_number + 1
        assert state.revision.lights == REVISION.lights
        standing = written.log.standing(state.place)
        assert standing is not None and standing.revision == state.revision


async def test_a_frame_that_was_judged_is_counted_when_the_log_has_it(
    written: WrittenLog, table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        written.log.mark(written.frame_ids[1], "kill")
        assert " · 3 to go" in at.text
        await at.tell(*released(2, path="/no/picture.jpg"), *judged(2, FocusVerdict.SHARP, 0.8))
        assert " · 4 to go" in at.text


async def test_leaving_with_views_to_go_says_which_and_stays_on_escape(written: WrittenLog) -> None:
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        await at.press("Q")
        assert isinstance(at.app.screen, LeaveScreen)
        said = " ".join(at.text.split())
        assert "3 views of the order to go: barrel 6 of 24: top; barrel 7: top;" in said
        await at.press("escape")
        assert at.app.is_running and not isinstance(at.app.screen, LeaveScreen)
        await at.press("ctrl+c")
        assert isinstance(at.app.screen, LeaveScreen) and "3 views of the order to go" in at.flat
        await at.press("escape", "ctrl+c", "ctrl+c")
        assert not at.app.is_running
    assert at.app.to_go_text.startswith("3 views of the order to go: barrel 6 of 24: top; barrel 7: top; a bridge")


async def test_without_an_order_nothing_is_said_of_one(tmp_path: Path) -> None:
    written = written_log(tmp_path / "log.db", REVISION, READING, (FocusVerdict.SHARP,))
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        assert "to go" not in at.text and "next view" not in at.text
        await at.press("N")
        assert at.studio.shoot.shoot_state.place == written.place
        await at.press("Q")
        assert not at.app.is_running


async def test_an_order_is_typed_at_the_bench_view_by_view(written: WrittenLog) -> None:
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        await at.press("O")
        await at.type("barrel 8")
        await at.press("enter")
        assert "barrel 8: a view wanted of it, or enter" in at.text
        for view in ("front", "top"):
            await at.type(view)
            await at.press("enter")
        await at.press("enter")
        await at.settle()
        progress = written.reader.progress(PLACE.job)
        assert progress is not None
        assert progress.order.pieces[-1] == OrderedPiece("barrel 8", views=("front", "top"))
        assert progress.order.pieces[:-1] == WANTED.pieces
        assert " · 5 to go" in at.text
        await at.press("O")
        await at.type("=1+1")
        await at.press("enter")
        await at.type("top")
        await at.press("enter")
        assert "begins like a formula" in " ".join(at.text.split())
        await at.press("escape")


async def test_pieces_typed_before_the_log_is_read_again_are_all_kept(written: WrittenLog) -> None:
    async with played_bench(Studio(written=written), reader=LateReader(written.reader)) as at:
        for piece in ("barrel 8", "barrel 9"):
            await at.press("O")
            for line in (piece, "front", "top", ""):
                await at.type(line)
                await at.press("enter")
            assert f"Wanted of {piece}: front, top." in " ".join(at.text.split())
        progress = written.reader.progress(PLACE.job)
        assert progress is not None
        added = [(piece.name, piece.views) for piece in progress.order.pieces[len(WANTED.pieces) :]]
        assert added == [("barrel 8", ("front", "top")), ("barrel 9", ("front", "top"))]


async def test_an_orders_file_is_read_at_the_bench_or_its_first_fault_told(written: WrittenLog, tmp_path: Path) -> None:
    table = tmp_path / "order.csv"
    table.write_text("piece,view\nbarrel 9,front\n")
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        await at.press("O")
        await at.type(str(table))
        await at.press("enter")
        await at.settle()
        progress = written.reader.progress(PLACE.job)
        assert progress is not None and progress.order.pieces == (OrderedPiece("barrel 9", views=("front",)),)
        table.write_text("piece,view\n,front\n")
        await at.press("O")
        await at.type(str(table))
        await at.press("enter")
        assert "Row 2, column piece: the piece has no name" in " ".join(at.text.split())


@pytest.mark.parametrize("shot", [(), (FocusVerdict.SHARP,)], ids=["nothing shot", "frames"])
async def test_an_order_of_another_job_begins_that_job_where_nothing_was_shot(
    tmp_path: Path, shot: tuple[FocusVerdict, ...]
) -> None:
    log = written_log(tmp_path / "log.db", REVISION, READING, shot)
    table = tmp_path / "order.csv"
    table.write_text("job,piece,view\nspring line,ring 1,front\n")
    async with played_bench(Studio(written=log), reader=log.reader) as at:
        await at.press("O")
        await at.type(str(table))
        await at.press("enter")
        await at.settle()
        place, told = at.app.model.place, " ".join(at.text.split())
        assert place is not None
        if shot:
            assert place.job == PLACE.job and log.reader.progress("spring line") is None
            assert "[Q] leave, `stillset shoot --job 'spring line'`, and read it there" in told
        else:
            assert (place.job, place.piece, place.view) == ("spring line", "ring 1", "front")
            assert "The job is spring line from now on." in told
            assert at.app.model.progress is not None and at.app.model.progress.order.job == "spring line"
    log.close()


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])
async def test_the_ledgers_sheet_has_an_empty_frame_for_each_view_to_go(
    written: WrittenLog, size: tuple[int, int]
) -> None:
    async with running(StillsetApp(reader=written.reader, clock=FixedClock()), size) as at:
        await at.press("tab")
        await at.settle()
        assert "1 frame · 3 views to go" in at.text
        assert at.text.count("to go") >= 3 and "barrel 7" in at.text
        await at.press("right", "right")  # the cursor stays on frames
        assert "▸1" in at.text


async def test_the_planner_begins_with_what_the_order_says_of_the_view(written: WrittenLog) -> None:
    piece = OrderedPiece(PLACE.piece, width_mm=21.0, height_mm=24.0, views=(PLACE.view,))
    delivery = Delivery(width_mm=100.0, height_mm=125.0, ppi=300.0, margin_percent=15.0)
    written.log.keep_order(Order(PLACE.job, delivery=delivery, pieces=(piece,)))
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        await at.press("m")
        await at.settle()
        assert isinstance(at.app.screen, PlannerScreen)
        wish = at.app.screen.wish
        assert (wish.piece_width_mm, wish.piece_height_mm) == (21.0, 24.0)
        assert (wish.delivered_pixels, wish.fill, wish.blur_radius_on_piece_mm) == (1181.0, 0.7, None)
        await at.press("escape")
