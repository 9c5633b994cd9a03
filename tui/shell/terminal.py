"""Keeps what libraries print away from the screen, and lets the screen through.

Textual draws on standard error, where libgphoto2, decoders and Python's own warnings print too. While the
screen is up, file descriptor 2 points at a log file and only Textual keeps the terminal. Descriptor 1 is left
alone: the terminal's size is asked there.
"""

from __future__ import annotations

import codecs
import io
import os
import shutil
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from textwrap import wrap
from typing import TextIO

import click

ERROR_FILE = "errors.txt"
"""Beside the log: what libraries print, and our own mistakes in full."""


def error_file(log: Path) -> Path:
    """Beside the log, or in click's own folder when the log's can't be written. Raises OSError."""
    beside = log.absolute().parent / ERROR_FILE
    try:
        with beside.open("a"):
            return beside
    except OSError:
        own = Path(click.get_app_dir("stillset"))
        own.mkdir(parents=True, exist_ok=True)
        return own / ERROR_FILE


WITHOUT_SCREENS = ("dumb", "unknown")
"""Names of terminals that can't place text, see terminfo(5)."""

NEAREST = {"−": "-", "→": "->", "←": "<-", "↑": "up", "↓": "down", "≠": "!=", "≥": ">=", "≤": "<=", "×": "x",
           "·": "-", "…": "...", "“": '"', "”": '"', "’": "'", "–": "-", "—": "-", "≈": "~", "Δ": "d", "½": " 1/2",
           "⅓": " 1/3", "⅔": " 2/3"}  # fmt: skip
"""Our own signs → what an output without them writes instead; all else there becomes a backslash escape."""


def can_show_screens() -> bool:
    """The terminal places text where it is told to."""
    return os.environ.get("TERM") not in WITHOUT_SCREENS


def write_nearest() -> None:
    """Have standard output and error take every sign, also where their encoding has no place for it."""
    codecs.register_error("nearest", _nearest)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="nearest")


def _nearest(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    signs = error.object[error.start : error.end]
    escaped = (NEAREST.get(sign) or sign.encode("ascii", "backslashreplace").decode() for sign in signs)
    return "".join(escaped), error.end


@contextmanager
def stderr_in_file(path: Path) -> Iterator[None]:
    """Send descriptor 2 to the end of the file at `path` until the block ends; the screen keeps the terminal.

    Raises OSError when the file can't be opened, and nothing has changed.
    """
    log = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    python_stderr, original = sys.stderr, sys.__stderr__
    terminal = os.dup(2)
    # Textual writes to sys.__stderr__, and closes nothing; everything else goes through descriptor 2.
    screen = os.fdopen(os.dup(terminal), "w", encoding="utf-8", errors="replace")
    own = os.fdopen(os.dup(log), "w", encoding="utf-8", errors="backslashreplace", buffering=1)
    try:
        os.dup2(log, 2)
        _set_streams(own, screen)
        yield
    finally:
        screen.flush()
        own.flush()
        os.dup2(terminal, 2)
        _set_streams(python_stderr, original)
        screen.close()
        own.close()
        os.close(terminal)
        os.close(log)


def columns() -> int:
    """Columns of the terminal on standard output; 0 where the output goes elsewhere."""
    return shutil.get_terminal_size((0, 0)).columns


def hang(text: str, width: int, indent: int) -> list[str]:
    """The text in lines of at most `width`, those after the first indented; width 0: as one line."""
    if width <= 0 or len(text) <= width:
        return [text]
    room = indent if indent <= width // 2 else 2
    return wrap(text, max(20, width), subsequent_indent=" " * room, break_long_words=False, break_on_hyphens=False)


def say_opening(screen: str) -> None:
    """Say that the program opens: libraries and log take a moment, in which the terminal would show nothing."""
    click.echo(f"Opening {screen} …", err=True)


def _set_streams(stderr: TextIO | None, terminal: TextIO | None) -> None:
    sys.stderr, sys.__stderr__ = stderr, terminal  # type: ignore[assignment, misc]


OWN_MISTAKE = "Something went wrong in stillset itself; it is in the error file. Frames are safe."
"""Said on the screen of an exception that is our own mistake, once `write_down` has put it into the error file."""


def write_down(error: BaseException) -> None:
    """Put an exception in full where libraries print: the error file while the screen is up.

    Goes to descriptor 2 itself, since Textual takes `sys.stderr` for as long as it runs.
    """
    os.write(2, "".join(traceback.format_exception(error)).encode("utf-8", "backslashreplace"))
