"""A frame as the bench keeps it, made by events or from a frame of the log."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from session.frame.camera_messages import CardObject, SavedFile
from session.frame.finding import CheckId, Finding, FocusJudgement, FocusVerdict
from session.frame.frame_facts import AboutFrame, FrameFacts
from session.set.setup import Region
from session.shoot.events import CameraBusy, CardBeingRead, SlowTransfer
from session.units.file_kinds import PICTURES
from storage.reading.views import FrameRecord, FrameRow


@dataclass
class BenchFrame(AboutFrame):
    """A frame as far as the screen has heard of it.

    rules     findings before the release; `checks` those after it
    flaw      the gravest that the checks other than focus say; None for a clean frame
    coming    how far its files are, while a transfer takes long enough to be told of
    busy      how long the camera has been writing it, while it says that it is busy
    blur_limit_px   radius that its set-up allows; None when not known
    region    what had to be sharp in it; None when not known
    reference number of the approved frame of its set-up and piece; None when no frame is, or it isn't known
    whole     False for one read from the log as a line only: its files and findings are there to be read
    """

    facts: FrameFacts
    rules: tuple[Finding, ...] = ()
    checks: tuple[Finding, ...] = ()
    focus: FocusJudgement | None = None
    files: tuple[SavedFile, ...] = ()
    mark: str | None = None
    setup: str = ""
    piece: str = ""
    view: str = ""
    region: Region | None = None
    reference: int | None = None
    flaw: Finding | None = None
    whole: bool = True
    coming: SlowTransfer | None = None
    busy: CameraBusy | None = None
    card_read: CardBeingRead | None = None
    blur_limit_px: float | None = None

    @property
    def is_reference(self) -> bool:
        """Whether this frame is the reference of its set-up and piece."""
        return self.reference == self.number

    @property
    def checks_now(self) -> tuple[Finding, ...]:
        """The findings of the checks that still hold."""
        return that_hold(self.checks, is_reference=self.is_reference)

    @property
    def setup_number(self) -> str:
        """`07` of `07.3`."""
        return self.setup.partition(".")[0]

    @property
    def bytes(self) -> int:
        """Bytes of the frame's files, as far as they have been saved."""
        return sum(file.bytes for file in self.files)

    @property
    def kinds(self) -> frozenset[str]:
        """The kinds of the frame's files, each a FileKind, as far as they have been saved."""
        return frozenset(file.kind for file in self.files)

    @property
    def picture(self) -> SavedFile | None:
        """The file to show: the JPEG, else the raw with its preview."""
        by_kind = {file.kind: file for file in self.files}
        return next((by_kind[kind] for kind in PICTURES if kind in by_kind), None)

    @property
    def focus_verdict(self) -> FocusVerdict | None:
        return self.focus.verdict if self.focus else None


def that_hold(checks: Sequence[Finding], *, is_reference: bool) -> tuple[Finding, ...]:
    """The findings that still hold: once a frame is the reference, a focus check that lacked a reference doesn't."""
    open_focus = [found for found in checks if found.id == CheckId.FOCUS and found.value is None]
    return tuple(found for found in checks if not (is_reference and found in open_focus))


def from_row(row: FrameRow) -> BenchFrame:
    """A line of the ledger; files and findings are left to be read when they are looked at."""
    verdict = row.focus_verdict
    return BenchFrame(
        row.facts,
        focus=FocusJudgement(verdict, row.blur_px, None, row.defocus_mm) if verdict else None,
        mark=row.mark,
        setup=row.setup,
        piece=row.piece,
        view=row.view,
        flaw=row.flaw,
        whole=False,
        reference=row.number if row.is_reference else None,
    )


def from_record(record: FrameRecord) -> BenchFrame:
    """A frame from the log, with its files and findings."""
    frame = from_row(record)
    frame.files = tuple(
        SavedFile(
            file.path, file.kind, file.bytes, file.sha256, CardObject(file.card_folder, file.card_name, file.bytes)
        )
        for file in record.files
        if file.here
    )
    frame.rules, frame.checks, frame.focus, frame.whole = record.rules, record.checks, record.focus, True
    frame.region, frame.reference = record.revision.region, record.reference
    frame.blur_limit_px = record.revision.blur_limit_px
    return frame
