"""What a view goes on with, from the log alone: also after a crash, in older logs, and when acts are taken back."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from session.frame.ports import LogError, Place, Standing
from session.set.setup import PlacedLight, Region, Revision
from session.units.ids import new_id
from storage.reading.log_reader import LogReader
from storage.reading.views import KnownView
from storage.writing.log import SqlLog
from tests.support.log_samples import SetClock, intent, revision, whole_frame

FIRST = revision(7, 1)
BRIGHTER = FIRST.with_light(PlacedLight("key", -1.0))
NEARER = replace(BRIGHTER, notes="card nearer")
CORNER = Region(0.1, 0.1, 0.2, 0.2)


def revisions(reader: LogReader) -> list[str]:
    return [one.label for one in reader.revisions("movement", 7)]


def shot(log: SqlLog, place: Place, number: int, standing: Standing) -> Standing:
    """A frame by this arrangement, as the controller begins it."""
    draft = None if standing.revision_id else standing.revision
    key = standing.revision_id or new_id()
    log.begin_frame(intent(number, key, stem=f"{number:04d}"), place, draft)
    return Standing(standing.revision, key)


def edited(log: SqlLog, place: Place, wanted: Revision, act: str = "") -> Standing:
    before = log.standing(place)
    assert before is not None
    return log.arrange(place, replace(before, piece=""), Standing(wanted), act)


@pytest.fixture
def first(log: SqlLog, place: Place) -> Standing:
    """Frame 1, by 07.1."""
    return shot(log, place, 1, log.choose(place, Standing(FIRST)))


def test_new_view_has_nothing_to_go_on_with(log: SqlLog, reader: LogReader, place: Place) -> None:
    assert log.standing(place) is None
    assert reader.known_views("movement") == (KnownView("Bridge", "three-quarter", False),)
    assert log.standing(Place(place.job_id, "", "", "Movement", "Wheel", "top")) is None


def test_draft_is_made_a_revision_by_its_first_frame_and_in_one_step_with_it(
    log: SqlLog, reader: LogReader, place: Place
) -> None:
    chosen = log.choose(place, Standing(FIRST, from_camera=("iso",)))
    assert (chosen.revision, chosen.revision_id) == (FIRST, "")
    assert reader.setups("movement") == ()
    with pytest.raises(LogError):
        log.begin_frame(intent(0, new_id()), place, FIRST)  # a frame's number is above 0
    assert reader.setups("movement") == ()
    made = shot(log, place, 1, chosen)
    assert log.standing(place) == replace(made, piece="Bridge")
    assert revisions(reader) == ["07.1"]


def test_changes_between_two_frames_are_one_revision(
    log: SqlLog, reader: LogReader, place: Place, first: Standing
) -> None:
    edited(log, place, BRIGHTER)
    draft = edited(log, place, NEARER)
    assert (draft.revision.label, draft.revision_id) == ("07.2", "")
    assert revisions(reader) == ["07.1"]
    shot(log, place, 2, draft)
    assert revisions(reader) == ["07.1", "07.2"]
    assert reader.revisions("movement", 7)[1] == replace(NEARER, revision=2)


def test_draft_outlives_the_program(log: SqlLog, place: Place, first: Standing, path: Path) -> None:
    edited(log, place, replace(NEARER, region=CORNER, notes="dust on \x1b[2J the \udcff rim"))
    log.close()
    again = SqlLog.open(path, SetClock())
    standing = again.standing(place)
    assert standing is not None and not standing.revision_id
    assert standing.revision == replace(NEARER, revision=2, region=CORNER, notes="dust on \x1b[2J the \udcff rim")
    again.close()


def test_change_put_back_is_the_revision_it_came_from(
    log: SqlLog, reader: LogReader, place: Place, first: Standing
) -> None:
    edited(log, place, BRIGHTER)
    assert edited(log, place, FIRST) == first
    assert revisions(reader) == ["07.1"]


def test_undo_goes_step_by_step_over_changes_that_a_frame_has_melted(
    log: SqlLog, reader: LogReader, place: Place, first: Standing
) -> None:
    edited(log, place, BRIGHTER)
    shot(log, place, 2, edited(log, place, NEARER))
    back = log.undo_last(place)
    assert back is not None and back.standing is not None and back.view_id == place.view_id
    assert back.text == "undone: notes as before; set-up 07.3 stands now"
    assert (back.standing.revision.lights, back.standing.revision.notes) == (BRIGHTER.lights, FIRST.notes)
    assert not back.standing.revision_id, "no frame was shot with it, so it is in no revision"
    assert log.standing(place) == replace(back.standing, piece="Bridge")
    back = log.undo_last(place)
    assert back is not None and back.standing == first
    assert log.undo_last(place) is None
    log.redo(place)
    again = log.redo(place)
    assert again is not None and again.standing is not None
    assert (again.standing.revision.label, bool(again.standing.revision_id)) == ("07.2", True)
    assert log.redo(place) is None
    assert revisions(reader) == ["07.1", "07.2"]


def test_undo_keeps_the_order_of_changes_and_marks(log: SqlLog, place: Place, first: Standing) -> None:
    frame_id = whole_frame(log, place, 2, first.revision_id)
    edited(log, place, BRIGHTER)
    log.mark(frame_id, "hero")
    marked, changed = log.undo_last(place), log.undo_last(place)
    assert marked is not None and marked.frame_id == frame_id
    assert changed is not None and changed.standing == first


def test_one_visit_to_a_light_is_one_act_and_none_when_it_is_cancelled(
    log: SqlLog, place: Place, first: Standing
) -> None:
    edited(log, place, BRIGHTER, "visit 1")
    edited(log, place, FIRST.with_light(PlacedLight("key", -3.0)), "visit 1")
    back = log.undo_last(place)
    assert back is not None and back.standing == first
    edited(log, place, BRIGHTER, "visit 2")
    edited(log, place, FIRST, "visit 2")
    assert log.undo_last(place) is None


def test_undo_at_another_view_says_which(log: SqlLog, place: Place, first: Standing) -> None:
    edited(log, place, BRIGHTER)
    other = log.open_place("Movement", "Bridge", "top")
    log.choose(other, Standing(replace(FIRST, setup_number=8)))
    back = log.undo_last(other)
    assert back is not None and back.view_id == place.view_id
    assert back.text.endswith("; set-up 07.1 stands now for Bridge, three-quarter")
    assert log.standing(place) == replace(first, piece="Bridge")
    stands = log.standing(other)
    assert stands is not None and stands.revision.setup_number == 8


def test_view_of_that_name_of_another_piece_is_gone_on_with(log: SqlLog, place: Place, first: Standing) -> None:
    wheel = log.open_place("Movement", "Wheel", "Three-Quarter")
    assert log.standing(wheel) == replace(first, piece="Bridge")
    log.choose(wheel, first)
    shot(log, wheel, 2, log.arrange(wheel, first, Standing(replace(FIRST, region=CORNER))))
    assert log.standing(place) == replace(first, piece="Bridge"), "the other piece keeps its own region"
    dial = log.open_place("Movement", "Dial", "three-quarter")
    standing = log.standing(dial)
    assert standing is not None and (standing.piece, standing.revision.region) == ("Wheel", CORNER)


def test_choosing_what_stands_already_is_no_news(log: SqlLog, reader: LogReader, place: Place, first: Standing) -> None:
    before = len(reader.events())
    assert log.choose(place, first) == first
    assert len(reader.events()) == before


def test_set_up_chosen_without_a_frame_counts(log: SqlLog, place: Place, first: Standing) -> None:
    log.choose(place, Standing(replace(FIRST, setup_number=8)))
    standing = log.standing(place)
    assert standing is not None and standing.revision.label == "08.1"
    assert log.next_setup_number(place) == 9
    log.choose(place, first)
    assert log.next_setup_number(place) == 8, "a set-up that stands nowhere and was never shot leaves no gap"


def test_older_log_goes_on_with_what_each_view_was_last_shot_with(log: SqlLog, place: Place) -> None:
    """Of before there were such events: revisions and frames alone."""
    key = log.save_revision(place, FIRST)
    whole_frame(log, place, 1, key)
    top = log.open_place("Movement", "Bridge", "top")
    whole_frame(log, top, 2, log.save_revision(top, revision(8, 1)))
    assert log.standing(place) == Standing(FIRST, key, piece="Bridge")
    later = log.save_revision(place, replace(BRIGHTER, revision=2))
    standing = log.standing(place)
    assert standing is not None and standing.revision_id == later


def test_revision_that_a_frame_refers_to_never_changes(
    log: SqlLog, reader: LogReader, place: Place, first: Standing, path: Path
) -> None:
    def rows() -> list[object]:
        connection = sqlite3.connect(path)
        try:
            used = "SELECT {} FROM {} WHERE revision_id IN (SELECT revision_id FROM frame WHERE number = 1)"
            tables = ("revision", "revision_light", "revision_passive")
            return [connection.execute(used.format("*", table)).fetchall() for table in tables]
        finally:
            connection.close()

    before = rows()
    edited(log, place, BRIGHTER)
    log.undo_last(place)
    log.redo(place)
    shot(log, place, 2, edited(log, place, NEARER))
    edited(log, place, FIRST)
    log.undo_last(place)
    assert rows() == before
    connection = sqlite3.connect(path)
    for statement in ("UPDATE revision SET notes = 'x'", "DELETE FROM revision"):
        with pytest.raises(sqlite3.IntegrityError, match="a revision is never changed"):
            connection.execute(statement)
    connection.close()


def test_draft_is_found_by_its_label(log: SqlLog, reader: LogReader, place: Place, first: Standing) -> None:
    draft = edited(log, place, NEARER)
    assert reader.revision("movement", "07.2") == (draft.revision, "")
    assert reader.revision("movement", "07") == (FIRST, first.revision_id), "what was shot goes before what wasn't"
    assert reader.standing(place) == replace(draft, piece="Bridge")
    log.choose(place, Standing(replace(FIRST, setup_number=8)))
    assert reader.revision("movement", "8") == (replace(FIRST, setup_number=8), "")
    assert reader.revision("movement", "07.2") is None, "it stands nowhere any more"


def test_new_set_up_of_a_view_is_undone_and_its_number_is_free_again(
    log: SqlLog, reader: LogReader, place: Place, first: Standing
) -> None:
    begun = edited(log, place, replace(NEARER, setup_number=log.next_setup_number(place), revision=1))
    assert begun.revision.label == "08.1"
    back = log.undo_last(place)
    assert back is not None and back.standing == first
    assert back.text == "undone: set-up 08.1; set-up 07.1 stands now"
    assert log.next_setup_number(place) == 8
    again = log.redo(place)
    assert again is not None and again.standing == begun
