"""The controller's doors: every act has a case, every message too; remedies are applied, cameras come and go."""

from __future__ import annotations

import inspect
import math
from dataclasses import replace
from typing import get_args

import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import Fault
from session.frame.finding import Finding, FocusJudgement, FocusVerdict, Level, Remedy, RemedyKind, RuleId
from session.frame.ports import Judgement
from session.plan.kit_search import rank_plans
from session.plan.wish import Wish
from session.set.kit import demo_kit
from session.set.setup import Confirmation, PlacedLight, Revision, Settings
from session.shoot import acts
from session.shoot.acts import AcceptReference, Act, AddNote, Announce, ApplyRemedy, MarkFrame, TellAll, TellWhenDone
from session.shoot.controller import RECONNECT_S, Shoot
from session.shoot.events import (
    About,
    CameraFound,
    CameraLost,
    DoneSoFar,
    PlaceChanged,
    RevisionChanged,
    RulesChanged,
    Said,
    SettingsChanged,
    UndoChanged,
)
from tests.support.memory_log import PLACE
from tests.support.scripted import Studio, reading


def remedied(studio: Studio, remedy: Remedy | None, rule: str = RuleId.SYNC) -> None:
    studio.do(ApplyRemedy(Finding(rule, Level.STOP, "A finding.", remedy=remedy)))


def last_said(studio: Studio) -> Said:
    said: Said = studio.said(Said)[-1]
    return said


# --- acts -----------------------------------------------------------------------------------------------


def test_every_act_has_a_case_and_what_is_none_is_our_mistake() -> None:
    source = inspect.getsource(Shoot.do)
    kinds = [
        kind for kind in vars(acts).values() if isinstance(kind, type) and issubclass(kind, Act) and kind is not Act
    ]
    assert len(kinds) > 20
    for kind in kinds:
        assert f"case acts.{kind.__name__}(" in source, kind.__name__

    class Unheard(Act):
        """An act that nobody has a case for."""

    with pytest.raises(NotImplementedError, match="no case for"):
        Studio().do(Unheard())


def test_a_light_that_a_plan_does_without_is_named_as_it_leaves_the_set() -> None:
    """Two lights stand there, and the plan counts with the key alone."""
    plan = rank_plans(demo_kit(), Wish(20, 14, 2.4, blur_radius_on_piece_mm=0.015, lights=("key",))).plans[0]
    studio = Studio(revision=Revision(lights=(PlacedLight("key", -2.0), PlacedLight("rim", -3.0))))
    studio.do(acts.TakePlan(plan, new_setup=False))
    assert [light.name for light in studio.shoot.shoot_state.revision.lights] == ["key"]
    assert last_said(studio).text == "The plan does without rim: switch off or take away."
    told = len(studio.said(Said))
    studio.do(acts.TakePlan(plan, new_setup=False))
    assert len(studio.said(Said)) == told


def test_every_message_has_a_case() -> None:
    source = inspect.getsource(Shoot.receive)
    for kind in get_args(say.Message):
        assert f"case say.{kind.__name__}(" in source, kind.__name__


def test_a_new_listener_is_told_everything_that_holds() -> None:
    studio = Studio()
    before = len(studio.events)
    studio.do(TellAll())
    kinds = [type(event) for event in studio.events[before:]]
    for kind in (PlaceChanged, RevisionChanged, CameraFound, RulesChanged, UndoChanged):
        assert kinds.count(kind) == 1, kind
    gone = Studio(connected=False)
    before = len(gone.events)
    gone.do(TellAll())
    assert CameraFound not in [type(event) for event in gone.events[before:]]


def test_what_was_asked_is_done_when_the_word_comes_back() -> None:
    studio = Studio()
    studio.do(TellWhenDone("first"))
    assert studio.events[-1] == DoneSoFar("first")
    studio.do(Announce("Two hours of light left.", About.CARD, True))
    assert studio.events[-1] == Said("Two hours of light left.", About.CARD, True)


def test_marks_and_notes_go_to_the_log_and_can_be_undone() -> None:
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.do(MarkFrame(frame_id, "hero"))
    assert studio.events[-1] == UndoChanged(True)
    studio.do(AddNote(frame_id, "the crown is turned"))
    row = studio.log.rows[frame_id]
    assert (row["mark"], row["notes"]) == ("hero", ["the crown is turned"])


# --- remedies -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", [RemedyKind.WAIT, RemedyKind.BY_HAND])
def test_what_only_hands_or_time_can_do_is_said_and_nothing_is_set(kind: RemedyKind) -> None:
    studio = Studio()
    before, asked = studio.shoot.shoot_state.revision, studio.camera.count(say.ApplySettings)
    remedied(studio, Remedy(kind, "change the battery"))
    assert last_said(studio).text == "That is for the hands: change the battery"
    remedied(studio, None)
    assert last_said(studio).text == "That is for the hands: A finding."
    assert studio.shoot.shoot_state.revision == before and studio.camera.count(say.ApplySettings) == asked


