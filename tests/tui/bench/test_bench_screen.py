"""What stands on the bench screen at 80x24 and 160x48, with a scripted table and a clock that stands still."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame.camera_messages import Reading
from session.frame.finding import Finding, FlawKind, FocusVerdict, Level, RuleId
from session.frame.ports import Place
from session.frame.states import FrameState
from session.order.client_order import Order, OrderedPiece
from session.order.order_progress import Progress, ViewProgress
from session.shoot.events import (
    Event,
    FrameJudged,
    RulesChanged,
    SettingsChanged,
    Waiting,
)
from tests.support.bench_events import COMING, FOUND, MISSED, focus, judged, moved, released
from tests.support.live_at_bench import ON
from tests.support.running_screen import LARGE, SMALL, Running, bench
from tests.support.scripted_table import CAMERA, DRIFTED, READING, REVISION, SYNC, FixedClock, ScriptedTable
from tui.screen.panel import Panel
from tui.screen.panels import place_line
from tui.words.model import BenchModel

OTHER_APERTURE = Reading(READING.settings | {"f_number": replace(READING.settings["f_number"], value=8.0)})
SIZES = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])


# --- what stands on the screen ----------------------------------------------------------------------


@SIZES
async def test_everything_that_matters_before_a_release_stands_on_one_screen(
    table: ScriptedTable, clock: FixedClock, size: tuple[int, int]
) -> None:
    async with bench(table, clock, size, FOUND) as at:
        for words in (
            "barrel 6 of 24 · three-quarter · set-up 07.3",
            "battery 81 %",
            "1/200 s",
            "f/11 (f/16 here)",  # N·(1 + m/P) = 11 · 1.5 = 16.5 at 1:2 (references: effective f-number)
            "ISO 100",
            *(("1 key   1/4 (−2 EV)", "35° up   tube") if size[0] > 80 else ("1 key   1/4  600 mm",)),
            "45° left · 35° up",
            "2 rim   1/8",
            "FINDINGS",
            "LEDGER",
            "space release",
        ):
            assert words in at.text
        assert at.large == "READY"


@SIZES
async def test_a_shoot_reads_as_it_goes(table: ScriptedTable, clock: FixedClock, size: tuple[int, int]) -> None:
    missed = Finding("focus", Level.CAUTION, "blur 7.3 px in the region, limit 2.0 px: 0.3 mm off.", 7.3, 2.0, "px")
    steps: list[tuple[Event, str]] = [
        (FOUND, "READY"),
        (Waiting("f1", 1, RuleId.HOLD_OFF, clock.now_s + 1.2), "1.2 s"),
        (released(1)[0], "HANDS OFF"),
        (released(1)[1], "SAVING"),
        (moved("f1", 1, FrameState.SAVED), "CHECKING"),
        (FrameJudged("f1", 1, (missed,), focus(FocusVerdict.MISSED, 7.3, 0.31)), "MISSED 0.3 mm"),
    ]
    async with bench(table, clock, size) as at:
        assert at.large == "NO CAMERA"
        for event, large in steps:
            await at.tell(event)
            assert at.large == large
        assert "blur radius 7.3 px, limit 2.0 px, 0.3 mm off." in " ".join(at.text.split())
        assert "1 missed" in at.text.replace("○ ", "")


async def test_the_screen_follows_the_terminals_size(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, LARGE, FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4)) as at:
        assert "1 ● sharp" in at.text
        await at.pilot.resize_terminal(80, 24)
        await at.settle()
        assert "LEDGER  1 sharp ◂" in at.text
        await at.pilot.resize_terminal(20, 5)
        await at.settle()
        await at.pilot.resize_terminal(160, 48)
        await at.settle()
        assert "1 ● sharp" in at.text


async def test_what_was_there_before_the_screen_opened_is_shown_too(table: ScriptedTable, clock: FixedClock) -> None:
    table.camera, table.findings = CAMERA, (SYNC,)
    async with bench(table, clock) as at:
        assert at.large == "NO SYNC"


@SIZES
async def test_the_panel_says_what_the_sentence_under_the_large_line_does_not(
    table: ScriptedTable, clock: FixedClock, size: tuple[int, int]
) -> None:
    async with bench(table, clock, size, FOUND, RulesChanged((SYNC, DRIFTED))) as at:
        for once in (SYNC.text, "set 1/200 s", DRIFTED.text, "back to f/11"):
            assert panel_and_sentence(at).count(once) == 1, once
        await at.tell(RulesChanged(()), *MISSED)
        for once in ("7.3 px", "2.0 px", "efocus in live view", "Sharper at the right."):
            assert panel_and_sentence(at).count(once) == 1, once
        await at.press("t")  # the large line goes on; what was found on the frame stays beside its picture
        assert "Blur radius 7.3 px in the region" in panel_and_sentence(at)
        assert "→ refocus in live view [v]" in panel_and_sentence(at)


def panel_and_sentence(at: Running) -> str:
    """Both without their line breaks."""
    panels = (at.app.screen.query_one(name, Panel).content.plain for name in ("#say", "#side"))
    return " ".join(" ".join(panels).split())


async def test_findings_that_find_no_room_are_counted(table: ScriptedTable, clock: FixedClock) -> None:
    many = tuple(Finding(f"rule-{i}", Level.CAUTION, f"Caution number {i} of a great many.") for i in range(40))
    async with bench(table, clock, SMALL, FOUND, RulesChanged(many)) as at:
        assert "Caution number 0 of a great many." in at.text
        assert "more lines" in at.text


async def test_a_long_verdict_in_the_ledger_does_not_push_the_set_up_out_of_its_column(
    table: ScriptedTable, clock: FixedClock
) -> None:
    moved = FlawKind.CAMERA_MOVED
    bumped = Finding("drift", Level.CAUTION, "All of the picture moved: 51 px.", 51.0, 3.0, "px", kind=moved)
    frames = [*released(1), *judged(1, FocusVerdict.SHARP, 0.4)]
    frames += [*released(2), *judged(2, FocusVerdict.SHARP, 0.4, checks=(bumped,))]
    async with bench(table, clock, LARGE, FOUND, *frames) as at:
        rows = [line for line in at.text.split("\n") if "1 ● sharp" in line or "2 ● sharp, camera moved" in line]
        assert len(rows) == 2
        assert len({row.rindex(REVISION.label) for row in rows}) == 1


def test_names_are_cut_at_80_columns_and_the_set_ups_number_never() -> None:
    model = BenchModel()
    names = ("spring line", "ring with a name that no line can hold", "three-quarter from the left")
    model.place = Place("j", "p", "v", *names)
    model.revision = replace(REVISION, setup_number=7, revision=3)
    line = place_line(model, 80, "bell off").plain
    assert len(line) == 80 and "… · set-up 07.3 " in line and line.endswith("bell off")


@pytest.mark.parametrize(
    ("piece", "view", "begins"),
    [
        ("ring", "front", "ring · front · set-up 07.3 · 1 of 2 · 3 to go "),
        ("Ring Ökonomie", "front", "Ring Ökonomie · front · 07.3 · 1 of 2 · 3 to go "),
        ("ring of a long name", "from the left", "ring of a… · from the … · 07.3 · 1 of 2 · 3 to go "),
    ],
)
def test_beside_an_order_piece_and_view_are_both_told_at_80_columns(piece: str, view: str, begins: str) -> None:
    model = BenchModel()
    model.place = Place("j", "p", "v", "spring line", piece, view)
    model.revision = replace(REVISION, setup_number=7, revision=3)
    here = OrderedPiece(piece, views=(view, "top", "back"))
    model.progress = Progress(Order("spring line", pieces=(here, OrderedPiece("brooch"))), to_go(here))
    line = place_line(model, 80, "battery 80 %  card 18867 left").plain
    assert line.startswith(begins) and len(line) == 80


def to_go(piece: OrderedPiece) -> tuple[ViewProgress, ...]:
    return tuple(ViewProgress(piece, view) for view in piece.views)


async def test_in_live_view_marks_and_the_choice_of_a_frame_are_said_with_its_number(
    table: ScriptedTable, clock: FixedClock
) -> None:
    frames = [*released(1, path="/p/1.jpg"), *released(2, path="/p/2.jpg")]
    async with bench(table, clock, SMALL, FOUND, *frames, ON) as at:
        for key, said in (("k", "is marked kill."), ("k", "has no mark."), ("left", "is chosen.")):
            await at.press(key)
            assert f"Frame {1 if key == 'left' else 2} {said}" in at.text


async def test_a_light_that_is_chosen_is_kept_under_its_own_word(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, RulesChanged((DRIFTED,)), SettingsChanged(OTHER_APERTURE)) as at:
        assert "w keep f/8" in at.text
        await at.press("1")
        assert "enter keep  esc" in at.text
