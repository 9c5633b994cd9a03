"""Lines of the picture: painted as terminals read them, cut and joined without changing a cell."""

from __future__ import annotations

import io
import re

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from rich.console import Console
from textual.strip import Strip

from tui.screen.strips import BLANK, PictureStrip, pack, spread

TRUECOLOR = Console(color_system="truecolor", force_terminal=True, file=io.StringIO())
SGR = re.compile(r"\x1b\[([\d;]*)m")


def painted_cells(painted: str) -> list[tuple[str, str]]:
    """(colours in force, character) of each cell, as a terminal would read the text."""
    cells, colours = [], ""
    for part in re.split(r"(\x1b\[[\d;]*m)", painted):
        match = SGR.fullmatch(part)
        if match:
            colours = "" if match[1] in ("", "0") else match[1]
        else:
            cells += [(colours, char) for char in part]
    return cells


def strip_of(pixels: NDArray[np.uint8], signs: dict[int, str] | None = None) -> PictureStrip:
    upper, lower = pack(pixels).tolist()
    return PictureStrip(upper, lower, signs or {}, 0x0B0B0C, 0xC9C5BD)


PIXELS = st.integers(1, 40).flatmap(
    lambda width: st.binary(min_size=6 * width, max_size=6 * width).map(
        lambda data: np.frombuffer(data, np.uint8).reshape(2, width, 3)
    )
)


@given(PIXELS, st.dictionaries(st.integers(0, 39), st.sampled_from("┌─◎"), max_size=4))
def test_a_painted_line_and_its_segments_show_the_same_cells(pixels: NDArray[np.uint8], signs: dict[int, str]) -> None:
    upper, lower = pack(pixels).tolist()
    margin = [BLANK] * 3
    strip = PictureStrip([*margin, *upper, *margin], [*margin, *lower, *margin], signs, 0x0B0B0C, 0xC9C5BD)
    ordinary = Strip(list(strip), strip.cell_length)
    assert painted_cells(strip.render(TRUECOLOR)) == painted_cells(ordinary.render(TRUECOLOR))


@given(PIXELS, st.integers(0, 40), st.integers(0, 40))
def test_a_cut_line_shows_the_same_cells_as_the_whole_one(pixels: NDArray[np.uint8], one: int, other: int) -> None:
    strip = strip_of(pixels, {2: "│"})
    start, end = sorted((one, other))
    whole = painted_cells(strip.render(TRUECOLOR))
    assert painted_cells(strip.crop(start, end).render(TRUECOLOR)) == whole[start:end]
    width = strip.cell_length
    cuts = sorted({min(one, width), width} - {0})
    parts = strip.divide(cuts)
    assert [cell for part in parts for cell in painted_cells(part.render(TRUECOLOR))] == whole


@given(PIXELS)
def test_joined_with_ordinary_text_a_line_keeps_its_cells(pixels: NDArray[np.uint8]) -> None:
    """Textual joins strips for exports; this pins what the base class reads of ours."""
    strip = strip_of(pixels)
    joined = Strip.join([Strip.blank(3), strip])
    assert joined.cell_length == strip.cell_length + 3
    assert painted_cells(joined.render(TRUECOLOR))[3:] == painted_cells(strip.render(TRUECOLOR))


def test_without_truecolor_the_line_is_painted_in_the_colours_that_there_are() -> None:
    console = Console(color_system="256", force_terminal=True, file=io.StringIO())
    painted = strip_of(np.full((2, 3, 3), 200, np.uint8)).render(console)
    assert "38;5;" in painted and "38;2;" not in painted


@given(PIXELS)
def test_colours_are_true_to_five_bits_a_channel(pixels: NDArray[np.uint8]) -> None:
    colours = spread(pack(pixels))
    channels = np.stack([colours >> 16, colours >> 8 & 255, colours & 255], axis=-1)
    assert np.abs(channels - pixels.astype(int)).max() < 8


def test_white_stays_white_and_black_black() -> None:
    assert spread(pack(np.array([[[255] * 3, [0] * 3]], np.uint8))).tolist() == [[0xFFFFFF, 0]]


def test_blank_cells_show_the_ground() -> None:
    strip = PictureStrip([BLANK] * 2, [BLANK] * 2, {}, 0x0B0B0C, 0xFFFFFF)
    assert "48;2;11;11;12" in strip.render(TRUECOLOR)
    assert strip.text == "  "
