"""Real keys at the bench through the real controller on a scripted camera: what the camera is asked, what the log has,
and what the screen says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from unittest.mock import Mock

import pytest
from textual.events import Key

from session.checks.light import ambient
from session.checks.light.ambient import MeasuredAmbient
from session.frame import camera_messages as say
from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import Judgement
from session.frame.states import FrameState
from session.set.setup import PassiveItem, PlacedLight, Region, Revision
from session.shoot.acts import Touched
from session.shoot.events import FrameMoved, RevisionChanged
from storage.reading.log_reader import LogReader
from storage.reading.views import KnownView
from tests.support.bench_events import COMING, FOUND, judged, released
from tests.support.memory_log import PLACE
from tests.support.played_bench import CHARGED_S, PlayedBench, played_bench
from tests.support.running_screen import LARGE, SMALL, bench
from tests.support.scripted import DESCRIPTION, Studio, reading
from tests.support.scripted_table import REVISION, FixedClock, ScriptedTable
from tui.bench.bench_screen import BenchScreen
from tui.screen.picture_view import PictureView
from tui.screen.small_picture import fitted_cells
from tui.words.adjust import moved_region

TWO_LIGHTS = Revision(
    lights=(PlacedLight("key", -2.0, 600.0, 45.0, 35.0, "tube"), PlacedLight("rim", -3.0, 410.0, 120.0, 20.0))
)


def known_views(*views: tuple[str, str, bool]) -> Mock:
    """A log that knows these: piece, view, whether it was begun."""
    reader = Mock(spec=LogReader)
    reader.progress.return_value = None
    reader.known_views.return_value = tuple(KnownView(*view) for view in views)
    reader.frames.return_value = ()
    return reader


def flat(at: PlayedBench) -> str:
    """The text on the screen with its lines joined."""
    return " ".join(at.text.split())


# --- releasing ----------------------------------------------------------------------------------------


def with_time(studio: Studio, exposure_s: float) -> Revision:
    """The set-up in force with another exposure time."""
    now = studio.shoot.shoot_state.revision
    return replace(now, settings=replace(now.settings, exposure_s=exposure_s))


async def test_space_releases_and_the_frame_goes_its_way_to_the_log() -> None:
    async with played_bench() as at:
        assert at.large == "READY"
        await at.press("space")
        asked = at.studio.camera.last(say.Release)
        assert at.studio.state(asked.frame_id) is FrameState.RELEASING
        await at.camera(say.ShutterFired(asked.frame_id, 100.0))
        assert at.large == "SAVING"
        at.studio.file(asked.frame_id)
        await at.camera(say.FrameComplete(asked.frame_id))
        at.studio.judged(asked.frame_id)
        await at.tell()
        assert at.studio.state(asked.frame_id) is FrameState.LOGGED
        assert at.large == "SHARP"


async def test_a_touch_makes_the_release_wait_and_escape_calls_it_off() -> None:
    async with played_bench() as at:
        await at.press("t", "space")
        assert at.studio.camera.count(say.Release) == 0
        assert at.key_line.startswith("esc cancel")
        await at.press("escape")
        assert "Frame 1 did not fire: cancelled." in " ".join(at.text.split())
        await at.wait(CHARGED_S)
        assert at.studio.camera.count(say.Release) == 0
        await at.press("t", "space")
        await at.wait(CHARGED_S)
        assert at.studio.camera.count(say.Release) == 1


async def test_a_frame_that_waits_when_the_camera_goes_did_not_fire() -> None:
    async with played_bench() as at:
        await at.press("t", "space")
        await at.camera(say.CameraGone(say.Fault.LOST, "The cable is out."))
        assert "Frame 1 did not fire. The cable is out." in " ".join(at.text.split())
        assert at.studio.shoot.releases.held is None


async def test_too_short_a_time_is_refused_and_one_key_sets_the_camera_and_the_set_up() -> None:
    async with played_bench() as at:
        await at.camera(say.SettingsRead(reading(exposure_s=0.002), by_hand=True))
        at.studio.revise(with_time(at.studio, 0.002))
        at.studio.answer_settings(exposure_s=0.002)
        await at.tell()
        assert at.large == "NO SYNC"
        assert at.key_line.startswith("f set 1/200 s")
        await at.press("space")
        assert at.studio.camera.count(say.Release) == 0
        before = at.studio.camera.count(say.ApplySettings)
        await at.press("f")
        assert at.studio.camera.count(say.ApplySettings) > before
        assert at.revision.settings.exposure_s == pytest.approx(1 / 200)
        at.studio.answer_settings()
        await at.tell()
        await at.wait(CHARGED_S)
        await at.press("space")
        assert at.studio.camera.count(say.Release) == 1


async def test_a_stop_is_overruled_with_a_reason_that_the_log_keeps() -> None:
    async with played_bench() as at:
        at.studio.revise(with_time(at.studio, 0.002))
        at.studio.answer_settings(exposure_s=0.002)
        await at.tell()
        await at.press("o", "enter")
        assert "Overruling takes a reason" in at.text and at.studio.camera.count(say.Release) == 0
        await at.type("the band is wanted")
        await at.press("enter")
        asked = at.studio.camera.last(say.Release)
        overruled = at.studio.log.rows[asked.frame_id]["intent"].overrulings
        assert overruled["sync"] == "the band is wanted"


async def test_a_turned_dial_goes_back_by_one_key_or_is_kept_by_another() -> None:
    for key, f_number in (("f", 11.0), ("w", 8.0)):
        async with played_bench() as at:
            await at.camera(say.SettingsRead(reading(f_number=8.0), by_hand=True))
            assert at.large == "DIAL TURNED" and "≠" in at.text
            assert at.key_line.startswith("f back to f/11")
            await at.press(key)
            assert at.revision.settings.f_number == f_number
            back = [one.changes for one in at.studio.camera.requests if isinstance(one, say.ApplySettings)]
            assert ({"f_number": 11.0} in back) == (key == "f")


async def test_a_light_set_by_keys_is_in_force_before_the_release_that_follows() -> None:
    async with played_bench() as at:
        await at.press("1", "plus", "space")
        light = at.revision.light("key")
        assert light is not None and light.power_ev == pytest.approx(-5 / 3, abs=1e-4)
        await at.wait(CHARGED_S)
        asked = at.studio.camera.last(say.Release)
        made = at.studio.log.keys[at.studio.log.rows[asked.frame_id]["intent"].revision_id]
        assert made.light("key") == light


async def test_live_view_the_drive_and_a_sweep_that_any_key_stops() -> None:
    async with played_bench() as at:
        await at.press("v")
        assert at.studio.camera.last(say.LiveView) == say.LiveView(True)
        await at.press("comma", "greater_than_sign")
        driven = [one.steps for one in at.studio.camera.requests if isinstance(one, say.DriveFocus)]
        assert driven == [-1, 10]
        await at.press("slash")
        assert at.studio.shoot.live.sweeping
        await at.press("space")
        assert not at.studio.shoot.live.sweeping
        assert at.studio.camera.count(say.Release) == 0, "the key did nothing else"


async def test_what_was_typed_twice_of_an_act_that_waits_is_said_once_and_asks_the_camera_once() -> None:
    async with played_bench() as at:
        at.studio.do(Touched())
        await at.press("space", "space")
        await at.wait(CHARGED_S)
        assert at.studio.camera.count(say.Release) == 1


async def test_an_overruling_half_typed_is_cancelled_by_escape() -> None:
    async with played_bench() as at:
        at.studio.revise(with_time(at.studio, 0.002))
        await at.taken({"exposure_s": 0.002})
        await at.press("o")
        await at.type("oh no")
        await at.press("escape", "space")  # a key of the bench again, not a letter
        assert at.releases == 0 and "did not fire" in flat(at)


async def test_keys_answer_while_a_transfer_runs() -> None:
    async with played_bench() as at:
        await at.wait(CHARGED_S)
        await at.press("space")
        frame_id = at.studio.fire()
        await at.tell()
        assert at.large == "SAVING"
        await at.press("space", "t", "h")
        assert at.row(frame_id)["mark"] == "hero"
        assert at.releases == 1 and "The next release follows by itself." in flat(at)
        assert at.key_line.startswith("esc cancel")
        at.studio.file(frame_id)
        await at.camera(say.FrameComplete(frame_id))
        await at.wait(CHARGED_S)
        assert at.releases == 2


# --- lights and settings ------------------------------------------------------------------------------


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
    settling: list[tuple[float, Callable[[], None]]],
) -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("1", "full_stop")
        ((delay_s, put_in_force),) = settling
        assert delay_s == 1.0
        assert at.revision == TWO_LIGHTS
        put_in_force()
        assert at.revision.light("key").distance_mm == 610.0


async def test_many_presses_are_one_change_of_the_arrangement() -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("2", "minus", "minus", "right", "up", "comma", "enter")
        assert len(at.studio.log.acts) == 1
        rim = at.revision.light("rim")
        assert (rim.distance_mm, rim.azimuth_deg, rim.elevation_deg) == (400.0, 115.0, 25.0)


async def test_a_light_change_is_cancelled_by_escape_even_after_it_took_force_and_leaves_nothing_to_undo(
    settling: list[tuple[float, Callable[[], None]]],
) -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("1", "plus")
        settling[0][1]()
        assert at.revision.lights != TWO_LIGHTS.lights
        await at.press("escape")
        assert at.revision.lights == TWO_LIGHTS.lights
        assert not at.studio.log.can_undo(PLACE), "what is changed while a light is chosen is one act"


async def test_a_light_of_the_kit_comes_into_the_set_and_goes_out_again() -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("3")  # key and rim stand in the set, the kit's third is next
        await at.press("d")
        await at.type("410")
        await at.press("enter", "m")
        await at.type("120 left/20")
        await at.press("enter", "enter")
        assert at.revision.light("fill") == PlacedLight("fill", 0.0, 410.0, 120.0, 20.0)
        await at.press("1", "delete", "enter")
        assert [light.name for light in at.revision.lights] == ["rim", "fill"]


async def test_a_reflector_is_put_up_placed_sized_and_struck_as_one_act_each() -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("0")
        await at.type("reflector white card 210 x 297")
        await at.press("enter", "d")
        await at.type("410")
        await at.press("enter", "m")
        await at.type("120 left/20")
        await at.press("enter", "left", "full_stop", "enter")
        card = PassiveItem("bounce", "white card", 420.0, 125.0, 20.0, "", 210.0, 297.0)
        assert at.revision.passive == (card,)
        assert len(set(at.studio.log.acts)) == 1
        await at.press("3", "t")
        await at.type("45 left")
        await at.press("enter", "enter")
        card = replace(card, turned_deg=45.0, turned_to="left")
        assert at.revision.passive == (card,)
        await at.press("1", "w")
        await at.type("600 x 900")
        await at.press("enter", "enter")
        assert at.revision.lights[0] == replace(TWO_LIGHTS.lights[0], width_mm=600.0, height_mm=900.0)
        await at.press("3", "s")  # key and rim, then what stands in the set besides
        await at.type("105 x 148.5")
        await at.press("enter", "enter")
        assert at.revision.passive == (replace(card, width_mm=105.0, height_mm=148.5),)
        await at.press("3", "delete", "enter")
        assert at.revision.passive == ()
        await at.press("z")
        assert at.revision.passive != ()


async def test_what_is_put_up_and_cancelled_leaves_nothing_and_a_slip_is_told() -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("0")
        await at.type("flag")
        await at.press("enter", "escape")
        assert at.revision == TWO_LIGHTS and not at.studio.log.can_undo(PLACE)
        await at.press("0")
        await at.type("mirror")
        await at.press("enter")
        assert "begins with reflector, flag, glass" in flat(at)


async def test_where_the_camera_stands_is_typed_among_the_settings() -> None:
    async with played_bench() as at:
        await at.press("e", "up", "t")  # the last line
        await at.type("20 left")
        await at.press("enter", "up", "t")
        await at.type("35")
        await at.press("enter", "up", "up", "t")
        await at.type("182")
        await at.press("enter", "enter")
        after = at.revision
        assert (after.view_around_deg, after.view_down_deg, after.working_distance_mm) == (20.0, 35.0, 182.0)


async def test_a_measure_nobody_took_is_asked_for_and_not_made_up() -> None:
    bare = Revision(lights=(PlacedLight("key", -2.0),))
    async with played_bench(Studio(revision=bare)) as at:
        await at.press("1", "full_stop")
        assert "key: distance to the piece, mm" in at.text
        await at.type("near")
        await at.press("enter")
        assert "Distance is a number in mm, not 'near'." in at.text
        assert at.revision == bare


async def test_settings_are_changed_line_by_line_and_kept_as_one_change() -> None:
    async with played_bench() as at:
        before = at.revision
        await at.press("e", "right", "down", "left")
        assert "exposure time  * " in at.text
        await at.press("down", "down", "down", "down", "down", "down", "t")
        await at.type("3.5")
        await at.press("enter", "enter")
        assert len(at.studio.log.acts) == 1
        after = at.revision
        assert after.settings.exposure_s != before.settings.exposure_s
        assert after.settings.f_number != before.settings.f_number
        assert after.hold_off_s == 3.5
        assert at.studio.camera.last(say.ApplySettings).changes["exposure_s"] == after.settings.exposure_s


# --- the region, and judging by it --------------------------------------------------------------------


async def test_the_region_is_moved_and_sized_over_the_picture_and_kept_or_not(picture: str) -> None:
    async with played_bench() as at:
        await at.frame(path=picture)
        asked, before = len(at.studio.judge.assignments), at.revision.region
        await at.press("g")
        shown = at.text
        await at.press("right", "right", "right", "down", "down", "plus", "shift+right")
        assert at.text != shown
        await at.press("escape")
        assert at.revision.region == before
        await at.press("g", "right", "enter")
        assert at.revision.region.left == pytest.approx(before.left + 0.02)
        (anew,) = at.studio.judge.assignments[asked:]
        assert anew.revision.region == at.revision.region and anew.path == picture


async def test_digits_halve_the_region_and_the_frame_on_show_is_judged_anew(picture: str) -> None:
    async with played_bench() as at:
        frame_id = await at.frame(path=picture)
        await at.press("g", "7", "3", "enter")
        assert at.revision.region == Region(0.25, 0.25, 0.25, 0.25)
        at.studio.deliver(Judgement(frame_id, (), FocusJudgement(FocusVerdict.MISSED, 7.3, 0.2, 0.31)))
        await at.tell()
        assert at.large == "MISSED 0.3 mm"
        assert "Frame 1 was judged anew with region and grey patch as they are now." in flat(at)
        await at.press("G", "1", "1", "enter")
        assert at.revision.grey_patch == Region(0, 0.75, 0.25, 0.25)
        assert [one[1:] for one in at.row(frame_id)["judged anew"]] == [(Region(0.25, 0.25, 0.25, 0.25), None)]


async def test_the_grey_patch_is_marked_moved_kept_and_taken_away() -> None:
    async with played_bench() as at:
        await at.frame()
        before = at.revision.region
        await at.press("G", "up", "enter")
        assert at.revision.grey_patch == moved_region(Region(0.02, 0.86, 0.12, 0.12), 0, -1)
        assert at.revision.region == before
        await at.press("G", "delete")
        assert at.revision.grey_patch is None


@pytest.mark.parametrize("key", ["g", "G"])
@pytest.mark.parametrize("size", [SMALL, (120, 40), LARGE], ids=["80x24", "120x40", "160x48"])
async def test_the_region_is_drawn_with_the_mouse(picture: str, size: tuple[int, int], key: str) -> None:
    """The cells under the pointer, both ends whole, as fractions of the picture, which stands in the middle."""
    async with played_bench(size=size) as at:
        await at.frame(path=picture)
        view = at.app.screen.query_one(PictureView)
        assert view.picture is not None
        columns, rows = fitted_cells(view.picture, *view.size)
        left, before = (view.size.width - columns) // 2, at.revision

        async def draw(start: tuple[int, int], end: tuple[int, int]) -> None:
            await at.pilot.mouse_down(view, offset=(left + start[0], start[1]))
            await at.pilot.hover(view, offset=(left + end[0], end[1]))
            await at.pilot.mouse_up(view, offset=(left + end[0], end[1]))
            await at.settle()

        await draw((4, 2), (9, 5))
        assert at.revision == before
        await at.press(key)
        await draw((4, 2), (9, 5))
        await at.press("enter")
        drawn = at.revision.region if key == "g" else at.revision.grey_patch
        assert (drawn.left, drawn.top) == pytest.approx((4 / columns, 2 / rows))
        assert (drawn.width, drawn.height) == pytest.approx((6 / columns, 4 / rows))


# --- marks, notes, the reference ----------------------------------------------------------------------


async def test_marks_go_to_the_frame_shown_and_the_same_key_takes_them_back() -> None:
    async with played_bench() as at:
        first, second = await at.frame(), await at.frame(FocusVerdict.SOFT)
        marks = []
        for key in ("h", "h", "left", "k", "right", "s"):
            await at.press(key)
            marks.append((at.row(first).get("mark"), at.row(second).get("mark")))
        assert marks == [
            *[(None, "hero"), (None, None), (None, None)],
            *[("kill", None), ("kill", None), ("kill", "select")],
        ]
        assert "1 sharp kill | 2 soft select ◂" in at.text


async def test_a_note_takes_one_key_and_enter() -> None:
    async with played_bench() as at:
        frame_id = await at.frame()
        await at.press("n")
        await at.type("crown nearest the lens")
        await at.press("enter")
        assert at.row(frame_id)["notes"] == ["crown nearest the lens"]
        await at.press("n")
        await at.type("qQfo ")
        await at.press("escape")
        assert at.row(frame_id)["notes"] == ["crown nearest the lens"]


async def test_a_reference_is_dropped_only_when_that_was_named_before() -> None:
    async with played_bench() as at:
        frame_id = await at.frame()
        await at.press("c")
        assert list(at.studio.log.references.values()) == [frame_id]
        assert at.large == "REFERENCE"
        await at.press("c")
        assert "Frame 1 is the reference: again c drops it." in at.text
        assert list(at.studio.log.references.values()) == [frame_id]
        await at.press("c")
        assert not at.studio.log.references
        assert "has no reference for this piece now. [z] brings it back" in flat(at)
        await at.press("z")
        assert list(at.studio.log.references.values()) == [frame_id]


async def test_a_key_pressed_many_times_in_one_burst_drops_no_reference() -> None:
    async with played_bench() as at:
        frame_id = await at.frame()
        await at.press("c")
        at.app.post_message(Key("c", "c"))
        at.app.post_message(Key("c", "c"))
        await at.settle()
        assert list(at.studio.log.references.values()) == [frame_id]
        assert "again c drops it" in at.text


async def test_a_frame_of_another_set_up_cant_become_the_reference() -> None:
    async with played_bench() as at:
        await at.frame()
        await at.press("u", "enter", "c")
        assert "Frame 1 is of set-up 01.1; the reference is for 02.1." in at.text
        assert not at.studio.log.references


async def test_a_frame_of_another_piece_cant_become_the_reference() -> None:
    async with played_bench() as at:
        await at.frame()
        at.studio.go_to(replace(PLACE, piece_id="piece-2", piece="sort tray 2"))
        await at.tell()
        assert "FRAME 1" not in at.text, "the picture of one piece never stands under the title of another"
        await at.press("left", "c")
        assert f"FRAME 1 · {PLACE.piece} · sharp" in at.text
        assert "Frame 1 is of another piece than the one on the table." in flat(at)
        assert not at.studio.log.references


# --- undo and redo ------------------------------------------------------------------------------------


async def test_what_was_done_last_is_undone_and_redone_by_key_and_offered_only_then() -> None:
    async with played_bench(size=LARGE) as at:
        frame_id = await at.frame()
        assert "z undo" not in at.key_line
        await at.press("z")  # it still says so
        assert f"There is nothing to undo in {PLACE.job}." in at.text
        await at.press("h")
        assert "z undo" in at.key_line
        await at.press("z")
        assert at.row(frame_id)["mark"] is None
        assert "Undone: frame 1 marked hero." in flat(at)
        assert "z undo" not in at.key_line
        await at.press("Z")
        assert at.row(frame_id)["mark"] == "hero"
        assert "Redone: frame 1 marked hero." in flat(at)


async def with_another_time(at: PlayedBench) -> float:
    """Another exposure time is chosen by keys, and the camera takes it; returns the one of before, s."""
    before = at.revision.settings.exposure_s
    await at.press("e", "right", "enter")
    await at.taken({"exposure_s": at.revision.settings.exposure_s})
    assert at.revision.settings.exposure_s != before
    return before


async def test_an_undo_that_sets_the_camera_is_named_and_takes_a_second_key() -> None:
    async with played_bench() as at:
        before = await with_another_time(at)
        asked = at.studio.camera.count(say.ApplySettings)
        await at.press("z")
        assert "undo 1/160 s: again z" in at.text
        assert at.studio.camera.count(say.ApplySettings) == asked
        await at.press("z")
        assert at.revision.settings.exposure_s == before
        assert at.studio.camera.last(say.ApplySettings).changes["exposure_s"] == before


@pytest.mark.parametrize("other", ["Z", "d", "left", "M", "1"])
async def test_any_other_key_in_between_cancels_the_undo_that_was_named(other: str) -> None:
    async with played_bench() as at:
        before = await with_another_time(at)
        await at.press("z")
        assert "again z" in at.text
        await at.press(other)
        assert "again z" not in at.text
        await at.press("escape", "z")
        assert at.revision.settings.exposure_s != before, "it is named again first"


# --- pieces, views, set-ups ---------------------------------------------------------------------------


async def test_another_piece_is_chosen_or_named() -> None:
    reader = known_views((PLACE.piece, PLACE.view, True), ("sort tray 2", "flat", True), ("sort tray 2", "edge", False))
    async with played_bench(reader=reader) as at:

        def here() -> tuple[str, str]:
            place = at.studio.shoot.shoot_state.place
            return place.piece, place.view

        await at.press("p", "down", "enter")
        assert here() == ("sort tray 2", "flat")
        await at.press("p", "n")
        await at.type("ring 11")
        await at.press("enter")
        await at.type(" FLAT ")
        await at.press("enter")
        assert here() == ("ring 11", "FLAT")
        await at.press("p", "down", "n")
        assert "enter alone: sort tray 2" in at.text
        await at.press("enter")
        await at.type("flat")
        await at.press("enter")
        assert here() == ("sort tray 2", "flat")


@pytest.mark.parametrize(("key", "lights"), [("y", 1), ("n", 0), ("escape", None)])
async def test_a_new_view_asks_in_one_line_whether_it_begins_from_what_stands_or_from_the_camera(
    key: str, lights: int | None
) -> None:
    async with played_bench(reader=known_views((PLACE.piece, "edge", False))) as at:
        await at.frame()
        await at.press("p", "enter")
        assert "NEW VIEW" in at.text and f"{PLACE.piece} · edge" in at.text
        assert "Begin from set-up 01.1 as it is?" in at.text
        assert at.studio.shoot.shoot_state.place.view == PLACE.view
        await at.press(key)
        assert "NEW VIEW" not in at.text
        if lights is None:
            assert (at.studio.shoot.shoot_state.place.view, at.revision.setup_number) == (PLACE.view, 1)
        else:
            assert (at.studio.shoot.shoot_state.place.view, at.revision.setup_number) == ("edge", 2)
            assert len(at.revision.lights) == lights
            assert f"{PLACE.piece}, edge: set-up 02.1" in flat(at)


async def test_a_new_set_up_is_begun_with_a_word_on_it_and_not_by_one_slip() -> None:
    async with played_bench() as at:
        await at.press("u", "escape")
        assert at.revision.setup_number == 1
        await at.press("u")
        await at.type("raking light")
        await at.press("enter")
        assert (at.revision.setup_number, at.revision.notes) == (2, "raking light")


# --- ambient light ------------------------------------------------------------------------------------


async def test_ambient_is_measured_only_against_a_reference_and_once_somebody_says_that_the_lights_are_off() -> None:
    async with played_bench() as at:
        await at.frame()
        await at.wait(CHARGED_S)
        await at.press("r")
        assert "AMBIENT" not in at.text, "there is no reference to measure against"
        await at.press("c", "r")
        assert "AMBIENT" in at.text and "Switch off the flashes" in flat(at)
        before = at.releases
        await at.press("escape")
        assert at.releases == before
        await at.press("r", "enter")
        asked = at.studio.camera.last(say.Release)
        assert at.releases == before + 1 and at.row(asked.frame_id)["intent"].ambient


# --- live view ----------------------------------------------------------------------------------------


async def test_live_view_shows_each_frame_and_asks_for_the_next_only_then(picture: str) -> None:
    jpeg = Path(picture).read_bytes()
    async with played_bench() as at:
        used = 0
        await at.press("v")
        assert at.studio.camera.last(say.LiveView) == say.LiveView(True)
        for data in (jpeg, b"damaged"):
            assert at.studio.camera.count(say.NextLiveFrame) == used
            await at.camera(say.LiveFrame(data, at.studio.clock.now_s))
            assert "LIVE VIEW" in at.text
            used += 1
        assert at.studio.camera.count(say.NextLiveFrame) == used
        await at.press("v")
        assert at.studio.camera.last(say.LiveView) == say.LiveView(False)


async def test_live_frames_wait_while_the_ledger_is_shown(picture: str) -> None:
    async with played_bench() as at:
        await at.press("v", "l")
        await at.camera(say.LiveFrame(Path(picture).read_bytes(), at.studio.clock.now_s))
        assert at.studio.camera.count(say.NextLiveFrame) == 0
        await at.press("l")
        assert at.studio.camera.count(say.NextLiveFrame) == 1


async def test_a_camera_without_live_view_or_focus_drive_gets_no_keys_for_them() -> None:
    plain = replace(DESCRIPTION, live_view=False, focus_drive=False)
    async with played_bench(Studio(description=plain), LARGE) as at:
        assert "live" not in at.key_line and "focus" not in at.key_line
        await at.press("v", "comma")
        assert at.studio.camera.count(say.LiveView) == at.studio.camera.count(say.DriveFocus) == 0


# --- what stands there whatever the controller does -----------------------------------------------------


async def test_what_is_wrong_with_a_frame_has_been_read_when_any_key_is_pressed(
    table: ScriptedTable, clock: FixedClock
) -> None:
    for key in ("d", "y", "1"):
        async with bench(table, clock, SMALL, FOUND, *released(1), *judged(1, FocusVerdict.MISSED, 9.0)) as at:
            assert at.large == "MISSED 9.0 px"
            await at.press(key)
            assert at.large == "READY", key


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
