"""Pictures side by side as text: each under its name, in its own colours, and by names alone where there are none."""

from __future__ import annotations

import io
from pathlib import Path

from PIL import Image
from rich.console import Console
from rich.text import Text

from tui.compare.beside_in_text import GAP, Named, lines_beside

RED, BLUE = (248, 0, 0), (0, 0, 248)
"""Colours that 5 bits a channel hold."""


def console(width: int, colours: str | None = "truecolor") -> Console:
    return Console(file=io.StringIO(), width=width, color_system=colours, force_terminal=bool(colours))  # type: ignore[arg-type]


def two(folder: Path) -> list[Named]:
    named = []
    for name, colour in (("STIL0002.JPG", RED), ("STIL0003.JPG", BLUE)):
        Image.new("RGB", (60, 40), colour).save(folder / f"{name}.png", "TIFF")
        named.append(Named(name, folder / f"{name}.png"))
    return named


def test_two_pictures_stand_beside_each_other_under_their_names(tmp_path: Path) -> None:
    names, *lines = lines_beside(two(tmp_path), console(80))
    columns = (80 + GAP) // 2 - GAP
    assert (names.index("STIL0002.JPG"), names.index("STIL0003.JPG")) == (0, columns + GAP)
    assert len(lines) > 1
    text = Text.from_ansi(lines[0])
    left, right = (text.get_style_at_offset(Console(), column).color for column in (0, columns + GAP))
    assert left is not None and left.triplet is not None and left.triplet.red > 200 > left.triplet.blue
    assert right is not None and right.triplet is not None and right.triplet.blue > 200 > right.triplet.red


def test_narrow_terminal_has_them_below_each_other_and_one_without_colours_by_their_names(tmp_path: Path) -> None:
    lines = list(lines_beside(two(tmp_path), console(40)))
    assert [line for line in lines if line.startswith("STIL")] == ["STIL0002.JPG", "STIL0003.JPG"]
    assert list(lines_beside(two(tmp_path), console(80, None))) == ["STIL0002.JPG" + " " * (41 - 12) + "STIL0003.JPG"]


def test_file_that_is_no_picture_has_its_name_alone(tmp_path: Path) -> None:
    (tmp_path / "broken.JPG").write_bytes(b"\xff\xd8 broken")
    assert list(lines_beside([Named("broken.JPG", tmp_path / "broken.JPG")], console(80))) == ["broken.JPG"]
