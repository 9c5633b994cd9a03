"""While the screen is up, what libraries print goes into a file and only the screen reaches the terminal, soon."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tui import PAINTS_PER_S
from tui.shell.terminal import stderr_in_file

PRINTS = """
import os, sys, warnings
from pathlib import Path
from tui.shell.terminal import stderr_in_file, write_down
with stderr_in_file(Path(sys.argv[1])):
    os.write(2, b"a C library\\n")
    print("python", file=sys.stderr)
    os.system("echo a child >&2")
    sys.__stderr__.write("the screen\\n")
    write_down(ValueError("our mistake"))
print("afterwards", file=sys.stderr)
os.write(2, b"after that\\n")
"""


def test_only_the_screen_reaches_the_terminal_and_everything_else_the_file(tmp_path: Path) -> None:
    log = tmp_path / "errors.txt"
    root = Path(__file__).parents[3]
    ended = subprocess.run(
        [sys.executable, "-c", PRINTS, str(log)], capture_output=True, text=True, cwd=root, timeout=60, check=True
    )
    written = log.read_text()
    assert ended.stderr.splitlines() == ["the screen", "afterwards", "after that"]
    for line in ("a C library", "python", "a child", "ValueError: our mistake"):
        assert line in written
    assert log.stat().st_mode & 0o077 == 0, "it may name clients and paths"


def test_an_error_file_that_cant_be_opened_changes_nothing(tmp_path: Path) -> None:
    before = (sys.stderr, sys.__stderr__)
    with pytest.raises(OSError), stderr_in_file(tmp_path / "missing" / "errors.txt"):
        pass
    assert (sys.stderr, sys.__stderr__) == before


@pytest.mark.parametrize(("wished", "paints_per_s"), [({}, PAINTS_PER_S), ({"TEXTUAL_FPS": "24"}, 24)])
def test_the_screen_is_painted_soon_after_it_was_unless_the_terminal_wishes_otherwise(
    wished: dict[str, str], paints_per_s: int
) -> None:
    code = "import tui.app.stillset_app, textual.constants; print(textual.constants.MAX_FPS)"
    usual = {name: value for name, value in os.environ.items() if name != "TEXTUAL_FPS"}
    root = Path(__file__).parents[3]
    ended = subprocess.run(
        [sys.executable, "-c", code], env=usual | wished, capture_output=True, text=True, cwd=root, check=True
    )
    assert int(ended.stdout) == paints_per_s
