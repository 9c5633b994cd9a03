"""What the screens at the tripod share: the bench and the match screen tell a release, a stop and live view alike.

Each has a large line, a sentence, a picture, a line to type in and the keys; their parts act through `BenchPort`.
"""

from __future__ import annotations

from collections.abc import Callable

from textual.events import Resize

from session.set.kit import Kit
from session.shoot.acts import Act
from storage.reading.shown_picture import shown_picture
from tui.bench.state_lines import StateLines, is_small
from tui.screen.app_port import AppPort
from tui.screen.keyed import KeyedScreen
from tui.screen.layout import TALL_ROWS, WIDE_COLUMNS
from tui.screen.prompt import Prompt, Take
from tui.words.model import BenchModel

COUNTS_EVERY_S = 0.1
"""The count of a wait is shown to a tenth of a second."""


class TripodScreen(KeyedScreen):
    """The parts of `BenchPort` that don't differ, and the look of what is told.

    lines  the large line, the sentence and the hint
    """

    DEFAULT_CSS = """
    TripodScreen { layout: vertical; }
    TripodScreen #place, TripodScreen #caption, TripodScreen #hint { height: 1; }
    TripodScreen #large { height: 3; text-style: bold; }
    TripodScreen #large.-go, TripodScreen #large.-good { color: $success; }
    TripodScreen #large.-wait, TripodScreen #large.-caution { color: $warning; }
    TripodScreen #large.-stop { color: $error; }
    TripodScreen #large.-busy { color: $foreground; }
    TripodScreen #say { height: 2; }
    TripodScreen #say.-long { height: 4; }
    TripodScreen #middle { height: 1fr; }
    TripodScreen #caption { color: $quiet; }
    TripodScreen #picture, TripodScreen #plan { height: 1fr; }
    TripodScreen #plan, TripodScreen #left.-unseen #picture { display: none; }
    TripodScreen #left.-unseen #plan { display: block; }
    TripodScreen #hint { color: $primary; text-style: italic; display: none; }
    TripodScreen #hint.-said { display: block; }
    TripodScreen #hint.-long { height: 2; }
    TripodScreen #keys { height: 2; background: $panel; }
    TripodScreen.-wide.-tall #large { height: 6; }
    TripodScreen.-small #middle, TripodScreen.-small #place { display: none; }
    """

    app: AppPort
    lines: StateLines

    @property
    def model(self) -> BenchModel:
        return self.app.model

    @property
    def kit(self) -> Kit:
        return self.app.kit

    @property
    def post(self) -> Callable[[Act], None]:
        return self.app.post

    def say(self, sentence: str, about: str = "") -> None:
        self.app.say(sentence, about)

    def ask(self, label: str, take: Take, value: str = "") -> None:
        self.query_one(Prompt).ask(label, take, value)
        self.repaint()

    def reference_path(self) -> str | None:
        reader, frame_id = self.app.reader, self.model.reference_id
        record = reader.frame(frame_id) if reader and frame_id else None
        shown = shown_picture(record) if record else None
        return shown.path if shown else None

    def later(self, delay_s: float, act: Callable[[], None]) -> Callable[[], None]:
        return self.set_timer(delay_s, act).stop

    def repaint(self) -> None:
        """Show the model as it is now."""
        raise NotImplementedError

    def act_cancel(self, key: str) -> None:
        self.query_one(Prompt).close()

    def act_help(self, key: str) -> None:
        self.app.show_help(self.where)

    def on_resize(self, event: Resize) -> None:
        width, height = event.size
        self.set_class(width >= WIDE_COLUMNS, "-wide")
        self.set_class(height >= TALL_ROWS, "-tall")
        self.set_class(is_small(event.size), "-small")
        self.repaint()

    def count(self) -> None:
        """Show how long a wait still takes."""
        if self.app.screen is self:
            self.lines.tell(self.size)