def test_a_confirmation_becomes_part_of_the_set_up() -> None:
    studio = Studio()
    remedied(studio, Remedy(RemedyKind.CONFIRM, "it is off"), RuleId.STABILISER)
    assert studio.shoot.shoot_state.revision.confirmed == (Confirmation.STABILISER,)


def test_a_remedy_for_the_camera_changes_set_up_and_camera_alike() -> None:
    studio = Studio()
    remedied(studio, Remedy(RemedyKind.SET_CAMERA, "set 1/160 s", {"exposure_s": 1 / 160}))
    assert studio.shoot.shoot_state.revision.settings.exposure_s == 1 / 160
    assert studio.camera.last(say.ApplySettings).changes["exposure_s"] == 1 / 160


def test_a_setting_that_no_set_up_keeps_is_set_on_the_camera_alone() -> None:
    studio = Studio()
    before = studio.shoot.shoot_state.revision
    remedied(studio, Remedy(RemedyKind.SET_CAMERA, "set manual", {"focus_mode": "manual"}), RuleId.FOCUS_MODE)
    assert studio.shoot.shoot_state.revision == before
    assert studio.camera.last(say.ApplySettings).changes == {"focus_mode": "manual"}


def test_a_white_balance_is_set_without_becoming_the_set_ups_own() -> None:
    studio = Studio()
    before = studio.shoot.shoot_state.revision
    remedied(studio, Remedy(RemedyKind.SET_CAMERA, "set Flash", {"white_balance": "Flash"}), RuleId.WHITE_BALANCE)
    assert studio.shoot.shoot_state.revision == before
    assert studio.camera.last(say.ApplySettings).changes == {"white_balance": "Flash"}


# --- the camera -----------------------------------------------------------------------------------------


def test_a_lost_camera_is_looked_for_again_and_told_once_for_each_reason() -> None:
    studio = Studio()
    for text, told in (("The cable is out.", 1), ("The cable is out.", 1), ("It is switched off.", 2)):
        studio.deliver(say.CameraGone(Fault.LOST, text))
        assert len(studio.said(CameraLost)) == told
    asked = studio.camera.count(say.Connect)
    studio.wait(RECONNECT_S * 0.99)
    assert studio.camera.count(say.Connect) == asked, "not a moment before"
    studio.wait(RECONNECT_S * 0.02)
    assert studio.camera.count(say.Connect) == asked + 1
    assert studio.shoot.shoot_state.settings_asked == 0, "what it was asked for is forgotten with it"


def test_a_camera_that_comes_back_is_found_and_the_same_loss_is_told_anew() -> None:
    studio = Studio()
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    found = len(studio.said(CameraFound))
    studio.connect()
    assert len(studio.said(CameraFound)) == found + 1
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    assert len(studio.said(CameraLost)) == 2


def test_only_the_first_connection_puts_the_set_up_on_the_camera() -> None:
    studio = Studio(connected=False)
    studio.connect(f_number=8.0)
    assert studio.camera.last(say.ApplySettings).changes["f_number"] == 11.0
    studio.answer_settings()
    asked = studio.camera.count(say.ApplySettings)
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    studio.connect(f_number=8.0)
    assert studio.camera.count(say.ApplySettings) == asked, "a person turned that dial"


def test_a_turned_dial_is_a_touch_and_an_answer_is_none() -> None:
    studio = Studio()
    studio.deliver(say.SettingsRead(reading(), by_hand=True))
    assert studio.shoot.shoot_state.touched_s == studio.clock.now_s
    assert ("by hand", "something was turned on the camera") in studio.log.events
    touched = studio.shoot.shoot_state.touched_s
    studio.clock.now_s += 5
    studio.deliver(say.SettingsRead(reading(), refused={"iso": "ISO 32 is not offered.", "f_number": "f/64 isn't."}))
    changed = studio.said(SettingsChanged)[-1]
    assert [name for name, _ in changed.refused] == ["f_number", "iso"], "in the order of their names"
    assert studio.shoot.shoot_state.touched_s == touched


def test_a_failure_is_said_unless_a_frame_or_the_search_for_a_camera_tells_it() -> None:
    studio = Studio()
    studio.deliver(say.Failed("DriveFocus", Fault.END_STOP, "The focus is at its end."))
    assert last_said(studio).text == "The focus is at its end."
    before = len(studio.said(Said))
    studio.deliver(say.Failed("Connect", Fault.NOT_FOUND, "No camera is there.", connected=False))
    assert len(studio.said(Said)) == before and studio.said(CameraLost)[-1].text == "No camera is there."


