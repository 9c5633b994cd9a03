"""What a picture in the terminal costs: ready-made lines against a Rich style for each cell, side by side.

Both paint the same fresh pictures of 120x40 cells, in turn, from pixels to the text for the terminal.

    pytest tests/benchmarks/test_picture_cost.py -s
"""

from __future__ import annotations

import io
import statistics
from collections.abc import Callable
from functools import lru_cache
from time import process_time

import numpy as np
import pytest
from numpy.typing import NDArray
from rich.color import Color
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from tui.screen.strips import COLOURS, PictureStrip, pack

COLUMNS, ROWS, ROUNDS = 120, 40, 15
MOST = 0.5
"""Share of the plain way's cost on noise, the worst picture there is. Chosen: half, or the trouble isn't worth it."""

CONSOLE = Console(color_system="truecolor", force_terminal=True, file=io.StringIO())
Pixels = NDArray[np.uint8]


def ready_made(pixels: Pixels) -> list[str]:
    colours = pack(pixels).tolist()
    return [PictureStrip(colours[2 * y], colours[2 * y + 1], {}, 0, 0xFFFFFF).render(CONSOLE) for y in range(ROWS)]


@lru_cache(maxsize=2 * COLOURS)
def style_of(upper: int, lower: int) -> Style:
    """Kept as far as a cache of the same size goes, to give the plain way its due."""
    above, below = ((c >> 16, c >> 8 & 255, c & 255) for c in (upper, lower))
    return Style.from_color(Color.from_rgb(*above), Color.from_rgb(*below))


def plain(pixels: Pixels) -> list[str]:
    colours = pack(pixels).tolist()
    return [
        Strip([Segment("▀", style_of(*cell)) for cell in zip(colours[2 * y], colours[2 * y + 1], strict=True)]).render(
            CONSOLE
        )
        for y in range(ROWS)
    ]


def noise(random: np.random.Generator) -> Pixels:
    return random.integers(0, 256, (2 * ROWS, COLUMNS, 3), dtype=np.uint8)


def metal(random: np.random.Generator) -> Pixels:
    """A bright, striped, slightly noisy surface that moves from picture to picture."""
    y, x = np.mgrid[0 : 2 * ROWS, 0:COLUMNS]
    light = 120 + 60 * np.sin((x + y * 0.6 + random.uniform(0, 60)) / 9)
    toned = light[..., None] * np.array([1.0, 0.93, 0.8]) + random.normal(0, 3, (2 * ROWS, COLUMNS, 1))
    return np.clip(toned, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("picture", [noise, metal])
def test_ready_made_lines_cost_less_than_a_style_for_each_cell(
    picture: Callable[[np.random.Generator], Pixels],
) -> None:
    random = np.random.default_rng(1)
    costs: dict[str, list[float]] = {"ready-made": [], "plain": []}
    for _ in range(ROUNDS):
        pixels = picture(random)
        for name, paint in (("ready-made", ready_made), ("plain", plain)):
            began = process_time()
            paint(pixels)
            costs[name].append(process_time() - began)
    ratio = statistics.median(costs["ready-made"]) / statistics.median(costs["plain"])
    print(f"\n{picture.__name__}: ready-made lines cost {ratio:.2f} of a style for each cell")
    assert ratio <= (MOST if picture is noise else 1.0)
