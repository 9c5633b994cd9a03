"""A frame under way: how many files it should have, which of them is judged, and when it is over."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.camera_messages import CardObject, Fired, SavedFile, Setting
from session.frame.ports import Place, Reference
from session.frame.states import (
    ENDED,
    FrameEvent,
    FrameState,
    ImpossibleTransitionError,
    Judging,
    JudgingEvent,
    NewFrame,
    ReleasedBy,
)
from session.rules.situation import Situation
from session.set.kit import Body, Kit, Light
from session.set.setup import PlacedLight, Revision
from session.shoot.flight import THE_REFERENCE, Flight, files_of_format

PLACE = Place("j", "p", "v", "movements", "barrel 6", "front")
BODY = Body(
    name="Wendle 16", sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000, sync_time_s=0.005
)  # fmt: skip
KIT = Kit(body=(BODY,), light=(Light(name="key", guide_number_m=32.0),))
LIT = Revision(7, 3, lights=(PlacedLight("key", -2.0),))


def flight(ambient: bool = False, number: int = 1, by: ReleasedBy = ReleasedBy.TOOL, **more: Any) -> Flight:
    return Flight(NewFrame("f-1", number, "r-1", released_by=by, ambient=ambient), PLACE, LIT, **more)


def saved(name: str, kind: str = "jpeg") -> SavedFile:
    return SavedFile(f"/pictures/{name}", kind, 1000, "ab" * 32, CardObject("/card", name, 1000))


@pytest.mark.parametrize(
    ("value", "shown", "count"),
    [
        ("jpeg", "JPEG fine", 1),
        ("raw", "RAW", 1),
        ("raw+jpeg", "RAW + L", 2),
        ("jpeg", "L + S1", 2),  # two sizes are two JPEGs
        ("raw", "RAW + L", 2),  # what isn't read as such still shows that there are two
        ("tiff?", "unheard of", 0),
        (None, "", 0),
    ],
)
def test_the_format_tells_how_many_files_a_frame_has(value: str | None, shown: str, count: int) -> None:
    assert files_of_format(Setting("file_format", value, shown)) == count


def test_a_camera_that_tells_no_format_promises_nothing() -> None:
    assert files_of_format(None) == 0


@settings(max_examples=60)
@given(st.lists(st.sampled_from(list(FrameEvent)), max_size=12))
def test_a_frame_moves_by_the_table_and_what_has_no_entry_changes_nothing(events: list[FrameEvent]) -> None:
    one = flight()
    for event in events:
        before = replace(one)
        try:
            one.move(event)
        except ImpossibleTransitionError:
            assert one == before
    assert one.facts().state is one.state


@settings(max_examples=40)
@given(st.lists(st.sampled_from(list(JudgingEvent)), max_size=8))
def test_the_checks_go_on_beside_the_frames_state(events: list[JudgingEvent]) -> None:
    one = flight()
    for event in events:
        before = one.judging
        try:
            one.move_judging(event)
        except ImpossibleTransitionError:
            assert one.judging is before
    assert one.state is FrameState.ASKED


@pytest.mark.parametrize("state", list(FrameState))
def test_a_frame_is_over_when_it_is_at_rest_or_unsure_and_no_judgement_is_on_its_way(state: FrameState) -> None:
    at_rest = state in ENDED or state is FrameState.UNCERTAIN
    assert flight(state=state).is_over is at_rest
    assert not flight(state=state, judging=Judging.WITH_THE_JUDGE).is_over


def test_facts_tell_the_frame_as_it_is_with_the_sentence_of_the_moment() -> None:
    one = flight(number=42, state=FrameState.RECEIVING, by=ReleasedBy.BODY, ambient=True)
    facts = one.facts("Saving frame 42.")
    assert (facts.frame_id, facts.number, facts.state) == ("f-1", 42, FrameState.RECEIVING)
    assert (facts.released_by, facts.text, facts.ambient) == (ReleasedBy.BODY, "Saving frame 42.", True)
    assert facts.fired is Fired.YES, "a frame whose files come has fired"
    assert flight().facts().fired is Fired.NO


# --- what is judged -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("files", "soon", "in_the_end"),
    [
        ([], None, None),
        ([saved("1.JPG")], "1.JPG", "1.JPG"),
        ([saved("1.DNG", "raw")], None, "1.DNG"),
        ([saved("1.DNG", "raw"), saved("1.JPG")], "1.JPG", "1.JPG"),
        ([saved("1.JPG"), saved("1-2.JPG")], "1.JPG", "1.JPG"),
        ([saved("1.MOV", "other")], None, None),
    ],
    ids=["nothing", "a jpeg", "a raw", "raw first", "two sizes", "something else"],
)
def test_the_jpeg_is_judged_as_soon_as_it_is_here_and_a_raw_only_when_nothing_else_comes(
    files: list[SavedFile], soon: str | None, in_the_end: str | None
) -> None:
    one = flight(files=files)
    for complete, wanted in ((False, soon), (True, in_the_end)):
        found = one.file_to_judge(complete=complete)
        assert (found.path.rpartition("/")[2] if found else None) == wanted


def test_names_of_files_are_told_once_with_those_of_before() -> None:
    one = flight(files=[saved("1.JPG"), saved("1.DNG", "raw")], saved_before=("1.JPG", "0.JPG"))
    assert one.file_names == ("1.JPG", "0.JPG", "1.DNG")


def assigned(
    reference: Reference | None, expected: Reference | None = None, kit: Kit = KIT, *, building=False, ambient=False
):
    one = flight(ambient=ambient)
    return one.assignment(saved("1.JPG"), Situation(LIT, kit), reference, expected, building=building)


def test_the_judge_gets_the_frame_with_what_the_kit_knows_of_it() -> None:
    given_ = assigned(Reference("other", 3, "/pictures/3.JPG"), building=True, ambient=True)
    assert (given_.frame_id, given_.path, given_.kind) == ("f-1", "/pictures/1.JPG", "jpeg")
    assert (given_.reference_path, given_.expected_path, given_.why_alone) == ("/pictures/3.JPG", None, "")
    assert (given_.sensor_width_mm, given_.pixels_across, given_.wholly_open_s) == (36.0, 6000, 0.005)
    assert given_.flash_used and given_.building and given_.ambient
    assert given_.asked == LIT.settings.by_name() and given_.expected_bytes == 1000
    assert set(given_.guide_numbers_m) == {"key"}


def test_a_frame_is_not_compared_with_itself() -> None:
    itself = assigned(Reference("f-1", 1, "/pictures/1.JPG"))
    assert (itself.reference_path, itself.why_alone) == (None, THE_REFERENCE)


def test_why_a_frame_stands_alone_is_said() -> None:
    first = assigned(None)
    assert first.why_alone == "set-up 07 has no reference yet; look at it enlarged"
    new_piece = assigned(None, Reference("other", 3, "/pictures/3.JPG"))
    assert new_piece.expected_path == "/pictures/3.JPG"
    assert new_piece.why_alone == "barrel 6 is new in set-up 07 and has no reference yet; look at it enlarged"


def test_an_unknown_body_leaves_its_numbers_open() -> None:
    given_ = assigned(None, kit=Kit())
    assert (given_.sensor_width_mm, given_.pixels_across, given_.wholly_open_s) == (None, None, None)
    assert given_.flash_used, "a light that the kit doesn't know is taken for a flash"
