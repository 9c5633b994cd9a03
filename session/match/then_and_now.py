"""Which frames of a set-up are those of then, and which those of the reshoot that is going on now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from session.frame.states import Mark
from session.match.set_measure import LitPictures
from session.match.solo_series import SeriesFrame, same_light
from session.set.setup import Revision

PAUSE = timedelta(hours=12)
"""Frames of one set-up that lie farther apart belong to two times: no day at the table has such a pause. Chosen."""

STRUCK = timedelta(days=5)
"""A pause from which on a set is taken to have been struck: frames before and after are of two sets, and a word said
before settles nothing. Longer than a long weekend, over which a set may stand. Chosen."""


def then_and_now(
    revision: Revision, reference: SeriesFrame, frames: Iterable[SeriesFrame], begun_at: datetime | None = None
) -> tuple[LitPictures, LitPictures]:
    """The pictures of before, and those shot since the last long pause after the reference; none without a pause.

    frames    of the set-up and the view, in any order
    begun_at  when the reshoot was begun, where that is known: frames before a long pause until then are not of now;
              without a long pause frames count as of now from then on

    Solos of before are those of the day nearest to the reference, of the same set and the revision's light, and of that
    day the newest: an earlier one was shot again. So another day of the reshoot is compared with what stood then, not
    with the day before.
    """
    usable = sorted((one for one in frames if one.path and one.mark != Mark.KILL), key=lambda one: one.asked_at)
    moments = sorted([*(one.asked_at for one in usable), *([begun_at] if begun_at else [])])
    pairs = reversed(list(pairwise(moments)))
    first_of_now = next((after for before, after in pairs if after - before > PAUSE), None)
    if first_of_now is None or first_of_now <= reference.asked_at:
        first_of_now = begun_at or (usable[-1].asked_at + PAUSE if usable else reference.asked_at)
    then = [one for one in _of_the_set(usable, reference) if one.asked_at < first_of_now]
    then = [one for one in then if same_light(one.revision, revision)]
    then = [one for day in _days_to(reference, then) for one in day]
    now = [one for one in usable if one.asked_at >= first_of_now]
    whole = [one for one in now if not one.solo and not one.ambient]
    return _pictures(then, reference), _pictures(now, whole[-1] if whole else None)


def begun_since(
    begun_at: datetime | None, said_at: Iterable[datetime], worked_at: Iterable[datetime]
) -> datetime | None:
    """When the reshoot was begun: at the first word on its steps that no long pause parts from its going on.

    begun_at   when the program was opened for it last; None: not now
    said_at    when words were said on its steps; `worked_at` when frames were released
    """
    said = set(said_at)
    last_at = begun_at or max(said, default=None)
    if last_at is None:
        return None
    times = sorted({*said, *(at for at in worked_at if at < last_at), last_at})
    struck = [after for before, after in pairwise(times) if after - before > PAUSE]
    since = max((at for at in struck if at <= last_at), default=times[0])
    return min(at for at in (*said, last_at) if at >= since)


def _of_the_set(frames: Sequence[SeriesFrame], reference: SeriesFrame) -> list[SeriesFrame]:
    """The frames that no pause in which a set is struck parts from the reference."""
    at = reference.asked_at
    times = sorted({at, *(one.asked_at for one in frames)})
    struck = [(before, after) for before, after in pairwise(times) if after - before > STRUCK]
    since = max((after for _, after in struck if after <= at), default=times[0])
    until = min((before for before, _ in struck if before >= at), default=times[-1])
    return [one for one in frames if since <= one.asked_at <= until]


def _days_to(reference: SeriesFrame, frames: Sequence[SeriesFrame]) -> list[list[SeriesFrame]]:
    """The frames by days, which long pauses part: the day nearest to the reference last, of a day the newest last."""
    days: list[list[SeriesFrame]] = []
    for one in sorted(frames, key=lambda one: one.asked_at):
        if days and one.asked_at - days[-1][-1].asked_at <= PAUSE:
            days[-1].append(one)
        else:
            days.append([one])
    return sorted(days, key=lambda day: min(abs(one.asked_at - reference.asked_at) for one in day), reverse=True)


def _pictures(frames: Sequence[SeriesFrame], together: SeriesFrame | None) -> LitPictures:
    """The last solo of each light in the list, and the last of ambient alone."""
    solos = {one.solo: one.path for one in frames if one.solo and one.path}
    ambient = next((one.path for one in reversed(frames) if one.ambient and one.path), None)
    return LitPictures(together.path if together else None, solos, ambient)
