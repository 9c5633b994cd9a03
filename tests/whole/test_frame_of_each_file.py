"""Each file on the card is of the frame that made it, however its announcement was delayed, doubled or dropped."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from frame_of_each_file import Quick, quick_shoot

from session.frame.states import FrameState

SPEEDS = (40, 60, 80)
"""Seconds of the camera, and of our patience with it, to a real one."""

FORMATS = ("jpeg", "raw", "raw+jpeg")

MISHAPS: dict[str, list[dict[str, object]]] = {
    "none": [],
    **{f"late {s} s": [{"name": "late_file", "seconds": s}] for s in (2.5, 10, 49)},
    **{f"announced {s} s late": [{"name": "late_file", "seconds": s, "on_card": 1}] for s in (2.5, 10, 49)},
    **{f"again after {s} s": [{"name": "announced_twice", "after_s": s}] for s in (0, 2.5, 10)},
    **{f"{kind} not announced": [{"name": "not_announced", "kind": kind}] for kind in ("jpeg", "raw", "all")},
    **{f"busy {s} s": [{"name": "busy_writing", "seconds": s}] for s in (5, 20, 49)},
    "busy and late": [{"name": "busy_writing", "seconds": 20}, {"name": "late_file", "seconds": 10}],
    "late and twice": [{"name": "late_file", "seconds": 10}, {"name": "announced_twice", "after_s": 2.5}],
    "no events": [{"name": "event_channel_lost"}],
    "two late": [{"name": "late_file", "seconds": 10, "times": 2}],
    "all late": [{"name": "late_file", "seconds": 49, "times": 3}],
    "no file": [{"name": "no_file"}],
    "renamed": [{"name": "renamed"}],
}
BY_HAND = ("renamed",)
"""After these a person is asked whose a file is."""

FRAMES_A_CASE = 3
"""The first meets the mishap; the others must not be given its files."""


@pytest.fixture(scope="module", params=[(speed, kind) for speed in SPEEDS for kind in FORMATS], ids=str)
def quick(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Quick]:
    speed, file_format = request.param
    with quick_shoot(tmp_path_factory.mktemp("quick"), speed, file_format) as quick:
        yield quick


@pytest.mark.parametrize("name", MISHAPS)
def test_each_file_on_the_card_is_of_the_frame_that_made_it(quick: Quick, name: str) -> None:
    quick.begin_case()
    for fault in MISHAPS[name]:
        quick.mock.hands("fault", **fault)
    for _ in range(FRAMES_A_CASE):
        quick.at_rest(quick.release())
    quick.all_come(by_hand=name in BY_HAND)
    made_by = quick.mock.hands("state")["made_by"]
    case, said = quick.case(), quick.told()
    assert case.by_body == (), said
    for number, state, got in case.frames:
        made = sorted(file for file, release in made_by.items() if release == number)
        assert set(got) <= set(made), f"{got} of {made}: {said}"
        if name not in BY_HAND:
            assert (state, list(got)) == (FrameState.LOGGED if made else FrameState.MISSING, made), said
