"""Two frames side by side: their pictures, and what differs in verdict, settings, lights and findings."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Static

from storage.views import FrameRecord
from tui.keyed import KeyedScreen
from tui.keys import Facts, Where, shown
from tui.ledger_text import comparison
from tui.panels import heading, key_line
from tui.pictures import SmallPicture
from tui.widgets.panel import Panel
from tui.widgets.picture import PictureView

if TYPE_CHECKING:
    from tui.app import StillsetApp


class CompareScreen(KeyedScreen):
    """The pinned frame left, the other right."""

    CSS = """
    CompareScreen #pictures { height: 1fr; max-height: 55%; }
    CompareScreen .side { width: 1fr; margin-right: 1; }
    CompareScreen .name { height: 1; }
    CompareScreen #differences { height: 1fr; }
    CompareScreen #keys { height: 1; background: $panel; }
    """

    app: StillsetApp
    where = Where.COMPARE

    def __init__(self, one: FrameRecord, other: FrameRecord) -> None:
        super().__init__()
        self._frames = (one, other)

    def compose(self) -> ComposeResult:
        with Horizontal(id="pictures"):
            for i, record in enumerate(self._frames):
                with Vertical(classes="side"):
                    yield Static(heading(f"FRAME {record.number}"), classes="name", markup=False)
                    yield PictureView(id=f"picture{i}")
        with VerticalScroll(id="differences"):
            yield Panel(id="text")
        yield Panel(id="keys")

    def on_mount(self) -> None:
        one, other = self._frames
        self.query_one("#text", Panel).show(lambda width, height: comparison(one, other, width))
        self.query_one("#text").styles.height = "auto"
        self.query_one("#differences").focus()
        rows = shown(self.where, Facts())
        words = {"back": "back · ↑ ↓ to read on"}
        self.query_one("#keys", Panel).show(lambda width, height: key_line(rows, words, width, height))
        for i, record in enumerate(self._frames):
            if record.picture:
                self.app.load_picture(record.picture, partial(self._loaded, i), f"compared {i}")

    def _loaded(self, i: int, path: str, picture: SmallPicture | None, sentence: str) -> None:
        record = self._frames[i]
        sharpest_at = record.focus.sharpest_at if record.focus else None
        self.query_one(f"#picture{i}", PictureView).show(picture, record.revision.region, sharpest_at, sentence)

    def act_back(self, key: str) -> None:
        self.dismiss()
