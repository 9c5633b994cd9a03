"""A log that somebody else writes, as a follower sees it: the last frame, and how far the job has come.

The log is asked only when its file or what SQLite writes beside it has changed; an archive has no such file, and is
asked each time.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import time_ns

from session.frame.ports import LogError
from session.frame.states import Mark
from session.order.order_progress import Progress
from session.set.setup import Region
from storage.files.archive_address import is_archive
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter, FrameRecord, FrameRow
from tui.words.bench_frame import BenchFrame, from_record
from tui.words.headline import Headline, Tone
from tui.words.wording import onlooker_headline

LOOKED_AT_AGAIN = "It is looked at again and again."
"""Said behind the reason why the log can't be read now."""

RECENT = 40
"""Frames of the strip: more than any terminal has room for. Chosen."""


@dataclass(frozen=True)
class PlaceCount:
    """A view of a piece: how many frames it has, and how many of them are heroes or selects."""

    piece: str
    view: str
    frames: int
    chosen: int


@dataclass(frozen=True)
class LogMoment:
    """The log at one moment.

    record  the job's newest frame, None before the first; `frame` the same as the bench keeps it
    recent  the newest frames, oldest first
    places  in the order in which they were begun
    progress  the job's order and how far it is, None for a job without one
    """

    job: str
    record: FrameRecord | None
    recent: Sequence[FrameRow]
    places: Sequence[PlaceCount]
    progress: Progress | None = None

    @property
    def frame(self) -> BenchFrame | None:
        return from_record(self.record) if self.record else None

    @property
    def region(self) -> Region | None:
        return self.record.region if self.record else None


Marks = tuple[tuple[int, int, int] | None, ...] | None

SAME_TIME_NS = 100_000_000
"""Two writes this soon after each other may leave the same time: file systems count in steps of 1 to 10 ms, and the
WAL, begun anew after a checkpoint, may have the same size too. Ten times the longest step; chosen, no source."""


class LogWatch:
    """Looks at a log again and again. For one thread at a time."""

    def __init__(self, log: str, job: str = "", now_ns: Callable[[], int] = time_ns) -> None:
        """
        job     to follow; "" follows whichever was worked on last
        now_ns  nanoseconds since 1970, as the files' times are
        """
        self.log, self._job, self._now_ns = log, job, now_ns
        self._reader: LogReader | None = None
        self._seen: Marks = None
        self._file: object = None

    def look(self) -> LogMoment | None:
        """The log's moment now, None without a change. Raises LogError while the log is missing or can't be read."""
        marks = self._marks()
        if marks is not None and marks == self._seen:
            return None
        if self._reader is None or self._inode() != self._file:
            self.close()
            self._reader, self._file = LogReader.open(self.log), self._inode()
        try:
            sight = seen_in(self._reader, self._job)
        except LogError:
            self._seen = None
            raise
        self._seen = marks if self._are_settled(marks) else None
        return sight

    def close(self) -> None:
        """Let go of the log."""
        if self._reader is not None:
            self._reader.close()
            self._reader = None

    def _marks(self) -> Marks:
        """Changes with every write to a log's file, None for an archive."""
        if is_archive(self.log):
            return None
        return tuple(_mark(Path(self.log + end)) for end in ("", "-wal"))

    def _are_settled(self, marks: Marks) -> bool:
        """Whether a write after these marks would have changed them."""
        return marks is not None and all(mark is None or self._now_ns() - mark[1] > SAME_TIME_NS for mark in marks)

    def _inode(self) -> object:
        return None if is_archive(self.log) else (_mark(Path(self.log)) or (None,))[0]


def seen_in(reader: LogReader, job: str = "") -> LogMoment:
    """The log's state now, of this job, "" = of the job worked on last. Raises LogError."""
    jobs = reader.jobs()
    name = job or (jobs[0].name if jobs else "")
    if not name:
        return LogMoment("", None, (), ())
    rows = list(reader.frames(FrameFilter(job=name)))
    record = reader.frame(rows[-1].frame_id) if rows else None
    counts: dict[tuple[str, str], list[int]] = {(place.piece, place.view): [0, 0] for place in reader.places(name)}
    for row in rows:
        count = counts.setdefault((row.piece, row.view), [0, 0])
        count[0] += 1
        count[1] += row.mark in (Mark.HERO, Mark.SELECT)
    places = tuple(PlaceCount(piece, view, *count) for (piece, view), count in counts.items())
    return LogMoment(name, record, tuple(rows[-RECENT:]), places, reader.progress(name))


def headline_of(sight: LogMoment | None, trouble: str = "") -> Headline:
    """The large line for whoever looks on, at a terminal or a tablet."""
    frame = sight.frame if sight else None
    if frame is not None:
        return onlooker_headline(frame)
    return Headline("NO FRAME", "" if trouble else "The job has no frame yet.", Tone.WAIT)


def _mark(path: Path) -> tuple[int, int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size
