"""The check list of a set-up: what a person looks after before the first frame, and how often it is asked.

No instrument sees these things. The list is confirmed as a whole, once for a revision and a piece, and asked again
after a long pause, in which things are moved, lamps are switched on and dust settles.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import pairwise

from session.set.setup import Revision

CHECK_LIST = (
    "piece free of dust and fingerprints",
    "stabiliser off",
    "strap tied back",
    "feet of support and stands marked",
    "cables taped",
    "black trap behind the glass",
    "modelling lamps and ambient off",
)
"""Common practice, no source."""

GLASS = "black trap behind the glass"
"""Asked of a set with a glass plate only."""

LONG_PAUSE = timedelta(hours=6)
"""Longer than a break within a day's work, shorter than a night. Chosen."""


OWN = "check:"
"""Begins a part of a set-up's notes that is a point of its own check list; parts end with a line or a semicolon."""


def check_list(revision: Revision) -> tuple[str, ...]:
    """The list of a set-up: the usual points, of which glass only with a glass plate in the set, and its own."""
    with_glass = any(item.kind == "plate" for item in revision.passive)
    usual = (item for item in CHECK_LIST if with_glass or item != GLASS)
    parts = (part.strip() for part in re.split(r"[\n;]", revision.notes))
    own = (part[len(OWN) :].strip() for part in parts if part.casefold().startswith(OWN))
    return (*usual, *(point for point in own if point))


def long_pause_after(
    confirmed_at: datetime, worked_at: Iterable[datetime], now: datetime, at_least: timedelta = LONG_PAUSE
) -> timedelta | None:
    """The last pause of at least that long after a step was confirmed; None without one. All times with zone.

    worked_at  when frames were released, or words said, in any order
    """
    if now <= confirmed_at:  # of a station whose clock is fast
        return None
    times = sorted([confirmed_at, *(at for at in worked_at if confirmed_at < at < now), now])
    pauses = [other - one for one, other in pairwise(times)]
    return next((pause for pause in reversed(pauses) if pause >= at_least), None)
