"""A command of stillset run in this process, as `main` runs it: exit code, and everything that it printed."""

from __future__ import annotations

import io
import sys
from contextlib import redirect_stderr, redirect_stdout

from tui.commands.command_line import stillset as commands
from tui.shell.troubles import in_words


def stillset(*arguments: str, exit_code: int = 0) -> str:
    """What it printed, on both streams; fails when it ends with another exit code, or with a traceback."""
    told, before = io.StringIO(), sys.argv
    sys.argv = ["stillset", *arguments]
    try:
        with redirect_stdout(told), redirect_stderr(told):
            code = in_words(commands)
    finally:
        sys.argv = before
    assert code == exit_code, told.getvalue()
    return told.getvalue()
