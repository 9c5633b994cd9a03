"""The lines that tell the state of the bench: the large one, the sentences under it, and the hint above the keys."""

from __future__ import annotations

from textual.geometry import Size

from tui.bench.mode import BenchPort
from tui.screen import panels
from tui.screen.panel import LargeLine, Panel
from tui.words.harmless import harmless
from tui.words.wording import headline, sentences

LEAST_COLUMNS, LEAST_ROWS = 72, 20

SENTENCE_ROWS = 2
"""What is said under the large line usually takes; a longer text gets twice that."""


class StateLines:
    """Three widgets, for the screen to place, and what they say."""

    def __init__(self, bench: BenchPort) -> None:
        self._bench = bench
        self._hint = ""
        self.large, self.said, self.hint = LargeLine(id="large"), Panel(id="say"), Panel(id="hint")

    def tell(self, room: Size) -> None:
        """Say the model's state as it is now. room: the screen's own size in cells"""
        model, now_s = self._bench.model, self._bench.app.clock.monotonic_s()
        mode = self._bench.mode
        of_mode = mode.headline() if mode else None
        head = of_mode or headline(model, now_s)
        self.large.say(head.large, head.tone)
        lines = sentences(model, now_s, head)
        if is_small(room):
            lines.append(
                f"More room shows all: stillset wants 80 × 24, this terminal has {room.width} × {room.height}."
            )
        self.said.set_class(panels.sentence_rows(lines, self.said.size.width) > SENTENCE_ROWS, "-long")
        self.said.show(lambda width, height: panels.sentences_text(lines, width, height, head.remedy))

    def tell_hint(self) -> None:
        """Write the line above the keys; the text may change at any time."""
        text = self._hint_now
        if text != self._hint:
            self._hint = text
            self.hint.set_class(bool(text), "-said")
            self.hint.set_class(panels.sentence_rows([text], self.hint.app.size.width) > 1, "-long")
            self.hint.show(lambda width, height: panels.sentences_text([text] if text else [], width, height))

    @property
    def hint_is_old(self) -> bool:
        """Another hint would be written now."""
        return self._hint_now != self._hint

    @property
    def _hint_now(self) -> str:
        return harmless(self._bench.app.story.hint())


def is_small(room: Size) -> bool:
    """Large line, sentence and keys are all that there is room for."""
    return room.width < LEAST_COLUMNS or room.height < LEAST_ROWS
