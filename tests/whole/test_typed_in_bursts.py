"""Lines that arrive in one burst, as by a paste or over a slow line, in a real terminal: a hundred for each prompt.

Each burst is one write that opens the line, fills it and ends it; there is no wait between two of them.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from terminal_program import terminal_of

from session.process import import_path

TIMES = 100
WORDS = (
    "abcde",
    "crown nearest the lens",
    "Q z x h s a 0 / ? space",
    "Zoë’s brücke № 4 ½ mm",
    "二番 の部品",
    "👩‍🔧 e\u0301",
)
"""Letters that are keys elsewhere, spaces, and text of one to four bytes a character, joined and combining ones too."""

SUPPORT = Path(__file__).parent.parent / "support"
PASTE = "\x1b[200~{}\x1b[201~"


def texts(times: int = TIMES) -> list[str]:
    return [f"{WORDS[i % len(WORDS)]} {i}" for i in range(times)]


def done_after(folder: Path, bursts: list[str]) -> dict[str, list[Any]]:
    """What the bench was asked for by these bursts, by act."""
    paths = os.pathsep.join((import_path("tui"), str(SUPPORT)))
    command = [sys.executable, str(SUPPORT / "typed_at_bench.py"), str(folder)]
    environment = {**os.environ, "PYTHONPATH": paths, "TERM": "xterm-256color"}
    with terminal_of(command, environment, folder) as at:
        at.until("sync time")
        at.until("FRAME 3")
        for burst in bursts:
            at.press(burst)
        at.press("Q")
        assert at.ended() == 0, at.text[-3000:]
    done: dict[str, list[Any]] = json.loads((folder / "done.json").read_text())
    return done


BURSTS: dict[str, tuple[str, Callable[[str], Any]]] = {
    "note": ("n{}\r", lambda text: [3, text]),
    "set-up": ("u{}\r", lambda text: text),
    "release": ("o{}\r", lambda text: {"sync": text}),
    "light": ("1n{}\r\r", lambda text: text),
    "place": ("pn{0}\r{0}\r", lambda text: [text, text]),
    "find": ("l/{}\rl", lambda text: text),
}
"""Act → the keys that lead to it and back, and what it is then given."""


@pytest.mark.parametrize("form", ["{}", PASTE], ids=["typed", "pasted"])
def test_every_line_of_a_hundred_for_each_prompt_arrives_whole(tmp_path: Path, form: str) -> None:
    done = done_after(tmp_path, [keys.format(form.format(text)) for text in texts() for keys, _ in BURSTS.values()])
    del done["exposure"]  # told with each change of a light
    assert done == {act: [given(text) for text in texts()] for act, (_, given) in BURSTS.items()}


def test_every_note_in_the_ledger_goes_to_the_frame_under_the_cursor(tmp_path: Path) -> None:
    done = done_after(tmp_path, [f"l\x1b[Bn{text}\rl" for text in texts()])
    assert done == {"note": [[2, text] for text in texts()]}


def test_every_typed_setting_is_kept(tmp_path: Path) -> None:
    done = done_after(tmp_path, [f"et1/{100 + i}\r\r" for i in range(TIMES)])
    assert done["exposure"] == [pytest.approx(1 / (100 + i)) for i in range(TIMES)]


def test_every_typed_wish_of_the_planner_is_kept(tmp_path: Path) -> None:
    done = done_after(tmp_path, ["m", *(f"t{20 + i / 10}\r" for i in range(TIMES)), "m"])
    assert done["wish"][1:] == [pytest.approx(20 + i / 10) for i in range(TIMES)]


def test_a_line_that_is_mended_by_backspace_in_the_same_burst_is_kept_as_mended(tmp_path: Path) -> None:
    done = done_after(tmp_path, [f"ncrowx{'x' * 5}{chr(0x7F) * 6}n {i}\r" for i in range(20)])
    assert done == {"note": [[3, f"crown {i}"] for i in range(20)]}


def test_a_paste_where_no_line_is_open_does_nothing(tmp_path: Path) -> None:
    pastes = [PASTE.format(f"x h space   f o {text}\r\n") for text in texts(20)]
    assert done_after(tmp_path, [*pastes, "nkept\r"]) == {"note": [[3, "kept"]]}


def test_pasted_lines_become_one(tmp_path: Path) -> None:
    ends = ("\r\n", "\n", "\r", "\t")
    done = done_after(tmp_path, [f"n{PASTE.format(f'first{end}second{end}')}\r" for end in ends])
    assert done == {"note": [[3, "first second"]] * len(ends)}
