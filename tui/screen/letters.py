"""Block letters three rows high, drawn with half blocks, or with quadrants where the room is narrow.

A letter is a bitmap six half-rows high; the lowest is for what hangs under the line (the tail of `p`). Wide
letters take one cell a column, narrow ones half a cell, so `MISSED 0.3 mm` fits beside the settings at 80
columns. Where even that is too long, plain text stands in the middle row.
"""

from __future__ import annotations

ROWS = 3
"""Rows of the terminal; each holds two half-rows of a bitmap."""

HALVES = " ▄▀█"
"""By upper·2 + lower."""

QUADRANTS = " ▗▖▄▝▐▞▟▘▚▌▙▀▜▛█"
"""By upper left·8 + upper right·4 + lower left·2 + lower right."""

_BITMAPS = """
A .##. #..# #### #..# #..#
B ###. #..# ###. #..# ###.
C .### #... #... #... .###
D ###. #..# #..# #..# ###.
E #### #... ###. #... ####
F #### #... ###. #... #...
G .### #... #.## #..# .###
H #..# #..# #### #..# #..#
I ### .#. .#. .#. ###
J ...# ...# ...# #..# .##.
K #..# #.#. ##.. #.#. #..#
L #... #... #... #... ####
M #...# ##.## #.#.# #...# #...#
N #...# ##..# #.#.# #..## #...#
O .##. #..# #..# #..# .##.
P ###. #..# ###. #... #...
Q .##. #..# #..# #.#. .#.#
R ###. #..# ###. #.#. #..#
S .### #... .##. ...# ###.
T ##### ..#.. ..#.. ..#.. ..#..
U #..# #..# #..# #..# .##.
V #...# #...# .#.#. .#.#. ..#..
W #...# #...# #.#.# ##.## #...#
X #...# .#.#. ..#.. .#.#. #...#
Y #...# .#.#. ..#.. ..#.. ..#..
Z #### ..#. .#.. #... ####
0 .##. #..# #..# #..# .##.
1 .#. ##. .#. .#. ###
2 ###. ...# .##. #... ####
3 ###. ...# .##. ...# ###.
4 #..# #..# #### ...# ...#
5 #### #... ###. ...# ###.
6 .##. #... ###. #..# .##.
7 #### ...# ..#. .#.. .#..
8 .##. #..# .##. #..# .##.
9 .##. #..# .### ...# .##.
f .## #.. ### #.. #..
m ..... ##.#. #.#.# #.#.# #.#.#
o .... .##. #..# #..# .##.
p .... ###. #..# #..# ###. #...
s .... .### ##.. ..## ###.
x .... #..# .##. .##. #..#
. . . . . #
, . . . . # #
− ... ... ### ... ...
+ ... .#. ### .#. ...
% #..# ..#. .##. .#.. #..#
/ ...# ..#. .##. .#.. #...
: . # . # .
? ###. ...# .##. .... .#..
"""


def _read(text: str) -> dict[str, tuple[str, ...]]:
    letters: dict[str, tuple[str, ...]] = {" ": ("..",) * 6}
    for line in text.strip().splitlines():
        name, *rows = line.split(" ")
        blank = "." * len(rows[0])
        letters[name] = (*rows, *[blank] * (6 - len(rows)))
    return letters


LETTERS = _read(_BITMAPS)


def block_text(text: str, width: int, rows: int = ROWS) -> list[str]:
    """The text in `rows` rows (3, or 6 for twice the size) of at most `width` cells.

    Wide letters if they fit, else narrow ones, else plain text in the middle row.
    """
    size = rows // ROWS
    for draw in (_half_blocks, _quadrants):
        drawn = draw(text, size)
        if drawn and len(drawn[0]) <= width:
            return drawn
    if size > 1:
        smaller = block_text(text, width, ROWS)
        return ["", *smaller, *[""] * (rows - ROWS - 1)]
    return ["", text[:width], ""]


def bitmap_of(text: str, even: bool = False) -> list[str]:
    """Six strings of `#` and `.` with one column of room after each letter; [] when a letter isn't known.

    even  every letter takes an even number of columns, so that it begins at a whole cell of quadrants
    """
    if any(letter not in LETTERS for letter in text):
        return []
    rooms = [1 + (even and len(LETTERS[letter][0]) % 2 == 0) for letter in text]
    return ["".join(LETTERS[letter][row] + "." * room for letter, room in zip(text, rooms, strict=True))
            for row in range(6)]  # fmt: skip


def _half_blocks(text: str, size: int) -> list[str]:
    bitmap = _enlarge(bitmap_of(text), size)
    return [
        "".join(HALVES[2 * (up == "#") + (low == "#")] for up, low in zip(upper, lower, strict=True))[:-size]
        for upper, lower in zip(bitmap[::2], bitmap[1::2], strict=True)
    ]


def _quadrants(text: str, size: int) -> list[str]:
    bitmap = _enlarge(bitmap_of(text, even=True), size)
    return [
        "".join(
            QUADRANTS[8 * (upper[i] == "#") + 4 * (upper[i + 1] == "#") + 2 * (lower[i] == "#") + (lower[i + 1] == "#")]
            for i in range(0, len(upper), 2)
        )
        for upper, lower in zip(bitmap[::2], bitmap[1::2], strict=True)
    ]


def _enlarge(bitmap: list[str], size: int) -> list[str]:
    """Each dot `size` times as wide and high."""
    return ["".join(dot * size for dot in row) for row in bitmap for _ in range(size)]