def test_the_cards_progress_and_the_cameras_notes_are_said() -> None:
    studio = Studio()
    studio.deliver(say.ReadingCard(2, 7))
    assert last_said(studio) == Said("The camera's card is being read: folder 3 of 7.", About.CARD)
    assert studio.shoot.shoot_state.card_being_read
    studio.deliver(say.ReadingCard(7, 7, "file", 0.0))
    studio.deliver(say.ReadingCard(2, 70, "file"))
    assert not studio.shoot.shoot_state.card_being_read, "a few files hold no release up"
    studio.deliver(say.CameraNote("The self-timer is on."))
    assert last_said(studio).text == "The self-timer is on."
    assert ("camera", "The self-timer is on.") in studio.log.events


# --- the judge ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "kept_ev"),
    [
        ({}, -6.2),
        ({"settings": Settings(exposure_s=1 / 160)}, -6.2 + math.log2(200 / 160)),  # more of it in a longer time
        ({"lights": (PlacedLight("key", -2.0, 500.0),)}, None),
    ],
    ids=["as it was", "another time", "another place of the light"],
)
def test_ambient_light_is_measured_into_the_set_up_in_force_as_far_as_that_can_be_told(
    changes: dict[str, object], kept_ev: float | None
) -> None:
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.revise(replace(studio.shoot.shoot_state.revision, **changes))  # type: ignore[arg-type]
    studio.deliver(Judgement(frame_id, (), FocusJudgement(FocusVerdict.UNJUDGED), ambient_ev=-6.2))
    assert studio.shoot.shoot_state.revision.ambient_ev == (kept_ev and pytest.approx(kept_ev))
    said = "The set-up was changed meanwhile; measure the ambient light again."
    assert (said in studio.texts()) is (kept_ev is None)


def test_a_set_built_again_says_once_where_it_differs_from_what_its_reference_was_shot_by() -> None:
    studio = Studio()
    reference = studio.whole_frame()
    studio.judged(reference)
    studio.do(AcceptReference(reference))
    now = studio.shoot.shoot_state.revision
    studio.shoot.shoot_state.building = True
    studio.revise(replace(now, lights=(replace(now.lights[0], power_ev=-1.0),)))
    for _ in range(2):
        studio.do(TellAll())
    said = [one.text for one in studio.said(Said) if "the reference, was shot by" in one.text]
    assert said == ["Frame 1, the reference, was shot by set-up 01.1; 01.2 differs: light key 1/4 → 1/2."]


def test_a_frame_that_lies_as_the_reference_ends_the_building_of_a_set() -> None:
    studio = Studio()
    studio.shoot.shoot_state.building = True
    frame_id = studio.whole_frame()
    moved = Finding("drift", Level.CAUTION, "The camera moved.")
    studio.deliver(Judgement(frame_id, (moved,), FocusJudgement(FocusVerdict.SHARP, 0.4)))
    assert studio.shoot.shoot_state.building, "it lies otherwise still"
    studio.wait(60)
    frame_id = studio.whole_frame()
    studio.deliver(Judgement(frame_id, (), FocusJudgement(FocusVerdict.SHARP, 0.4)))
    assert not studio.shoot.shoot_state.building


# --- time and the end -----------------------------------------------------------------------------------


def test_rules_are_told_when_they_change_and_never_twice() -> None:
    studio = Studio()
    told = len(studio.said(RulesChanged))
    studio.shoot.tick()
    studio.shoot.tick()
    assert len(studio.said(RulesChanged)) == told
    studio.deliver(say.SettingsRead(reading(f_number=8.0), by_hand=True))
    assert len(studio.said(RulesChanged)) == told + 1
    assert all(f.remedy is None or f.remedy.kind is not RemedyKind.WAIT for f in studio.said(RulesChanged)[-1].findings)


def test_letting_go_releases_nothing_more_and_looks_for_no_camera() -> None:
    studio = Studio()
    studio.shoot.let_go()
    assert studio.camera.closed and studio.shoot.shoot_state.description is None
    asked = studio.camera.count(say.Connect)
    studio.wait(3600)
    assert studio.camera.count(say.Connect) == asked


def test_at_the_end_what_is_owed_to_the_log_is_tried_once_more() -> None:
    studio = Studio()
    studio.log.refusing = True
    studio.shoot.shoot_state.record("camera", "the last word")
    studio.log.refusing = False
    studio.shoot.let_go()
    studio.shoot.close()
    assert ("camera", "the last word") in studio.log.events


def test_the_reference_is_of_the_set_up_and_the_piece_on_the_table() -> None:
    studio = Studio()
    assert studio.shoot.reference() is None
    frame_id = studio.whole_frame()
    studio.log.set_reference(PLACE, 1, frame_id)
    found = studio.shoot.reference()
    assert found is not None and found.frame_id == frame_id
