"""A frame of the ledger in full: the record and the picture, read in the background."""

from __future__ import annotations

from functools import partial

from textual.content import Content

from session.frame.ports import LogError
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
        self._picture: tuple[str, SmallPicture | None, str] = ("", None, "")

    def read(self, row: FrameRow | None) -> None:
        """Read this frame; None: there is no frame."""
        reader = self._ledger.app.reader
        if reader is None or row is None:
            self._record = None
            return

        def work() -> Then:
            try:
                return partial(self._take, reader.frame(row.frame_id))
            except LogError as error:
                return partial(self._ledger.refuse, str(error))

        self._ledger.app.in_background(work, "record")

    def show(self, panel: Panel, view: PictureView) -> None:
        """Show the record in the panel, and its picture in the view, as far as they are here."""
        record = self._record
        panel.show(lambda width, height: record_text(record, width) if record else Content(""))
        path, picture, sentence = self._picture
        if record is None or record.picture is None:
            view.show(None, sentence="no picture")
        elif path == record.picture:
            view.show(picture, record.region, record.focus.sharpest_at if record.focus else None, sentence)

    def _take(self, record: FrameRecord | None) -> None:
        self._record = record
        if record and record.picture and record.picture != self._picture[0]:
            self._ledger.app.load_picture(record.picture, self._keep, "ledger picture")
        self._ledger.repaint()

    def _keep(self, path: str, picture: SmallPicture | None, sentence: str) -> None:
        self._picture = (path, picture, sentence)
        self._ledger.repaint()
