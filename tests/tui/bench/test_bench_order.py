"""The order at the bench: what is to go stands on the screen, the next view is on one key, leaving says which."""

from __future__ import annotations

from pathlib import Path

import pytest

from session.frame.finding import FocusVerdict
from session.order.client_order import Order, OrderedPiece
from tests.support.bench_events import FOUND, judged, released
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, bench
from tests.support.scripted import Studio
from tests.support.scripted_table import PLACE, READING, REVISION, FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog, written_log
from tui.follow.followed_log import seen_in
from tui.follow.page.shown import progress_line
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
        await at.press("Q", "y")
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
