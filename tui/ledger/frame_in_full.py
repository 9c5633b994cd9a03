"""A frame of the ledger in full: the record and the picture, or a picture of its set, read in the background."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from textual.content import Content

from session.frame.ports import LogError
from storage.reading.shown_picture import ShownPicture, shown_picture
from storage.reading.views import FrameRecord, FrameRow, SetPicture
from tui.ledger.frame_list import LedgerPort
from tui.screen.background import Then
from tui.screen.ledger_text import record_text
from tui.screen.panel import Panel
from tui.screen.panels import STRONG, stack
from tui.screen.picture_view import PictureView
from tui.screen.small_picture import SmallPicture


class FrameInFull:
    """The frame that was read last."""

    def __init__(self, ledger: LedgerPort) -> None:
        self._ledger = ledger
        self._record: FrameRecord | None = None
        self._shown: ShownPicture | None = None
        self._of_set: Sequence[SetPicture] = ()
        self._at = 0
        self._wanted_path = ""
        self._picture: tuple[str, SmallPicture | None, str] = ("", None, "")

    @property
    def set_pictures(self) -> int:
        """How many pictures of the frame's set there are."""
        return len(self._of_set)

    def step(self, by: int) -> None:
        """Go on from the frame's picture to those of its set, and after the last to the frame's again."""
        self._at = (self._at + by) % (len(self._of_set) + 1)
        self._load()
        self._ledger.repaint()

    def read(self, row: FrameRow | None) -> None:
        """Read this frame; None: there is no frame."""
        reader = self._ledger.app.reader
        if reader is None or row is None:
            self._record = None
            return

        def work() -> Then:
            try:
                record = reader.frame(row.frame_id)
                of_set = reader.set_pictures(record.job, record.revision) if record else ()
                return partial(self._take, record, shown_picture(record) if record else None, of_set)
            except LogError as error:
                return partial(self._ledger.refuse, str(error))

        self._ledger.app.in_background(work, "record")

    def show(self, panel: Panel, view: PictureView) -> None:
        """Show the record in the panel, and its picture in the view, as far as they are here."""
        record, shown = self._record, self._shown
        of_set, caption = self._here, self._caption()

        def text(width: int, height: int) -> Content:
            if record is None:
                return Content("")
            whole = record_text(record, width, shown.told if shown else "")
            return stack([Content.styled(caption, STRONG), whole]) if caption else whole

        panel.show(text)
        path, picture, sentence = self._picture
        if of_set is not None:
            is_here = of_set.whole and path == of_set.path
            view.show(picture if is_here else None, sentence=sentence if of_set.whole else "not as it was stored")
        elif record is None or shown is None:
            view.show(None, sentence="no picture")
        elif path == shown.path:
            view.show(picture, record.region, record.focus.sharpest_at if record.focus else None, sentence)

    @property
    def _here(self) -> SetPicture | None:
        """The picture of the set on show; None while it is the frame's own."""
        return self._of_set[self._at - 1] if 0 < self._at <= len(self._of_set) else None

    def _caption(self) -> str:
        """`SET, PICTURE 1 · 2 of 3`; "" while the frame's own picture is on show."""
        one, record = self._here, self._record
        if one is None or record is None:
            return ""
        of_other = f" · of {one.setup}" if one.setup != record.setup else ""
        return f"SET, PICTURE {one.number}{of_other} · {self._at + 1} of {len(self._of_set) + 1}"

    def _take(self, record: FrameRecord | None, shown: ShownPicture | None, of_set: Sequence[SetPicture]) -> None:
        if record is None or self._record is None or record.frame_id != self._record.frame_id:
            self._at = 0
        self._record, self._shown, self._of_set = record, shown, of_set
        self._at = min(self._at, len(of_set))
        self._load()
        self._ledger.repaint()

    def _load(self) -> None:
        """Have the picture on show read, where it isn't here."""
        of_set, shown = self._here, self._shown
        path = of_set.path if of_set else shown.path if shown else ""
        self._wanted_path = path
        if path and path != self._picture[0]:
            self._ledger.app.load_picture(path, self._keep, "ledger picture")

    def _keep(self, path: str, picture: SmallPicture | None, sentence: str) -> None:
        if path == self._wanted_path:
            self._picture = (path, picture, sentence)
            self._ledger.repaint()
