"""Every key that a screen offers in some state does something there: a word, an act, another screen or look."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import deepcopy
from pathlib import Path
from unittest.mock import Mock

import pytest

from session.frame.finding import FocusVerdict, RuleId
from session.match.reshoot_steps import Reshoot
from session.optics.ring_down import RingDown
from session.shoot.events import (
    CameraFound,
    Event,
    GreyCardRead,
    GreyOffer,
    PlaceChanged,
    ReferenceChanged,
    RulesChanged,
    StandMeasured,
    UndoChanged,
    Waiting,
)
from tests.support.bench_events import COMING, FOUND, LOST, MISSING, UNCERTAIN, judged, refused, released
from tests.support.live_at_bench import ON, Stream15
from tests.support.running_screen import SMALL, Running, bench
from tests.support.scripted_table import CAMERA, DRIFTED, PLACE, READING, REVISION, SYNC, FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog, written_log
from tui.bench.bench_screen import BenchScreen
from tui.bench.sound import Sound
from tui.follow.follow_screen import FollowApp
from tui.follow.followed_log import LogWatch
from tui.screen.keyed import KeyedScreen
from tui.screen.prompt import Prompt
from tui.screen.viewer import Viewer
from tui.words.keys import Key, Where, rows_to_show

WITHOUT_DRIVE = CameraFound(
    CAMERA.__class__(CAMERA.address, CAMERA.model, CAMERA.serial, live_view=False, focus_drive=False), READING, None
)
GREY = GreyOffer("Innermere 90", -0.6, 11.0, 27.1, 22.0, 0.68, 6.9)
SWING = RingDown(12.0, 0.1, 0.05, 0.005, 3.0)


def of(count: int, verdict: FocusVerdict = FocusVerdict.SHARP) -> list[Event]:
    """So many frames with a picture, the last of this verdict."""
    events: list[Event] = []
    for number in range(1, count + 1):
        last = verdict if number == count else FocusVerdict.SHARP
        events += [*released(number, path=f"/pictures/{number}.jpg"), *judged(number, last, 0.4)]
    return events


BENCH: dict[str, list[Event]] = {
    "no camera": [],
    "no live view, no drive": [WITHOUT_DRIVE],
    "a dial turned": [FOUND, *of(1), RulesChanged((DRIFTED,))],
    "refused": [FOUND, RulesChanged((SYNC,)), refused(1)],
    "waiting": [FOUND, *of(1), Waiting("f2", 2, RuleId.HOLD_OFF, 1e9)],
    "lost": [FOUND, *COMING, MISSING, LOST],
    "uncertain": [FOUND, COMING[0], UNCERTAIN],
    "one frame": [FOUND, *of(1, FocusVerdict.MISSED)],
    "three frames with a reference": [FOUND, *of(3), ReferenceChanged("f1", 1)],
    "a grey card read": [FOUND, *of(1), GreyCardRead(GREY)],
    "live with a reference and a measured swing": [FOUND, *of(2), ReferenceChanged("f1", 1), ON, StandMeasured(SWING)],
}
MODES: dict[Where, list[str]] = {
    Where.LIGHT: ["1"],
    Where.REGION: ["g"],
    Where.PATCH: ["G"],
    Where.SETTINGS: ["e"],
    Where.PLACES: ["p"],
    Where.NEW_VIEW: ["p", "n", "a", "enter", "b", "enter"],
    Where.AMBIENT: ["r"],
    Where.TYPING: ["n"],
    Where.HELP: ["question_mark"],
    Where.LEAVING: ["Q"],
    Where.EXPLAIN: ["i"],
    Where.PLANNER: ["m"],
}
"""Which keys lead there from a bench with frames and a reference."""


@pytest.fixture
def table(written: WrittenLog) -> ScriptedTable:
    table = ScriptedTable()
    table.reader = written.reader
    return table


@pytest.fixture
def written(tmp_path: Path, in_utc: None) -> Iterator[WrittenLog]:
    verdicts = [FocusVerdict.SHARP, FocusVerdict.SOFT, FocusVerdict.SHARP, FocusVerdict.MISSED] * 4
    log = written_log(tmp_path / "log.db", REVISION, READING, verdicts)
    log.log.open_place(PLACE.job, PLACE.piece, "top")
    log.log.open_place("Type trays", "sort tray 2", "flat")
    log.log.mark(log.frame_ids[2], "hero")
    yield log
    log.close()


@pytest.fixture(autouse=True)
def nothing_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Viewer, "open", lambda viewer, path: "No viewer is here.")
    monkeypatch.setattr(Viewer, "open_cuts", lambda viewer, cuts, name: "No viewer is here.")
    monkeypatch.setattr(Sound, "start", lambda sound: "No loudspeaker is here.")


class Walk:
    """Presses each key that is shown, and goes back to where it was after each."""

    def __init__(self, at: Running, way: Sequence[str] = ()) -> None:
        """way  keys that lead to where the keys are pressed"""
        self.at, self._way = at, way
        self.wheres: set[Where] = set()
        app = at.app
        self.exit = app.exit = Mock()  # type: ignore[method-assign]
        self.screens = list(app.screen_stack)
        self.model = deepcopy(app.model.__dict__)
        self.theme, self.bell_on = app.theme, app.bell_on

    @property
    def seen(self) -> tuple[object, ...]:
        app, look = self.at.app, self.at.app.model.live.look
        calls = self.at.table.acts if self.at.table else []
        painted = [
            list(strip) for strip in app.screen._compositor.render_strips()
        ]  # a chosen line differs in its look only
        return painted, app.screen, app.theme, app.bell_on, len(calls), self.exit.call_count, deepcopy(look)

    async def silent(self, *only: str) -> list[str]:
        """The rows of which no key does anything; of all rows, or of those with one of these keys."""
        found = []
        await self.at.press(*self._way)
        screen = self.at.app.screen
        assert isinstance(screen, KeyedScreen)
        self.wheres.add(screen.where)
        for row in rows_to_show(screen.where, screen.facts()):
            if only and not set(only) & set(row.names):
                continue
            for name in row.names:
                if await self._does_something(name):
                    break
            else:
                found.append(named(row))
        return found

    async def _does_something(self, name: str) -> bool:
        before = self.seen
        await self.at.press(name)
        does = self.seen != before
        await self._back()
        return does

    async def _back(self) -> None:
        app = self.at.app
        while len(app.screen_stack) > len(self.screens):
            app.pop_screen()
        app.model.__dict__.update(deepcopy(self.model))
        app.theme, app.bell_on = self.theme, self.bell_on
        screen = app.screen
        for prompt in screen.query(Prompt):
            if prompt.is_open:
                prompt.close()
        if isinstance(screen, BenchScreen):
            screen.begin(None)
        await self.at.settle()
        await self.at.press(*self._way)


def named(row: Key) -> str:
    return f"{row.where}: {row.cap} {row.word}"


@pytest.mark.parametrize("state", BENCH)
async def test_every_key_at_the_bench_does_something_wherever_it_is_shown(
    state: str, table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, *BENCH[state]) as at:
        if ON in BENCH[state]:
            await Stream15(at, clock).show(2.0, 1.0)
        assert await Walk(at).silent() == []


@pytest.mark.parametrize("where", MODES)
async def test_every_key_of_a_mode_or_another_screen_does_something(
    where: Where, table: ScriptedTable, clock: FixedClock
) -> None:
    events = [*BENCH["three frames with a reference"], *(COMING if where is Where.LEAVING else [])]
    async with bench(table, clock, SMALL, *events) as at:
        walk = Walk(at, MODES[where])
        assert await walk.silent() == []
        assert walk.wheres == {where}


LEDGER: dict[str, tuple[list[str], Where]] = {
    "list": (["l"], Where.LEDGER),
    "contact sheet": (["l", "tab"], Where.LEDGER),
    "two frames compared": (["l", "b", "down", "b"], Where.COMPARE),
}


@pytest.mark.parametrize("look", LEDGER)
async def test_every_key_of_the_ledger_does_something(look: str, table: ScriptedTable, clock: FixedClock) -> None:
    keys, where = LEDGER[look]
    async with bench(table, clock, SMALL, FOUND, UndoChanged(True)) as at:
        walk = Walk(at, keys)
        assert await walk.silent() == []
        assert walk.wheres == {where}


async def test_every_arrow_in_the_middle_of_a_contact_sheet_does_something(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        walk = Walk(at, ["l", "tab", "right", "down"])
        assert await walk.silent("left", "right", "up", "down") == []
        assert walk.wheres == {Where.LEDGER}


@pytest.mark.parametrize("events", [[UndoChanged(True)], [ReferenceChanged("f1", 1), ON, RulesChanged((SYNC,))]])
async def test_every_key_of_a_reshoot_does_something(
    events: list[Event], table: ScriptedTable, written: WrittenLog, clock: FixedClock
) -> None:
    table.reshoot = Reshoot(REVISION, written.revision_id)
    async with bench(table, clock, SMALL, FOUND, PlaceChanged(written.place), *events) as at:
        await at.press("escape")
        walk = Walk(at, ["M"])
        assert await walk.silent() == []
        assert walk.wheres == {Where.MATCH}


@pytest.mark.parametrize("frames", [2, 4])
async def test_on_a_contact_sheet_of_one_row_up_and_down_go_to_its_ends(
    frames: int, tmp_path: Path, in_utc: None, clock: FixedClock
) -> None:
    written = written_log(tmp_path / "few.db", REVISION, READING, [FocusVerdict.SHARP] * frames)
    table = ScriptedTable()
    table.reader = written.reader
    async with bench(table, clock, SMALL, FOUND) as at:
        walk = Walk(at, ["l", "tab"])
        assert await walk.silent("up", "down") == []
        await at.press("down")
        assert "▸1 " in at.text  # the newest comes first, so the oldest is the last
        await at.press("up")
        assert f"▸{frames} " in at.text
    written.close()


async def test_every_key_of_the_follower_does_something(written: WrittenLog, tmp_path: Path) -> None:
    app = FollowApp(LogWatch(str(tmp_path / "log.db")))
    async with app.run_test(size=SMALL) as pilot:
        await pilot.pause()
        app.exit = left = Mock()  # type: ignore[method-assign]
        screen = app.screen
        assert isinstance(screen, KeyedScreen)
        for row in rows_to_show(screen.where, screen.facts()):
            for name in row.names:
                before = app.theme, app.screen, left.call_count
                await pilot.press(name)
                await pilot.pause()
                assert (app.theme, app.screen, left.call_count) != before, named(row)
                while app.screen is not screen:
                    app.pop_screen()
                await pilot.pause()
