"""What a person sees in a terminal: a terminal emulator reads what the program writes, and the screen is read as text.

with in_terminal(home, "shoot", …, columns=80, rows=24) as terminal:
    seen = TerminalScreen(terminal, 80, 24)
    seen.until_large("READY")
"""

from __future__ import annotations

import re
from collections.abc import Callable
from time import monotonic

import pyte

from tests.support.stillset_program import DEADLINE_S
from tests.support.terminal_program import Terminal
from tui.bench.state_lines import SENTENCE_ROWS
from tui.screen.layout import TALL_ROWS, WIDE_COLUMNS
from tui.screen.letters import block_text

SETTINGS_COLUMNS, WIDE_SETTINGS_COLUMNS = 18, 30
"""What stands at the right of the bench's large line."""


class TerminalScreen:
    """The screen of a program in a terminal of this size, as it is now."""

    def __init__(self, terminal: Terminal, columns: int, rows: int) -> None:
        self.terminal = terminal
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)
        self._read = 0
        wide, tall = columns >= WIDE_COLUMNS, rows >= TALL_ROWS
        self._large_rows = 6 if wide and tall else 3
        self._large_columns = columns - (WIDE_SETTINGS_COLUMNS if wide else SETTINGS_COLUMNS)

    @property
    def lines(self) -> list[str]:
        """Row by row, the ends without blanks."""
        written = self.terminal.since(self._read)
        self._read += len(written)
        self._stream.feed(written)
        return [line.rstrip() for line in self._screen.display]

    @property
    def text(self) -> str:
        return "\n".join(self.lines)

    def cell(self, row: int, column: int) -> pyte.screens.Char:
        """One character as it was when the lines were last read: `data`, `fg`, `bg`, `reverse`, as pyte names them."""
        return self._screen.buffer[row][column]

    @property
    def title(self) -> str:
        """The bench's first row: piece, view and set-up, battery and card."""
        return self.lines[0]

    @property
    def sentence(self) -> str:
        """What stands under the bench's large line, with what comes below it where that is short, in one."""
        first = 1 + self._large_rows
        return " ".join(self.lines[first : first + 2 * SENTENCE_ROWS])

    def shows_large(self, word: str) -> bool:
        """Whether the bench's large line reads so."""
        wanted = block_text(word, self._large_columns, self._large_rows)
        here = self.lines[1 : 1 + self._large_rows]
        return [line.rstrip() for line in wanted] == [line[: self._large_columns].rstrip() for line in here]

    def until(self, holds: Callable[[], object], otherwise: str) -> object:
        """Wait until it holds of the screen; what it gave."""
        deadline_s = monotonic() + DEADLINE_S
        while not (found := holds()):
            more = self.terminal.more(self._read, deadline_s - monotonic())
            assert more, f"never showed {otherwise}:\n{self.text}"
        return found

    def until_text(self, words: str) -> None:
        self.until(lambda: words in self.text, words)

    def until_large(self, word: str) -> None:
        self.until(lambda: self.shows_large(word), f"the large line {word!r}")

    def until_said(self, pattern: str) -> re.Match[str]:
        """Wait until the sentence under the large line holds this pattern."""
        found = self.until(lambda: re.search(pattern, self.sentence), f"the sentence {pattern!r}")
        assert isinstance(found, re.Match)
        return found
