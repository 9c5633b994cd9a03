"""`stillset plan` asked by the command line, in this process: its words, or its numbers."""

from __future__ import annotations

import json
from typing import Any

from click.testing import CliRunner

from tui.commands.command_line import stillset

LENS = ("--focal-length-mm", "100", "--f-number", "11", "--blur-circle-mm", "0.03")


def run(*arguments: str, exit_code: int = 0, columns: int = 0) -> str:
    """What it printed; its standard input is empty, so that nothing is asked back when the tests run at a terminal.

    columns  of its terminal; 0: it has none, whatever the environment says
    """
    done = CliRunner(env={"COLUMNS": str(columns)}).invoke(stillset, ["plan", *arguments])
    assert done.exit_code == exit_code, done.output
    return done.output


def answer(*arguments: str) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(run(*arguments, "--json"))
    return told
