"""The interface between a screen and the app: screens call the methods, the app implements them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from session.frame.ports import Clock, Place
from session.match.reshoot_steps import Reshoot
from session.picture.preview import Box
from session.set.kit import Kit
from session.shoot.acts import Act
from storage.reading.views import KnownView
from tui.screen.background import BackgroundApp
from tui.screen.shoot_port import Reader, ShootPort
from tui.screen.small_picture import SmallPicture
from tui.words.keys import Where
from tui.words.model import BenchModel


class Story:
    """A story told along with the bench. This base tells nothing; the demo has a story of its own."""

    @property
    def waits(self) -> bool:
        """Whether a scene is over and the next begins by a key."""
        return False

    def hint(self) -> str:
        """The line above the keys, asked at each paint; "" for none."""
        return ""

    def go_on(self) -> None:
        """Begin the next scene."""


class HandedOver(Protocol):
    """A hand-over on its way, or over; see `tui.handover.handover_run`.

    told  sentences on its files
    seen  how it ended was shown on its screen
    """

    outcome: str
    told: list[str]
    seen: bool

    @property
    def is_over(self) -> bool: ...

    def words(self) -> str: ...

    def stop(self) -> None: ...

    def work(self) -> None: ...


class AppPort(BackgroundApp):
    """The state that all screens share, and the acts that reach beyond one screen.

    shoot      None where nothing can be written; `read_only` says why, in words
    reader     the log to look back in, None where there is none
    leaving    the person is leaving, and a frame is saved first
    post       hands an act to the controller; there is none where nothing can be written
    story      what runs along and says what to press; the demo's, or none
    reshoot    the old set-up that is built again, None in any other shoot
    handover   the hand-over that was begun last, None before the first
    """

    shoot: ShootPort | None
    reader: Reader | None
    read_only: str
    leaving: bool
    job: str
    kit: Kit
    clock: Clock
    model: BenchModel
    story: Story
    bell_on: bool
    reshoot: Reshoot | None
    handover: HandedOver | None
    post: Callable[[Act], None]

    def say(self, sentence: str, about: str = "") -> None:
        """Show a passing sentence; from any thread. about: what another one about the same takes away, see `About`."""
        raise NotImplementedError

    def mark(self, frame_id: str, mark: str | None) -> None:
        """Set or remove a frame's mark."""
        raise NotImplementedError

    def note(self, frame_id: str, text: str) -> None:
        """Add a note to a frame. Raises ValueError when it is empty."""
        raise NotImplementedError

    def keep_order(self, table: str, read_from: str) -> None:
        """Keep an order by its table's text; what is to go is counted anew."""

    def add_views(self, job: str, piece: str, views: tuple[str, ...]) -> None:
        """Add views of a piece to the job's order; what is to go is counted anew."""
        raise NotImplementedError

    def undo(self, place: Place) -> None:
        """Undo the last act in this job."""
        raise NotImplementedError

    def redo(self, place: Place) -> None:
        """Redo the act undone last in this job."""
        raise NotImplementedError

    def read_frames_soon(self) -> None:
        """Read the job's newest frames, once the acts given to the controller so far stand in the log."""
        raise NotImplementedError

    def read_places(self, then: Callable[[Sequence[KnownView]], None]) -> None:
        """Read the job's pieces and views in the log, and give them to `then`."""
        raise NotImplementedError

    def read_record(self, frame_id: str) -> None:
        """Read files and findings of a frame of which only the ledger's line is known."""
        raise NotImplementedError

    def show_ledger(self) -> None:
        raise NotImplementedError

    def show_planner(self) -> None:
        raise NotImplementedError

    def show_handover(self, job: str) -> None:
        """Show what a hand-over of the job would write."""
        raise NotImplementedError

    @property
    def to_go_text(self) -> str:
        """What of a focus series, else which views of the order are to go; "" when nothing is."""
        raise NotImplementedError

    @property
    def hands_over(self) -> bool:
        """Whether a hand-over is being written."""
        raise NotImplementedError

    def hand_over(self, run: HandedOver, then: Callable[[], None]) -> None:
        """Carry out a hand-over beside the screens; `then` is called when it is over."""
        raise NotImplementedError

    def when_written(self, then: Callable[[], None]) -> None:
        """Call `then` once all that was asked so far stands in the log."""
        raise NotImplementedError

    def show_match(self) -> None:
        """Show the steps of the reshoot that is on."""
        raise NotImplementedError

    def show_help(self, asked_at: Where) -> None:
        """Show all keys, first those of the screen on which help was asked for."""
        raise NotImplementedError

    def show_still(self, picture: SmallPicture) -> None:
        """Show a picture at full resolution instead of the screen, until a key; say so when the terminal can't."""
        raise NotImplementedError

    def show_in_viewer(self, path: str) -> None:
        """Open a picture in the desktop's own viewer, or say why not."""
        raise NotImplementedError

    def show_cuts_in_viewer(self, cuts: Sequence[tuple[str, Box]], name: str) -> None:
        """Open parts of pictures beside each other, pixel for pixel; `name` is for the file that is written."""
        raise NotImplementedError

    def other_theme(self) -> None:
        raise NotImplementedError

    def leave(self) -> None:
        """End, or ask first while a frame is under way."""
        raise NotImplementedError
