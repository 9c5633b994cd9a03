"""Each field of the filter narrows a search as it says, in the log's own SQL."""

from __future__ import annotations

from datetime import timedelta

import pytest

from session.frame.finding import FocusVerdict, Verdict
from session.frame.ports import LogError
from session.frame.states import FrameState, ReleasedBy
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from tests.support.log_samples import NOON


@pytest.mark.parametrize(
    ("wanted", "numbers"),
    [
        (FrameFilter(), [1, 2, 3, 4, 1]),
        (FrameFilter(job="MOVEMENT"), [1, 2, 3, 4]),
        (FrameFilter(job="Move"), []),
        (FrameFilter(client="uhren müller"), [1, 2, 3, 4]),
        (FrameFilter(piece="wheel"), [4]),
        (FrameFilter(view="top"), [4, 1]),
        (FrameFilter(light="KEY"), [1, 4]),
        (FrameFilter(light="rim", shaper="grid"), [2, 3]),
        (FrameFilter(light="rim", shaper="tube"), []),
        (FrameFilter(shaper="tube"), [1, 4]),
        (FrameFilter(verdict=FocusVerdict.SHARP), [2]),
        (FrameFilter(verdict=FocusVerdict.MISSED), [1, 4, 1]),
        (FrameFilter(verdict=Verdict.FLAWED), [2]),
        (FrameFilter(mark="hero"), [2]),
        (FrameFilter(setup="1"), [1, 2, 3, 4, 1]),
        (FrameFilter(setup="01.2"), [2, 3]),
        (FrameFilter(state=FrameState.MISSING), [3]),
        (FrameFilter(released_by=ReleasedBy.BODY), [3]),
        (FrameFilter(since=NOON + timedelta(days=1)), [2, 3, 4, 1]),
        (FrameFilter(until=NOON + timedelta(days=1)), [1]),
        (FrameFilter(since=NOON + timedelta(days=1), until=NOON + timedelta(days=2)), [2]),
        (FrameFilter(text="über THE"), [2]),
        (FrameFilter(text="100%"), [2]),
        (FrameFilter(text="bri*"), [1, 2, 3]),
        (FrameFilter(text="ridge"), []),
        (FrameFilter(text='"engraved letters"'), [1, 2, 3, 4]),
        (FrameFilter(text='"engraved lett"'), []),
        (FrameFilter(text='"letters engraved"'), []),
        (FrameFilter(text="screw rim grid movement"), [2]),
        (FrameFilter(text="uber muller"), [2]),
        (FrameFilter(text="%"), []),
        (FrameFilter(power_ev_from=-2.5, power_ev_to=-1.5), [1, 4]),
        (FrameFilter(power_ev_to=-2.5), [1, 2, 3, 4]),
        (FrameFilter(light="key", power_ev_to=-2.5), []),
        (FrameFilter(magnification_from=0.6, magnification_to=0.71), [1, 2, 3, 4]),
        (FrameFilter(magnification_to=0.5), [1]),
        (FrameFilter(text="KÄLTER"), [2, 3]),
        (FrameFilter(text="bridge"), [1, 2, 3]),
        (FrameFilter(text="müller"), [1, 2, 3, 4]),
        (FrameFilter(text="band is"), [4]),
        (FrameFilter(text="cable to"), [1, 4]),
        (FrameFilter(text="engraved"), [1, 2, 3, 4]),
        (FrameFilter(text="white CARD"), [1, 4]),
        (FrameFilter(text="x' OR '1'='1"), []),
        (FrameFilter(text="über", job="Movement", mark="hero", light="rim"), [2]),
    ],
)
def test_each_field_of_the_filter_narrows(shoot: LogReader, wanted: FrameFilter, numbers: list[int]) -> None:
    assert [frame.number for frame in shoot.frames(wanted)] == numbers
    assert [frame.number for frame in shoot.records(wanted)] == numbers


@pytest.mark.parametrize("setup", ["seven", "7.", "-1"])
def test_label_that_is_none_is_told(shoot: LogReader, setup: str) -> None:
    with pytest.raises(LogError, match="A set-up is written like"):
        list(shoot.frames(FrameFilter(setup=setup)))


def test_naive_time_in_a_filter_is_told(shoot: LogReader) -> None:
    with pytest.raises(LogError, match="must carry its zone"):
        list(shoot.frames(FrameFilter(since=NOON.replace(tzinfo=None))))
