"""What stands on the bench screen at 80x24 and 160x48, with a scripted table and a clock that stands still."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from session.frame.finding import Finding, FlawKind, FocusVerdict, Level, Remedy, RemedyKind, RuleId
from session.frame.ports import Place
from session.frame.states import FrameState
from session.set.setup import Arrangement
from session.shoot.events import (
    Event,
    FrameJudged,
    RulesChanged,
    Said,
    Waiting,
)
from tests.support.bench_events import COMING, FOUND, focus, judged, moved, released
from tests.support.live_at_bench import ON
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, Running, bench
from tests.support.scripted import DESCRIPTION, Studio
from tests.support.scripted_table import CAMERA, DRIFTED, REVISION, SYNC, FixedClock, ScriptedTable
from tui.screen.letters import block_text
from tui.screen.panel import Panel
from tui.screen.panels import place_line
from tui.screen.picture_view import PictureView
from tui.words.model import BenchModel

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


async def test_the_large_line_is_drawn_three_rows_high_and_six_where_there_is_room(
    table: ScriptedTable, clock: FixedClock
) -> None:
    for size, rows in ((SMALL, 3), (LARGE, 6)):
        async with bench(ScriptedTable(), clock, size, FOUND) as at:
            drawn = block_text("READY", size[0], rows)
            lines = at.text.split("\n")
            assert [line[: len(drawn[0])].rstrip() for line in lines[1 : 1 + rows]] == [row.rstrip() for row in drawn]


async def test_the_count_follows_the_clock(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, Waiting("f1", 1, RuleId.RECYCLING, clock.now_s + 2.0)) as at:
        assert at.large == "RECYCLES 2.0"
        clock.now_s += 1.2
        await at.tell(Said("anything"))
        assert at.large == "RECYCLES 0.8"


@SIZES
async def test_the_last_picture_is_shown_with_the_regions_frame(
    table: ScriptedTable, clock: FixedClock, size: tuple[int, int], picture: str
) -> None:
    async with bench(table, clock, size, FOUND, *released(1, path=picture)) as at:
        view = at.app.screen.query_one(PictureView)
        assert view.picture is not None and view.picture.full_width_px == 300
        assert "▀" in at.text and "┌" in at.text and "┘" in at.text
        left, top = view.region.offset
        upper_left = at.app.screen.get_style_at(left + view.size.width // 4, top + 1)
        lower_right = at.app.screen.get_style_at(left + 3 * view.size.width // 4, top + view.size.height - 4)
        assert upper_left.color and upper_left.color.triplet and min(upper_left.color.triplet) > 200
        assert lower_right.color and lower_right.color.triplet and max(lower_right.color.triplet) < 50


async def test_a_file_that_cant_be_shown_says_so_where_its_picture_would_be(
    table: ScriptedTable, clock: FixedClock, tmp_path: Path
) -> None:
    (tmp_path / "broken.jpg").write_bytes(b"\xff\xd8broken")
    async with bench(table, clock, SMALL, FOUND, *released(1, path=str(tmp_path / "broken.jpg"))) as at:
        assert "the file" in at.text


async def test_at_40_by_10_the_large_line_and_the_keys_still_serve_and_one_sentence_asks_for_room() -> None:
    of_the_kit = replace(DESCRIPTION, model="Wendle 16")  # else a caution stands where the sentence is to be
    async with played_bench(Studio(description=of_the_kit), (40, 10)) as at:
        flat = " ".join(at.text.split())
        assert "More room shows all: stillset wants 80 × 24, this terminal has 40 × 10." in flat
        assert block_text("READY", 40)[0].rstrip() in at.text
        await at.press("space")
        assert at.releases == 1


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


MISS = Finding(
    "focus",
    Level.CAUTION,
    "Blur radius 7.3 px in the region against a limit of 2.0 px: about 0.3 mm off. Sharper at the right.",
    7.3,
    2.0,
    "px",
    Remedy(RemedyKind.BY_HAND, "refocus in live view"),
)
MISSED = [
    *COMING,
    moved("f1", 1, FrameState.SAVED),
    FrameJudged("f1", 1, (MISS,), replace(focus(FocusVerdict.MISSED, 7.3, 0.31), sharpest_at=(0.9, 0.5))),
]


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


@pytest.mark.parametrize(
    ("going_on", "remedy"),
    [
        ([RulesChanged((SYNC,))], "[f] set 1/200 s"),
        ([RulesChanged((replace(SYNC, level=Level.CAUTION),))], "[f] set 1/200 s"),
        (MISSED, "Refocus in live view [v]."),
    ],
    ids=["stop", "caution", "missed"],
)
async def test_no_other_sentence_pushes_out_the_remedy_or_its_key(
    table: ScriptedTable, clock: FixedClock, going_on: list[Event], remedy: str
) -> None:
    lasts = Said("Something that lasts and is told at length. " * 12, "disk", lasting=True)
    passes = Said("Something that was just done and is told at length too. " * 8)
    async with bench(table, clock, SMALL, FOUND, *going_on, lasts, passes) as at:
        assert remedy in " ".join(at.text.split())
        assert "Something that lasts" in at.text and at.key_line.rstrip().endswith("Q leave")


def panel_and_sentence(at: Running) -> str:
    """Both without their line breaks."""
    panels = (at.app.screen.query_one(name, Panel).content.plain for name in ("#say", "#side"))
    return " ".join(" ".join(panels).split())


async def test_before_the_first_frame_the_plan_of_the_set_up_stands_where_the_picture_will(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        assert "PLAN OF SET-UP 07.3 · side view" in at.text and "no picture yet" not in at.text
        assert "Longmere 100 close-up, 1:2" in at.text and "lens" in at.text and "from the lens to" in at.text
        await at.tell(*released(1))
        assert "its files are coming in" in at.text and "PLAN OF" not in at.text


async def test_a_lens_that_the_kit_does_not_know_is_told_in_words_alone(clock: FixedClock) -> None:
    arrangement = Arrangement("Unheard of 50", 50.0, 1.0, extension_mm=50.0, dioptres=2.0, converter=1.4)
    table = ScriptedTable(replace(REVISION, arrangement=arrangement))
    async with bench(table, clock, SMALL, FOUND) as at:
        plan = " ".join(at.app.screen.query_one("#plan", Panel).content.plain.split())
        assert plan == "Unheard of 50, 1:1 with 50 mm of tubes, close-up lens +2 dpt, converter 1.4×"


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


async def test_in_live_view_marks_and_the_choice_of_a_frame_are_said_with_its_number(
    table: ScriptedTable, clock: FixedClock
) -> None:
    frames = [*released(1, path="/p/1.jpg"), *released(2, path="/p/2.jpg")]
    async with bench(table, clock, SMALL, FOUND, *frames, ON) as at:
        for key, said in (("k", "is marked kill."), ("k", "has no mark."), ("left", "is chosen.")):
            await at.press(key)
            assert f"Frame {1 if key == 'left' else 2} {said}" in at.text
