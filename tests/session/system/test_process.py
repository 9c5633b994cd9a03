"""A process of our own: messages both ways, and every way in which it ends."""

from __future__ import annotations

import os
import queue
import signal
from pathlib import Path
from typing import Any

import pytest

from session.system.process import OwnProcess, parent_connection

DEADLINE_S = 30.0


class Child:
    """An echoing process and what was heard of it."""

    def __init__(self, **options: Any) -> None:
        self.heard: queue.Queue[object] = queue.Queue()
        self.ends: queue.Queue[int] = queue.Queue()
        child = "tests.support.echoing_process"
        self.process = OwnProcess(child, receive=self.heard.put, ended=self.ends.put, **options)

    def hear(self) -> Any:
        return self.heard.get(timeout=DEADLINE_S)

    def end(self) -> int:
        code = self.ends.get(timeout=DEADLINE_S)
        assert self.ends.empty()
        return code


def test_messages_go_both_ways_in_their_order() -> None:
    child = Child(arguments=("--dim",), environment={"COLOUR": "none"})
    assert child.hear() == ("started", ["--dim"], True, "none")
    for number in range(100):
        child.process.send(number)
    assert [child.hear() for _ in range(100)] == [("echo", number) for number in range(100)]
    child.process.close()
    assert child.end() == 0


def test_a_closed_child_still_says_what_it_finished() -> None:
    child = Child()
    child.process.close()
    assert [child.hear()[0], child.hear()] == ["started", "finished what was under way"]
    assert child.end() == 0


def test_a_killed_child_is_reported_once_and_takes_no_more_messages() -> None:
    child = Child()
    child.hear()
    os.kill(child.process.pid, signal.SIGKILL)
    assert child.end() == -signal.SIGKILL
    with pytest.raises(OSError, match=r"closed|Broken pipe"):
        child.process.send("anybody there?")
    child.process.close()
    assert child.ends.empty()


def test_a_time_limit_of_the_childs_own_shows_in_its_return_code() -> None:
    child = Child()
    child.process.send("alarm")
    assert child.end() == -signal.SIGALRM


def test_a_child_that_hangs_is_killed_when_patience_ends() -> None:
    child = Child()
    child.hear()
    child.process.send("hang")
    child.process.close(patience_s=0.01)
    assert child.end() == -signal.SIGKILL


def test_the_child_is_found_from_another_working_folder_even_past_a_namesake(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "session").mkdir()
    (tmp_path / "session" / "__init__.py").write_text("raise RuntimeError('the wrong one')")
    monkeypatch.chdir(tmp_path)
    child = Child()
    assert child.hear()[0] == "started"
    child.process.close()
    assert child.end() == 0


def test_what_the_child_prints_goes_to_the_errors_file_and_it_reads_no_terminal(tmp_path: Path) -> None:
    child = Child(errors_path=str(tmp_path / "errors.txt"))
    child.hear()
    child.process.send("print")
    assert child.hear() == ("echo", "print")
    child.process.send("read the terminal")
    assert child.hear() == ""
    child.process.close()
    assert (tmp_path / "errors.txt").read_text() == "a library talks\n"


def test_an_unknown_module_is_refused_before_anything_is_started() -> None:
    with pytest.raises(ModuleNotFoundError, match="no_such_module"):
        OwnProcess("no_such_module", receive=print, ended=print)


def test_a_process_started_by_hand_has_no_parent_connection() -> None:
    with pytest.raises(RuntimeError, match="by hand"):
        parent_connection()
