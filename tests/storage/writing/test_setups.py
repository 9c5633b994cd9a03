"""Revisions and places: exact round trips, whatever people type."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.ports import LogError, Place
from session.set.setup import Arrangement, PassiveItem, PlacedLight, Region, Revision, Settings
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.examples import examples
from tests.support.log_samples import SetClock, revision

number = st.floats(-1e9, 1e9)
positive = st.floats(1e-6, 1e6)
anything = st.text(st.characters(), max_size=60)
"""Every code point: NUL, halves of surrogate pairs, escapes and marks of writing direction among them."""


@st.composite
def regions(draw: st.DrawFn) -> Region:
    left, top = draw(st.floats(0, 0.9)), draw(st.floats(0, 0.9))
    width, height = draw(st.floats(0.01, 1 - left)), draw(st.floats(0.01, 1 - top))
    return Region(left, top, width, height)


lights = st.builds(
    PlacedLight,
    name=anything,
    power_ev=number,
    distance_mm=st.none() | positive,
    azimuth_deg=st.none() | number,
    elevation_deg=st.none() | number,
    shaper=anything,
    note=anything,
)
items = st.builds(
    PassiveItem,
    kind=anything,
    name=anything,
    distance_mm=st.none() | positive,
    azimuth_deg=st.none() | number,
    elevation_deg=st.none() | number,
    note=anything,
)
revisions = st.builds(
    Revision,
    setup_number=st.integers(1, 999_999),
    revision=st.integers(1, 999_999),
    settings=st.builds(
        Settings,
        exposure_s=positive,
        f_number=st.none() | positive,
        iso=st.integers(0, 10**7),
        white_balance=st.none() | anything,
        file_format=st.none() | anything,
    ),
    arrangement=st.builds(
        Arrangement,
        lens=anything,
        focal_length_mm=positive,
        magnification=positive,
        pupil_magnification=positive,
        reversed=st.booleans(),
        extension_mm=positive,
        dioptres=number,
        gap_mm=number,
        converter=positive,
    ),
    lights=st.lists(lights, max_size=4, unique_by=lambda light: light.name).map(tuple),
    passive=st.lists(items, max_size=3).map(tuple),
    region=regions(),
    grey_patch=st.none() | regions(),
    body=anything,
    trigger=anything,
    support=anything,
    hold_off_s=positive,
    blur_limit_px=positive,
    depth_needed_mm=st.none() | positive,
    must_be_sharp=anything,
    may_fall_off=anything,
    ambient_ev=st.none() | number,
    confirmed=st.lists(anything, max_size=3).map(tuple),
    notes=anything,
)


@pytest.fixture(scope="module")
def shared() -> Iterator[tuple[SqlLog, LogReader]]:
    """One log for all examples: each gets a job of its own."""
    with tempfile.TemporaryDirectory() as folder:
        log = SqlLog.open(Path(folder) / "log.sqlite", SetClock())
        reader = LogReader.open(Path(folder) / "log.sqlite")
        yield log, reader
        reader.close()
        log.close()


counter = iter(range(10**9))


@settings(max_examples=examples(50))
@given(wanted=revisions)
def test_any_revision_comes_back_exactly(shared: tuple[SqlLog, LogReader], wanted: Revision) -> None:
    log, reader = shared
    place = log.open_place(f"job {next(counter)}", "piece", "view")
    key = log.save_revision(place, wanted)
    assert reader.revision(place.job, wanted.label) == (wanted, key)


@settings(max_examples=examples(50))
@given(job=anything, piece=anything, view=anything, client=anything)
def test_any_name_comes_back_or_is_refused_for_being_empty(
    shared: tuple[SqlLog, LogReader], job: str, piece: str, view: str, client: str
) -> None:
    log, _ = shared
    job = f"{next(counter)} {job}"
    if not piece.strip() or not view.strip():
        with pytest.raises(LogError, match="needs a name"):
            log.open_place(job, piece, view, client)
        return
    place = log.open_place(job, piece, view, client)
    assert (place.job, place.piece, place.view) == (job.strip(), piece.strip(), view.strip())
    assert log.open_place(job, piece, view) == place


def test_every_field_of_a_set_up_differs_from_its_default_in_the_sample() -> None:
    """So that a new field which the log forgets is seen by the tests that use the sample."""
    wanted = revision()
    parts: list[tuple[Any, Any]] = [
        (wanted, Revision()),
        (wanted.settings, Settings()),
        (wanted.arrangement, Arrangement()),
    ]
    parts += [(wanted.lights[0], PlacedLight("")), (wanted.passive[0], PassiveItem("", "")), (wanted.region, Region())]
    for filled, default in parts:
        for one in fields(filled):
            assert getattr(filled, one.name) != getattr(default, one.name), one.name


def test_revision_is_written_once(log: SqlLog, place: Place) -> None:
    log.save_revision(place, revision(7, 3))
    with pytest.raises(LogError, match="revision of the set-up is in the log already"):
        log.save_revision(place, replace(revision(7, 3), notes="other"))


def test_set_up_numbers_count_in_each_job_by_itself(log: SqlLog, place: Place) -> None:
    assert log.next_setup_number(place) == 1
    log.save_revision(place, revision(7, 1))
    log.save_revision(place, revision(7, 2))
    assert log.next_setup_number(place) == 8
    assert log.next_setup_number(log.open_place("Type", "Tray", "top")) == 1


def test_revision_the_schema_refuses_leaves_nothing(log: SqlLog, reader: LogReader, place: Place) -> None:
    dark = replace(revision(), settings=Settings(exposure_s=0.0))
    with pytest.raises(LogError, match="revision_exposure_s must be more than 0"):
        log.save_revision(place, dark)
    twins = replace(revision(), lights=(PlacedLight("key"), PlacedLight("key")))
    with pytest.raises(LogError, match="can't have the same name"):
        log.save_revision(place, twins)
    assert reader.setups(place.job) == ()


def test_latest_revision_and_label_without_revision(log: SqlLog, reader: LogReader, place: Place) -> None:
    first = log.save_revision(place, revision(1, 1))
    second = log.save_revision(place, revision(2, 1))
    third = log.save_revision(place, revision(1, 2))
    assert reader.latest_revision("movement") == (revision(1, 2), third)
    assert reader.latest_revision("movement", 2) == (revision(2, 1), second)
    assert reader.revision("movement", "1") == (revision(1, 2), third)
    assert reader.revision("movement", "01.1") == (revision(1, 1), first)
    assert reader.revision("movement", "3") is None
    assert reader.latest_revision("no such job") is None
    assert reader.revisions("movement", 1) == (revision(1, 1), revision(1, 2))


@pytest.mark.parametrize("again", ["movement", "MOVEMENT", " Movement "])
def test_names_are_matched_without_regard_to_case(log: SqlLog, place: Place, again: str) -> None:
    assert log.open_place(again, "bridge", "THREE-quarter") == place


def test_composed_and_decomposed_letters_are_one_name(log: SqlLog) -> None:
    assert log.open_place("Caf\u00e9", "a", "b") == log.open_place("CAFE\u0301", "A", "B")


def test_names_repeat_in_other_jobs_and_pieces(log: SqlLog, place: Place) -> None:
    other = log.open_place("Type", "Bridge", "three-quarter")
    assert (other.piece_id, other.view_id) != (place.piece_id, place.view_id)


def test_client_is_kept_until_another_is_given(log: SqlLog, reader: LogReader, place: Place) -> None:
    log.open_place("Movement", "Bridge", "top")
    assert [job.client for job in reader.jobs()] == ["an invented client"]
    log.open_place("Movement", "Bridge", "top", "another invented client")
    assert [job.client for job in reader.jobs()] == ["another invented client"]
