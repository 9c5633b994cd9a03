"""Searches of frames by the log's SQL, compared with the same question asked of every frame one by one in Python."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from session.frame.finding import FocusJudgement, FocusVerdict, Verdict
from session.frame.ports import LogError
from session.frame.states import FrameEvent, FrameState, ReleasedBy
from session.set.setup import Arrangement, PlacedLight, Revision
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter, FrameRecord
from tests.support.examples import examples
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import MISS, NOON, SetClock, intent, saved_file

LIGHTS = (
    PlacedLight("Key", -2.0, shaper="tube"),
    PlacedLight("rim", -4.0, shaper="Grid"),
    PlacedLight("Füllicht", 0.0),
)
PLACES = (
    ("Movements", "Bridge", "top", "Client A"),
    ("Movements", "Bridge", "three-quarter", "Client A"),
    ("movements", "Crown", "top", ""),
    ("Type trays", "Sort é", "flat", "client a"),
)
MARKS = (None, "hero", "kill", None, "select")
VERDICTS = (*FocusVerdict, None)


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LogReader]:
    """A log of thirty frames in which everything that can be asked for differs."""
    path = tmp_path_factory.mktemp("searched") / "log.sqlite"
    log = fresh_log(path, SetClock())
    for number in range(30):
        place = log.open_place(*PLACES[number % 4])
        lights = tuple(LIGHTS[n] for n in range(3) if (number >> n) % 2)
        made = Revision(
            1 + number % 3, 1 + number, lights=lights, arrangement=Arrangement(magnification=number % 5 / 2)
        )
        revision_id = log.save_revision(place, made)
        by = ReleasedBy.BODY if number % 7 == 0 else ReleasedBy.TOOL
        wish = intent(number + 1, revision_id, asked_at=NOON + timedelta(hours=number), released_by=by)
        log.begin_frame(wish, place)
        if number % 6 == 5:
            continue
        log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=NOON)
        log.frame_file(wish.frame_id, saved_file(number))
        log.move_frame(wish.frame_id, FrameEvent.ALL_SAVED)
        verdict = VERDICTS[number % len(VERDICTS)]
        if verdict is not None:
            log.frame_judged(wish.frame_id, [MISS] if number % 2 else [], FocusJudgement(verdict))
            log.move_frame(wish.frame_id, FrameEvent.JUDGED)
        log.mark(wish.frame_id, MARKS[number % 5])
    log.close()
    with closing(LogReader.open(path)) as opened:
        yield opened


def lets_through(frame: FrameRecord, wanted: FrameFilter) -> bool:
    """The filter's own words on each of its fields, asked of one frame."""
    fold = str.casefold
    lights = [
        light
        for light in frame.revision.lights
        if (not wanted.light or fold(light.name) == fold(wanted.light))
        and (not wanted.shaper or fold(light.shaper) == fold(wanted.shaper))
        and (wanted.power_ev_from is None or light.power_ev >= wanted.power_ev_from)
        and (wanted.power_ev_to is None or light.power_ev <= wanted.power_ev_to)
    ]
    of_light = wanted.light or wanted.shaper or wanted.power_ev_from is not None or wanted.power_ev_to is not None
    ratio = frame.revision.arrangement.magnification
    return all(
        (
            wanted.since is None or frame.asked_at >= wanted.since,
            wanted.until is None or frame.asked_at < wanted.until,
            not wanted.job or fold(frame.job) == fold(wanted.job),
            not wanted.client or fold(frame.client) == fold(wanted.client),
            not wanted.piece or fold(frame.piece) == fold(wanted.piece),
            not wanted.view or fold(frame.view) == fold(wanted.view),
            not of_light or bool(lights),
            wanted.verdict is None or wanted.verdict in (frame.focus_verdict, frame.verdict),
            not wanted.mark or frame.mark == wanted.mark,
            not wanted.setup or label_fits(frame.setup, wanted.setup),
            wanted.state is None or frame.state is wanted.state,
            wanted.released_by is None or frame.released_by is wanted.released_by,
            wanted.magnification_from is None or ratio >= wanted.magnification_from,
            wanted.magnification_to is None or ratio <= wanted.magnification_to,
        )
    )


def label_fits(label: str, wanted: str) -> bool:
    """`03.9` is that of `3.9` and of `3`."""
    of_frame, asked = ([int(part) for part in text.split(".")] for text in (label, wanted))
    return of_frame[: len(asked)] == asked


ONES: dict[str, st.SearchStrategy[Any]] = {
    "since": st.integers(0, 30).map(lambda n: NOON + timedelta(hours=n)),
    "until": st.integers(0, 30).map(lambda n: NOON + timedelta(hours=n)),
    "job": st.sampled_from(["MOVEMENTS", "type trays", "nobody's"]),
    "client": st.sampled_from(["CLIENT A", "client b"]),
    "piece": st.sampled_from(["bridge", "SORT É", "ring"]),
    "view": st.sampled_from(["TOP", "flat"]),
    "light": st.sampled_from(["KEY", "FÜLLICHT", "sun"]),
    "shaper": st.sampled_from(["TUBE", "grid", "umbrella"]),
    "verdict": st.sampled_from([*FocusVerdict, *Verdict]),
    "mark": st.sampled_from(["hero", "kill", "alternate"]),
    "setup": st.sampled_from(["1", "2", "01.4", "3.9"]),
    "state": st.sampled_from([FrameState.LOGGED, FrameState.RELEASING, FrameState.SAVED]),
    "released_by": st.sampled_from(list(ReleasedBy)),
    "power_ev_from": st.sampled_from([-4.0, -2.0, 0.0]),
    "power_ev_to": st.sampled_from([-4.0, -3.0, 0.0]),
    "magnification_from": st.sampled_from([0.0, 0.5, 2.0]),
    "magnification_to": st.sampled_from([0.4, 1.0]),
}
filters = st.lists(st.sampled_from(sorted(ONES)), max_size=3, unique=True).flatmap(
    lambda names: st.fixed_dictionaries({name: ONES[name] for name in names}).map(lambda told: FrameFilter(**told))
)


@settings(max_examples=examples(60), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(wanted=filters, newest_first=st.booleans(), limit=st.none() | st.integers(1, 8))
def test_a_search_finds_what_asking_each_frame_finds(
    reader: LogReader, wanted: FrameFilter, newest_first: bool, limit: int | None
) -> None:
    every = list(reader.records())
    expected = [frame for frame in every if lets_through(frame, wanted)]
    found = list(reader.frames(wanted, newest_first=newest_first, limit=limit))
    assert {frame.frame_id for frame in found} <= {frame.frame_id for frame in expected}
    assert len(found) == min(len(expected), limit or len(expected))
    if newest_first:
        times = [frame.asked_at for frame in found]
        assert times == sorted(times, reverse=True)
        assert [frame.frame_id for frame in found] == [
            frame.frame_id for frame in sorted(expected, key=lambda one: one.asked_at, reverse=True)[: len(found)]
        ]


def test_without_a_filter_everything_is_found(reader: LogReader) -> None:
    assert len(list(reader.frames())) == 30


def test_a_label_that_is_none_is_refused(reader: LogReader) -> None:
    with pytest.raises(LogError, match=r"^A set-up is written like 07\.3 or 7, not 'seven'\.$"):
        list(reader.frames(FrameFilter(setup="seven")))


def test_the_log_lies_where_it_was_made(tmp_path: Path) -> None:
    assert not list(tmp_path.iterdir())
