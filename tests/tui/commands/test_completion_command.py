"""`stillset completion`: lines that the shell itself can read."""

from __future__ import annotations

import shutil
import subprocess

import pytest

from tests.support.in_process import stillset
from tui.commands.completion_command import SHELLS


@pytest.mark.parametrize("shell", SHELLS)
def test_the_lines_ask_the_program_in_the_shells_own_way(shell: str) -> None:
    told = stillset("completion", shell)
    assert f"_STILLSET_COMPLETE={shell}_complete" in told
    if shutil.which(shell):
        subprocess.run([shell, "-n"], input=told, text=True, check=True, capture_output=True)


def test_another_shell_is_refused_with_those_that_there_are() -> None:
    said = stillset("completion", "cmd", exit_code=2)
    assert all(shell in said for shell in SHELLS)
