"""A hand-over out of a log: looked ahead, and carried out step by step; the same for the shell and the screen."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import version
from pathlib import Path
from typing import Protocol

from session.frame.states import Mark
from session.order.order_progress import Progress
from session.set.kit import Kit
from storage.files.paths import part
from storage.handover import bag
from storage.handover.hand_over import begun_on, hand_over
from storage.handover.handover_plan import NAMES, HandoverPlan, plan_handover
from storage.handover.leaving_files import OriginalsRead
from storage.handover.zipped import write_zip, zip_path
from storage.reading.views import FrameFilter, FrameRecord, JobRow, SetPicture
from tui.paper.documents import documents_of, with_pdfs
from tui.paper.pdf_print import missing_letters_words
from tui.shell.reshot import Reshot, ReshotReader, reshot_views
from tui.words.handover_words import HandoverProgress


class JobReader(ReshotReader, Protocol):
    """The read side of a log, as far as a hand-over needs it. Each call may raise LogError."""

    def job_named(self, name: str = "") -> JobRow | None: ...

    def records(self, wanted: FrameFilter = ...) -> Iterator[FrameRecord]: ...

    def progress(self, job: str) -> Progress | None: ...

    def series_outcomes(self) -> dict[str, str]: ...


@dataclass(frozen=True)
class HandoverWish:
    """What somebody wants handed over.

    job       "": the last one
    names     template of the files' names
    delivers  also make pictures of the order's size, crop and format
    zips      also make one ZIP of the folder
    prints    also print contact sheet and set cards to PDF; `pdf_refusal` has to be asked first
    """

    job: str = ""
    mark: str = Mark.HERO
    names: str = NAMES
    delivers: bool = False
    zips: bool = False
    prints: bool = False


@dataclass(frozen=True)
class PreparedHandover:
    """A plan with the material of its documents: pictures of the set by the set-up's label, and frames shot again.

    prints  the documents are printed to PDF, too
    """

    plan: HandoverPlan
    pictures: Mapping[str, Sequence[SetPicture]]
    reshot: Sequence[Reshot] = ()
    prints: bool = False


def look_ahead(
    reader: JobReader, wish: HandoverWish, kit: Kit, read: OriginalsRead | None = None
) -> PreparedHandover | None:
    """The plan for what is wanted, and nothing written; None where the log has no job of that name.

    kit   for the match reports of frames that were shot again
    read  reads the originals, which takes as long as to copy them; None: what they hold isn't looked at
    Raises LogError, and UnreadableTextError for the template.
    """
    row = reader.job_named(wish.job)
    if row is None:
        return None
    records = tuple(reader.records(FrameFilter(job=row.name)))
    progress = reader.progress(row.name)
    plan = plan_handover(
        records,
        progress,
        row.name,
        wish.mark,
        wish.names or NAMES,
        delivers=wish.delivers,
        outcomes=reader.series_outcomes(),
        read=read,
        job_id=row.job_id,
    )
    revisions = {frame.record.setup: frame.record.revision for frame in plan.frames}
    pictures = {label: reader.set_pictures(row.name, one) for label, one in revisions.items()}
    reshot = reshot_views(reader, kit, [frame.record for frame in plan.frames])
    return PreparedHandover(plan, pictures, tuple(reshot), wish.prints)


def carry_out(
    prepared: PreparedHandover, folder: Path, heard: Callable[[], None] = lambda: None
) -> Iterator[HandoverProgress]:
    """Write the folder, a step for each file that is in its place; a hand-over that was stopped goes on.

    heard  called many times while a file is written; what it raises stops the hand-over, and no file is half there
    Raises LogError, OSError.
    """
    plan, count, done = prepared.plan, 0, 0
    agent, today = f"stillset {version('stillset')}", begun_on(folder) or datetime.now().astimezone().date()
    documents = documents_of(plan, agent, today, prepared.pictures, prepared.reshot, heard)
    letters: set[str] = set()  # that no font has
    if prepared.prints:
        documents = [*with_pdfs(documents, letters.update)]
    told: set[str] = set()
    for step in hand_over(plan, folder, agent, today, documents, heard):
        count, done = count + 1, done + step.bytes
        fontless = missing_letters_words(sorted(letters - told))
        told |= letters
        yield HandoverProgress(step.path, count, done, plan.total_bytes, step.told or fontless)


def carry_into_zip(folder: Path) -> Generator[HandoverProgress, None, None]:
    """Make the ZIP of a folder that is handed over, a step for each block; closed before its end, nothing is left.

    Raises LogError, OSError.
    """
    total = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    done, name = 0, zip_path(folder).name
    for count_bytes in write_zip(folder):
        done += count_bytes
        yield HandoverProgress(name, 1, done, total)


def folder_for(prepared: PreparedHandover) -> Path:
    """A folder to hand over to: beside the job's own pictures, else in the account's folder; never a whole hand-over.

    A hand-over that was begun there goes on.
    """
    own = next((Path(file.path).parent.parent for frame in prepared.plan.frames for file, _ in frame.files), None)
    beside = (
        own if own is not None and own.is_absolute() and own.is_dir() else Path.home() / part(prepared.plan.order.job)
    )
    wanted = beside.with_name(f"{beside.name}-handover")
    found, number = wanted, 1
    while bag.is_bag(found):
        number += 1
        found = wanted.with_name(f"{wanted.name}-{number}")
    return found
