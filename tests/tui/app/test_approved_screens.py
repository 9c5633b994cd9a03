"""Each main screen looks as its approved picture, cell by cell: words, colours and what is bold.

`python -m tests.support.approved_screens` writes the pictures anew.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.approved_screens import FOLDER, RENEW, SIZES, approved, file_of, screens_at
from tests.support.screen_picture import Cell, Screen, cell, differences, screen_in, svg_of, text_of

NAMES = (
    *("bench ready", "bench missed", "live view", "light chosen", "ledger"),
    *("compare", "explain", "planner", "help", "follower", "match"),
)


@pytest.mark.parametrize("size", SIZES, ids=["80x24", "160x48"])
async def test_every_screen_looks_as_it_was_approved(size: tuple[int, int], tmp_path: Path) -> None:
    screens = await screens_at(size, tmp_path)
    assert sorted(screens) == sorted(NAMES)
    told = [
        f"{name}, {size[0]}x{size[1]}, {line}"
        for name, screen in screens.items()
        for line in differences(approved(name, size), screen)
    ]
    if told:
        pytest.fail("\n".join([*told, RENEW]), pytrace=False)


def test_there_is_a_picture_of_each_screen_and_size_and_none_besides() -> None:
    assert {path.name for path in FOLDER.iterdir()} == {file_of(name, size).name for name in NAMES for size in SIZES}


@pytest.fixture
def screen() -> Screen:
    return approved("bench missed", (80, 24))


def changed(screen: Screen, row: int, column: int, **how: object) -> Screen:
    """The screen with one cell otherwise."""
    copy = [list(cells) for cells in screen]
    copy[row][column] = replace(copy[row][column], **how)  # type: ignore[arg-type]
    return copy


def test_another_letter_is_told_with_the_row_before_and_after(screen: Screen) -> None:
    row = next(number for number, line in enumerate(text_of(screen)) if line.startswith("Frame 6 saved, missed"))
    told = differences(screen, changed(screen, row, 0, character="f"))
    assert len(told) == 2
    assert told[0].startswith(f"row {row + 1:2} approved  Frame 6 saved, missed")
    assert told[1].startswith("       now       frame 6 saved, missed")


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"ink": "#123456"}, "#123456 on {ground} bold"),
        ({"look": ()}, "{ink} on {ground}"),
        ({"upper": "#222222", "lower": "#222222"}, "{ink} on #222222 bold"),
    ],
    ids=["ink", "weight", "ground"],
)
def test_another_colour_or_weight_is_told_by_columns(screen: Screen, how: dict[str, object], told: str) -> None:
    """The first row names piece and set-up in bold."""
    one = screen[0][2]
    was = f"{one.ink} on {one.upper} bold"
    (line,) = differences(screen, changed(screen, 0, 2, **how))
    assert line == f"row  1 columns 3 to 3 'r': {was} → {told.format(ink=one.ink, ground=one.upper)}"


def test_a_moved_picture_and_another_size_are_differences(screen: Screen) -> None:
    rows = [number for number, cells in enumerate(screen) if any(one.upper != one.lower for one in cells)]
    assert differences(screen, changed(screen, rows[-1], 0, upper="#ffffff", lower="#000000"))
    assert differences(screen, screen[:-1]) == ["approved 80x24, now 80x23"]
    assert differences(screen, screen) == []


def test_a_picture_holds_all_that_is_compared() -> None:
    row = [
        cell("a", "#ffffff", "#101010", ("bold", "underline")),
        cell(" ", "#ffffff", "#333333"),
        cell("<", "#ffffff", "#333333", ("italic",)),
        cell("▀", "#aaaaaa", "#bbbbbb"),
        cell("▄", "#aaaaaa", "#bbbbbb"),
        cell("█", "#aaaaaa", "#bbbbbb"),
        cell("°", "#00ff00", "#101010", ("strike",)),
        cell("é", "#00ff00", "#101010"),
    ]
    assert row[3:6] == [
        Cell(" ", "", "#aaaaaa", "#bbbbbb"),
        Cell(" ", "", "#bbbbbb", "#aaaaaa"),
        Cell(" ", "", "#aaaaaa", "#aaaaaa"),
    ]
    screen = [row, row[::-1]]
    assert screen_in(svg_of(screen, "a < b")) == screen


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("size", SIZES, ids=["80x24", "160x48"])
def test_a_picture_holds_no_path_of_a_machine(name: str, size: tuple[int, int]) -> None:
    text = "\n".join(text_of(approved(name, size)))
    assert "/tmp" not in text and str(Path.home()) not in text and str(FOLDER) not in text
