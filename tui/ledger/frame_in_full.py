"""A frame of the ledger in full: the record and the picture, read in the background."""

from __future__ import annotations

from functools import partial

from textual.content import Content

from session.frame.ports import LogError
from storage.reading.shown_picture import ShownPicture, shown_picture
from storage.reading.views import FrameRecord, FrameRow
from tui.ledger.frame_list import LedgerPort
from tui.screen.background import Then
from tui.screen.ledger_text import record_text
from tui.screen.panel import Panel
from tui.screen.picture_view import PictureView
from tui.screen.small_picture import SmallPicture


class FrameInFull:
    """The frame that was read last."""

    def __init__(self, ledger: LedgerPort) -> None:
        self._ledger = ledger
        self._record: FrameRecord | None = None
        self._shown: ShownPicture | None = None
        self._picture: tuple[str, SmallPicture | None, str] = ("", None, "")

    def read(self, row: FrameRow | None) -> None:
        """Read this frame; None: there is no frame."""
        reader = self._ledger.app.reader
        if reader is None or row is None:
            self._record = None
            return

        def work() -> Then:
            try:
                record = reader.frame(row.frame_id)
                return partial(self._take, record, shown_picture(record) if record else None)
            except LogError as error:
                return partial(self._ledger.refuse, str(error))

        self._ledger.app.in_background(work, "record")

    def show(self, panel: Panel, view: PictureView) -> None:
        """Show the record in the panel, and its picture in the view, as far as they are here."""
        record, shown = self._record, self._shown
        panel.show(
            lambda width, height: record_text(record, width, shown.told if shown else "") if record else Content("")
        )
        path, picture, sentence = self._picture
        if record is None or shown is None:
            view.show(None, sentence="no picture")
        elif path == shown.path:
            view.show(picture, record.region, record.focus.sharpest_at if record.focus else None, sentence)

    def _take(self, record: FrameRecord | None, shown: ShownPicture | None) -> None:
        self._record, self._shown = record, shown
        if shown and shown.path != self._picture[0]:
            self._ledger.app.load_picture(shown.path, self._keep, "ledger picture")
        self._ledger.repaint()

    def _keep(self, path: str, picture: SmallPicture | None, sentence: str) -> None:
        self._picture = (path, picture, sentence)
        self._ledger.repaint()
