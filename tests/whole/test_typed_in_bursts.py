"""Lines that arrive in one burst, as by a paste or over a slow line, in a real terminal.

Each burst is one write that opens the line, fills it and ends it; there is no wait between two of them. Ten for each
prompt in every run, a hundred with STILLSET_EXAMPLES=10.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from session.system.process import import_path
from tests.support.examples import examples
from tests.support.terminal_program import terminal_of
from tui.planner.wish_lines import FIRST_WISH

TIMES = examples(10)
WORDS = (
    "abcde",
    "crown nearest the lens",
    "Q z x h s a 0 / ? space",
    "Zoë’s brücke № 4 ½ mm",
    "二番 の部品",
    "👩‍🔧 e\u0301",
)
"""Letters that are keys elsewhere, spaces, and text of one to four bytes a character, joined and combining ones too."""

PASTE = "\x1b[200~{}\x1b[201~"


def texts(times: int = TIMES) -> list[str]:
    return [f"{WORDS[i % len(WORDS)]} {i}" for i in range(times)]


def done_after(folder: Path, bursts: list[str]) -> dict[str, list[Any]]:
    """What the bench was asked for by these bursts, by act."""
    command = [sys.executable, "-m", "tests.support.typed_at_bench", str(folder)]
    environment = {**os.environ, "PYTHONPATH": import_path("tests"), "TERM": "xterm-256color"}
    with terminal_of(command, environment, folder) as at:
        at.until("sync time")
        at.until("FRAME 3")
        for burst in bursts:
            at.press(burst)
        at.press("Q")
        assert at.ended() == 0, at.text[-3000:]
    done: dict[str, list[Any]] = json.loads((folder / "done.json").read_text())
    return done


BURSTS: tuple[tuple[str, str, Callable[[str], Any]], ...] = (
    ("note", "n{}\r", lambda text: [3, text]),
    ("note", "l\x1b[Bn{}\rl", lambda text: [2, text]),
    ("set-up", "u{}\r", lambda text: text),
    ("release", "o{}\r", lambda text: {"sync": text}),
    ("light", "1n{}\r\r", lambda text: text),
    ("place", "pn{0}\r{0}\ry", lambda text: [text, text]),
    ("order", "O{0}\r{0}\r\r", lambda text: [text, text]),
    ("find", "l/{}\rl", lambda text: text),
)
"""Act, the keys that lead to its line and back, and what it is then given; the second note is the ledger's."""


@pytest.mark.parametrize("form", ["{}", PASTE], ids=["typed", "pasted"])
def test_every_line_for_each_prompt_arrives_whole(tmp_path: Path, form: str) -> None:
    lines = [keys.format(form.format(text)) for text in texts() for _, keys, _ in BURSTS]
    settings = [f"et{form.format(f'1/{300 + i}')}\r\r" for i in range(TIMES)]
    wishes = ["m", *(f"t{form.format(30 + i / 10)}\r" for i in range(TIMES)), "m"]
    done = done_after(tmp_path, [*lines, *settings, *wishes])
    expected: dict[str, list[Any]] = {act: [] for act, _, _ in BURSTS}
    for text in texts():
        for act, _, given in BURSTS:
            expected[act].append(given(text))
    assert done.pop("exposure") == [pytest.approx(1 / (300 + i)) for i in range(TIMES)]
    # the planner itself begins with the first wish's width
    wished = [width_mm for width_mm in done.pop("wish") if width_mm != FIRST_WISH.piece_width_mm]
    assert wished == [pytest.approx(30 + i / 10) for i in range(TIMES)]
    assert done == expected


def test_a_paste_without_a_line_does_nothing_pasted_lines_become_one_and_a_mended_one_is_kept_as_mended(
    tmp_path: Path,
) -> None:
    ends = ("\r\n", "\n", "\r", "\t")
    astray = [PASTE.format(f"x h space   f o {text}\r\n") for text in texts()]
    pasted = [f"n{PASTE.format(f'first{end}second{end}')}\r" for end in ends]
    mended = [f"ncrowx{'x' * 5}{chr(0x7F) * 6}n {i}\r" for i in range(TIMES)]
    done = done_after(tmp_path, [*astray, *pasted, *mended])
    lines = ["first second"] * len(ends) + [f"crown {i}" for i in range(TIMES)]
    assert done == {"note": [[3, line] for line in lines]}
