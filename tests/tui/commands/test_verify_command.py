"""`stillset verify` tells by its exit code whether the files are as they were saved."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.support.log_of_files import fill
from tui.commands.command_line import stillset


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.sqlite"


@pytest.fixture
def few(path: Path, tmp_path: Path) -> list[Path]:
    return fill(path, tmp_path / "pictures", 2, 3)


@pytest.fixture
def shell() -> Iterator[CliRunner]:
    yield CliRunner()


def test_command_tells_by_its_exit_code(path: Path, few: list[Path], shell: CliRunner) -> None:
    good = shell.invoke(stillset, ["verify", "--log", str(path)])
    assert (good.exit_code, good.output) == (0, "All 6 files of the log are as they were saved.\n")
    new = few[2].rename(few[2].with_name("new\x1b[2J.JPG"))
    bad = shell.invoke(stillset, ["verify", "--log", str(path), "--json"])
    assert bad.exit_code == 1
    told = json.loads(bad.stdout.splitlines()[0])
    assert (told["trouble"], told["number"], told["found_at"]) == ("moved", 1, str(new))
    said = shell.invoke(stillset, ["verify", "--log", str(path), "--relink"])
    assert "\x1b" not in said.output and "1 files are linked" in said.output
    assert said.exit_code == 0
    assert shell.invoke(stillset, ["verify", "--log", str(path)]).exit_code == 0


def test_a_hand_over_that_is_none_is_wrong_use(tmp_path: Path, shell: CliRunner) -> None:
    told = shell.invoke(stillset, ["verify", str(tmp_path / "nowhere")])
    assert told.exit_code == 2 and "there is no folder" in told.output
