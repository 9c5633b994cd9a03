"""What the controller may rely on in a log, `session.frame.ports.Log`: the same tests over the log in memory, which the
controller's tests use, and over the SQL log. Every method of the port is here, with its errors."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from session.frame.camera_messages import Fired, Reading, Setting
from session.frame.ports import KeptPeak, Log, LogError, Place, RefusedEntry, RefusedForGoodError, Standing
from session.frame.states import SHUTTER, TRANSITIONS, UNSETTLED, FrameEvent, FrameState
from session.frame.step_said import StepWord
from session.set.setup import Region
from session.units.ids import new_id
from storage.database.log_database import WritingDatabase
from storage.writing.log import SqlLog
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import (
    LOGGED_STATES,
    MISS,
    MISSED,
    PLANE,
    READING,
    SERIAL,
    SYNC,
    SetClock,
    card_object,
    intent,
    move_to,
    revision,
    saved_file,
)
from tests.support.memory_log import MemoryLog

OTHER_SERIAL = "INVENTED-0002"
PEAK = KeptPeak(15.25, Region(0.1, 0.2, 0.3, 0.4), 512, datetime(2026, 3, 1, 12, 30, tzinfo=UTC))
FILE = saved_file(1)


@dataclass
class Trial:
    """A log to be tried, and how it is brought to refuse whatever is written, and to take it again."""

    log: Log
    refuse: Callable[[bool], None]


@pytest.fixture(params=["memory", "sql"])
def trial(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Trial]:
    if request.param == "memory":
        log = MemoryLog()
        yield Trial(log, lambda refusing: setattr(log, "refusing", refusing))
        return
    opened = fresh_log(tmp_path / "log.sqlite", SetClock())
    yield Trial(opened, lambda refusing: _look_only(opened, refusing))
    opened.close()


def _look_only(log: SqlLog, refusing: bool) -> None:
    """SQLite refuses whatever is written, as on a disk that became read-only."""
    database = log._database
    assert isinstance(database, WritingDatabase)
    database._driver.execute(f"PRAGMA query_only={refusing:d}")


@pytest.fixture
def log(trial: Trial) -> Log:
    return trial.log


@pytest.fixture
def place(log: Log) -> Place:
    return log.open_place("Movement", "bridge", "flat")


def begun(log: Log, place: Place, number: int = 1, **changes: object) -> str:
    """A frame that was just released, of a revision of its own; its key."""
    wish = intent(number, new_id(), **changes)
    log.begin_frame(wish, place, revision(7, log.next_revision_number(place, 7)))
    return wish.frame_id


def unsettled(log: Log, frame_id: str) -> FrameState | None:
    """The state in which an earlier run left it, None once it is at rest."""
    return next((one.state for one in log.unsettled_frames() if one.frame_id == frame_id), None)


# --- places -------------------------------------------------------------------------------------------


def test_a_place_is_made_once_and_found_by_its_names(log: Log) -> None:
    first = log.open_place("Movement", "bridge", "flat")
    assert (first.job, first.piece, first.view) == ("Movement", "bridge", "flat")
    assert log.open_place("Movement", "bridge", "flat") == first
    edge = log.open_place("Movement", "bridge", "edge")
    assert (edge.job_id, edge.piece_id) == (first.job_id, first.piece_id) and edge.view_id != first.view_id
    barrel = log.open_place("Movement", "barrel", "flat")
    assert barrel.job_id == first.job_id and barrel.piece_id != first.piece_id
    assert log.open_place("Type trays", "bridge", "flat").job_id != first.job_id


@pytest.mark.parametrize("names", [("Movement", "", "flat"), ("Movement", "bridge", ""), ("", "bridge", "flat")])
def test_a_place_without_a_name_is_refused(log: Log, names: tuple[str, str, str]) -> None:
    with pytest.raises(RefusedForGoodError):
        log.open_place(*names)


# --- a frame, step by step ------------------------------------------------------------------------------


def test_frames_are_numbered_by_job(log: Log, place: Place) -> None:
    assert log.next_frame_number(place) == 1
    begun(log, place, 1)
    begun(log, place, 2)
    assert log.next_frame_number(place) == 3
    assert log.next_frame_number(log.open_place("Movement", "barrel", "edge")) == 3
    assert log.next_frame_number(log.open_place("Type trays", "tray", "flat")) == 1


def test_a_frame_stands_as_begun_with_all_that_recovery_needs(log: Log, place: Place) -> None:
    wish = intent(4, new_id(), ambient=True, solo="fill", series=PLANE)
    draft = revision(7, 1)
    log.begin_frame(wish, place, draft)
    (left,) = log.unsettled_frames()
    assert (left.frame_id, left.number, left.state) == (wish.frame_id, 4, FrameState.RELEASING)
    assert (left.intent, left.fired) == (wish, Fired.UNKNOWN)
    assert (left.expected, left.saved, left.sought) == ((), (), False)
    origin = log.origin(wish.frame_id)
    assert (origin.intent, origin.place, origin.revision, origin.judged) == (wish, place, draft, False)


def test_a_revision_is_the_frames_for_good_and_serves_the_next_frame_too(log: Log, place: Place) -> None:
    first = intent(1, new_id())
    log.begin_frame(first, place, revision(7, 1))
    second = intent(2, first.revision_id)
    log.begin_frame(second, place)
    assert log.origin(second.frame_id).revision == revision(7, 1)
    assert log.next_revision_number(place, 7) == 2


def test_the_same_frame_or_number_twice_and_a_frame_without_revision_are_refused_for_good(
    log: Log, place: Place
) -> None:
    wish = intent(1, new_id())
    log.begin_frame(wish, place, revision(7, 1))
    for again in (
        replace(wish, number=2),
        replace(wish, frame_id=new_id()),
        replace(wish, frame_id=new_id(), number=2, revision_id=new_id()),
    ):
        with pytest.raises(RefusedForGoodError):
            log.begin_frame(again, place)
    assert [one.frame_id for one in log.unsettled_frames()] == [wish.frame_id]


@pytest.mark.parametrize("state", LOGGED_STATES)
def test_an_event_moves_a_frame_by_the_table_or_changes_nothing(log: Log, place: Place, state: FrameState) -> None:
    """Late events and those told twice pass, others that the table lacks are refused for good."""
    for number, event in enumerate(FrameEvent, 1):
        frame_id = begun(log, place, number)
        move_to(log, frame_id, state)
        before = unsettled(log, frame_id)
        after = TRANSITIONS.get((state, event))
        told_twice = state in {TRANSITIONS[entry] for entry in TRANSITIONS if entry[1] is event}
        done = state in (FrameState.LOGGED, FrameState.NOT_FIRED)
        if after is None and not told_twice and not done:
            with pytest.raises(RefusedForGoodError):
                log.move_frame(frame_id, event)
        else:
            log.move_frame(frame_id, event)
        expected = before if after is None else after if after in UNSETTLED else None
        assert unsettled(log, frame_id) == expected, event


@pytest.mark.parametrize("state", [state for state in LOGGED_STATES if state in UNSETTLED])
def test_a_state_says_whether_the_shutter_went(log: Log, place: Place, state: FrameState) -> None:
    frame_id = begun(log, place)
    move_to(log, frame_id, state)
    (left,) = log.unsettled_frames()
    assert left.fired is SHUTTER[state]


def test_objects_that_were_announced_are_expected_until_they_are_saved(log: Log, place: Place) -> None:
    frame_id = begun(log, place)
    log.move_frame(frame_id, FrameEvent.FIRED)
    announced = (card_object(1), card_object(1, "DNG", 5000))
    log.move_frame(frame_id, FrameEvent.LOST, "The cable is out.", objects=announced)
    (left,) = log.unsettled_frames()
    assert set(left.expected) == set(announced) and left.saved == ()
    assert not log.known_card_objects(SERIAL), "what isn't saved is still to be fetched"
    log.frame_file(frame_id, saved_file(1))
    (left,) = log.unsettled_frames()
    assert left.expected == announced[1:]
    assert left.saved == (Path(FILE.path).name,) and left.saved_objects == (FILE.card,)
    assert log.known_card_objects(SERIAL) == {FILE.card}


def test_a_file_told_twice_is_one_file(log: Log, place: Place) -> None:
    frame_id = begun(log, place)
    log.frame_file(frame_id, FILE)
    log.frame_file(frame_id, FILE)
    (left,) = log.unsettled_frames()
    assert left.saved == (Path(FILE.path).name,)
    assert log.frame_sizes(place) == (FILE.bytes,)


def test_sizes_are_of_all_files_of_each_frame_newest_last(log: Log, place: Place) -> None:
    assert log.frame_sizes(place) == ()
    for number, size in ((1, 1000), (2, 3000)):
        frame_id = begun(log, place, number)
        log.frame_file(frame_id, saved_file(number, size=size))
        log.frame_file(frame_id, saved_file(number, "DNG", "raw", size=10 * size))
    assert log.frame_sizes(place) == (11_000, 33_000)


@pytest.mark.parametrize(("file_format", "count"), [("raw+jpeg", 2), ("jpeg", 1), ("raw", 1), (None, 0)])
def test_the_format_that_the_camera_said_tells_how_many_files_are_expected(
    log: Log, place: Place, file_format: str | None, count: int
) -> None:
    frame_id = begun(log, place)
    values = {} if file_format is None else {"file_format": Setting("file_format", file_format, file_format)}
    log.frame_reading(frame_id, Reading(values))
    (left,) = log.unsettled_frames()
    assert left.expected_files == count


def test_sought_in_vain_is_remembered_until_something_turns_up(log: Log, place: Place) -> None:
    frame_id = begun(log, place)
    move_to(log, frame_id, FrameState.MISSING)
    log.move_frame(frame_id, FrameEvent.NOT_WHOLE)
    assert [one.sought for one in log.unsettled_frames()] == [True]
    log.move_frame(frame_id, FrameEvent.FOUND)
    assert [one.sought for one in log.unsettled_frames()] == [False]


def test_findings_and_judgements_are_taken_at_any_time_and_a_judgement_is_remembered(log: Log, place: Place) -> None:
    frame_id = begun(log, place)
    log.frame_findings(frame_id, (SYNC,))
    assert not log.origin(frame_id).judged
    log.frame_judged(frame_id, [MISS], MISSED)
    assert log.origin(frame_id).judged
    assert unsettled(log, frame_id) is FrameState.RELEASING, "a judgement moves nothing"
    log.frame_judged_anew(frame_id, [], MISSED, Region(0.1, 0.1, 0.2, 0.2), None, "judged anew")
    assert log.origin(frame_id).judged


def test_unsettled_frames_are_told_of_one_camera_or_of_all_in_the_order_of_their_releases(
    log: Log, place: Place
) -> None:
    first, second = begun(log, place, 1), begun(log, place, 2, camera_serial=OTHER_SERIAL)
    settled = begun(log, place, 3)
    move_to(log, settled, FrameState.LOGGED)
    assert [one.frame_id for one in log.unsettled_frames()] == [first, second]
    assert [one.frame_id for one in log.unsettled_frames(OTHER_SERIAL)] == [second]
    assert log.unsettled_frames("nobody's") == ()


# --- cards ------------------------------------------------------------------------------------------------


def test_a_card_that_was_noted_is_known_and_its_camera_no_longer_new(log: Log) -> None:
    assert log.is_new_camera(SERIAL)
    log.note_model(SERIAL, "Wendle 16")
    assert log.is_new_camera(SERIAL), "its model says nothing of its card"
    log.note_card(SERIAL, [card_object(1), card_object(2)])
    assert not log.is_new_camera(SERIAL)
    assert log.known_card_objects(SERIAL) == {card_object(1), card_object(2)}
    assert log.is_new_camera(OTHER_SERIAL) and not log.known_card_objects(OTHER_SERIAL)


def test_a_camera_known_by_its_model_has_what_older_logs_keep_under_its_addresses_on_usb(
    log: Log, place: Place
) -> None:
    model, older, replugged, beside = "Wendle 16", "usb:001,004", "usb:003,009", "Wendle 16 usb:001,005"
    left = begun(log, place, 1, camera_serial=older)
    saved = begun(log, place, 2, camera_serial=replugged)
    log.frame_file(saved, FILE)
    log.note_card(older, [card_object(7), FILE.card])
    log.note_card(replugged, [card_object(7)])
    others = [begun(log, place, 3, camera_serial=beside), begun(log, place, 4, camera_serial="usb:001,006")]
    assert log.is_new_camera(model)
    for serial in (older, replugged, beside):
        log.note_model(serial, model)
    log.note_model("usb:001,006", "Another")
    assert not log.is_new_camera(model)
    assert log.known_card_objects(model) == {card_object(7), FILE.card}
    assert [one.frame_id for one in log.unsettled_frames(model)] == [left, saved]
    assert [held.frame_id for held in log.holders(model, ["STIL0001"])] == [saved]
    log.note_model(model, model)
    now = begun(log, place, 5, camera_serial=model)
    assert (log.neighbours(left), log.neighbours(now)) == ((None, FILE.card), (FILE.card, None))
    assert log.known_card_objects(beside) == frozenset()
    assert [one.frame_id for one in log.unsettled_frames(beside)] == others[:1]
    assert [one.frame_id for one in log.unsettled_frames("usb:001,006")] == others[1:]


def test_an_empty_card_is_noted_too(log: Log) -> None:
    log.note_card(SERIAL, [])
    assert not log.is_new_camera(SERIAL)


def test_files_of_one_name_and_another_time_are_two_objects(log: Log) -> None:
    early, late = card_object(1, modified_at=1e9), card_object(1, modified_at=2e9)
    log.note_card(SERIAL, [early])
    assert log.known_card_objects(SERIAL) == {early}
    log.note_card(SERIAL, [late])
    assert log.known_card_objects(SERIAL) == {early, late}


def test_copies_on_a_second_card_are_known_and_nobody_need_fetch_them(log: Log, place: Place) -> None:
    frame_id = begun(log, place)
    log.frame_file(frame_id, FILE)
    copy = replace(FILE.card, folder="/store_00020001/DCIM/100STILL")
    log.frame_copied(frame_id, [copy])
    assert log.known_card_objects(SERIAL) == {FILE.card, copy}


def test_holders_are_frames_with_a_saved_file_of_that_name(log: Log, place: Place) -> None:
    frame_id = begun(log, place)
    log.frame_file(frame_id, FILE)
    other = begun(log, place, 2, camera_serial=OTHER_SERIAL)
    log.frame_file(other, saved_file(2))
    (held,) = log.holders(SERIAL, ["STIL0001", "STIL0002", "STIL0009"])
    assert (held.frame_id, held.number, held.state) == (frame_id, 1, FrameState.RELEASING)
    assert (held.saved_objects, held.saved) == ((FILE.card,), (Path(FILE.path).name,))
    assert log.holders(SERIAL, ["STIL00", "STIL0001.JPG", ""]) == ()


def test_neighbours_are_saved_files_of_the_frames_before_and_after_of_the_same_camera(log: Log, place: Place) -> None:
    keys = [begun(log, place, number) for number in (1, 2, 3)]
    stranger = begun(log, place, 4, camera_serial=OTHER_SERIAL)
    for number, key in zip((1, 3), (keys[0], keys[2]), strict=True):
        log.frame_file(key, saved_file(number))
    log.frame_file(stranger, saved_file(4))
    assert log.neighbours(keys[1]) == (card_object(1), card_object(3))
    assert log.neighbours(keys[0]) == (None, card_object(3))
    assert log.neighbours(keys[2]) == (card_object(1), None)


# --- set-ups ----------------------------------------------------------------------------------------------


def draft(number: int = 7, revision_number: int = 1, **changes: object) -> Standing:
    return Standing(replace(revision(number, revision_number), **changes))  # type: ignore[arg-type]


def test_a_new_view_stands_at_nothing_and_then_at_what_was_chosen(log: Log, place: Place) -> None:
    assert log.standing(place) is None
    chosen = log.choose(place, draft())
    assert chosen.revision == revision(7, 1) and chosen.revision_id == ""
    standing = log.standing(place)
    assert standing is not None
    assert (standing.revision, standing.revision_id, standing.piece) == (revision(7, 1), "", "bridge")
    assert not log.can_undo(place), "a choice is no act that can be undone"


def test_a_view_is_looked_up_by_name_so_another_piece_lends_what_its_own_stands_at(log: Log, place: Place) -> None:
    log.choose(place, draft())
    new = Place("", "", "", "Movement", "barrel", "flat")
    lent = log.standing(replace(new, job_id=place.job_id))
    assert lent is not None and (lent.revision, lent.piece) == (revision(7, 1), "bridge")
    assert log.standing(replace(new, job_id=place.job_id, view="edge")) is None


def test_a_draft_becomes_a_revision_by_its_first_frame_and_is_found_again_by_its_contents(
    log: Log, place: Place
) -> None:
    log.choose(place, draft())
    wish = intent(1, new_id())
    log.begin_frame(wish, place, revision(7, 1))
    standing = log.standing(place)
    assert standing is not None and standing.revision_id == wish.revision_id
    other = log.arrange(place, standing, draft(notes="card nearer"))
    assert (other.revision.label, other.revision_id) == ("07.2", "")
    back = log.arrange(place, other, draft(7, 2))
    assert (back.revision, back.revision_id) == (revision(7, 1), wish.revision_id), "no other revision is made"


def test_settings_that_a_draft_takes_from_the_camera_are_kept_with_it(log: Log, place: Place) -> None:
    log.choose(place, replace(draft(), from_camera=("f_number", "iso")))
    standing = log.standing(place)
    assert standing is not None and standing.from_camera == ("f_number", "iso")


def test_set_ups_and_revisions_are_numbered_with_drafts_counted_in(log: Log, place: Place) -> None:
    assert (log.next_setup_number(place), log.next_revision_number(place, 7)) == (1, 1)
    log.choose(place, draft(3))
    assert log.next_setup_number(place) == 4
    begun(log, place)
    assert (log.next_setup_number(place), log.next_revision_number(place, 7)) == (8, 2)
    assert log.next_revision_number(place, 3) == 1, "a draft has no number for good"


# --- people -----------------------------------------------------------------------------------------------


def saved(log: Log, place: Place, number: int = 1, **changes: object) -> str:
    frame_id = begun(log, place, number, **changes)
    log.frame_file(frame_id, saved_file(number))
    return frame_id


def test_a_reference_is_of_one_piece_and_what_another_piece_expects(log: Log, place: Place) -> None:
    frame_id = saved(log, place)
    assert log.reference(place, 7) is None
    log.set_reference(place, 7, frame_id)
    found = log.reference(place, 7)
    assert found is not None
    assert (found.frame_id, found.number, found.path) == (frame_id, 1, FILE.path)
    barrel = log.open_place("Movement", "barrel", "flat")
    assert log.reference(barrel, 7) is None and log.reference(place, 8) is None
    assert log.expectation(barrel, 7) == found and log.expectation(place, 7) is None
    log.set_reference(place, 7, None)
    assert log.reference(place, 7) is None and log.expectation(barrel, 7) is None


def test_a_frame_without_picture_or_with_the_lights_off_cant_be_a_reference(log: Log, place: Place) -> None:
    without, ambient = begun(log, place, 1), saved(log, place, 2, ambient=True)
    solo = saved(log, place, 3, solo="key")
    for frame_id in (without, ambient, solo):
        with pytest.raises(LogError):
            log.set_reference(place, 7, frame_id)
    with pytest.raises(RefusedForGoodError):
        log.set_reference(place, 9, without)
    assert log.reference(place, 7) is None


def test_the_peak_kept_last_is_told_for_its_set_up_and_piece(log: Log, place: Place) -> None:
    begun(log, place)
    assert log.kept_peak(place, 7) is None
    log.keep_peak(place, 7, PEAK)
    log.keep_peak(place, 7, replace(PEAK, contrast=12.5))
    assert log.kept_peak(place, 7) == replace(PEAK, contrast=12.5)
    assert log.kept_peak(log.open_place("Movement", "barrel", "flat"), 7) is None
    with pytest.raises(RefusedForGoodError):
        log.keep_peak(place, 9, PEAK)


def steps(log: Log, place: Place, revision_id: str) -> dict[str, tuple[StepWord, str]]:
    return {said.step: (said.word, said.reason) for said in log.steps_said(place, revision_id)}


def test_a_word_on_a_step_is_of_one_revision_and_piece_and_the_last_one_counts(log: Log, place: Place) -> None:
    first, second = (log.origin(begun(log, place, number)).intent.revision_id for number in (1, 2))
    log.say_of_step(place, first, "lens", StepWord.CONFIRMED)
    log.say_of_step(place, first, "light fill", StepWord.SKIPPED, " no grid here ")
    assert steps(log, place, first) == {
        "lens": (StepWord.CONFIRMED, ""),
        "light fill": (StepWord.SKIPPED, "no grid here"),
    }
    assert steps(log, place, second) == {}
    assert steps(log, log.open_place("Movement", "barrel", "edge"), first) == {}
    log.say_of_step(place, first, "light fill", StepWord.CONFIRMED)
    log.say_of_step(place, first, "lens", None)
    assert steps(log, place, first) == {"light fill": (StepWord.CONFIRMED, "")}


def test_a_substitute_is_of_the_revision_whatever_piece_lies_on_the_table(log: Log, place: Place) -> None:
    key = log.origin(begun(log, place)).intent.revision_id
    log.say_of_step(place, key, "focus", StepWord.CONFIRMED)
    log.say_of_step(place, key, "instead of lens", StepWord.INSTEAD, "Short 60")
    other = log.open_place("Movement", "barrel", "flat")
    (said,) = log.steps_said(other, key)
    assert (said.step, said.reason, said.elsewhere) == ("instead of lens", "Short 60", True)
    assert not any(one.elsewhere for one in log.steps_said(place, key))
    log.say_of_step(other, key, "instead of lens", None)
    assert "instead of lens" not in steps(log, place, key) and not log.steps_said(other, key)
    log.undo_last(other)
    assert steps(log, other, key) == {"instead of lens": (StepWord.INSTEAD, "Short 60")}


def test_words_on_steps_are_undone_one_by_one_and_redone(log: Log, place: Place) -> None:
    key = log.origin(begun(log, place)).intent.revision_id
    log.say_of_step(place, key, "focus", StepWord.SKIPPED, "by eye")
    log.say_of_step(place, key, "focus", StepWord.CONFIRMED)
    undone = log.undo_last(place)
    assert undone is not None and "focus confirmed" in undone.text and undone.standing is None
    assert steps(log, place, key) == {"focus": (StepWord.SKIPPED, "by eye")}
    log.undo_last(place)
    assert steps(log, place, key) == {} and not log.can_undo(place)
    log.redo(place)
    log.redo(place)
    assert steps(log, place, key) == {"focus": (StepWord.CONFIRMED, "")} and log.redo(place) is None


def test_a_step_of_an_unknown_revision_or_skipped_without_a_reason_is_refused_for_good(log: Log, place: Place) -> None:
    key = log.origin(begun(log, place)).intent.revision_id
    with pytest.raises(RefusedForGoodError):
        log.say_of_step(place, new_id(), "focus", StepWord.CONFIRMED)
    with pytest.raises(RefusedForGoodError):
        log.say_of_step(place, key, "focus", StepWord.SKIPPED, "  ")
    with pytest.raises(RefusedForGoodError):
        log.say_of_step(log.open_place("Type trays", "tray", "flat"), key, "focus", StepWord.CONFIRMED)
    assert steps(log, place, key) == {}


def test_a_mark_is_one_of_four_words_or_none(log: Log, place: Place) -> None:
    frame_id = begun(log, place)
    for mark in ("hero", "select", "alternate", "kill", None):
        log.mark(frame_id, mark)
    with pytest.raises(RefusedForGoodError):
        log.mark(frame_id, "best")


def test_a_wish_and_entries_of_the_event_table_are_no_acts_to_undo(log: Log, place: Place) -> None:
    log.keep_wish(place, {"piece_width_mm": 28.0, "plate": None})
    log.record("camera", "The cable is out.")
    log.record("setting", "A dial was turned.", begun(log, place))
    assert not log.can_undo(place) and log.undo_last(place) is None


def test_an_entry_is_kept_though_its_frame_is_not_in_the_log(log: Log, place: Place) -> None:
    log.record("setting", "A dial was turned.", new_id())
    assert not log.can_undo(place)


# --- undo and redo ----------------------------------------------------------------------------------------


def test_acts_are_undone_last_first_and_redone_in_their_order(log: Log, place: Place) -> None:
    frame_id = saved(log, place)
    assert not log.can_undo(place)
    assert log.undo_last(place) is None and log.redo(place) is None
    log.mark(frame_id, "hero")
    log.note(frame_id, "crown nearest the lens")
    log.set_reference(place, 7, frame_id)
    assert log.can_undo(place)
    coming = log.next_undo(place)
    assert coming is not None
    for _ in range(3):
        undone = log.undo_last(place)
        assert undone is not None and undone.frame_id == frame_id and undone.text.startswith("undone: ")
    assert log.reference(place, 7) is None
    assert not log.can_undo(place) and log.undo_last(place) is None
    coming = log.next_redo(place)
    redone = [log.redo(place) for _ in range(3)]
    assert coming is not None and redone[0] is not None and redone[0].act_id == coming.act_id
    assert all(one is not None and one.text.startswith("redone: ") for one in redone)
    assert log.redo(place) is None and log.reference(place, 7) is not None


def test_looking_ahead_changes_nothing(log: Log, place: Place) -> None:
    frame_id = saved(log, place)
    log.set_reference(place, 7, frame_id)
    seen = [log.next_undo(place) for _ in range(2)]
    assert seen[0] == seen[1] and seen[0] is not None and seen[0].act_id
    assert log.reference(place, 7) is not None and log.can_undo(place)
    undone = log.undo_last(place)
    assert undone is not None and (undone.text, undone.act_id) == (seen[0].text, seen[0].act_id)
    assert log.next_undo(place) is None and log.next_redo(place) is not None


def test_what_changes_nothing_is_no_act(log: Log, place: Place) -> None:
    frame_id = begun(log, place)
    log.mark(frame_id, None)
    log.note(frame_id, "   ")
    assert not log.can_undo(place)


def test_a_new_act_ends_what_could_be_redone(log: Log, place: Place) -> None:
    frame_id = begun(log, place)
    log.mark(frame_id, "hero")
    log.undo_last(place)
    log.mark(frame_id, "kill")
    assert log.next_redo(place) is None and log.redo(place) is None


def test_a_change_of_the_arrangement_is_undone_with_what_stood_before(log: Log, place: Place) -> None:
    before = log.choose(place, draft())
    after = log.arrange(place, before, draft(notes="card nearer"))
    undone = log.undo_last(place)
    assert undone is not None and undone.standing is not None and undone.frame_id is None
    assert (undone.standing.revision.notes, undone.view_id) == (before.revision.notes, place.view_id)
    standing = log.standing(place)
    assert standing is not None and standing.revision == before.revision
    redone = log.redo(place)
    assert redone is not None and redone.standing is not None
    assert redone.standing.revision.notes == after.revision.notes == "card nearer"


def test_changes_with_one_word_are_one_act_and_none_when_they_came_back(log: Log, place: Place) -> None:
    before = log.choose(place, draft())
    nearer = log.arrange(place, before, draft(notes="nearer"), "one visit")
    log.arrange(place, nearer, draft(notes="nearer still"), "one visit")
    undone = log.undo_last(place)
    assert undone is not None and undone.standing is not None
    assert undone.standing.revision.notes == before.revision.notes
    assert not log.can_undo(place)
    there = log.arrange(place, before, draft(notes="nearer"), "another visit")
    log.arrange(place, there, draft(), "another visit")
    assert not log.can_undo(place)


def test_each_job_has_acts_of_its_own(log: Log, place: Place) -> None:
    log.mark(begun(log, place), "hero")
    trays = log.open_place("Type trays", "tray", "flat")
    assert not log.can_undo(trays) and log.undo_last(trays) is None
    assert log.can_undo(place)


def test_a_change_of_an_arrangement_is_its_own_jobs_act(log: Log, place: Place) -> None:
    before = log.choose(place, draft())
    trays = log.open_place("Type trays", "tray", "flat")
    of_trays = log.arrange(trays, log.choose(trays, draft()), draft(notes="tray turned"))
    assert not log.can_undo(place) and log.undo_last(place) is None
    log.arrange(place, before, draft(notes="card nearer"))
    undone = log.undo_last(trays)
    assert undone is not None and undone.standing is not None and undone.view_id == trays.view_id
    assert undone.standing.revision.notes == before.revision.notes != of_trays.revision.notes
    assert log.can_undo(place) and not log.can_undo(trays)


@pytest.mark.parametrize("words", [("a visit", "b visit"), ("b visit", "a visit"), ("", "a visit"), ("a visit", "")])
def test_changes_with_different_words_are_undone_one_by_one(log: Log, place: Place, words: tuple[str, str]) -> None:
    before = log.choose(place, draft())
    nearer = log.arrange(place, before, draft(notes="nearer"), words[0])
    log.arrange(place, nearer, draft(notes="nearer still"), words[1])
    for notes in ("nearer", before.revision.notes):
        undone = log.undo_last(place)
        assert undone is not None and undone.standing is not None
        assert undone.standing.revision.notes == notes
    assert not log.can_undo(place)


# --- errors -----------------------------------------------------------------------------------------------


Call = Callable[[Log, Place, str], object]

OF_A_FRAME: dict[str, Call] = {
    "move_frame": lambda log, place, key: log.move_frame(key, FrameEvent.FIRED),
    "frame_findings": lambda log, place, key: log.frame_findings(key, [SYNC]),
    "frame_reading": lambda log, place, key: log.frame_reading(key, READING),
    "frame_file": lambda log, place, key: log.frame_file(key, FILE),
    "frame_copied": lambda log, place, key: log.frame_copied(key, [FILE.card]),
    "frame_judged": lambda log, place, key: log.frame_judged(key, [MISS], MISSED),
    "frame_judged_anew": lambda log, place, key: log.frame_judged_anew(
        key, [MISS], MISSED, Region(0.1, 0.1, 0.2, 0.2), None, "anew"
    ),
    "mark": lambda log, place, key: log.mark(key, "hero"),
    "note": lambda log, place, key: log.note(key, "a word"),
    "set_reference": lambda log, place, key: log.set_reference(place, 7, key),
}
OTHERS_THAT_WRITE: dict[str, Call] = {
    "open_place": lambda log, place, key: log.open_place("Type trays", "tray", "flat"),
    "begin_frame": lambda log, place, key: log.begin_frame(intent(9, new_id()), place, revision(7, 9)),
    "note_model": lambda log, place, key: log.note_model(SERIAL, "Wendle 16"),
    "note_card": lambda log, place, key: log.note_card(SERIAL, [card_object(5)]),
    "choose": lambda log, place, key: log.choose(place, draft(8)),
    "arrange": lambda log, place, key: log.arrange(place, draft(), draft(notes="else")),
    "keep_peak": lambda log, place, key: log.keep_peak(place, 7, PEAK),
    "keep_order_table": lambda log, place, key: log.keep_order_table("job,piece,view\nMovement,ring,top\n", ""),
    "say_of_step": lambda log, place, key: log.say_of_step(
        place, log.origin(key).intent.revision_id, "focus", StepWord.CONFIRMED
    ),
    "add_views": lambda log, place, key: log.add_views("Movement", "ring", ("top",)),
    "keep_wish": lambda log, place, key: log.keep_wish(place, {"piece_width_mm": 28.0}),
    "undo_last": lambda log, place, key: log.undo_last(place),
    "redo": lambda log, place, key: log.redo(place),
    "record": lambda log, place, key: log.record("camera", "The cable is out."),
}
READS: dict[str, Call] = {
    "next_frame_number": lambda log, place, key: log.next_frame_number(place),
    "frame_sizes": lambda log, place, key: log.frame_sizes(place),
    "shot_planes": lambda log, place, key: log.shot_planes(PLANE.series_id),
    "unsettled_frames": lambda log, place, key: log.unsettled_frames(),
    "origin": lambda log, place, key: log.origin(key),
    "known_card_objects": lambda log, place, key: log.known_card_objects(SERIAL),
    "holders": lambda log, place, key: log.holders(SERIAL, ["STIL0001"]),
    "neighbours": lambda log, place, key: log.neighbours(key),
    "is_new_camera": lambda log, place, key: log.is_new_camera(SERIAL),
    "standing": lambda log, place, key: log.standing(place),
    "next_setup_number": lambda log, place, key: log.next_setup_number(place),
    "next_revision_number": lambda log, place, key: log.next_revision_number(place, 7),
    "reference": lambda log, place, key: log.reference(place, 7),
    "expectation": lambda log, place, key: log.expectation(place, 7),
    "agreement": lambda log, place, key: log.agreement(place),
    "steps_said": lambda log, place, key: log.steps_said(place, log.origin(key).intent.revision_id),
    "kept_peak": lambda log, place, key: log.kept_peak(place, 7),
    "can_undo": lambda log, place, key: log.can_undo(place),
    "next_undo": lambda log, place, key: log.next_undo(place),
    "next_redo": lambda log, place, key: log.next_redo(place),
}
BESIDE = {"keep_aside"}
"""What is written beside the log, also when the log refuses."""


def test_every_method_of_the_port_is_tried() -> None:
    methods = {name for name, one in vars(Log).items() if inspect.isfunction(one) and not name.startswith("_")}
    assert methods == OF_A_FRAME.keys() | OTHERS_THAT_WRITE.keys() | READS.keys() | BESIDE


@pytest.mark.parametrize("name", OF_A_FRAME)
def test_a_frame_that_nobody_began_is_refused_for_good(log: Log, place: Place, name: str) -> None:
    begun(log, place)
    with pytest.raises(RefusedForGoodError):
        OF_A_FRAME[name](log, place, new_id())


def test_the_origin_of_a_frame_that_nobody_began_is_refused(log: Log) -> None:
    with pytest.raises(LogError):
        log.origin(new_id())


@pytest.mark.parametrize("name", OF_A_FRAME | OTHERS_THAT_WRITE)
def test_a_log_that_refuses_says_so_of_each_write_may_take_it_later_and_has_changed_nothing(
    trial: Trial, place: Place, name: str
) -> None:
    log = trial.log
    frame_id = saved(log, place)
    log.mark(frame_id, "hero")
    log.mark(frame_id, "kill")
    log.undo_last(place)
    told = _told(log, place, frame_id)
    trial.refuse(True)
    with pytest.raises(LogError) as refused:
        (OF_A_FRAME | OTHERS_THAT_WRITE)[name](log, place, frame_id)
    assert not isinstance(refused.value, RefusedForGoodError), "the same entry may be taken later"
    trial.refuse(False)
    assert _told(log, place, frame_id) == told


def _told(log: Log, place: Place, frame_id: str) -> dict[str, object]:
    """All that the log tells."""
    return {name: call(log, place, frame_id) for name, call in READS.items()}


def test_what_only_looks_changes_nothing(log: Log, place: Place) -> None:
    frame_id = saved(log, place)
    log.choose(place, draft())
    log.mark(frame_id, "hero")
    before = _told(log, place, frame_id)
    for name, call in READS.items():
        assert call(log, place, frame_id) == call(log, place, frame_id) == before[name], name
    assert _told(log, place, frame_id) == before


def test_what_the_log_will_never_take_is_kept_beside_it_though_it_refuses(trial: Trial) -> None:
    trial.refuse(True)
    where = trial.log.keep_aside(RefusedEntry("mark", ("frame", "best"), "A mark is one of four words."))
    assert where


def test_the_frames_of_a_series_tell_their_planes_and_which_are_good(log: Log, place: Place) -> None:
    flash = replace(SYNC, id="flash")
    keys = [begun(log, place, n, series=replace(PLANE, plane_mm=mm)) for n, mm in enumerate((0.0, 0.88, 1.76), 1)]
    for key in keys:
        log.move_frame(key, FrameEvent.FIRED)
    begun(log, place, 4, series=replace(PLANE, series_id=new_id()))
    for key, findings in zip(keys[:2], ((flash,), ()), strict=True):
        log.move_frame(key, FrameEvent.ALL_SAVED)
        log.frame_judged(key, findings, MISSED)
        log.move_frame(key, FrameEvent.JUDGED)
    shots = log.shot_planes(PLANE.series_id)
    assert [(one.number, one.plane.plane_mm, one.spoilt, one.good) for one in shots] == [
        (1, 0.0, True, False),
        (2, 0.88, False, True),
        (3, 1.76, False, False),
    ]
    assert (shots[1].frame_id, shots[1].state) == (keys[1], FrameState.LOGGED)
    log.mark(keys[1], "kill")
    assert not log.shot_planes(PLANE.series_id)[1].good
    assert log.shot_planes(new_id()) == ()
