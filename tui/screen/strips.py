"""Lines of a half-block picture, painted as ready-made text: a cell shows two pixels, upper and lower.

Colours have 5 bits a channel, so that the escape sequences of all of them can be kept in two lists; a Rich style for
each pair of fresh colours costs many times as much. A cell that looks like the cell before takes one character.
Whatever else Textual does with a line (cut it, join it, filter it, export it) works on ordinary segments, which are
made only when they are asked for.

A cell's colours are codes of 15 bits; all others are packed as 0xRRGGBB.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from itertools import pairwise
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from rich.color import Color
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

UPPER_HALF = "▀"
BLANK = -1
"""A cell without pixels: the ground shows."""

BLACK, WHITE, HALF_BRIGHT = 0x000000, 0xFFFFFF, 110
"""Signs on the picture are black or white, whichever stands out more from the cell behind them."""

COLOURS = 2**15
"""As many as 5 bits a channel can tell apart."""


CodeT = TypeVar("CodeT", int, NDArray[np.int32])


def pack(pixels: NDArray[np.uint8]) -> NDArray[np.int32]:
    """(height, width, 3) uint8 → (height, width) int32 codes of colours with 5 bits a channel."""
    five = (pixels >> 3).astype(np.int32)
    codes: NDArray[np.int32] = five[..., 0] << 10 | five[..., 1] << 5 | five[..., 2]
    return codes


def spread(code: CodeT) -> CodeT:
    """The colour of a code, or of an array of codes: its 5 bits a channel spread over all 8."""
    wide = (code & 0x7C00) << 9 | (code & 0x3E0) << 6 | (code & 0x1F) << 3
    return wide | wide >> 5 & 0x070707


class PictureStrip(Strip):
    """A line of cells.

    upper, lower  codes of the colours of each cell's two pixels, BLANK in both for none
    signs         column → a character that stands on the cell instead of the half block; "" on the second cell of a
                  character that takes two
    ground, ink   colour behind blank cells, and of signs on them
    """

    __slots__ = ("_ground", "_ink", "_lower", "_made", "_painted", "_signs", "_upper")

    def __init__(
        self, upper: Sequence[int], lower: Sequence[int], signs: Mapping[int, str], ground: int, ink: int
    ) -> None:
        self._upper, self._lower, self._signs = upper, lower, signs
        self._ground, self._ink = ground, ink
        self._made: list[Segment] | None = None
        self._painted: str | None = None
        super().__init__((), len(upper))

    @property
    def _segments(self) -> list[Segment]:
        """The segments of the base class, which has no public hook for making them on demand. A test pins this."""
        if self._made is None:
            self._made = [Segment(text, _style(ink, ground)) for text, ink, ground in self._runs()]
        return self._made

    @_segments.setter
    def _segments(self, segments: list[Segment]) -> None:
        """Ignore the empty segments that the base class sets when it is made."""

    def render(self, console: Console) -> str:
        """Escape sequences and characters of the line."""
        if console.color_system != "truecolor":
            return super().render(console)
        if self._painted is None:
            self._painted = "".join(self._cells()) + "\x1b[0m"
        return self._painted

    def crop(self, start: int, end: int | None = None) -> PictureStrip:
        """The cells from start up to end."""
        last = len(self._upper) if end is None else min(end, len(self._upper))
        first = max(0, start)
        if (first, last) == (0, len(self._upper)):
            return self
        signs = {column - first: sign for column, sign in self._signs.items() if first <= column < last}
        return PictureStrip(self._upper[first:last], self._lower[first:last], signs, self._ground, self._ink)

    def divide(self, cuts: Iterable[int]) -> Sequence[Strip]:
        """The line cut at these columns."""
        ends = [cut for cut in cuts if cut <= len(self._upper)]
        return [self.crop(start, end) for start, end in pairwise([0, *ends])]

    def _cells(self) -> list[str]:
        """Each cell's text with the escape sequence it needs after the cell before."""
        inks, grounds = _texts(self._ground, self._ink)
        upper, lower = self._upper, self._lower
        cells = [
            (UPPER_HALF if a >= 0 else " ") if a == above and b == below else inks[a] + grounds[b]
            for a, b, above, below in zip(upper, lower, (None, *upper), (None, *lower), strict=False)
        ]
        for column, sign in self._signs.items():
            if column < len(cells):
                text, ink, ground = self._with_sign(upper[column], lower[column], sign)
                cells[column] = _sgr(ink, ground) + text
                after = column + 1
                if after < len(cells) and after not in self._signs:
                    cells[after] = inks[upper[after]] + grounds[lower[after]]
        return cells

    def _runs(self) -> Iterator[tuple[str, int, int]]:
        """(text, ink, ground) of neighbouring cells that look alike."""
        before, length = (BLANK, BLANK), 0
        for column, cell in enumerate(zip(self._upper, self._lower, strict=True)):
            sign = self._signs.get(column)
            if length and (sign is not None or cell != before):
                yield self._run(*before, length)
                length = 0
            if sign is not None:
                yield self._with_sign(*cell, sign)
            else:
                before, length = cell, length + 1
        if length:
            yield self._run(*before, length)

    def _run(self, upper: int, lower: int, length: int) -> tuple[str, int, int]:
        if upper == BLANK:
            return " " * length, self._ink, self._ground
        return UPPER_HALF * length, spread(upper), spread(lower)

    def _with_sign(self, upper: int, lower: int, sign: str) -> tuple[str, int, int]:
        if upper == BLANK:
            return sign, self._ink, self._ground
        above, below = spread(upper), spread(lower)
        mean = ((above ^ below) & 0xFEFEFE) // 2 + (above & below)  # of each channel, with no carry between them
        red, green, blue = mean >> 16, mean >> 8 & 255, mean & 255
        bright = 0.2126 * red + 0.7152 * green + 0.0722 * blue > HALF_BRIGHT  # luma weights of ITU-R BT.709
        return sign, BLACK if bright else WHITE, mean


@cache
def _sequences() -> tuple[list[str], list[str]]:
    """The escape sequence of each colour code as ink, and as ground with a half block behind it."""
    levels = [str(spread(five) & 255) for five in range(32)]
    colours = [f"{red};{green};{blue}" for red in levels for green in levels for blue in levels]
    return [f"\x1b[38;2;{colour}" for colour in colours], [f";48;2;{colour}m{UPPER_HALF}" for colour in colours]


@cache
def _texts(ground: int, ink: int) -> tuple[list[str], list[str]]:
    """The sequences of `_sequences` with those of a blank cell at the end, where the index BLANK finds them."""
    inks, grounds = _sequences()
    blank = _sgr(ink, ground)
    return [*inks, blank], [*grounds, " "]


def _sgr(ink: int, ground: int) -> str:
    """Select Graphic Rendition with direct colours (ISO 8613-6, in the form with semicolons that terminals take)."""
    return f"\x1b[38;2;{ink >> 16};{ink >> 8 & 255};{ink & 255};48;2;{ground >> 16};{ground >> 8 & 255};{ground & 255}m"


def _style(ink: int, ground: int) -> Style:
    return Style.from_color(_rich(ink), _rich(ground))


def _rich(colour: int) -> Color:
    return Color.from_rgb(colour >> 16, colour >> 8 & 255, colour & 255)
