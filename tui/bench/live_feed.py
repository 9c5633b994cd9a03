"""The live pictures on their way to the screen: each is made small in the background, and never is there a backlog."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from threading import Lock

from session.frame.ports import LogError
from session.live.decode import LiveGrey
from session.picture.preview import UnreadablePicture
from session.set.setup import Region
from session.shoot.acts import LivePictureUsed
from session.shoot.events import LivePicture
from storage.reading.shown_picture import shown_picture
from tui.bench.live_reference import LiveReference, ReferenceFacts
from tui.bench.mode import BenchPort
from tui.bench.picture_place import PicturePlace
from tui.screen.background import Then
from tui.screen.shoot_port import Reader
from tui.screen.small_picture import SmallPicture, grey_picture, small_live_picture, small_picture
from tui.words.live_look import Hold

USUAL_SHAPE = (2, 3)
"""Height and width of a live picture that the instruments have not seen: the proportions of most sensors."""


class LiveFeed:
    """Takes live pictures one at a time: the next is asked for when the last has been painted.

    newest  the picture that came last, None before the first
    """

    def __init__(
        self, bench: BenchPort, place: PicturePlace, moved: Callable[[], Region | None], paint: Callable[[], None]
    ) -> None:
        """moved: the region that is being moved over the picture. paint: shows what a live picture changes"""
        self._bench, self._place, self._moved, self._paint = bench, place, moved, paint
        self._owed = False
        self._reference: LiveReference | None = None
        self._one_at_a_time = Lock()
        self.newest: LivePicture | None = None

    def take(self, event: LivePicture) -> None:
        """A live picture came; it is made small beside the keys."""
        self.newest = event
        if self._bench.model.live.on:
            self._bench.app.in_background(self._work(event, asks=True), "live")

    def show_anew(self) -> None:
        """The newest picture as the keys want it now; the next one would be late, or never come."""
        if self.newest is not None and self._bench.model.live.on:
            self._bench.app.in_background(self._work(self.newest, asks=False), "live again")
        self._bench.repaint()

    def drop_correction(self) -> None:
        """The picture will be compared otherwise: what was to correct is said no more."""
        self._place.correction = None

    def ask_if_owed(self) -> None:
        """Ask for the next picture, if the last was painted and pictures are wanted on this screen."""
        if self._owed and not self._bench.model.live.look.paused and self._place.is_seen:
            self._owed = False
            self._bench.post(LivePictureUsed())

    def _work(self, event: LivePicture, *, asks: bool) -> Callable[[], Then]:
        live, revision, size_px = self._bench.model.live, self._bench.model.revision, self._place.size_px
        grey = event.reading.picture if event.reading else None
        shape = grey.shape if grey else USUAL_SHAPE
        enlarged = revision if self._moved() is None else None  # a region is moved over the whole picture
        part = live.look.part(enlarged.region, (shape[1], shape[0]), size_px) if enlarged else None
        held = self._reference_facts() if live.look.hold is not Hold.ALONE and grey is not None else None
        if held is None or grey is None:
            whole = event.reading is None or grey is not None
            return partial(self._make_small, event.jpeg if whole else b"", part, size_px, asks)
        return partial(self._make_compared, held, grey, live.look.hold, part, asks)

    def _reference_facts(self) -> ReferenceFacts | None:
        model = self._bench.model
        if model.reference_id is None or model.revision is None:
            return None
        serial, name = (model.description.serial, model.description.model) if model.description else ("", "")
        body = self._bench.kit.body_for(model.revision.body, serial, name)
        return ReferenceFacts(model.reference_id, model.revision.region, model.revision.arrangement, body)

    def _make_small(self, jpeg: bytes, part: Region | None, size_px: tuple[int, int], asks: bool) -> Then:
        """Make the live picture small, in the background."""
        try:
            picture = small_live_picture(jpeg, part, size_px) if jpeg else None
        except UnreadablePicture:
            picture = None
        return partial(self._show, picture, None, asks)

    def _make_compared(self, held: ReferenceFacts, grey: LiveGrey, hold: Hold, part: Region | None, asks: bool) -> Then:
        """Lay live picture and reference over each other, in the background."""
        app = self._bench.app
        with self._one_at_a_time:
            reference = self._reference
            if reference is None or reference.held != held:
                try:
                    reference = self._reference = LiveReference(held, reference_picture(app.reader, held.frame_id))
                except (LogError, UnreadablePicture) as error:
                    return partial(self._show, grey_picture(grey.codes, part), f"The reference: {error}", asks)
            words = reference.words(grey, app.clock.monotonic_s())
            laid_over = reference.laid_over(grey, hold)
        return partial(self._show, grey_picture(laid_over, part), words, asks)

    def _show(self, picture: SmallPicture | None, correction: str | None, asks: bool) -> None:
        """Show the picture made, in the screen's own thread."""
        if not self._bench.model.live.on:
            return
        self._place.take_live(picture, correction)
        if self._place.is_seen:
            self._paint()
        if asks:
            self._owed = True
            self._place.call_after_refresh(self.ask_if_owed)


def reference_picture(reader: Reader | None, frame_id: str) -> SmallPicture:
    """The picture of an approved frame. Raises LogError or UnreadablePicture with a clause."""
    record = reader.frame(frame_id) if reader else None
    shown = shown_picture(record) if record else None
    if shown is None:
        raise UnreadablePicture("has no picture")
    return small_picture(shown.path)
