"""The table of a frame's states is the only door: what goes through it, and that nothing goes past it."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.states import (
    AWAITING,
    ENDED,
    JUDGING,
    TRANSITIONS,
    UNSETTLED,
    Awaiting,
    AwaitingEvent,
    FrameEvent,
    FrameState,
    ImpossibleTransitionError,
    Intent,
    Judging,
    JudgingEvent,
    LoggedFrame,
    ReleasedBy,
    next_awaiting,
    next_judging,
    next_state,
)
from session.shoot.reconcile import Complete, FetchObjects, Missing, NotFired, Unsure, moves, plan
from tests.support.examples import examples
from tests.support.left_frames import left, on_card, on_disk

ROOT = Path(__file__).parents[3]


def test_an_event_without_an_entry_raises_and_every_state_can_be_reached_and_left() -> None:
    for state in FrameState:
        for event in FrameEvent:
            if (state, event) not in TRANSITIONS:
                with pytest.raises(ImpossibleTransitionError):
                    next_state(state, event)
    reached = {FrameState.ASKED} | set(TRANSITIONS.values())
    assert reached == set(FrameState)
    left_states = {state for state, _ in TRANSITIONS}
    assert set(FrameState) - left_states == ENDED - {FrameState.MISSING}


def test_a_frame_is_judged_once_and_only_after_it_was_sent() -> None:
    for judging in Judging:
        for event in JudgingEvent:
            if (judging, event) not in JUDGING:
                with pytest.raises(ImpossibleTransitionError):
                    next_judging(judging, event)
    assert JUDGING[Judging.WITH_THE_JUDGE, JudgingEvent.ANSWERED] is Judging.JUDGED


def test_a_file_is_waited_for_until_it_is_given_up_or_settled_and_one_in_vain_may_come_yet() -> None:
    for awaiting in Awaiting:
        for event in AwaitingEvent:
            if (awaiting, event) not in AWAITING:
                with pytest.raises(ImpossibleTransitionError):
                    next_awaiting(awaiting, event)
    assert set(AWAITING.values()) == set(Awaiting) == {awaiting for awaiting, _ in AWAITING}
    assert AWAITING[Awaiting.IN_VAIN, AwaitingEvent.CAME] is Awaiting.SETTLED


@pytest.mark.parametrize("released_by", list(ReleasedBy))
def test_the_log_begins_a_frame_in_a_state_that_the_table_leads_to(released_by: ReleasedBy) -> None:
    at = left(1, FrameState.RELEASING).intent.asked_at
    assert Intent("1", 1, "r", "s", "/p", "0001", at, released_by=released_by).state is FrameState.RELEASING


# --- nothing goes past the table ------------------------------------------------------------------


@cache
def programs() -> tuple[tuple[str, ast.Module], ...]:
    """Each module of session and storage but the table's own, by its path."""
    paths = [path for folder in ("session", "storage") for path in sorted((ROOT / folder).rglob("*.py"))]
    paths.remove(ROOT / "session" / "frame" / "states.py")
    return tuple((str(path.relative_to(ROOT)), ast.parse(path.read_text(encoding="utf-8"))) for path in paths)


def is_member(node: ast.AST, enum: str) -> bool:
    return isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == enum


def members(enum: str) -> set[str]:
    """Members of the enumeration that the program names."""
    nodes = (node for _, module in programs() for node in ast.walk(module))
    return {node.attr for node in nodes if isinstance(node, ast.Attribute) and is_member(node, enum)}


def test_every_event_has_a_caller() -> None:
    named = members("FrameEvent")
    in_the_table = {event for _, event in TRANSITIONS}
    assert named | {"DUE", "RELEASED_ON_CAMERA"} == {event.name for event in FrameEvent}
    assert {"DUE", "RELEASED_ON_CAMERA"} <= named, "not only the state in which the log begins a frame"
    assert in_the_table == set(FrameEvent)


def test_every_event_of_the_judging_has_a_caller() -> None:
    named = members("JudgingEvent")
    assert named == {event.name for event in JudgingEvent}


