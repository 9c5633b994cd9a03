"""The order of plans without cliffs: what fails counts in full stops, not in the last tenth of one.

Plans whose totals of what fails lie within `TOLERANCE_EV` of the least are equal in it, and the later points decide.
One that is at least as good in every later point, and better in one, then never stands behind another for the sake of
less than the tolerance: where the one that was chosen so has such a rival just outside, the rival goes first.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from heapq import heappop, heappush

Rank = tuple[float, ...]
"""What fails, EV, then the later points; less is better in each."""

TOLERANCE_EV = 0.1
"""A fifteenth less light, or 3 % less of a length: less than hands and eyes set anything to. Chosen."""


def first_of_each(ranks: Sequence[Rank], groups: Sequence[Hashable]) -> Iterator[int]:
    """Places in `ranks`, best first: the best member of every group.

    ranks, groups  (n,) each: the rank of a candidate, and whose candidate it is
    """
    by_total = sorted(range(len(ranks)), key=lambda place: ranks[place])
    within: list[tuple[Rank, float, int]] = []
    done: set[Hashable] = set()
    first = reached = 0
    while first < len(by_total):
        if groups[by_total[first]] in done:
            first += 1
            continue
        most_ev = ranks[by_total[first]][0] + TOLERANCE_EV
        while reached < len(by_total) and ranks[by_total[reached]][0] <= most_ev:
            heappush(within, _later_points_first(by_total[reached], ranks))
            reached += 1
        *_, chosen = heappop(within)
        if groups[chosen] in done:
            continue
        rival = _rival_of(chosen, ranks, groups, by_total[reached:], done)
        if groups[rival] != groups[chosen]:
            heappush(within, _later_points_first(chosen, ranks))
        chosen = rival
        done.add(groups[chosen])
        yield chosen


def better_in_every_later_point(one: Rank, other: Rank) -> bool:
    """At least as good in each point after the total, and better in one."""
    pairs = list(zip(one[1:], other[1:], strict=True))
    return all(mine <= its for mine, its in pairs) and any(mine < its for mine, its in pairs)


def decides(better: Rank, worse: Rank) -> int | None:
    """Place of the first point by which the better rank precedes the worse; None for equal ranks."""
    if better[0] < worse[0] - TOLERANCE_EV or (better[1:] >= worse[1:] and better[0] < worse[0]):
        return 0
    return next((place for place in range(1, len(better)) if better[place] < worse[place]), None)


def _later_points_first(place: int, ranks: Sequence[Rank]) -> tuple[Rank, float, int]:
    """The key of a candidate among those whose totals count as equal: alike in all later points, the total decides."""
    return ranks[place][1:], ranks[place][0], place


def _rival_of(
    chosen: int, ranks: Sequence[Rank], groups: Sequence[Hashable], beyond: Sequence[int], done: set[Hashable]
) -> int:
    """The candidate itself, or the one beyond the tolerance that it mustn't stand before."""
    while True:
        rivals = []
        for place in beyond:
            if ranks[place][0] >= ranks[chosen][0] + TOLERANCE_EV:
                break
            if groups[place] not in done and better_in_every_later_point(ranks[place], ranks[chosen]):
                rivals.append(place)
        if not rivals:
            return chosen
        chosen = min(rivals, key=lambda place: ranks[place][1:])
