"""Two frames side by side: their pictures, and what differs in verdict, settings, lights and findings."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from session.ports import LogError
from storage.views import FrameRecord, FrameRow
from tui.background import Then
from tui.house import House
from tui.keyed import KeyedScreen
from tui.keys import Facts, Where, shown
from tui.ledger_text import comparison
from tui.panels import heading, key_line
from tui.pictures import SmallPicture
from tui.widgets.panel import Panel
from tui.widgets.picture import PictureView


class CompareScreen(KeyedScreen):
    """The pinned frame left, the other right."""

    CSS = """
    CompareScreen #pictures { height: 1fr; max-height: 55%; }
    CompareScreen .side { width: 1fr; margin-right: 1; }
    CompareScreen .name { height: 1; }
    CompareScreen #differences { height: 1fr; }
    CompareScreen #text { height: auto; }
    CompareScreen #keys { height: 1; background: $panel; }
    """

    app: House
    where = Where.COMPARE

    def __init__(self, one: FrameRow, other: FrameRow) -> None:
        super().__init__()
        self._rows = (one, other)

    def compose(self) -> ComposeResult:
        with Horizontal(id="pictures"):
            for i, row in enumerate(self._rows):
                with Vertical(classes="side"):
                    yield Static(heading(f"FRAME {row.number}"), classes="name", markup=False)
                    yield PictureView(id=f"picture{i}")
        with VerticalScroll(id="differences"):
            yield Panel(id="text")
        yield Panel(id="keys")

    def on_mount(self) -> None:
        self.query_one("#differences").focus()
        rows, words = shown(self.where, Facts()), {"back": "back · ↑ ↓ to read on"}
        self.query_one("#keys", Panel).show(lambda width, height: key_line(rows, words, width, height))
        self.app.in_background(self._work, "compare")

    def _work(self) -> Then:
        """In the background."""
        try:
            found = [self.app.reader.frame(row.frame_id) for row in self._rows] if self.app.reader else []
        except LogError as error:
            return partial(self._say, str(error))
        one, other = (*found, None, None)[:2]
        return partial(self._read, one, other) if one and other else partial(self._say, "One of them is gone.")

    def _say(self, sentence: str) -> None:
        self._show(lambda width, height: Content(sentence))

    def _read(self, one: FrameRecord, other: FrameRecord) -> None:
        self._show(lambda width, height: comparison(one, other, width))
        for i, record in enumerate((one, other)):
            if record.picture:
                self.app.load_picture(record.picture, partial(self._loaded, i, record), f"compared {i}")

    def _show(self, make: Callable[[int, int], Content]) -> None:
        text = self.query_one("#text", Panel)
        text.show(make)
        text.refresh(layout=True)

    def _loaded(self, i: int, record: FrameRecord, path: str, picture: SmallPicture | None, sentence: str) -> None:
        sharpest_at = record.focus.sharpest_at if record.focus else None
        self.query_one(f"#picture{i}", PictureView).show(picture, record.revision.region, sharpest_at, sentence)

    def act_back(self, key: str) -> None:
        self.dismiss()
