"""How far a station's clock is from the archive's server, and the sentence on it."""

from __future__ import annotations

from sqlalchemy import Connection, func, select

from session.frame.ports import Clock

TOLD_FROM_S = 2.0
"""A difference that is worth a sentence: acts of two people at two tables lie further apart. Chosen, no source."""


def ahead_s(there: Connection, clock: Clock) -> float:
    """Seconds (s) that the station's clock is before the server's; negative when it is behind.

    The server's answer is taken for the middle between asking and hearing. Source: RFC 5905, section 8 (clock offset).
    """
    asked = clock.now()
    theirs = there.scalar(select(func.clock_timestamp()))
    assert theirs is not None
    heard = clock.now()
    return float((asked - theirs + (heard - theirs)).total_seconds() / 2)


def sentence(seconds: float) -> str:
    """A sentence on a clock that is off by so many seconds, "" for one that is right."""
    if abs(seconds) < TOLD_FROM_S:
        return ""
    which = "ahead of" if seconds > 0 else "behind"
    return (
        f"This station's clock is {size(seconds)} {which} the archive's: set it right."
        " Acts keep their order all the same, but not their times."
    )


def words(seconds: float | None) -> str:
    """`, its clock 2 d ahead` for a clock that many seconds ahead, "" for one that is right or unknown."""
    if seconds is None or abs(seconds) < TOLD_FROM_S:
        return ""
    return f", its clock {size(seconds)} {'ahead' if seconds > 0 else 'behind'}"


def size(seconds: float) -> str:
    """`2 d 3 h`, `3 h 5 min`, `12 min 8 s`, `4 s`: the two largest units, without sign."""
    left, parts = round(abs(seconds)), []
    for unit, length in (("d", 86400), ("h", 3600), ("min", 60), ("s", 1)):
        count, left = divmod(left, length)
        parts.append((count, unit))
    first = next((place for place, (count, _) in enumerate(parts) if count), len(parts) - 1)
    return " ".join(f"{count} {unit}" for count, unit in parts[first : first + 2] if count) or "0 s"
