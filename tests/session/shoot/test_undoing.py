"""What the controller makes of acts that are undone: which set-up is in force, and one line about it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from session.frame import camera_messages as say
from session.frame.ports import Standing, Undone
from session.frame.step_said import StepWord
from session.set.kit import demo_kit
from session.set.setup import PlacedLight, Revision
from session.shoot.acts import ForgetBest, MarkFrame, Redo, Revise, SayOfStep, Undo
from session.shoot.controller import Shoot
from session.shoot.events import Event, ReferenceChanged, RevisionChanged, Said, Turn, TurnAsked, UndoChanged
from session.shoot.state import Opened, Outside
from tests.support.memory_log import PLACE, MemoryLog
from tests.support.scripted import (
    DESCRIPTION,
    ManualClock,
    ScriptedCamera,
    ScriptedJudge,
    Studio,
    reading,
)

BRIGHTER = (PlacedLight("key", -1.0, 620, 45, 30, "tube"),)


def last_said(studio: Studio) -> str:
    return str(studio.said(Said)[-1].text)


def test_a_mark_undone_is_said_in_one_line_with_the_number():
    studio = Studio()
    studio.log.turns.append(Undone("undone: frame 42 marked kill", "f"))
    studio.do(Undo(PLACE))
    assert last_said(studio) == "Undone: frame 42 marked kill."
    assert studio.said(ReferenceChanged), "it might have been the reference"


def test_a_word_on_a_step_is_kept_for_the_piece_on_the_table_and_undone_in_one_line():
    studio = Studio()
    key = studio.shoot.shoot_state.revision_id
    studio.do(SayOfStep(key, "light key", StepWord.SKIPPED, "no grid"))
    (said,) = studio.log.steps_said(PLACE, key)
    assert (said.step, said.word, said.reason) == ("light key", StepWord.SKIPPED, "no grid")
    assert studio.said(UndoChanged)[-1].possible
    studio.do(Undo(PLACE))
    assert last_said(studio).startswith("Undone: light key skipped") and not studio.log.steps_said(PLACE, key)
    assert not studio.said(UndoChanged)[-1].possible


def test_nothing_left_to_undo_or_to_redo_is_said():
    studio = Studio()
    studio.do(Undo(PLACE))
    assert last_said(studio) == "There is nothing to undo in movements."
    studio.do(Redo(PLACE))
    assert last_said(studio) == "There is nothing to redo in movements."


def test_a_change_of_the_set_up_undone_comes_into_force_and_onto_the_camera():
    studio = Studio()
    bench = studio.shoot.shoot_state
    slower = replace(bench.revision.settings, exposure_s=0.008)
    before = bench.revision
    studio.revise(replace(before, settings=slower, lights=BRIGHTER))
    studio.answer_settings(exposure_s=0.008)
    studio.wait(60)
    back = Standing(before, "01.1")
    done = Undone("undone: exposure time; set-up 01.1 stands now", None, back, PLACE.view_id, "act 1")
    studio.log.turns.append(done)
    asked = studio.camera.count(say.ApplySettings)
    studio.do(Undo(PLACE))
    assert studio.said(TurnAsked) == [TurnAsked(Turn.UNDO, "1/125 s, light key", "act 1")]
    studio.do(Undo(PLACE, "an act of before"))
    assert studio.log.turns == [done] and bench.revision.settings == slower
    assert studio.camera.count(say.ApplySettings) == asked
    studio.do(Undo(PLACE, "act 1"))
    assert (bench.revision, bench.revision_id) == (before, "01.1")
    assert studio.camera.last(say.ApplySettings).changes["exposure_s"] == 0.005
    assert studio.said(RevisionChanged)[-1].revision == before
    assert bench.touched_s == studio.clock.now_s, "hands put the light back, so the hold-off starts anew"
    assert last_said(studio) == "Undone: exposure time; set-up 01.1 stands now."


def test_change_at_another_view_taken_back_leaves_the_one_on_the_table_in_force():
    studio = Studio()
    bench = studio.shoot.shoot_state
    before = bench.revision, bench.revision_id
    other = replace(bench.revision, setup_number=9, revision=5, lights=BRIGHTER)
    back = Standing(other, "key")
    studio.log.turns.append(Undone("undone: lights; set-up 09.5 stands now", None, back, "view-2"))
    studio.do(Undo(PLACE))
    assert (bench.revision, bench.revision_id) == before
    assert "09.5 stands now" in last_said(studio)


def test_while_the_log_owes_entries_nothing_is_undone_since_it_would_be_the_wrong_act():
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.log.turns.append(Undone("undone: something older", None))
    studio.log.refusing = True
    studio.do(MarkFrame(frame_id, "kill"))
    studio.do(Undo(PLACE))
    assert studio.log.turns, "the log was not asked"
    assert "before the log has taken" in last_said(studio)


def test_a_log_that_refuses_is_quoted():
    studio = Studio()
    studio.log.refusing = True
    studio.do(Undo(PLACE))
    assert last_said(studio) == "The disk is full."


def test_redo_names_what_it_would_set_and_a_set_up_is_named_with_its_settings():
    studio = Studio()
    now = studio.shoot.shoot_state.revision
    other = replace(now, setup_number=9, settings=replace(now.settings, f_number=16.0))
    studio.log.turns.append(Undone("redone: …", None, Standing(other, "09.1"), PLACE.view_id, "act 1"))
    studio.do(Redo(PLACE))
    assert studio.said(TurnAsked) == [TurnAsked(Turn.REDO, "set-up 09 with f/16", "act 1")]
    assert studio.shoot.shoot_state.revision == now


def test_lights_that_hands_put_back_are_undone_at_once():
    studio = Studio()
    bench = studio.shoot.shoot_state
    before = bench.revision
    studio.revise(replace(before, lights=BRIGHTER))
    studio.log.turns.append(Undone("undone: lights", None, Standing(before, "01.1"), PLACE.view_id, "act 1"))
    studio.do(Undo(PLACE))
    assert bench.revision == before and not studio.said(TurnAsked)


# --- the best focus of live view ----------------------------------------------------------------------


class Meter:
    """Stands for the focus meter: a best that can be forgotten and brought back."""

    def __init__(self) -> None:
        self.best: float | None = 4.0
        self.kept: float | None = None

    def forget(self) -> bool:
        self.kept, self.best = self.best, None
        return self.kept is not None

    def restore(self) -> bool:
        self.best, self.kept = self.kept, None
        return self.best is not None


def test_a_best_focus_that_was_forgotten_comes_back_in_its_turn(monkeypatch: pytest.MonkeyPatch) -> None:
    studio, meter = Studio(), Meter()
    monkeypatch.setattr(studio.shoot.live.instruments, "_meter", meter)
    earlier = Undone("undone: frame 1 marked hero", "f1", act_id="act 1")
    later = Undone("undone: frame 1 marked kill", "f1", act_id="act 2")
    studio.log.turns = [earlier]
    studio.do(ForgetBest())
    assert meter.best is None and "forgotten" in last_said(studio)
    studio.log.turns = [later, earlier]
    studio.do(Undo(PLACE))
    assert last_said(studio) == "Undone: frame 1 marked kill." and meter.best is None, "that was done last"
    studio.do(Undo(PLACE))
    assert last_said(studio) == "Undone: the best focus seen is back." and meter.best == 4.0
    assert studio.log.turns == [earlier], "only the best came back"
    studio.do(Redo(PLACE))
    assert meter.best is None
    studio.do(Undo(PLACE))
    assert meter.best == 4.0
    studio.do(Undo(PLACE))
    assert last_said(studio) == "Undone: frame 1 marked hero."


def test_with_no_best_focus_there_is_none_to_forget() -> None:
    studio = Studio()
    studio.do(ForgetBest())
    assert last_said(studio) == "No best focus was seen yet."
    studio.do(Undo(PLACE))
    assert last_said(studio) == "There is nothing to undo in movements."


# --- what isn't in a revision yet --------------------------------------------------------------------


@pytest.fixture
def draft() -> tuple[Shoot, list[Event], MemoryLog]:
    camera, log, events = ScriptedCamera(), MemoryLog(), list[Event]()
    shoot = Shoot(
        Opened(PLACE, Standing(Revision(), "", ("f_number",)), demo_kit()),
        Outside(
            log=log,
            clock=ManualClock(),
            emit=events.append,
            frame_folder=lambda place: Path("/pictures"),
            frame_stem=lambda place, number, revision: f"{number:04d}",
            free_disk_bytes=lambda folder: None,
        ),
        make_camera=lambda receive: camera,
        make_judge=lambda answer: ScriptedJudge(),
        deliver=lambda message: None,
    )
    return shoot, events, log


def test_what_a_draft_took_from_the_camera_is_no_act_of_a_person(draft: tuple[Shoot, list[Event], MemoryLog]) -> None:
    shoot, _, log = draft
    shoot.receive(say.Connected(DESCRIPTION, reading(f_number=16.0), (), 10**12))
    assert shoot.shoot_state.revision.settings.f_number == 16.0
    assert log.acts == [] and log.stood[PLACE.piece, PLACE.view].revision.settings.f_number == 16.0


def test_a_draft_changed_before_the_camera_was_there_still_takes_from_it_what_it_left_open(
    draft: tuple[Shoot, list[Event], MemoryLog],
) -> None:
    shoot, _, log = draft
    shoot.do(Revise({"lights": BRIGHTER}))
    assert log.stood[PLACE.piece, PLACE.view].from_camera == ("f_number",)
    shoot.receive(say.Connected(DESCRIPTION, reading(f_number=16.0), (), 10**12))
    assert (shoot.shoot_state.revision.settings.f_number, shoot.shoot_state.revision.lights) == (16.0, BRIGHTER)
    assert log.stood[PLACE.piece, PLACE.view].from_camera == ()
    log.turns.append(Undone("undone: light key put in", None, Standing(Revision(), "", ("f_number",)), PLACE.view_id))
    shoot.do(Undo(PLACE))
    assert (shoot.shoot_state.revision.settings.f_number, shoot.shoot_state.revision.lights) == (16.0, ())
    assert shoot.shoot_state.settings_asked == 0, "what was open is not set on the camera"


def test_changes_make_no_revision_before_a_frame(draft: tuple[Shoot, list[Event], MemoryLog]) -> None:
    shoot, _, log = draft
    shoot.do(Revise({"lights": BRIGHTER}, "one visit"))
    shoot.do(Revise({"notes": "card nearer"}))
    assert not log.revisions and log.acts == ["one visit", ""]
