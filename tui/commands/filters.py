"""Options of `stillset log` that narrow the search, and the filter that the options make."""

from __future__ import annotations

from contextlib import suppress
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import click

from session.frame.finding import FocusVerdict, Verdict
from session.frame.states import FrameState, Mark, ReleasedBy
from tui.shell.choices import Label
from tui.shell.options import quantity

if TYPE_CHECKING:
    from storage.reading.views import FrameFilter

FLAWS = {"clean": Verdict.CLEAN, "flaw": Verdict.FLAWED}
VERDICTS = (*(verdict.value for verdict in FocusVerdict), *FLAWS)

_TIMES = (
    click.option("--since", default=None, metavar="DATE", help="Asked for on or after, like 2031-05-06."),
    click.option("--until", default=None, metavar="DATE", help="Asked for on or before."),
)

_FILTERS = (
    click.option(
        "--text",
        default="",
        help="Words (or their beginnings) and phrases in quotes: in notes, names, lights, reasons of overrulings.",
    ),
    click.option("--job", default=""),
    click.option("--client", default=""),
    click.option("--piece", default=""),
    click.option("--view", default=""),
    click.option("--light", default="", help="With this light in the set."),
    click.option("--shaper", default="", help="With this shaper in the set."),
    quantity("power_ev", "A light at this power or more, 0 = full.", end="from"),
    quantity("power_ev", "A light at this power or less, -2 = quarter.", end="to"),
    quantity("magnification", "Image / piece, from here, like 0.5.", end="from"),
    quantity("magnification", "Image / piece, up to here.", end="to"),
    click.option("--verdict", type=click.Choice(VERDICTS), default=None, help="Of the focus, or with a flaw or none."),
    click.option("--mark", type=click.Choice([mark.value for mark in Mark]), default=None),
    click.option("--setup", type=Label(), default="", metavar="07[.3]"),
    click.option("--state", type=click.Choice([state.value for state in FrameState]), default=None),
    click.option("--released-by", type=click.Choice([by.value for by in ReleasedBy]), default=None),
)


def frame_filters(function: Any) -> Any:
    """All options that narrow a search for frames."""
    for option in reversed(_FILTERS):
        function = option(function)
    return time_filters(function)


def time_filters(function: Any) -> Any:
    """Since when and until when."""
    for option in reversed(_TIMES):
        function = option(function)
    return function


def frame_filter(**wanted: Any) -> FrameFilter:
    from storage.reading.views import FrameFilter  # noqa: PLC0415

    verdict = wanted.pop("verdict")
    focus = verdict in {known.value for known in FocusVerdict}
    kind = None if verdict is None else FocusVerdict(verdict) if focus else FLAWS[verdict]
    state, by = wanted.pop("state"), wanted.pop("released_by")
    since, until = moment(wanted.pop("since")), end_moment(wanted.pop("until"))
    return FrameFilter(
        verdict=kind,
        state=FrameState(state) if state else None,
        released_by=ReleasedBy(by) if by else None,
        since=since,
        until=until,
        mark=wanted.pop("mark") or "",
        **wanted,
    )


def moment(text: str | None) -> datetime | None:
    """The beginning of a day here, or a time with or without zone."""
    if text is None:
        return None
    try:
        moment = datetime.fromisoformat(text)
        return moment if moment.tzinfo else moment.astimezone()
    except (ValueError, OverflowError):  # a day before the first year is none either
        raise click.BadParameter(f"a date is written like 2031-05-06, not {text!r}") from None


def end_moment(text: str | None) -> datetime | None:
    """The end of a day here, which has 23 or 25 hours where the clocks are changed; of a time, that time."""
    if text is not None:
        with suppress(ValueError, OverflowError):
            return datetime.combine(date.fromisoformat(text) + timedelta(days=1), time()).astimezone()
    return moment(text)
