"""The list of the ledger: which frames of a job are listed, and the frame under the cursor. Read in the background."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from types import MappingProxyType
from typing import Protocol

from session.frame.ports import LogError
from session.order.order_progress import ViewProgress
from session.units.names import name_key
from storage.reading.views import FrameFilter, FrameRow
from tui.screen.app_port import AppPort
from tui.screen.background import Then
from tui.screen.ledger_text import filter_text, narrowed_by
from tui.screen.shoot_port import Reader
from tui.words.series_words import narrowed_series_words, series_row_words

MOST_ROWS = 2000
"""Frames read at once, the newest: more than a day's work; older ones are found by narrowing. Chosen."""


class LedgerPort(Protocol):
    """The interface between the parts of the ledger and its screen, which implements it."""

    @property
    def app(self) -> AppPort:
        """The program, as far as screens know it."""

    def refuse(self, sentence: str) -> None:
        """Show why something can't be done, until something can; "" for no reason."""

    def repaint(self) -> None:
        """Show everything as it is now."""


class FrameList:
    """The rows as they were read last: newest first, or the frames of each view together, the newest view first.

    wanted        which frames are listed
    several_jobs  the log has more than one job
    to_go         views of the job's order that are to go; none while the list is narrowed
    series        words for a focus series whose frames are one row, by the key of the frame on that row
    """

    def __init__(self, ledger: LedgerPort, job: str, moved: Callable[[], None]) -> None:
        """moved: called when another frame came under the cursor, or its row was read anew"""
        self._ledger, self._moved = ledger, moved
        self.wanted = FrameFilter(job=job)
        self.rows: list[FrameRow] = []
        self.at = 0
        self.several_jobs = False
        self.to_go: Sequence[ViewProgress] = ()
        self._narrowing = self._again = self._by_view = False
        self._past_end = False
        """The frame under the cursor left the list from its end: the cursor stands on the frame before it."""
        self._held: dict[str, FrameRow] = {}
        self._all: list[FrameRow] = []
        self._opened: set[str] = set()
        self._outcomes: Mapping[str, str] = {}
        self.series: dict[str, str] = {}

    @property
    def here(self) -> FrameRow | None:
        """The frame under the cursor."""
        return self.rows[self.at] if self.at < len(self.rows) else None

    def hold(self, rows: Sequence[FrameRow]) -> None:
        """Read the rows of these frames with the list from now on, also once it doesn't list them any more."""
        self._held = {row.frame_id: row for row in rows}

    def row_of(self, frame_id: str) -> FrameRow | None:
        """The frame's row as it was read last; None for a frame that is neither listed nor held."""
        listed = next((row for row in self.rows if row.frame_id == frame_id), None)
        return listed or self._held.get(frame_id)

    def go_to(self, at: int) -> None:
        """Put the cursor on row `at`, or on the nearest that there is."""
        self._past_end = False
        at = max(0, min(len(self.rows) - 1, at))
        if at != self.at:
            self.at = at
            self._moved()
            self._ledger.repaint()

    def go_on(self, frame_id: str, step: int) -> FrameRow | None:
        """Put the cursor on the row after this frame (step 1) or before it (-1); None at the list's end.

        A frame that has left the list while the cursor was on it counts where it stood.
        """
        keys = [row.frame_id for row in self.rows]
        if frame_id in keys:
            to = keys.index(frame_id) + step
        else:
            next_row = self.at + self._past_end
            to = next_row if step > 0 else next_row - 1
        if not 0 <= to < len(keys):
            return None
        self.go_to(to)
        return self.rows[to]

    def put_views_together(self, together: bool) -> None:
        """List the frames of each view together, or all by number; the cursor stays on its frame."""
        self._by_view = together
        self._put(sorted(self._all, key=lambda row: row.number, reverse=True))

    def _put(self, newest_first: list[FrameRow], *, other_list: bool = False) -> None:
        """List these; the cursor stays on its frame, or goes to the frame that has taken the place of it.

        other_list  narrowed otherwise than before: a cursor whose frame isn't listed goes to the first row
        """
        here = self.here
        self._all = newest_first
        newest_first = self._one_row_a_series(newest_first)
        self.rows = newest_first
        if self._by_view:
            views = list(dict.fromkeys((name_key(row.piece), name_key(row.view)) for row in newest_first))
            places = {view: place for place, view in enumerate(views)}
            self.rows = sorted(newest_first, key=lambda row: places[name_key(row.piece), name_key(row.view)])
        keys = [row.frame_id for row in self.rows]
        if here and here.frame_id in keys:
            self.at = keys.index(here.frame_id)
            return
        place = 0 if other_list else self.at + self._past_end
        self.at = max(0, min(place, len(keys) - 1))
        self._past_end = bool(keys) and place > self.at

    @property
    def frame_count(self) -> int:
        """The number of listed frames, where each frame of a series counts."""
        return len(self._all)

    @property
    def series_here(self) -> bool:
        """Whether the frame under the cursor is of a focus series of several frames."""
        here = self.here.series if self.here else None
        return here is not None and sum(_is_of(row, here.series_id) for row in self._all) > 1

    def open_series(self, opens: bool) -> None:
        """List the frames of the series under the cursor one by one, or as one row; the cursor stays with them."""
        here = self.here.series if self.here else None
        if here is not None:
            (self._opened.add if opens else self._opened.discard)(here.series_id)
            self._put(sorted(self._all, key=lambda row: row.number, reverse=True))
            first = (at for at, row in enumerate(self.rows) if _is_of(row, here.series_id))
            self.go_to(next(first, self.at))
            self._ledger.repaint()

    def _one_row_a_series(self, newest_first: list[FrameRow]) -> list[FrameRow]:
        """The rows with each series that isn't opened as its newest frame's row alone."""
        of: dict[str, list[FrameRow]] = {}
        for row in newest_first:
            if row.series is not None:
                of.setdefault(row.series.series_id, []).append(row)
        closed = {key: rows for key, rows in of.items() if len(rows) > 1 and key not in self._opened}
        narrowed = bool(filter_text(self.wanted))
        self.series = {
            rows[0].frame_id: narrowed_series_words(rows) if narrowed else series_row_words(rows, self._outcomes)
            for rows in closed.values()
        }
        kept = {row.frame_id for rows in closed.values() for row in rows[1:]}
        return [row for row in newest_first if row.frame_id not in kept]

    # --- what is listed ---------------------------------------------------------------------------

    def look_again(self) -> None:
        """Read the list anew; the frame under the cursor stays where it still is in the list."""
        if self._narrowing:
            self._again = True  # what a key asked for isn't cut short
        else:
            self._read_list(lambda reader, wanted: wanted)

    def begin(self) -> None:
        """Read the list for the first time."""
        self._look(lambda reader, wanted: wanted)

    def list_all(self) -> None:
        """All frames of the job."""
        self._look(lambda reader, wanted: FrameFilter(job=wanted.job))

    def list_next_job(self) -> None:
        """All frames of the next job in the log."""
        self._look(lambda reader, wanted: FrameFilter(job=_next_job(reader, wanted.job)))

    def narrow(self, narrowings: Sequence[FrameFilter]) -> None:
        """Narrow to the first of these that a frame answers to; what is skipped is said."""
        if self.rows or filter_text(self.wanted):
            self._look(lambda reader, wanted: wanted, narrowings)

    # --- reading ----------------------------------------------------------------------------------

    def _look(
        self, choose: Callable[[Reader, FrameFilter], FrameFilter], narrowings: Sequence[FrameFilter] = ()
    ) -> None:
        """Read the list by the filter that `choose` makes of the present filter; the next key waits for the list."""
        self._narrowing = True
        self._read_list(choose, narrowings, keys_wait=True)

    def _read_list(
        self,
        choose: Callable[[Reader, FrameFilter], FrameFilter],
        narrowings: Sequence[FrameFilter] = (),
        *,
        keys_wait: bool = False,
    ) -> None:
        """Read the list by the filter that `choose` makes of the present filter, with the log's reader at hand.

        narrowings   filters in place of it: the first that finds a frame is read; when none does, the list stays
        """
        reader, wanted, held = self._ledger.app.reader, self.wanted, tuple(self._held)
        if reader is None:
            return

        def work() -> Then:
            try:
                self.several_jobs = len(reader.jobs()) > 1
                new = choose(reader, wanted if wanted.job else replace(wanted, job=_next_job(reader, "")))
                empty: list[str] = []
                for one in narrowings or (new,):
                    rows = list(reader.frames(one, newest_first=True, limit=MOST_ROWS))
                    self._outcomes = _outcomes_of(reader, rows)
                    if rows or not narrowings:
                        progress = None if filter_text(one) else reader.progress(one.job)
                        to_go = progress.to_go if progress else ()
                        return partial(self._take, one, rows, "", empty, to_go, _rows_of(reader, held, rows))
                    empty.append(narrowed_by(one, wanted) or "this")
                return partial(self._end_look, empty)
            except LogError as error:
                return partial(self._take, wanted, [], str(error), ())

        self._ledger.app.in_background(work, "ledger", keys_wait=keys_wait)

    def _take(
        self,
        wanted: FrameFilter,
        rows: list[FrameRow],
        trouble: str,
        skipped: Sequence[str],
        to_go: Sequence[ViewProgress] = (),
        held: Mapping[str, FrameRow] = MappingProxyType({}),
    ) -> None:
        other_list = wanted != self.wanted
        self.wanted, self.to_go = wanted, to_go
        self._held = {frame_id: held.get(frame_id, row) for frame_id, row in self._held.items()}
        self._put(rows, other_list=other_list)
        self._moved()
        self._ledger.refuse(trouble)
        self._end_look(skipped)

    def _end_look(self, skipped: Sequence[str]) -> None:
        """The look that a key asked for is over; say what the list was not narrowed to, since it would be empty."""
        self._narrowing, again, self._again = False, self._again, False
        if again:
            self.look_again()
        if skipped:
            self._ledger.app.say(f"None here: {', '.join(skipped)}.")


def _rows_of(reader: Reader, frame_ids: Sequence[str], listed: Sequence[FrameRow]) -> dict[str, FrameRow]:
    """The rows of these frames by key: from the list, and from the log for frames outside the list. Raises LogError."""
    rows = {row.frame_id: row for row in listed}
    found = ((frame_id, rows.get(frame_id) or reader.frame(frame_id)) for frame_id in frame_ids)
    return {frame_id: row for frame_id, row in found if row is not None}


def _is_of(row: FrameRow, series_id: str) -> bool:
    return row.series is not None and row.series.series_id == series_id


def _outcomes_of(reader: Reader, rows: Sequence[FrameRow]) -> dict[str, str]:
    """Frame's key → what its series came to, of the listed frames. Raises LogError."""
    if not any(row.series for row in rows):
        return {}
    return reader.series_outcomes()


def _next_job(reader: Reader, job: str) -> str:
    """The job after this job in the log; after the last, and for an unknown job, the one worked on last."""
    names = [row.name for row in reader.jobs()]
    if not names:
        return job
    return names[(names.index(job) + 1) % len(names)] if job in names else names[0]
