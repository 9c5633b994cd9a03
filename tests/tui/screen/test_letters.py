"""Block letters: the same bitmap however it is drawn, never wider than the room, plain text where it doesn't fit."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tui.screen.letters import HALVES, LETTERS, QUADRANTS, bitmap_of, block_text
from tui.words.wording import RULE_LINES

quick = settings(max_examples=50)
words = st.text(alphabet=sorted(LETTERS), min_size=1, max_size=8)


def dots_of(lines: list[str], signs: str) -> list[str]:
    """Back from cells to dots: two half rows a line, and with quadrants two columns a cell."""
    rows: list[str] = []
    for line in lines:
        codes = [signs.index(cell) for cell in line]
        if signs == HALVES:
            rows += ["".join("#" if code & bit else "." for code in codes) for bit in (2, 1)]
        else:
            pairs = ((8, 4), (2, 1))
            rows += ["".join("#" if code & bit else "." for code in codes for bit in two) for two in pairs]
    return rows


@pytest.mark.parametrize("letter", sorted(LETTERS))
def test_every_letter_is_a_rectangle_six_half_rows_high(letter: str) -> None:
    rows = LETTERS[letter]
    assert len(rows) == 6 and len({len(row) for row in rows}) == 1
    assert set("".join(rows)) <= {"#", "."} and ("#" in "".join(rows)) == (letter != " ")


def test_no_two_letters_look_alike() -> None:
    drawn = [rows for letter, rows in LETTERS.items() if letter not in "0Oo"]
    assert len(set(drawn)) == len(drawn)


@quick
@given(words)
def test_what_is_drawn_is_the_bitmap(text: str) -> None:
    lines = block_text(text, 500)
    dots = dots_of(lines, HALVES)
    assert [row.rstrip(".") for row in dots] == [row.rstrip(".") for row in bitmap_of(text)]


@quick
@given(words, st.integers(4, 120), st.sampled_from([3, 6]))
def test_nothing_is_wider_than_the_room_and_there_are_as_many_rows_as_asked(text: str, width: int, rows: int) -> None:
    lines = block_text(text, width, rows)
    assert len(lines) == rows and all(len(line) <= width for line in lines)


def test_where_the_room_is_narrow_letters_take_half_a_cell_a_column() -> None:
    wide, narrow = block_text("READY", 100), block_text("READY", 20)
    assert len(wide[0]) > 20 >= len(narrow[0]) and set(narrow[0]) <= set(QUADRANTS)
    kept = [row.rstrip(".") for row in bitmap_of("READY", even=True)]
    assert [row.rstrip(".") for row in dots_of(narrow, QUADRANTS)] == kept
    assert block_text("READY", 5) == ["", "READY", ""] and block_text("READY", 3) == ["", "REA", ""]


def test_a_sign_that_has_no_letter_is_written_plainly() -> None:
    assert block_text("é", 80) == ["", "é", ""] and bitmap_of("é") == []


def test_at_twice_the_size_each_dot_is_four() -> None:
    small, large = bitmap_of("A"), dots_of(block_text("A", 100, 6), HALVES)
    doubled = ["".join(dot * 2 for dot in row) for row in small for _ in (0, 1)]
    assert [row.rstrip(".") for row in large] == [row.rstrip(".") for row in doubled]
    assert block_text("MISSED 0.3 mm", 40, 6)[0] == "", "too wide: the small size in the middle"


@pytest.mark.parametrize(
    "line", sorted({*RULE_LINES.values(), "READY", "SAVING", "CHARGING 0.8", "MISSED 0.3 mm", "−1.2 EV"})
)
def test_the_large_lines_of_the_bench_have_all_their_letters(line: str) -> None:
    assert bitmap_of(line), line
