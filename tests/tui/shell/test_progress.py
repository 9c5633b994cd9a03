"""How far a command is: one rewritten line at a terminal, nothing elsewhere."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from session.frame.finding import FocusVerdict
from tests.support.scripted_table import READING, REVISION, FixedClock
from tests.support.stillset_program import StillsetHome
from tests.support.terminal_program import in_terminal
from tests.support.written_log import written_log
from tui.shell.progress import SHOWN_EVERY_S, ProgressLine


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_the_line_is_rewritten_with_the_time_left_and_gone_at_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", terminal := Terminal())
    clock = FixedClock()
    with ProgressLine(clock.monotonic_s) as line:
        line.tell("1 of 10 files", 1, 10)
        clock.now_s += SHOWN_EVERY_S / 2
        line.tell("2 of 10 files", 2, 10)
        clock.now_s += 10.0
        line.tell("5 of 10 files", 5, 10)
        line.clear()
    said = [part.strip() for part in terminal.getvalue().split("\r\x1b[K") if part.strip()]
    assert said == ["1 of 10 files", "5 of 10 files, about 10 s left"]
    assert terminal.getvalue().endswith("\r\x1b[K") and "\n" not in terminal.getvalue()


def test_nothing_is_said_where_standard_error_goes_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", pipe := io.StringIO())
    with ProgressLine() as line:
        line.tell("1 of 10 files", 1, 10)
    assert pipe.getvalue() == ""


def test_verify_says_how_many_files_and_bytes_it_has_read_at_a_terminal_only(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    written_log(home.log, REVISION, READING, [FocusVerdict.SHARP] * 3).log.close()
    with in_terminal(home, "verify", "--log", str(home.log), columns=100) as at:
        at.ended()
    assert "of 3 files, " in at.text and "of 3 kB" in at.text
    assert "of 3 files, " not in home.run("verify", "--log", str(home.log)).err
