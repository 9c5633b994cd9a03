"""Letters, lines of the picture, the picture's proportions, and the themes' contrast."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from rich.console import Console
from textual.color import Color
from textual.strip import Strip
from textual.theme import Theme

from session.frame.finding import Finding, FocusVerdict, Level
from session.picture.preview import UnreadablePicture
from session.set.setup import Region
from session.shoot.events import RulesChanged
from tests.support.bench_events import COMING, FOUND, judged
from tests.support.running_screen import SMALL, bench
from tests.support.scripted_table import SYNC, FixedClock, ScriptedTable
from tui.screen.letters import HALVES, LETTERS, QUADRANTS, block_text
from tui.screen.picture_view import frame_signs
from tui.screen.small_picture import SmallPicture, fit, small_live_picture, small_picture
from tui.screen.strips import BLANK, PictureStrip, pack, spread
from tui.screen.themes import THEMES, after

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


# --- letters ----------------------------------------------------------------------------------------


def test_every_letter_is_six_half_rows_of_equal_width() -> None:
    for letter, rows in LETTERS.items():
        assert len(rows) == 6, letter
        assert len({len(row) for row in rows}) == 1, letter


def test_no_two_letters_look_alike() -> None:
    shapes = {letter: rows for letter, rows in LETTERS.items() if letter != "O"}  # O and 0 may
    assert len(set(shapes.values())) == len(shapes)


def test_wide_letters_read_back_dot_by_dot() -> None:
    rows = block_text("E", 10)
    assert rows == ["█▀▀▀", "█▀▀ ", "▀▀▀▀"]


def test_twice_the_size_takes_six_rows_and_twice_the_width() -> None:
    small, large = block_text("READY", 80), block_text("READY", 160, 6)
    assert len(large) == 6
    assert max(map(len, large)) == 2 * max(map(len, small))


@given(st.text(st.sampled_from(sorted(LETTERS)), min_size=1, max_size=20), st.integers(1, 130), st.sampled_from([3, 6]))
def test_block_text_never_takes_more_room_than_there_is(text: str, width: int, rows: int) -> None:
    drawn = block_text(text, width, rows)
    assert len(drawn) == rows
    assert max(map(len, drawn)) <= width


def test_text_that_has_no_letters_here_stands_plainly_in_the_middle() -> None:
    assert block_text("Ω?", 10) == ["", "Ω?", ""]


def test_narrow_letters_have_the_same_dots_as_wide_ones() -> None:
    wide, narrow = block_text("MISSED", 80), block_text("MISSED", 20)
    ink = sum(bin(HALVES.index(cell)).count("1") for row in wide for cell in row)
    assert ink == sum(bin(QUADRANTS.index(cell)).count("1") for row in narrow for cell in row)


# --- lines of the picture ---------------------------------------------------------------------------


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


# --- the picture ------------------------------------------------------------------------------------


@given(st.integers(1, 300), st.integers(1, 300), st.integers(1, 120), st.integers(1, 50))
@settings(max_examples=60)
def test_a_picture_fits_its_place_at_its_own_proportions(width: int, height: int, columns: int, rows: int) -> None:
    pixels = np.zeros((height, width, 3), np.uint8)
    shape = fit(SmallPicture(pixels, width, height), columns, rows).shape
    assert shape[0] <= 2 * rows and shape[1] <= columns and shape[0] % 2 == 0
    scale = min(columns / width, 2 * rows / height)
    assert shape[1] == pytest.approx(width * scale, abs=1) and shape[0] == pytest.approx(height * scale, abs=2)


def test_a_file_is_shown_small_and_upright_with_its_full_size_known(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x112] = 6  # turn a quarter to the right (CIPA DC-008)
    left_white = Image.new("L", (3000, 2000), 0)
    left_white.paste(255, (0, 0, 1500, 2000))
    left_white.convert("RGB").save(tmp_path / "turned.jpg", exif=exif)
    picture = small_picture(tmp_path / "turned.jpg")
    assert (picture.full_width_px, picture.full_height_px) == (2000, 3000)
    assert picture.pixels.shape[0] > picture.pixels.shape[1]
    assert picture.pixels[10].mean() > 250, "the white half lay left and is on top now"
    assert picture.pixels[-10].mean() < 5


@pytest.mark.parametrize("data", [b"", b"\xff\xd8\xff\xd9", b"not a picture", b"\xff\xd8" + b"\x00" * 400])
def test_a_file_or_live_frame_that_is_no_picture_is_refused_with_a_clause(data: bytes, tmp_path: Path) -> None:
    (tmp_path / "x.jpg").write_bytes(data)
    with pytest.raises(UnreadablePicture):
        small_picture(tmp_path / "x.jpg")
    with pytest.raises(UnreadablePicture):
        small_live_picture(data)


@given(
    st.floats(0, 0.98),
    st.floats(0, 0.98),
    st.floats(0.01, 1),
    st.floats(0.01, 1),
    st.integers(1, 120),
    st.integers(1, 50),
)
def test_the_regions_frame_lies_in_the_picture(
    left: float, top: float, width: float, height: float, columns: int, rows: int
) -> None:
    region = Region(left, top, min(width, 1 - left), min(height, 1 - top))
    signs = frame_signs(region, columns, rows)
    assert all(0 <= x < columns and 0 <= y < rows for x, y in signs)
    if columns > 1 and rows > 1:
        assert {"┌", "┘"} <= set(signs.values())


def test_the_regions_frame_encloses_the_region() -> None:
    signs = frame_signs(Region(0.25, 0.5, 0.5, 0.5), 40, 20)
    corners = {sign: place for place, sign in signs.items() if sign in "┌┘"}
    assert corners == {"┌": (10, 10), "┘": (29, 19)}


MISS = Finding("focus", Level.CAUTION, "blur 7.3 px in the region, limit 2.0 px: 0.3 mm off.", 7.3, 2.0, "px")


# --- themes -----------------------------------------------------------------------------------------


def relative_luminance(colour: str) -> float:
    """WCAG 2.2, "relative luminance", from sRGB code values."""
    channels = [value / 255 for value in Color.parse(colour).rgb]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, "contrast ratio"."""
    light, dark = sorted((relative_luminance(one), relative_luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_text_stands_out_from_its_ground_as_wcag_asks(theme: Theme) -> None:
    """WCAG 2.2, 1.4.6: 7:1 for all text."""
    names = (theme.foreground, theme.primary, theme.secondary, theme.success, theme.warning, theme.error, theme.accent)
    for ground in (theme.background, theme.surface, theme.panel):
        for colour in (*names, theme.variables["quiet"]):
            assert contrast(str(colour), str(ground)) >= 7, (colour, ground)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.parametrize("keys", [(), ("1",), ("e",), ("n",), ("p",), ("l",), ("m",), ("question_mark",)])
async def test_what_is_written_on_a_screen_stands_out_from_what_is_behind_it(
    table: ScriptedTable, clock: FixedClock, theme: Theme, keys: tuple[str, ...]
) -> None:
    """WCAG 2.2, 1.4.6, on what Textual paints; pictures and lines are no text."""
    events = (FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.3, 0.3, (MISS,)), RulesChanged((SYNC,)))
    async with bench(table, clock, SMALL, *events, theme=theme.name) as at:
        await at.press(*keys)
        pairs = {
            (segment.style.color.triplet.hex, segment.style.bgcolor.triplet.hex, segment.style.reverse)
            for strip in at.app.screen._compositor.render_strips()
            for segment in strip
            if any(sign.isalnum() for sign in segment.text)
            and segment.style and segment.style.color and segment.style.bgcolor
            and segment.style.color.triplet and segment.style.bgcolor.triplet
        }  # fmt: skip
    assert len(pairs) >= 2
    for text, ground, _ in pairs:
        assert contrast(text, ground) >= 7, (text, ground)


def test_the_dim_theme_sends_out_less_light_than_the_others() -> None:
    dim, high, light = THEMES
    assert relative_luminance(str(dim.foreground)) < 0.7 * relative_luminance(str(high.foreground))
    assert relative_luminance(str(dim.background)) < 0.1 * relative_luminance(str(light.background))


def test_the_themes_take_turns() -> None:
    assert {after(theme.name) for theme in THEMES} == {theme.name for theme in THEMES}
