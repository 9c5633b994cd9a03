"""Which frames of a set-up are of then, and which of the reshoot."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from session.match.set_measure import LitPictures
from session.match.solo_series import SeriesFrame
from session.match.then_and_now import begun_since, then_and_now
from session.set.setup import PlacedLight, Revision

SET = Revision(lights=(PlacedLight("key", -2.0), PlacedLight("fill", -4.0)))
MARCH, JULY = datetime(2026, 3, 12, 9, tzinfo=UTC), datetime(2026, 7, 2, 9, tzinfo=UTC)


def frame(number: int, day: datetime, **values: Any) -> SeriesFrame:
    whole: dict[str, Any] = {"revision": SET, "path": f"/{number}.jpg"}
    return SeriesFrame(f"f{number}", number, day + timedelta(minutes=number), **(whole | values))


OLD = (frame(1, MARCH), frame(2, MARCH, solo="key"), frame(3, MARCH, ambient=True))


def test_frames_after_a_long_pause_are_the_reshoots() -> None:
    new = (frame(4, JULY), frame(5, JULY, solo="fill"), frame(6, JULY))
    then, now = then_and_now(SET, OLD[0], (*OLD, *new))
    assert then == LitPictures("/1.jpg", {"key": "/2.jpg"}, "/3.jpg")
    assert now == LitPictures("/6.jpg", {"fill": "/5.jpg"}, None)


def test_a_reshoot_goes_on_since_the_first_word_on_its_steps_that_no_long_pause_parts_from_now() -> None:
    assert begun_since(None, (), ()) is None
    assert begun_since(JULY, (), (MARCH,)) == JULY
    words = [JULY + timedelta(minutes=minutes) for minutes in (5, 9)]
    reopened = JULY + timedelta(hours=3)
    assert begun_since(reopened, words, (JULY + timedelta(minutes=30),)) == words[0], "killed and opened again"
    assert begun_since(None, words, ()) == words[0]
    night = JULY + timedelta(hours=20)
    assert begun_since(night, words, (JULY + timedelta(minutes=30),)) == night, "a long pause lies between"
    bridged = [JULY + timedelta(hours=hours) for hours in (8, 16)]
    assert begun_since(night, words, bridged) == words[0]


def test_without_a_pause_since_the_reference_nothing_is_of_now() -> None:
    assert then_and_now(SET, OLD[0], OLD)[1] == LitPictures()
    earlier = frame(9, MARCH - timedelta(days=3))
    assert then_and_now(SET, OLD[0], (earlier, *OLD))[1] == LitPictures()


def test_without_a_pause_the_frames_since_the_reshoot_was_begun_are_of_now() -> None:
    later = frame(4, MARCH + timedelta(hours=2))
    then, now = then_and_now(SET, OLD[0], (*OLD, later), MARCH + timedelta(hours=1))
    assert then.solos and now == LitPictures(later.path)


def test_the_second_day_of_a_reshoot_is_compared_with_what_stood_then() -> None:
    second = JULY + timedelta(days=1)
    first_day = (frame(4, JULY, solo="key"), frame(5, JULY, solo="fill"), frame(6, JULY, ambient=True))
    second_day = (frame(7, second, solo="key"), frame(8, second, solo="fill"), frame(9, second))
    then, now = then_and_now(SET, OLD[0], (*OLD, *first_day, *second_day), second)
    assert then == LitPictures("/1.jpg", {"key": "/2.jpg"}, "/3.jpg")  # and no fill: of July alone
    assert now == LitPictures("/9.jpg", {"key": "/7.jpg", "fill": "/8.jpg"})


def test_solos_of_the_days_about_the_reference_are_of_then_the_nearest_first() -> None:
    around = [frame(5, MARCH + timedelta(days=days), solo="key", path=f"/{days}.jpg") for days in (-2, 1, 2)]
    then, _ = then_and_now(SET, OLD[0], (OLD[0], *around, frame(6, JULY)))
    assert then.solos == {"key": "/1.jpg"}


def test_a_solo_of_then_that_was_shot_again_that_day_counts_no_more() -> None:
    again = frame(8, MARCH, solo="key")
    other_light = frame(9, MARCH, solo="key", revision=replace(SET, lights=SET.lights[:1]))
    then, _ = then_and_now(SET, OLD[0], (*OLD, again, other_light, frame(10, JULY)))
    assert then.solos == {"key": "/8.jpg"}


def test_frames_of_months_ago_are_not_of_the_set_that_stands_now() -> None:
    next_day = frame(4, MARCH + timedelta(days=1))
    assert then_and_now(SET, OLD[0], (*OLD, next_day), JULY)[1] == LitPictures()
    new = frame(5, JULY)
    assert then_and_now(SET, OLD[0], (*OLD, next_day, new), JULY)[1] == LitPictures(new.path)


def test_killed_frames_frames_without_a_picture_and_solos_of_other_light_are_left_out() -> None:
    brighter = replace(SET, lights=(PlacedLight("key", -1.0), SET.lights[1]))
    odd = (frame(4, MARCH, solo="fill", revision=brighter), frame(5, JULY, mark="kill"), frame(6, JULY, path=None))
    then, now = then_and_now(SET, OLD[0], (*OLD, *odd))
    assert (then.solos, now) == ({"key": "/2.jpg"}, LitPictures())
