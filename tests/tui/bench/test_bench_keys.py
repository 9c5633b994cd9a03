"""Real keys at the bench, each compared with what it asks of the controller."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from unittest.mock import Mock

import pytest
from textual.events import Key

from session.checks.light import ambient
from session.checks.light.ambient import MeasuredAmbient
from session.frame.finding import FocusVerdict
from session.set.setup import PlacedLight, Region
from session.shoot.acts import (
    AcceptReference,
    AddNote,
    AskRelease,
    GoTo,
    JudgeAnew,
    LivePictureUsed,
    MarkFrame,
    NewSetup,
    Redo,
    SwitchLiveView,
    Touched,
    TurnFocus,
    Undo,
)
from session.shoot.events import (
    CameraFound,
    CameraWait,
    FrameJudged,
    FrameMoved,
    LivePicture,
    LiveViewChanged,
    PlaceChanged,
    ReferenceChanged,
    RevisionChanged,
    RulesChanged,
    Turn,
    TurnAsked,
    UndoChanged,
    Waiting,
)
from storage.reading.reading import LogReader
from storage.reading.views import KnownView
from tests.support.bench_events import COMING, FOUND, judged, released
from tests.support.running_screen import LARGE, SMALL, bench
from tests.support.scripted_table import CAMERA, PLACE, READING, REVISION, SYNC, FixedClock, ScriptedTable
from tui.bench.bench_screen import BenchScreen
from tui.screen.picture_view import PictureView
from tui.screen.small_picture import fitted_cells
from tui.words.adjust import moved_region

# --- keys and acts ----------------------------------------------------------------------------------


async def test_what_was_done_last_is_undone_and_redone_by_key(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, LARGE, FOUND, UndoChanged(True)) as at:
        assert "z undo" in at.key_line
        await at.press("z")
        assert at.asked(Undo) == [Undo(PLACE, "")]
        await at.press("Z")
        assert at.asked(Redo) == [Redo(PLACE, "")]


async def test_an_undo_that_sets_the_camera_is_named_and_takes_a_second_key(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("z")
        await at.tell(TurnAsked(Turn.UNDO, "1/200 s", "act 1"))
        assert "undo 1/200 s: again z" in at.text
        await at.press("z")
        assert at.asked(Undo) == [Undo(PLACE, ""), Undo(PLACE, "act 1")]


@pytest.mark.parametrize("other", ["Z", "d", "left", "M", "1"])
async def test_any_other_key_in_between_cancels_the_undo_that_was_named(
    table: ScriptedTable, clock: FixedClock, other: str
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.tell(TurnAsked(Turn.UNDO, "1/200 s", "act 1"))
        await at.press(other)
        assert "again z" not in at.text
        await at.press("escape", "z")
        assert at.asked(Undo) == [Undo(PLACE, "")]


async def test_what_is_wrong_with_a_frame_has_been_read_when_any_key_is_pressed(
    table: ScriptedTable, clock: FixedClock
) -> None:
    for key in ("d", "y", "1"):
        async with bench(table, clock, SMALL, FOUND, *released(1), *judged(1, FocusVerdict.MISSED, 9.0)) as at:
            assert at.large == "MISSED 9.0 px"
            await at.press(key)
            assert at.large == "READY", key


async def test_an_overruling_half_typed_is_cancelled_by_escape(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, RulesChanged((SYNC,))) as at:
        await at.press("o")
        await at.type("oh no")
        await at.press("escape")
        await at.press("space")  # a key of the bench again, not a letter
        assert at.asked(AskRelease) == [AskRelease()]


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
        revision = at.revised
        assert revision.light("key").distance_mm == 610.0


async def test_many_presses_make_one_revision(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("2", "minus", "minus", "right", "up", "comma", "enter")
        assert len(at.changes()) == 1
        rim = at.revised.light("rim")
        assert (rim.distance_mm, rim.azimuth_deg, rim.elevation_deg) == (400.0, 115.0, 25.0)


async def test_a_light_change_is_cancelled_by_escape_even_after_it_took_force(
    table: ScriptedTable, clock: FixedClock, settling: list[tuple[float, Callable[[], None]]]
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("1", "plus")
        settling[0][1]()
        table.revision = at.revised
        await at.press("escape")
        assert at.revised.lights == REVISION.lights
        changed, cancelled = (change.act for change in at.changes())
        assert changed and changed == cancelled, "what is changed while a light is chosen is one act"


async def test_a_light_of_the_kit_comes_into_the_set_and_goes_out_again(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("3")  # key and rim stand in the set, the kit's third is next
        await at.press("d")
        await at.type("410")
        await at.press("enter", "m")
        await at.type("120 left/20")
        await at.press("enter", "enter")
        fill = at.revised.light("fill")
        assert fill == PlacedLight("fill", 0.0, 410.0, 120.0, 20.0)
        await at.press("1", "delete", "enter")
        assert at.revised.light("key") is None


async def test_a_measure_nobody_took_is_asked_for_and_not_made_up(table: ScriptedTable, clock: FixedClock) -> None:
    bare = replace(REVISION, lights=(PlacedLight("key", -2.0),))
    async with bench(ScriptedTable(bare), clock, SMALL, FOUND, RevisionChanged(bare, "r")) as at:
        await at.press("1", "full_stop")
        assert "key: distance to the piece, mm" in at.text
        await at.type("near")
        await at.press("enter")
        assert "Distance is a number in mm, not 'near'." in at.text
        assert not at.changes()


async def test_a_note_takes_one_key_and_enter(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING) as at:
        await at.press("n")
        await at.type("crown nearest the lens")
        await at.press("enter")
        assert at.asked(AddNote) == [AddNote("f1", "crown nearest the lens")]
        await at.press("n")
        await at.type("qQfo ")
        await at.press("escape")
        assert len(at.asked(AddNote)) == 1


async def test_marks_go_to_the_frame_shown_and_the_same_key_takes_them_back(
    table: ScriptedTable, clock: FixedClock
) -> None:
    frames = [*released(1), *judged(1, FocusVerdict.SHARP, 0.4), *released(2), *judged(2, FocusVerdict.SOFT, 3.0)]
    async with bench(table, clock, SMALL, FOUND, *frames) as at:
        await at.press("h", "h", "left", "k", "right", "s")
        assert at.asked(MarkFrame) == [
            MarkFrame("f2", "hero"),
            MarkFrame("f2", None),
            MarkFrame("f1", "kill"),
            MarkFrame("f2", "select"),
        ]
        assert "1 sharp kill | 2 soft select ◂" in at.text


async def test_a_reference_is_dropped_only_when_that_was_named_before(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING, *judged(1, FocusVerdict.UNJUDGED)) as at:
        await at.press("c")
        assert at.asked(AcceptReference) == [AcceptReference("f1")]
        await at.tell(ReferenceChanged("f1", 1, decided=True))
        assert at.large == "REFERENCE"
        await at.press("c")
        assert "Frame 1 is the reference: again c drops it." in at.text
        assert at.asked(AcceptReference) == [AcceptReference("f1")]
        await at.press("c")
        assert at.asked(AcceptReference)[-1] == AcceptReference(None)
        await at.tell(ReferenceChanged(None, None, decided=True))
        assert "has no reference for this piece now. [z] brings it back" in at.text


async def test_a_key_pressed_many_times_in_one_burst_drops_no_reference(
    table: ScriptedTable, clock: FixedClock
) -> None:
    seen = (FOUND, *COMING, *judged(1, FocusVerdict.UNJUDGED), ReferenceChanged("f1", 1))
    async with bench(table, clock, SMALL, *seen) as at:
        at.app.post_message(Key("c", "c"))
        at.app.post_message(Key("c", "c"))
        await at.settle()
        assert not at.asked(AcceptReference)
        assert "again c drops it" in at.text


async def test_undo_is_offered_only_when_there_is_something_to_undo(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, LARGE, FOUND) as at:
        assert "z undo" not in at.key_line
        await at.press("z")  # it still says so
        assert at.asked(Undo) == [Undo(PLACE)]
        await at.tell(UndoChanged(True))
        assert "z undo" in at.key_line
        await at.tell(UndoChanged(False))
        assert "z undo" not in at.key_line


async def test_a_frame_of_another_set_up_or_piece_cant_become_the_reference(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4)) as at:
        await at.tell(RevisionChanged(replace(REVISION, setup_number=8, revision=1), "r8"))
        await at.press("c")
        assert "Frame 1 is of set-up 07.3; the reference is for 08.1." in at.text
        await at.tell(RevisionChanged(REVISION, "r"), PlaceChanged(replace(PLACE, piece="sort tray 2")))
        assert "FRAME 1" not in at.text, "the picture of one piece never stands under the title of another"
        await at.press("left", "c")
        assert "FRAME 1 · barrel 6 of 24 · sharp" in at.text
        assert "another piece" in at.text
        assert not at.asked(AcceptReference)


async def test_the_region_is_moved_and_sized_over_the_picture_and_kept_or_not(
    table: ScriptedTable, clock: FixedClock, picture: str
) -> None:
    async with bench(table, clock, SMALL, FOUND, *released(1, path=picture)) as at:
        await at.press("g")
        before = at.text.split("\n")
        await at.press("right", "right", "right", "down", "down", "plus", "shift+right")
        assert at.text.split("\n") != before
        await at.press("escape")
        assert not at.changes()
        await at.press("g", "right", "enter")
        assert at.revised.region.left == pytest.approx(REVISION.region.left + 0.02)


async def test_digits_halve_the_region_and_the_frame_on_show_is_judged_anew(
    table: ScriptedTable, clock: FixedClock, picture: str
) -> None:
    seen = (FOUND, *released(1, path=picture), *judged(1, FocusVerdict.SHARP, 0.4))
    async with bench(table, clock, SMALL, *seen) as at:
        await at.press("g", "7", "3", "enter")
        assert at.revised.region == Region(0.25, 0.25, 0.25, 0.25)
        (anew,) = at.asked(JudgeAnew)
        assert (anew.frame_id, anew.number, anew.file.path) == ("f1", 1, picture)
        missed = judged(1, FocusVerdict.MISSED, 7.3, 0.3)[1]
        assert isinstance(missed, FrameJudged)
        await at.tell(replace(missed, anew=True))
        assert at.large == "MISSED 0.3 mm"
        assert "Frame 1 was judged anew with region and grey patch as they are now." in at.text
        await at.press("G", "1", "1", "enter")
        assert at.revised.grey_patch == Region(0, 0.75, 0.25, 0.25)
        assert len(at.asked(JudgeAnew)) == 2


@pytest.mark.parametrize("key", ["g", "G"])
@pytest.mark.parametrize("size", [SMALL, (120, 40), LARGE], ids=["80x24", "120x40", "160x48"])
async def test_the_region_is_drawn_with_the_mouse(
    table: ScriptedTable, clock: FixedClock, picture: str, size: tuple[int, int], key: str
) -> None:
    """The cells under the pointer, both ends whole, as fractions of the picture, which stands in the middle."""
    seen = (FOUND, *released(1, path=picture), *judged(1, FocusVerdict.SHARP, 0.4))
    async with bench(table, clock, size, *seen) as at:
        view = at.app.screen.query_one(PictureView)
        assert view.picture is not None
        columns, rows = fitted_cells(view.picture, *view.size)
        left = (view.size.width - columns) // 2

        async def draw(start: tuple[int, int], end: tuple[int, int]) -> None:
            await at.pilot.mouse_down(view, offset=(left + start[0], start[1]))
            await at.pilot.hover(view, offset=(left + end[0], end[1]))
            await at.pilot.mouse_up(view, offset=(left + end[0], end[1]))
            await at.settle()

        await draw((4, 2), (9, 5))
        assert not at.changes()
        await at.press(key)
        await draw((4, 2), (9, 5))
        await at.press("enter")
        kept = at.revised
        drawn = kept.region if key == "g" else kept.grey_patch
        assert (drawn.left, drawn.top) == pytest.approx((4 / columns, 2 / rows))
        assert (drawn.width, drawn.height) == pytest.approx((6 / columns, 4 / rows))


async def test_settings_are_changed_line_by_line_and_kept_as_one_revision(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("e", "right", "down", "left")
        assert "exposure time  * 1/125 s" in at.text or "exposure time  * 1/250 s" in at.text
        await at.press("down", "down", "down", "down", "down", "down", "t")
        await at.type("3.5")
        await at.press("enter", "enter")
        assert len(at.changes()) == 1
        revision = at.revised
        assert revision.settings.f_number == 10.0
        assert revision.hold_off_s == 3.5


async def test_another_piece_is_chosen_or_named(table: ScriptedTable, clock: FixedClock) -> None:
    table.reader = Mock(spec=LogReader)
    table.reader.progress.return_value = None
    table.reader.known_views.return_value = (
        KnownView(PLACE.piece, PLACE.view, True),
        KnownView("sort tray 2", "flat", True),
        KnownView("sort tray 2", "edge", False),
    )
    table.reader.frames.return_value = ()
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("p", "down", "enter")
        assert at.asked(GoTo)[-1].piece == "sort tray 2"
        await at.press("p", "n")
        await at.type("ring 11")
        await at.press("enter")
        await at.type(" FLAT ")
        await at.press("enter")
        went = at.asked(GoTo)[-1]
        assert (went.piece, went.view) == ("ring 11", "FLAT")
        await at.press("p", "down", "n")
        assert "enter alone: sort tray 2" in at.text
        await at.press("enter")
        await at.type("flat")
        await at.press("enter")
        went = at.asked(GoTo)[-1]
        assert (went.piece, went.view) == ("sort tray 2", "flat")


@pytest.mark.parametrize(("key", "from_camera"), [("y", False), ("n", True), ("escape", None)])
async def test_a_new_view_asks_in_one_line_what_it_begins_from(
    table: ScriptedTable, clock: FixedClock, key: str, from_camera: bool | None
) -> None:
    table.reader = Mock(spec=LogReader)
    table.reader.progress.return_value = None
    table.reader.known_views.return_value = (
        KnownView(PLACE.piece, PLACE.view, True),
        KnownView("sort tray 2", "edge", False),
    )
    table.reader.frames.return_value = ()
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("p", "down", "enter")
        assert "NEW VIEW" in at.text and "sort tray 2 · edge" in at.text
        assert "Begin from set-up 07.3 as it is?" in at.text
        assert not at.asked(GoTo)
        await at.press(key)
        if from_camera is None:
            assert not at.asked(GoTo)
        else:
            assert at.asked(GoTo) == [GoTo("sort tray 2", "edge", from_camera)]
        assert "NEW VIEW" not in at.text


async def test_live_view_shows_each_frame_and_asks_for_the_next_only_then(
    table: ScriptedTable, clock: FixedClock, picture: str
) -> None:
    jpeg = Path(picture).read_bytes()
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("v")
        assert at.asked(SwitchLiveView) == [SwitchLiveView(True)]
        await at.tell(LiveViewChanged(True))
        assert not at.asked(LivePictureUsed)
        await at.tell(LivePicture(jpeg))
        assert "LIVE VIEW" in at.text
        assert len(at.asked(LivePictureUsed)) == 1
        await at.tell(LivePicture(b"damaged"))
        assert len(at.asked(LivePictureUsed)) == 2
        await at.press("v")
        assert at.asked(SwitchLiveView)[-1] == SwitchLiveView(False)


async def test_live_frames_wait_while_the_ledger_is_shown(
    table: ScriptedTable, clock: FixedClock, picture: str
) -> None:
    async with bench(table, clock, SMALL, FOUND, LiveViewChanged(True)) as at:
        await at.press("l")
        await at.tell(LivePicture(Path(picture).read_bytes()))
        assert not at.asked(LivePictureUsed)
        await at.press("l")
        assert len(at.asked(LivePictureUsed)) == 1


async def test_a_camera_without_live_view_or_focus_drive_gets_no_keys_for_them(
    table: ScriptedTable, clock: FixedClock
) -> None:
    plain = replace(CAMERA, live_view=False, focus_drive=False)
    async with bench(table, clock, LARGE, CameraFound(plain, READING, None)) as at:
        assert "live" not in at.key_line and "focus" not in at.key_line
        await at.press("v", "comma")
        assert not at.asked(SwitchLiveView)
        assert not at.asked(TurnFocus)


async def test_keys_answer_while_a_transfer_runs(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING) as at:
        assert at.large == "SAVING"
        await at.press("space", "t", "h")
        assert at.asked(AskRelease) == [AskRelease()]
        assert at.asked(Touched) == [Touched()]
        assert at.asked(MarkFrame) == [MarkFrame("f1", "hero")]
        await at.tell(Waiting("f2", 2, CameraWait.HANDING_OVER, None))
        assert "The next release follows by itself." in " ".join(at.text.split())
        assert at.key_line.startswith("esc cancel")


async def test_a_new_set_up_is_begun_with_a_word_on_it_and_not_by_one_slip(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("u", "escape")
        assert not at.asked(NewSetup)
        await at.press("u")
        await at.type("raking light")
        await at.press("enter")
        assert at.asked(NewSetup) == [NewSetup("raking light")]


# --- ambient light and grey patch ----------------------------------------------------------------------


async def test_ambient_is_measured_only_once_somebody_says_that_the_lights_are_off(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4)) as at:
        await at.press("r")
        assert "AMBIENT" not in at.text, "there is no reference to measure against"
        await at.tell(ReferenceChanged("f1", 1))
        await at.press("r")
        assert "AMBIENT" in at.text and "Switch off the flashes" in at.text
        await at.press("escape")
        assert not at.asked(AskRelease)
        await at.press("r", "enter")
        assert at.asked(AskRelease) == [AskRelease(ambient=True)]


async def test_the_line_on_the_room_light_stays_when_it_makes_a_revision(
    table: ScriptedTable, clock: FixedClock
) -> None:
    checks = ambient.findings(MeasuredAmbient(-6.2))
    frame = [
        replace(event, facts=replace(event.facts, ambient=True)) if isinstance(event, FrameMoved) else event
        for event in COMING
    ]
    frame += judged(1, FocusVerdict.UNJUDGED, checks=checks)
    async with bench(table, clock, SMALL, FOUND, *frame) as at:
        await at.tell(RevisionChanged(replace(REVISION, revision=2, ambient_ev=-6.2), "r2", "f1"))
        assert at.large == "AMBIENT −6.2 EV"
        assert "The ambient light is 6.2 EV under the flash." in at.text
        await at.tell(RevisionChanged(replace(REVISION, revision=3), "r3"))
        assert at.large == "READY"


async def test_the_grey_patch_is_marked_moved_kept_and_taken_away(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4)) as at:
        await at.press("G", "up", "enter")
        revision = at.revised
        assert revision.grey_patch == moved_region(Region(0.02, 0.86, 0.12, 0.12), 0, -1)
        assert revision.region == REVISION.region
        await at.tell(RevisionChanged(revision, "r2"))
        await at.press("G", "delete")
        revision = at.revised
        assert revision.grey_patch is None
