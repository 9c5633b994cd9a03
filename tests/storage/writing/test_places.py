"""Jobs, pieces and views are found by name without regard to case and spaces, and made where they are new."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from session.frame.ports import RefusedForGoodError
from storage.reading.log_reader import LogReader
from storage.writing import event_rows
from storage.writing.log import SqlLog


def test_the_same_names_in_another_case_are_the_same_place(log: SqlLog) -> None:
    first = log.open_place("Movements", "Bridge 6", "Three-Quarter")
    again = log.open_place(" movements ", "BRIDGE 6", "three-quarter")
    assert (again.job_id, again.piece_id, again.view_id) == (first.job_id, first.piece_id, first.view_id)
    assert (again.job, again.piece, again.view) == ("Movements", "Bridge 6", "Three-Quarter"), "as first written"


def test_a_new_view_of_a_known_piece_and_a_namesake_in_another_job_are_new(log: SqlLog) -> None:
    first = log.open_place("Movements", "Bridge", "top")
    view, piece, job = (
        log.open_place("Movements", "Bridge", "flat"),
        log.open_place("Movements", "Crown", "top"),
        log.open_place("Trays", "Bridge", "top"),
    )
    assert (view.job_id, view.piece_id) == (first.job_id, first.piece_id) and view.view_id != first.view_id
    assert piece.job_id == first.job_id and piece.piece_id != first.piece_id and piece.view_id != first.view_id
    assert len({job.job_id, first.job_id}) == 2 and job.view_id != first.view_id


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("", "p", "v"), "A job needs a name."),
        (("  ", "p", "v"), "A job needs a name."),
        (("j", "\t", "v"), "A piece needs a name."),
        (("j", "p", ""), "A view needs a name."),
    ],
)
def test_a_place_without_a_name_is_refused_and_nothing_of_it_is_made(
    log: SqlLog, reader: LogReader, names: tuple[str, str, str], said: str
) -> None:
    with pytest.raises(RefusedForGoodError) as refused:
        log.open_place(*names)
    assert str(refused.value) == said
    assert [job.name for job in reader.jobs()] == []


def test_a_client_is_kept_until_another_is_given_and_the_change_is_an_act(log: SqlLog, reader: LogReader) -> None:
    log.open_place("Movements", "Bridge", "top", "Client A")
    log.open_place("Movements", "Bridge", "top")
    log.open_place("Movements", "Bridge", "top", "  ")
    assert [job.client for job in reader.jobs()] == ["Client A"] and not reader.events(event_rows.CLIENT)
    log.open_place("Movements", "Bridge", "top", " Client B ")
    assert [job.client for job in reader.jobs()] == ["Client B"]
    (act,) = reader.events(event_rows.CLIENT)
    assert act.text == "Movements is for Client B"


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(min_size=1, max_size=12), st.text(min_size=1, max_size=12))
def test_any_two_names_are_one_place_exactly_when_they_are_alike(log: SqlLog, one: str, other: str) -> None:
    from session.units.names import name_key

    try:
        first, second = log.open_place(one, "p", "v"), log.open_place(other, "p", "v")
    except RefusedForGoodError:
        assert (
            not name_key(one)
            or not name_key(other)
            or any(ord(c) < 32 or 0xD800 <= ord(c) < 0xE000 for c in one + other)
        )
        return
    assert (first.job_id == second.job_id) == (name_key(one) == name_key(other))
