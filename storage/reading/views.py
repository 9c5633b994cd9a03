"""Values that the log gives to screens and commands: plain frozen values, no rows of the database.

All times carry their zone, UTC.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from session.frame.camera_messages import Value
from session.frame.finding import Finding, FocusJudgement, FocusVerdict, Verdict, focus_is_open
from session.frame.frame_facts import AboutFrame, FrameFacts
from session.frame.shot_plane import ShotPlane, is_spoilt
from session.frame.states import FrameState, ReleasedBy
from session.set.setup import Region, Revision
from session.units.file_kinds import PICTURES


@dataclass(frozen=True)
class FrameFilter:
    """Which frames to look up; a field that is None or "" doesn't narrow the search.

    text            words, beginnings of words (`barr`), and phrases in quotes, without regard to case and accents: each
                    stands in a note, a name of job, client, piece or view, the set's notes, its lens, lights and
                    passive items, or the reason of an overruling
    since, until    asked for at or after, and before; with zone
    job, piece, view, light, shaper   whole names, without regard to case
    verdict         sharp, soft, missed, unjudged, clean or flawed
    setup           "07.3" or, for any revision, "7"
    power_ev_from, power_ev_to   a light of the set stands in this range, 0 = full power; with `light` or `shaper`
                    that very light; likewise magnification_from, magnification_to; both ends count in
    """

    text: str = ""
    since: datetime | None = None
    until: datetime | None = None
    job: str = ""
    client: str = ""
    piece: str = ""
    view: str = ""
    light: str = ""
    shaper: str = ""
    verdict: FocusVerdict | Verdict | None = None
    mark: str = ""
    setup: str = ""
    state: FrameState | None = None
    released_by: ReleasedBy | None = None
    power_ev_from: float | None = None
    power_ev_to: float | None = None
    magnification_from: float | None = None
    magnification_to: float | None = None


@dataclass(frozen=True)
class FrameRow(AboutFrame):
    """A frame as one line of the ledger.

    setup                 label of its revision, "07.3"
    flaw                  the gravest that the latest judgement's checks other than focus say; None for a clean frame
    blur_px, defocus_mm   of the latest judgement, see `session.frame.finding.FocusJudgement`
    is_reference          the approved frame of a set-up for its piece
    """

    facts: FrameFacts
    job: str
    piece: str
    view: str
    setup: str
    asked_at: datetime
    released_at: datetime | None
    focus_verdict: FocusVerdict | None
    verdict: Verdict | None
    flaw: Finding | None
    blur_px: float | None
    defocus_mm: float | None
    mark: str | None
    note_count: int
    revision_id: str
    is_reference: bool

    @property
    def focus_is_open(self) -> bool:
        """Whether no check has said how the focus is, and one should have; see `finding.focus_is_open`."""
        alone = not self.measures and self.series is None
        return focus_is_open(self.focus_verdict, is_reference=self.is_reference, no_picture=not alone)

    @property
    def shot_plane(self) -> ShotPlane | None:
        """The frame as a part of a focus series; None for a frame outside of any series."""
        if self.series is None:
            return None
        spoilt = is_spoilt(self.mark, self.flaw)
        return ShotPlane(self.frame_id, self.number, self.series, self.state, spoilt)


@dataclass(frozen=True)
class FileRow:
    """A file that was whole on disk when it was logged. `card_folder` is "" when it was found on the disk only.

    copies   where else it was saved, whole too
    here     it may be opened: false for a path out of the log's folder that came from an archive
    """

    path: str
    kind: str
    bytes: int
    sha256: str
    card_folder: str
    card_name: str
    saved_at: datetime
    copies: tuple[str, ...]
    here: bool = True


@dataclass(frozen=True)
class NoteRow:
    """A person's note to a frame."""

    note_id: str
    frame_id: str
    number: int
    job: str
    piece: str
    text: str
    written_at: datetime


@dataclass(frozen=True)
class FrameRecord(FrameRow):
    """A frame with its settings, findings, notes, files and references.

    client       the job's
    camera       canonical name → value, as the camera said at the release; see `session.frame.camera_messages`
    rules        what they said before the release
    checks       what they said, of the latest judgement
    focus        the latest judgement, None when nobody judged it
    overrulings  rule → reason
    references   numbers of the set-ups whose reference it is
    reference    number of the approved frame of its set-up and piece, None when there is none
    region       what had to be sharp by the latest judgement: its set-up's region then, or as it was moved since
    previews     the folder in which its preview is stored, if one is; "" in an archive
    """

    client: str
    folder: str
    stem: str
    camera_serial: str
    camera_model: str
    revision: Revision
    camera: Mapping[str, Value | None]
    files: tuple[FileRow, ...]
    rules: tuple[Finding, ...]
    checks: tuple[Finding, ...]
    focus: FocusJudgement | None
    overrulings: Mapping[str, str]
    notes: tuple[NoteRow, ...]
    references: tuple[int, ...]
    reference: int | None
    region: Region
    previews: str = ""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings of the rules before the release, then those of the latest judgement."""
        return self.rules + self.checks

    @property
    def picture(self) -> str | None:
        """Path of the frame's JPEG, else of its raw, as far as they may be opened here."""
        paths = {file.kind: file.path for file in reversed(self.files) if file.here}
        return next((paths[kind] for kind in PICTURES if kind in paths), None)


@dataclass(frozen=True)
class KnownView:
    """A view of a piece. `begun`: something was shot with a set-up for it, or one was chosen."""

    piece: str
    view: str
    begun: bool


@dataclass(frozen=True)
class JobRow:
    """An order. `last_at`: when its last frame was asked for."""

    job_id: str
    name: str
    client: str
    created_at: datetime
    piece_count: int
    frame_count: int
    last_at: datetime | None


@dataclass(frozen=True)
class SetupRow:
    """A set-up of a job with its latest revision. `references`: piece → number of its approved frame."""

    number: int
    latest: Revision
    latest_id: str
    revision_count: int
    frame_count: int
    references: Mapping[str, int]


@dataclass(frozen=True)
class SetPicture:
    """A picture of the set that somebody attached to a revision.

    number   by which it is named to a person, from 1
    setup    label of the revision that it is attached to, `07.1`, which may be earlier than the one asked about
    whole    the file is as it was stored
    """

    number: int
    path: str
    setup: str
    whole: bool


@dataclass(frozen=True)
class EventRow:
    """Something that happened."""

    at: datetime
    kind: str
    text: str
    frame_id: str | None
