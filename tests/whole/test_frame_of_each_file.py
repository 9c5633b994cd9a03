"""Each file on the card is of the frame that made it, however its announcement was delayed, doubled or dropped."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack

import pytest

from session.frame.states import FrameState
from tests.support.frame_of_each_file import Quick, quick_shoot

Shoots = Callable[[Callable[[Quick], None]], object]
"""Does something with each of several shoots, beside each other."""

SPEEDS = (8, 12, 20)
"""Seconds of the camera, and of our patience with it, to a real one. At 20 the shortest patience that decides whose a
file is lasts 0.1 s; at 80 a busy machine stalled for longer, and the camera was rightly given up."""

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
    **{f"copies on a second card after {s} s": [{"name": "second_card", "after_s": s}] for s in (0, 10)},
    "copy of a broken file": [{"name": "truncated_file", "times": 3}, {"name": "second_card"}],
    "more on a second card": [{"name": "second_card", "holds": "another"}],
}
BY_HAND = ("renamed",)
"""After these a person is asked whose a file is."""
MORE = "more on a second card"
"""After this one nothing is released before a person has looked."""
COPIES = tuple(name for name in MISHAPS if name.startswith("cop"))
"""These stop no shoot."""

FRAMES_A_CASE = 3
"""The first meets the mishap; the others must not be given its files."""


@pytest.fixture(scope="module", params=SPEEDS)
def shoots(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shoots]:
    """A shoot for each format, beside each other: nearly all of a case is the camera's own waiting."""
    with ExitStack() as stack, ThreadPoolExecutor(len(FORMATS)) as threads:
        folder = tmp_path_factory.mktemp("quick")
        opened = [stack.enter_context(quick_shoot(folder / of, request.param, of)) for of in FORMATS]
        yield lambda do: list(threads.map(do, opened))


@pytest.mark.parametrize("name", MISHAPS)
def test_each_file_on_the_card_is_of_the_frame_that_made_it(shoots: Shoots, name: str) -> None:
    shoots(lambda quick: is_one_to_one(quick, name))


def is_one_to_one(quick: Quick, name: str) -> None:
    quick.begin_case()
    for fault in MISHAPS[name]:
        quick.mock.hands("fault", **fault)
    for _ in range(FRAMES_A_CASE):
        quick.at_rest(quick.release())
    quick.all_come(by_hand=name in BY_HAND)
    made_by = quick.mock.hands("state")["made_by"]
    case, said = quick.case(), quick.told()
    assert case.by_body == (), said
    assert quick.was_halted or name != MORE, said
    assert not quick.was_halted or name not in COPIES, said
    assert len(quick.arrived) == len(set(quick.arrived)), f"fetched twice: {said}"
    for number, state, got in case.frames:
        made = sorted(file for file, release in made_by.items() if release == number)
        assert set(got) <= set(made), f"{got} of {made}: {said}"
        if name not in BY_HAND:
            assert (state, list(got)) == (FrameState.LOGGED if made else FrameState.MISSING, made), said