def test_every_event_of_the_waiting_for_a_late_file_has_a_caller() -> None:
    named = members("AwaitingEvent")
    assert named == {event.name for event in AwaitingEvent}


def test_a_state_is_written_by_the_table_alone() -> None:
    """Elsewhere states are only compared with: given to a call, assigned or returned they would be a second door."""
    wrong = []
    for path, module in programs():
        for node in ast.walk(module):
            match node:
                case ast.Call(args=args, keywords=keywords):
                    given_states = [
                        one for one in (*args, *(k.value for k in keywords)) if is_member(one, "FrameState")
                    ]
                    wrong += [f"{path}:{node.lineno} gives a state to a call" for _ in given_states]
                case ast.Assign(targets=[ast.Attribute(attr="state")]) if path != "session/shoot/flight.py":
                    wrong.append(f"{path}:{node.lineno} assigns a state")
                case ast.Return(value=ast.Attribute() as value) if is_member(value, "FrameState"):
                    wrong.append(f"{path}:{node.lineno} returns a state")
    assert wrong == []


def test_the_log_changes_a_state_in_one_statement() -> None:
    writing = [
        f"{path}:{keyword.value.lineno}"
        for path, module in programs()
        for node in ast.walk(module)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "values"
        for keyword in node.keywords
        if keyword.arg == "state"
    ]
    assert len(writing) == 1 and writing[0].startswith("storage/writing/frames.py")


# --- what is planned after a loss -----------------------------------------------------------------


@st.composite
def left_frame(draw: st.DrawFn, number: int) -> tuple[LoggedFrame, list[SavedFile], list[CardObject]]:
    """A frame as any log may hold it, also one of before the table was the only door, with its files."""
    state = draw(st.sampled_from(sorted(UNSETTLED)))
    kinds = draw(st.sampled_from([(), ("JPG",), ("JPG", "DNG")]))
    objects = [on_card(number, kind) for kind in kinds]
    copies = [on_disk(number, kind) for kind in draw(st.sets(st.sampled_from(kinds)) if kinds else st.just(set()))]
    saved = draw(st.integers(0, len(objects)))
    names = tuple(on_disk(number, kind).path.rpartition("/")[2] for kind in kinds[:saved])
    frame = left(
        number,
        state,
        fired=draw(st.sampled_from(list(Fired))),
        sought=draw(st.booleans()),
        expected=tuple(draw(st.permutations(objects[saved:]))) if draw(st.booleans()) else (),
        saved=names,
        saved_objects=tuple(objects[:saved]),
        expected_files=draw(st.integers(0, 2)),
    )
    return frame, copies, objects if draw(st.booleans()) else objects[:1]


@settings(max_examples=examples(300))
@given(data=st.data(), strange_card=st.booleans())
def test_every_step_that_can_be_planned_is_an_entry_of_the_table(data: st.DataObject, strange_card: bool) -> None:
    found = [data.draw(left_frame(number)) for number in range(1, data.draw(st.integers(1, 4)) + 1)]
    frames = [frame for frame, _, _ in found]
    disk = {frame.frame_id: copies for frame, copies, _ in found}
    card = [card_object for _, _, objects in found for card_object in objects]
    known = frozenset(data.draw(st.sets(st.sampled_from(card)) if card else st.just(set())))
    late = data.draw(st.sets(st.sampled_from([frame.frame_id for frame in frames])))
    ends = {
        Complete: FrameState.SAVED,
        FetchObjects: FrameState.RECEIVING,
        NotFired: FrameState.NOT_FIRED,
        Missing: FrameState.MISSING,
        Unsure: FrameState.UNCERTAIN,
    }
    state_of = {frame.frame_id: frame.state for frame in frames}
    for step in plan(frames, disk, card, known, strange_card, late):
        if type(step) in ends:
            for event in moves(step, state_of[step.frame_id]):
                state_of[step.frame_id] = next_state(state_of[step.frame_id], event)
            assert state_of[step.frame_id] is ends[type(step)]
