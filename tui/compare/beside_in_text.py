"""Pictures side by side as text of half blocks, for a command that prints: several a row, names above.

A terminal without colours gets the names alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rich.console import Console

from session.picture.preview import UnreadablePicture
from tui.screen.small_picture import fit, small_picture
from tui.screen.strips import BLANK, PictureStrip, pack

GAP = 2
"""Cells between two pictures. Chosen."""

NARROWEST = 24
"""Cells of a picture's width: fewer tell nothing. Chosen."""

ROWS = 14
"""Cells of a picture's height: two rows of pictures fit on 40 lines. Chosen."""

BLACK, WHITE = 0x000000, 0xFFFFFF


@dataclass(frozen=True)
class Named:
    """A picture file and the name above it."""

    name: str
    path: Path


def lines_beside(pictures: Sequence[Named], console: Console) -> Iterator[str]:
    """The lines to print. A file that can't be read as a picture has its name alone."""
    across = max(1, min(len(pictures), (console.width + GAP) // (NARROWEST + GAP)))
    columns = min((console.width + GAP) // across - GAP, 3 * ROWS)
    for first in range(0, len(pictures), across):
        row = pictures[first : first + across]
        yield (" " * GAP).join(one.name[:columns].ljust(columns) for one in row).rstrip()
        if console.color_system is None:
            continue
        cells = np.full((2 * ROWS, len(row) * (columns + GAP) - GAP), BLANK, dtype=np.int32)
        for place, one in enumerate(row):
            drawn = _draw(one.path, columns)
            left = place * (columns + GAP)
            cells[: drawn.shape[0], left : left + drawn.shape[1]] = drawn
        used = int(np.flatnonzero((cells != BLANK).any(axis=1)).max(initial=-1)) // 2 + 1
        for upper, lower in zip(cells[0 : 2 * used : 2], cells[1 : 2 * used : 2], strict=True):
            yield PictureStrip(upper.tolist(), lower.tolist(), {}, BLACK, WHITE).render(console)


def _draw(path: Path, columns: int) -> NDArray[np.int32]:
    """Codes of the colours of a picture's cells; an empty array for a file that can't be read as a picture."""
    try:
        return pack(fit(small_picture(path), columns, ROWS))
    except UnreadablePicture:
        return np.empty((0, 0), dtype=np.int32)
