"""`stillset demo`: what is kept, and a terminal that can't show the bench; the whole story is played elsewhere."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.in_process import stillset


def test_a_terminal_that_cant_show_the_bench_is_told_so_and_the_camera_ends(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Terminal:
        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setattr("tui.commands.demo_command.sys", type("Sys", (), {"stdin": Terminal(), "stdout": Terminal()}))
    said = stillset("demo", "--keep", str(tmp_path / "kept"), exit_code=2)
    assert "This terminal, dumb, can't show the bench; use --headless" in " ".join(said.split())
    assert (tmp_path / "kept" / "card").is_dir(), "what was begun is where it was asked for"


def test_a_file_where_it_shall_be_kept_is_wrong_use(tmp_path: Path) -> None:
    (tmp_path / "kept").write_text("")
    assert "is a file" in stillset("demo", "--keep", str(tmp_path / "kept"), exit_code=2)
