"""A frame's facts are one value, and whatever holds them reads as they do."""

from __future__ import annotations

from dataclasses import dataclass, fields

import pytest

from session.frame.camera_messages import Fired
from session.frame.frame_facts import AboutFrame, FrameFacts
from session.frame.states import FrameState, ReleasedBy

FACTS = FrameFacts("f-1", 42, FrameState.MISSING, ReleasedBy.BODY, Fired.YES, "Frame 42 fired, not saved.", True)


@dataclass(frozen=True)
class Line(AboutFrame):
    """Something that is told of a frame."""

    facts: FrameFacts


@pytest.mark.parametrize("name", [field.name for field in fields(FrameFacts)])
def test_every_fact_is_read_from_whatever_holds_it(name: str) -> None:
    assert getattr(Line(FACTS), name) == getattr(FACTS, name)


def test_a_frame_of_which_little_is_known_was_released_here_and_has_not_fired() -> None:
    bare = FrameFacts("f-2", 1, FrameState.ASKED)
    assert (bare.released_by, bare.fired, bare.text, bare.ambient) == (ReleasedBy.TOOL, Fired.NO, "", False)


def test_facts_are_a_value() -> None:
    again = FrameFacts("f-1", 42, FrameState.MISSING, ReleasedBy.BODY, Fired.YES, "Frame 42 fired, not saved.", True)
    assert again == FACTS and hash(again) == hash(FACTS)
    with pytest.raises(AttributeError):
        FACTS.number = 43  # type: ignore[misc]
