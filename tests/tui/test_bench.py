"""Real keys at the bench, at 80x24 and 160x48, with a scripted table and a clock that stands still."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest.mock import call

import numpy as np
import pytest
from bench_events import COMING, FOUND, LOST, MISSING, focus, judged, released
from PIL import Image
from scripted_table import CAMERA, DRIFTED, PLACE, READING, REVISION, SYNC, FixedClock, ScriptedTable, screen_text
from textual.pilot import Pilot

from session.events import (
    CameraFound,
    Event,
    FrameJudged,
    FrameMoved,
    LivePicture,
    LiveViewChanged,
    PlaceChanged,
    ReferenceChanged,
    RevisionChanged,
    RulesChanged,
    Said,
    Waiting,
)
from session.finding import Finding, FocusVerdict, Level
from session.frame import FrameState
from session.setup import PlacedLight
from tui.app import StillsetApp
from tui.bench import BenchScreen
from tui.widgets.letters import block_text
from tui.widgets.panel import LargeLine
from tui.widgets.picture import PictureView

SMALL, LARGE = (80, 24), (160, 48)
SIZES = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])


class Bench:
    """A running bench: keys in, events in, text out."""

    def __init__(self, app: StillsetApp, table: ScriptedTable, pilot: Pilot[None]) -> None:
        self.app, self.table, self.pilot = app, table, pilot

    async def tell(self, *events: Event) -> None:
        self.table.tell(*events)
        await self.settle()

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)
        await self.settle()

    async def type(self, text: str) -> None:
        for letter in text:
            await self.pilot.press("space" if letter == " " else letter)
        await self.settle()

    async def settle(self) -> None:
        await self.pilot.pause()
        await self.app.workers.wait_for_complete()
        await self.pilot.pause()

    @property
    def text(self) -> str:
        return screen_text(self.app)

    @property
    def large(self) -> str:
        return self.app.screen.query_one(LargeLine).text if isinstance(self.app.screen, BenchScreen) else ""

    @property
    def key_line(self) -> str:
        return "\n".join(self.text.split("\n")[-2:])

    @property
    def shoot(self) -> Any:
        return self.table.shoot


@asynccontextmanager
async def bench(
    table: ScriptedTable, clock: FixedClock, size: tuple[int, int] = SMALL, *events: Event, **options: Any
) -> AsyncIterator[Bench]:
    app = StillsetApp(table, clock=clock, **options)
    async with app.run_test(size=size) as pilot:
        running = Bench(app, table, pilot)
        await running.settle()
        await running.tell(*events)
        yield running


@pytest.fixture
def picture(tmp_path: Path) -> str:
    """A picture on disk: dark, with a white upper left quarter."""
    pixels = np.full((200, 300, 3), 16, np.uint8)
    pixels[:100, :150] = 240
    path = tmp_path / "0001.jpg"
    Image.fromarray(pixels).save(path, quality=95)
    return str(path)


# --- what stands on the screen ----------------------------------------------------------------------


@SIZES
async def test_everything_that_matters_before_a_release_stands_on_one_screen(
    table: ScriptedTable, clock: FixedClock, size: tuple[int, int]
) -> None:
    async with bench(table, clock, size, FOUND) as at:
        for words in (
            "bridge 6 of 24 · three-quarter · set-up 07.3",
            "battery 81 %",
            "1/200 s",
            "f/11 (f/16 here)",  # N·(1 + m/P) = 11 · 1.5 = 16.5 at 1:2 (references: effective f-number)
            "ISO 100",
            "1 key   −2 EV    600 mm 45°/35°",
            "tube",
            "2 rim   −3 EV",
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
        (Waiting("f1", 1, "hold-off", clock.now_s + 1.2), "1.2 s"),
        (released(1)[0], "HANDS OFF"),
        (released(1)[1], "SAVING"),
        (FrameMoved("f1", 1, FrameState.SAVED), "CHECKING"),
        (FrameJudged("f1", 1, (missed,), focus(FocusVerdict.MISSED, 7.3, 0.31)), "MISSED 0.3 mm"),
    ]
    async with bench(table, clock, size) as at:
        assert at.large == "NO CAMERA"
        for event, large in steps:
            await at.tell(event)
            assert at.large == large
        assert "blur 7.3 px in the region" in at.text
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
    async with bench(table, clock, SMALL, FOUND, Waiting("f1", 1, "charge", clock.now_s + 2.0)) as at:
        assert at.large == "CHARGING 2.0"
        clock.now_s += 1.2
        await at.tell(Said("anything"))
        assert at.large == "CHARGING 0.8"


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


async def test_at_40_by_10_the_large_line_and_the_keys_still_serve_and_one_sentence_asks_for_room(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, (40, 10), FOUND) as at:
        flat = " ".join(at.text.split())
        assert "More room shows all: stillset wants 80 × 24, this terminal has 40 × 10." in flat
        assert block_text("READY", 40)[0].rstrip() in at.text
        await at.press("space")
        at.shoot.ask_release.assert_called_once_with()


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
    table.shoot.bench.description, table.shoot.bench.reading = CAMERA, READING
    table.shoot.findings.return_value = (SYNC,)
    async with bench(table, clock) as at:
        assert at.large == "NO SYNC"
        at.shoot.say_reference.assert_called()


# --- keys and acts ----------------------------------------------------------------------------------


async def test_space_releases_and_escape_calls_off_what_waits(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("space")
        at.shoot.ask_release.assert_called_once_with()
        await at.press("escape")
        at.shoot.call_off.assert_not_called()
        await at.tell(Waiting("f1", 1, "hold-off", clock.now_s + 2))
        assert at.key_line.startswith("esc call off")
        await at.press("space")
        assert at.shoot.ask_release.call_count == 1
        await at.press("escape")
        at.shoot.call_off.assert_called_once_with()


async def test_the_first_remedy_is_applied_by_one_key_that_says_what_it_does(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, RulesChanged((SYNC,))) as at:
        assert at.key_line.startswith("f set 1/200 s")
        await at.press("f")
        at.shoot.apply.assert_called_once_with(SYNC)


async def test_overruling_takes_a_reason_and_none_is_taken_without(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, RulesChanged((SYNC, DRIFTED))) as at:
        await at.press("o", "enter")
        at.shoot.ask_release.assert_not_called()
        assert "Overruling takes a reason" in at.text
        await at.type("the band is wanted")
        await at.press("enter")
        at.shoot.ask_release.assert_called_once_with({"sync": "the band is wanted", "drifted": "the band is wanted"})


async def test_an_overruling_half_typed_is_taken_back_by_escape(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, RulesChanged((SYNC,))) as at:
        await at.press("o")
        await at.type("oh no")
        await at.press("escape")
        await at.press("space")  # a key of the bench again, not a letter
        assert at.shoot.ask_release.call_args_list == [call()]


async def test_a_turned_dial_is_put_back_or_taken_over(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, RulesChanged((DRIFTED,))) as at:
        assert at.large == "DIAL TURNED"
        assert "≠" in at.text
        await at.press("b")
        at.shoot.restore_settings.assert_called_once_with()
        await at.press("w")
        at.shoot.take_camera_settings.assert_called_once_with()


async def test_a_light_change_takes_two_keys(table: ScriptedTable, clock: FixedClock) -> None:
    """The digit and one more; it takes force by itself, or at once with the release that follows."""
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("1", "plus")
        assert "LIGHT key" in at.text and "−1.7 EV" in at.text
        at.shoot.revise.assert_not_called()
        await at.press("space")
        (revision,) = at.shoot.revise.call_args.args
        assert revision.light("key").power_ev == pytest.approx(-5 / 3, abs=1e-4)
        names = [name for name, _, _ in at.shoot.method_calls if name in ("revise", "ask_release")]
        assert names == ["revise", "ask_release"]


@pytest.fixture
def settling(monkeypatch: pytest.MonkeyPatch) -> list[tuple[float, Callable[[], None]]]:
    """What the bench planned to do later, as (delay, act), instead of a timer."""
    planned: list[tuple[float, Callable[[], None]]] = []

    def later(screen: BenchScreen, delay_s: float, act: Callable[[], None]) -> Callable[[], None]:
        planned.append((delay_s, act))
        return planned.clear

    monkeypatch.setattr(BenchScreen, "later", later)
    return planned


async def test_a_light_change_takes_force_by_itself_a_moment_later(
    table: ScriptedTable, clock: FixedClock, settling: list[tuple[float, Callable[[], None]]]
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("1", "full_stop")
        ((delay_s, put_in_force),) = settling
        assert delay_s == 1.0
        put_in_force()
        (revision,) = at.shoot.revise.call_args.args
        assert revision.light("key").distance_mm == 610.0


async def test_many_presses_make_one_revision(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("2", "minus", "minus", "right", "up", "comma", "enter")
        at.shoot.revise.assert_called_once()
        rim = at.shoot.revise.call_args.args[0].light("rim")
        assert (rim.distance_mm, rim.azimuth_deg, rim.elevation_deg) == (400.0, 125.0, 25.0)


async def test_a_light_change_is_taken_back_by_escape_even_after_it_took_force(
    table: ScriptedTable, clock: FixedClock, settling: list[tuple[float, Callable[[], None]]]
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("1", "plus")
        settling[0][1]()
        table.shoot.bench.revision = at.shoot.revise.call_args.args[0]
        await at.press("escape")
        assert at.shoot.revise.call_args.args[0].lights == REVISION.lights


async def test_a_light_of_the_kit_comes_into_the_set_and_goes_out_again(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("3")  # key and rim stand in the set, the kit's third is next
        await at.press("d")
        await at.type("410")
        await at.press("enter", "m")
        await at.type("120/20")
        await at.press("enter", "enter")
        fill = at.shoot.revise.call_args.args[0].light("fill")
        assert fill == PlacedLight("fill", 0.0, 410.0, 120.0, 20.0)
        await at.press("1", "delete", "enter")
        assert at.shoot.revise.call_args.args[0].light("key") is None


async def test_a_measure_nobody_took_is_asked_for_and_not_made_up(table: ScriptedTable, clock: FixedClock) -> None:
    bare = replace(REVISION, lights=(PlacedLight("key", -2.0),))
    async with bench(ScriptedTable(bare), clock, SMALL, FOUND, RevisionChanged(bare, "r")) as at:
        await at.press("1", "full_stop")
        assert "key: distance to the piece, mm" in at.text
        await at.type("near")
        await at.press("enter")
        assert "This is a number, in mm" in at.text
        at.shoot.revise.assert_not_called()


async def test_a_note_takes_one_key_and_enter(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING) as at:
        await at.press("n")
        await at.type("crown nearest the lens")
        await at.press("enter")
        at.shoot.note.assert_called_once_with("f1", "crown nearest the lens")
        await at.press("n")
        await at.type("qQfo ")
        await at.press("escape")
        assert at.shoot.note.call_count == 1


async def test_marks_go_to_the_frame_shown_and_the_same_key_takes_them_back(
    table: ScriptedTable, clock: FixedClock
) -> None:
    frames = [*released(1), *judged(1, FocusVerdict.SHARP, 0.4), *released(2), *judged(2, FocusVerdict.SOFT, 3.0)]
    async with bench(table, clock, SMALL, FOUND, *frames) as at:
        await at.press("h", "h", "left", "x", "right", "s")
        assert at.shoot.mark.call_args_list == [
            call("f2", "hero"),
            call("f2", None),
            call("f1", "kill"),
            call("f2", "select"),
        ]
        assert "1 sharp kill | 2 soft select ◂" in at.text


async def test_a_frame_is_made_the_reference_and_the_same_key_drops_it(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING, *judged(1, FocusVerdict.UNJUDGED)) as at:
        await at.press("c")
        at.shoot.accept_reference.assert_called_once_with("f1")
        await at.tell(ReferenceChanged("f1", 1))
        assert "the reference" in at.text
        await at.press("c")
        at.shoot.accept_reference.assert_called_with(None)


async def test_a_frame_of_another_set_up_or_piece_cant_become_the_reference(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4)) as at:
        await at.tell(RevisionChanged(replace(REVISION, setup_number=8, revision=1), "r8"))
        await at.press("c")
        assert "Frame 1 is of set-up 07.3; the reference is for 08.1." in at.text
        await at.tell(RevisionChanged(REVISION, "r"), PlaceChanged(replace(PLACE, piece="sort tray 2")))
        await at.press("c")
        assert "another piece" in at.text
        at.shoot.accept_reference.assert_not_called()


async def test_the_region_is_moved_and_sized_over_the_picture_and_kept_or_not(
    table: ScriptedTable, clock: FixedClock, picture: str
) -> None:
    async with bench(table, clock, SMALL, FOUND, *released(1, path=picture)) as at:
        await at.press("g")
        before = at.text.split("\n")
        await at.press("right", "right", "right", "down", "down", "plus", "shift+right")
        assert at.text.split("\n") != before
        await at.press("escape")
        at.shoot.revise.assert_not_called()
        await at.press("g", "right", "enter")
        assert at.shoot.revise.call_args.args[0].region.left == pytest.approx(REVISION.region.left + 0.02)


async def test_settings_are_changed_line_by_line_and_kept_as_one_revision(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("e", "right", "down", "left")
        assert "exposure time  * 1/125 s" in at.text or "exposure time  * 1/250 s" in at.text
        await at.press("down", "down", "down", "down", "down", "down", "t")
        await at.type("3.5")
        await at.press("enter", "enter")
        at.shoot.revise.assert_called_once()
        revision = at.shoot.revise.call_args.args[0]
        assert revision.settings.f_number == 10.0
        assert revision.hold_off_s == 3.5


async def test_another_piece_is_chosen_or_named(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        at.app.places = [("bridge 6 of 24", "three-quarter"), ("sort tray 2", "flat")]
        await at.press("p", "down", "enter")
        assert at.shoot.go_to.call_args.args[0].piece == "sort tray 2"
        await at.press("p", "n")
        await at.type("ring 11")
        await at.press("enter")
        await at.type("hallmark")
        await at.press("enter")
        place = at.shoot.go_to.call_args.args[0]
        assert (place.piece, place.view) == ("ring 11", "hallmark")


async def test_live_view_shows_each_frame_and_asks_for_the_next_only_then(
    table: ScriptedTable, clock: FixedClock, picture: str
) -> None:
    jpeg = Path(picture).read_bytes()
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("v")
        at.shoot.live_view.assert_called_once_with(True)
        await at.tell(LiveViewChanged(True))
        at.shoot.live_picture_used.assert_not_called()
        await at.tell(LivePicture(jpeg))
        assert "LIVE VIEW" in at.text
        assert at.shoot.live_picture_used.call_count == 1
        await at.tell(LivePicture(b"damaged"))
        assert at.shoot.live_picture_used.call_count == 2
        await at.press("v")
        at.shoot.live_view.assert_called_with(False)


async def test_live_frames_wait_while_the_ledger_is_shown(
    table: ScriptedTable, clock: FixedClock, picture: str
) -> None:
    async with bench(table, clock, SMALL, FOUND, LiveViewChanged(True)) as at:
        await at.press("l")
        await at.tell(LivePicture(Path(picture).read_bytes()))
        at.shoot.live_picture_used.assert_not_called()
        await at.press("l")
        assert at.shoot.live_picture_used.call_count == 1


async def test_a_camera_without_live_view_or_focus_drive_gets_no_keys_for_them(
    table: ScriptedTable, clock: FixedClock
) -> None:
    plain = replace(CAMERA, live_view=False, focus_drive=False)
    async with bench(table, clock, LARGE, CameraFound(plain, READING, None)) as at:
        assert "live" not in at.key_line and "focus" not in at.key_line
        await at.press("v", "comma")
        at.shoot.live_view.assert_not_called()
        at.shoot.drive_focus.assert_not_called()


async def test_the_focus_is_nudged_by_small_and_large_steps(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("comma", "full_stop", "less_than_sign", "greater_than_sign")
        assert at.shoot.drive_focus.call_args_list == [call(-1), call(1), call(-10), call(10)]


async def test_keys_answer_while_a_transfer_runs(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING) as at:
        assert at.large == "SAVING"
        await at.press("space", "t", "h")
        at.shoot.ask_release.assert_called_once_with()
        at.shoot.touched.assert_called_once_with()
        at.shoot.mark.assert_called_once_with("f1", "hero")
        assert "The next release follows by itself." in " ".join(at.text.split()) or at.shoot.touched.called


async def test_a_new_set_up_is_begun_with_a_word_on_it_and_not_by_one_slip(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("u", "escape")
        at.shoot.new_setup.assert_not_called()
        await at.press("u")
        await at.type("raking light")
        await at.press("enter")
        assert at.shoot.new_setup.call_args.args[0].notes == "raking light"


# --- bell, theme, help, leaving ---------------------------------------------------------------------


async def test_a_miss_rings_unless_the_bell_is_off(
    table: ScriptedTable, clock: FixedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    rung: list[int] = []
    monkeypatch.setattr(StillsetApp, "bell", lambda app: rung.append(1))
    async with bench(table, clock, SMALL, FOUND, *released(1), *judged(1, FocusVerdict.SHARP, 0.4)) as at:
        assert rung == []
        await at.tell(*released(2), *judged(2, FocusVerdict.MISSED, 7.0, 0.3))
        assert rung == [1]
        await at.press("y")
        assert "bell off" in at.text
        await at.tell(*released(3), *judged(3, FocusVerdict.MISSED, 7.0, 0.3))
        assert rung == [1]


async def test_the_other_theme_changes_colours_and_no_word(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, RulesChanged((SYNC,))) as at:
        before = at.text
        await at.press("d")
        assert (at.app.theme, at.text) == ("contrast", before)


async def test_help_lists_every_key_and_the_cautions(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, (120, 300), FOUND) as at:
        await at.press("question_mark")
        assert "Release, as soon as rules and waits allow." in at.text
        assert "never open a head or pack" in at.text
        await at.press("escape")
        assert at.large == "READY"


async def test_leaving_asks_only_while_a_frame_is_under_way(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING) as at:
        await at.press("Q")
        assert "A frame is under way." in at.text
        await at.press("escape")
        assert at.large == "SAVING"
        await at.tell(*judged(1, FocusVerdict.SHARP, 0.4))
        await at.press("Q")
        assert not at.app.is_running


STATES: dict[str, list[Event]] = {
    "no camera": [],
    "ready": [FOUND],
    "stopped": [FOUND, RulesChanged((SYNC,))],
    "waiting": [FOUND, Waiting("f1", 1, "hold-off", 1e9)],
    "releasing": [FOUND, COMING[0]],
    "saving": [FOUND, *COMING],
    "lost": [FOUND, *COMING, MISSING, LOST],
    "judged": [FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.0)],
    "live": [FOUND, LiveViewChanged(True)],
}
MIDDLES: dict[str, list[str]] = {
    "plain": [],
    "typing": ["u", "a"],
    "light": ["1", "plus"],
    "region": ["g"],
    "help": ["question_mark"],
    "ledger": ["l"],
}


ENDINGS = [(state, "plain") for state in STATES] + [
    (s, m) for m in MIDDLES for s in ("waiting", "saving") if m != "plain"
]


@pytest.mark.parametrize(("state", "middle"), ENDINGS, ids=lambda value: str(value).replace(" ", "_"))
async def test_control_c_ends_cleanly_in_every_state(
    table: ScriptedTable, clock: FixedClock, state: str, middle: str
) -> None:
    async with bench(table, clock, SMALL, *STATES[state]) as at:
        await at.press(*MIDDLES[middle])
        await at.press("ctrl+c")
        assert not at.app.is_running
        assert at.app.return_code == 0
        assert at.shoot.call_off.called == (state == "waiting")
        assert at.shoot.revise.called == (middle == "light"), "a light that was set is not lost"


async def test_a_hint_stands_above_the_keys(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, hint=lambda: "Press [space] and see.") as at:
        assert at.text.split("\n")[-3] == "Press [space] and see."


async def test_tab_and_other_keys_that_mean_nothing_here_do_nothing(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        before, calls = at.text, len(at.shoot.method_calls)
        await at.press("tab", "shift+tab", "ctrl+p", "f5", "z", "enter", "0", "backspace")
        assert (at.text, len(at.shoot.method_calls)) == (before, calls)
        await at.press("space")
        at.shoot.ask_release.assert_called_once_with()
