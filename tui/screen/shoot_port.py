"""The open log and the open shoot as two small protocols, which the screens get from the composition root."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Protocol

from session.frame.ports import Place
from session.frame.step_said import StepSaid
from session.match.reshoot_steps import Reshoot
from session.match.solo_series import SeriesFrame
from session.order.order_progress import Progress
from session.set.kit import Kit
from session.set.setup import Revision
from session.shoot.acts import Act
from session.shoot.events import Event
from storage.reading.views import EventRow, FrameFilter, FrameRecord, FrameRow, JobRow, KnownView, SetPicture, SetupRow


class Reader(Protocol):
    """The read side of the log, as far as the screens need it; from any thread. Each call may raise LogError."""

    def frames(
        self, wanted: FrameFilter = ..., *, newest_first: bool = False, limit: int | None = None
    ) -> Iterator[FrameRow]: ...

    def frame(self, frame_id: str) -> FrameRecord | None: ...

    def frame_numbered(self, job: str, number: int) -> FrameRecord | None: ...

    def setups(self, job: str) -> Sequence[SetupRow]: ...

    def jobs(self) -> Sequence[JobRow]: ...

    def job_named(self, name: str = ...) -> JobRow | None: ...

    def records(self, wanted: FrameFilter = ...) -> Iterator[FrameRecord]: ...

    def revisions(self, job: str, setup_number: int) -> Sequence[Revision]: ...

    def revision(self, job: str, label: str) -> tuple[Revision, str] | None: ...

    def places(self, job: str = "") -> Sequence[Place]: ...

    def set_pictures(self, job: str, revision: Revision) -> Sequence[SetPicture]: ...

    def series_frames(self, place: Place, setup_number: int) -> Sequence[SeriesFrame]: ...

    def events(self, kind: str = ..., frame_id: str = ...) -> Sequence[EventRow]: ...

    def series_outcomes(self) -> dict[str, str]: ...

    def focus_series(self, place: Place) -> Sequence[FrameRecord]: ...

    def steps_said(self, place: Place, revision_id: str) -> Sequence[StepSaid]: ...

    def known_views(self, job: str) -> Sequence[KnownView]: ...

    def progress(self, job: str) -> Progress | None: ...

    def kept_wish(self, place: Place) -> Mapping[str, object] | None: ...


class ShootPort(Protocol):
    """The shoot that is open. `place` and `kit` are as they were at the start; events tell of changes.

    reshoot  the old set-up that is built again; None in any other shoot
    """

    @property
    def place(self) -> Place: ...

    @property
    def kit(self) -> Kit: ...

    @property
    def reshoot(self) -> Reshoot | None: ...

    @property
    def reader(self) -> Reader: ...

    @property
    def post(self) -> Callable[[Act], None]:
        """Hands an act to the controller; returns at once."""

    def listen(self, listener: Callable[[Event], None]) -> None:
        """Hear every event from now on, in the controller's thread."""
