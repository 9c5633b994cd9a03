"""The state that the controller's parts share: what is a draft, how large a frame is, what holds the next one up."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import SavedFile
from session.frame.ports import Reference
from session.rules.situation import Pop
from session.set.kit import Body, Kit, demo_kit
from session.set.setup import PlacedLight, Revision
from session.shoot.acts import Touched
from session.shoot.events import Said
from session.shoot.state import FRAME_BYTES_AT_FIRST
from tests.support.memory_log import PLACE
from tests.support.scripted import Studio


def said(studio: Studio) -> list[str]:
    return [event.text for event in studio.said(Said)]


def test_without_a_camera_there_is_no_serial_and_no_model() -> None:
    state = Studio(connected=False).shoot.shoot_state
    assert (state.serial, state.model) == ("", "")
    connected = Studio().shoot.shoot_state
    assert (connected.serial, connected.model) == ("S-1", "scripted")


def test_the_body_is_the_set_ups_own_else_the_connected_one_else_the_first() -> None:
    first, second = (
        Body(name=name, sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000,
             sync_time_s=0.005, serial=serial)
        for name, serial in (("first", ""), ("second", "S-1"))
    )  # fmt: skip
    state = Studio(Kit(body=(first, second))).shoot.shoot_state
    assert state.body == second, "the one with the connected camera's serial number"
    state.revision = replace(state.revision, body="first")
    assert state.body == first
    assert Studio(Kit(body=(first,)), connected=False).shoot.shoot_state.body == first
    assert Studio(Kit()).shoot.shoot_state.body is None


def test_the_situation_is_what_stands_there_now() -> None:
    studio = Studio()
    state = studio.shoot.shoot_state
    studio.do(Touched())
    studio.clock.now_s += 3
    seen = state.situation()
    assert (seen.revision, seen.kit, seen.reading) == (state.revision, state.kit, state.reading)
    assert (seen.camera_serial, seen.camera_model) == ("S-1", "scripted")
    assert (seen.now_s, seen.touched_s) == (studio.clock.now_s, studio.clock.now_s - 3)
    assert seen.free_card_bytes == seen.free_disk_bytes == 10**12
    state.pops["key"] = Pop(1.0, -2.0)
    assert "key" not in seen.pops, "what was seen stays as it was"


def test_before_the_first_frame_its_size_is_a_guess_and_then_a_mean() -> None:
    studio = Studio()
    state = studio.shoot.shoot_state
    assert state.frame_bytes == FRAME_BYTES_AT_FIRST
    state.frame_sizes.extend([10_000_000, 20_000_000])
    assert state.frame_bytes == 15_000_000
    assert state.situation().frame_bytes == 15_000_000


def test_an_arrangement_is_a_draft_until_a_frame_has_used_it() -> None:
    studio = Studio()
    state = studio.shoot.shoot_state
    assert not state.is_draft and state.standing.revision_id == state.revision_id
    studio.revise(replace(state.revision, notes="raking light"))
    assert state.is_draft and not state.is_new_setup, "a draft, of a set-up that has frames"
    studio.wait(60)
    studio.ask()
    studio.fire()
    assert not state.is_draft


def test_a_new_set_up_has_no_row_in_the_log_yet() -> None:
    state = Studio().shoot.shoot_state
    state.revision_id, state.revision = "", Revision(9, 1)
    assert state.is_new_setup
    state.revision = Revision(9, 2)
    assert not state.is_new_setup


def test_a_log_that_cant_be_read_gives_no_reference_and_says_so_once() -> None:
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.log.set_reference(PLACE, 1, frame_id)
    state = studio.shoot.shoot_state
    found = state.reference(PLACE, 1)
    assert isinstance(found, Reference) and found.frame_id == frame_id
    studio.log.unreadable = True
    before = len(said(studio))
    assert state.reference(PLACE, 1) is None and state.expectation(PLACE, 1) is None
    assert "The log can't be read." in " ".join(said(studio)[before:])


def test_answers_to_settings_never_count_below_none() -> None:
    state = Studio().shoot.shoot_state
    state.settings_asked = 2
    for left in (1, 0, 0):
        state.settings_answered()
        assert state.settings_asked == left


def test_a_halt_is_said_and_recorded_and_going_on_remembers_how_many_files_were_let_pass() -> None:
    studio = Studio()
    state = studio.shoot.shoot_state
    state.too_many = 3
    state.halt("Frame 4 has three files: look.")
    assert said(studio)[-1] == "Frame 4 has three files: look." and state.halted
    assert ("card", "Frame 4 has three files: look.") in studio.log.events
    state.go_on()
    assert (state.halted, state.let_pass, state.too_many) == ("", 3, 0)
    state.too_many = 2
    state.go_on()
    assert state.let_pass == 3, "more were let pass before"


def test_all_flashes_of_the_set_up_pop_at_their_power_and_lamps_do_not() -> None:
    kit = demo_kit()
    lamp = next(iter(kit.light)).model_copy(update={"name": "window", "kind": "lamp"})
    lights = (PlacedLight("key", -2.0), PlacedLight("window", -1.0), PlacedLight("borrowed", -3.0))
    studio = Studio(kit.model_copy(update={"light": (*kit.light, lamp)}), revision=Revision(lights=lights))
    state = studio.shoot.shoot_state
    state.flashes_fired()
    assert {name: pop.power_ev for name, pop in state.pops.items()} == {"key": -2.0, "borrowed": -3.0}
    assert {pop.at_s for pop in state.pops.values()} == {studio.clock.now_s}
    state.pops.clear()
    state.flashes_fired("borrowed")
    assert list(state.pops) == ["borrowed"], "a solo empties one flash"


def test_what_the_log_refuses_is_owed_and_made_good() -> None:
    studio = Studio()
    state = studio.shoot.shoot_state
    studio.log.refusing = True
    state.record("camera", "something happened")
    assert state.writer.owed and ("camera", "something happened") not in studio.log.events
    studio.log.refusing = False
    studio.wait(3600)
    assert not state.writer.owed and ("camera", "something happened") in studio.log.events


@pytest.mark.parametrize("bytes_", [0, 1, 5_000_000])
def test_a_saved_file_is_a_value_with_its_card_object(bytes_: int) -> None:
    card = say.CardObject("/card", "A.JPG", bytes_)
    assert SavedFile("/a", "jpeg", bytes_, "00", card) == SavedFile("/a", "jpeg", bytes_, "00", card)
