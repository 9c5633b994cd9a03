"""The filter that options make: verdicts by word, days that begin and end here, and times as they were typed."""

import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

import click
import pytest

from session.frame.finding import FocusVerdict, Verdict
from session.frame.states import FrameState, ReleasedBy
from storage.reading.views import FrameFilter
from tui.commands.filters import VERDICTS, end_moment, frame_filter, moment

NOTHING = {
    "verdict": None, "state": None, "released_by": None, "since": None, "until": None, "mark": None,
}  # fmt: skip


@pytest.fixture
def zurich(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A place whose clocks change in spring and autumn."""
    monkeypatch.setenv("TZ", "Europe/Zurich")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def test_without_options_nothing_is_narrowed() -> None:
    assert frame_filter(**NOTHING) == FrameFilter()


@pytest.mark.parametrize("word", VERDICTS)
def test_each_word_for_a_verdict_is_one_of_the_focus_or_of_the_frame(word: str) -> None:
    found = frame_filter(**{**NOTHING, "verdict": word}).verdict
    kinds = {"clean": Verdict.CLEAN, "flaw": Verdict.FLAWED}
    assert found == kinds.get(word) if word in kinds else found == FocusVerdict(word)


def test_options_go_into_the_filter_by_their_names() -> None:
    wanted = {
        **NOTHING,
        "mark": "hero",
        "state": "saved",
        "released_by": "body",
        "piece": "ring",
        "power_ev_from": -2.0,
    }
    found = frame_filter(**wanted)
    assert (found.mark, found.state, found.released_by) == ("hero", FrameState.SAVED, ReleasedBy.BODY)
    assert (found.piece, found.power_ev_from, found.power_ev_to) == ("ring", -2.0, None)


@pytest.mark.usefixtures("zurich")
@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("2031-05-06", datetime(2031, 5, 5, 22, tzinfo=UTC)),
        ("2031-12-06", datetime(2031, 12, 5, 23, tzinfo=UTC)),
        ("2031-05-06T14:30", datetime(2031, 5, 6, 12, 30, tzinfo=UTC)),
        ("2031-05-06T14:30+00:00", datetime(2031, 5, 6, 14, 30, tzinfo=UTC)),
        ("2031-05-06T00:00+00:00", datetime(2031, 5, 6, tzinfo=UTC)),
    ],
)
def test_a_day_begins_here_and_a_time_has_its_own_zone_or_ours(text: str, at: datetime) -> None:
    assert moment(text) == at


@pytest.mark.usefixtures("zurich")
@pytest.mark.parametrize(
    ("day", "hours"),
    [("2031-05-06", 24), ("2031-03-30", 23), ("2031-10-26", 25), ("2031-12-31", 24), ("2032-02-29", 24)],
)
def test_a_day_is_as_long_as_its_clocks_make_it(day: str, hours: int) -> None:
    begins, ends = moment(day), end_moment(day)
    assert begins is not None
    assert ends is not None
    assert ends - begins == timedelta(hours=hours)
    tomorrow = (datetime.fromisoformat(day) + timedelta(days=1)).date().isoformat()
    assert ends == moment(tomorrow)


@pytest.mark.usefixtures("zurich")
@pytest.mark.parametrize("text", ["2031-05-06T14:30", "2031-05-06T00:00", "2031-05-06 14:30+05:00"])
def test_until_a_time_ends_at_that_time(text: str) -> None:
    assert end_moment(text) == moment(text)


@pytest.mark.parametrize(
    "text", ["", "today", "6.5.2031", "2031-13-01", "2031-02-29", "2031-05-06T25:00", "0000-01-01"]
)
def test_what_is_no_date_is_refused_with_how_one_is_written(text: str) -> None:
    for read in (moment, end_moment):
        with pytest.raises(click.BadParameter, match=r"a date is written like 2031-05-06, not ") as refused:
            read(text)
        assert repr(text) in str(refused.value)


def test_no_date_is_no_bound() -> None:
    assert (moment(None), end_moment(None)) == (None, None)


@pytest.mark.usefixtures("zurich")
@pytest.mark.parametrize(("read", "text"), [(moment, "0001-01-01"), (end_moment, "9999-12-31")])
def test_a_day_at_either_end_of_all_years_is_a_day_or_refused(
    read: Callable[[str], datetime | None], text: str
) -> None:
    try:
        assert read(text) is not None
    except click.BadParameter as error:
        assert repr(text) in str(error)
