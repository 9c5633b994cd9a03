"""The check list: what is on it, and after which pause it is asked again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from session.match.check_list import GLASS, LONG_PAUSE, check_list, long_pause_after
from session.set.setup import PassiveItem, Revision

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def hours(*after: float) -> list[datetime]:
    return [NOON + timedelta(hours=one) for one in after]


def test_the_black_trap_is_asked_of_a_set_with_glass_only() -> None:
    glass = Revision(passive=(PassiveItem("plate", "pane"),))
    assert set(check_list(glass)) - set(check_list(Revision())) == {GLASS}


def test_a_set_up_has_points_of_its_own_in_its_notes() -> None:
    noted = Revision(notes="card nearer; check: cap off;Check:  hallmark, to the lens \nchecked twice; check:")
    assert check_list(noted) == (*check_list(Revision()), "cap off", "hallmark, to the lens")


@pytest.mark.parametrize(
    ("worked", "now", "pause"),
    [
        ([], 5.9, None),
        ([], 6.0, 6.0),
        ([5, 10, 15], 20, None),  # at work all the time
        ([20, 4, 5], 21, 15.0),  # a night lies between, though a frame was released since
        ([-20, -10], 3, None),  # what was before it was confirmed
        ([1], -3, None),  # of a station whose clock is fast
    ],
)
def test_a_pause_counts_from_the_confirmation_and_every_frame_since(
    worked: list[float], now: float, pause: float | None
) -> None:
    found = long_pause_after(NOON, hours(*worked), hours(now)[0])
    assert found == (timedelta(hours=pause) if pause else None)
    assert found is None or found >= LONG_PAUSE
