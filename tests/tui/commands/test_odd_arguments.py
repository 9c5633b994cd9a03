"""Arguments that are empty or name no file: each command refuses them in one sentence, before it does anything."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from tui.commands.command_line import COMMANDS, stillset
from tui.shell.options import LONGEST_FILE_NAME_BYTES, NewFile
from tui.shell.troubles import WRONG_USE

ROOT = click.Context(stillset)


def with_arguments() -> Iterator[tuple[str, ...]]:
    """The words of each command that takes arguments."""
    for name in COMMANDS:
        yield from _of(stillset.get_command(ROOT, name), (name,))


def _of(command: click.Command | None, words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    assert command is not None
    if isinstance(command, click.Group):
        for name, below in command.commands.items():
            yield from _of(below, (*words, name))
    elif any(isinstance(one, click.Argument) for one in command.params):
        yield words


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("STILLSET_LOG", str(tmp_path / "log.sqlite"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def count_arguments(words: tuple[str, ...]) -> int:
    command = stillset.get_command(ROOT, words[0])
    for word in words[1:]:
        assert isinstance(command, click.Group)
        command = command.commands[word]
    assert command is not None
    return sum(isinstance(one, click.Argument) for one in command.params)


@pytest.mark.parametrize("empty", ["", "  "])
@pytest.mark.parametrize("words", list(with_arguments()), ids=" ".join)
def test_each_command_refuses_empty_arguments(words: tuple[str, ...], empty: str, here: Path) -> None:
    result = CliRunner().invoke(stillset, [*words, *[empty] * count_arguments(words)], catch_exceptions=False)
    assert result.exit_code == WRONG_USE, result.output
    assert not [*here.iterdir()]


@pytest.mark.parametrize("name", ["", ".", "/", "..", "x/..", "folder", "n" * (LONGEST_FILE_NAME_BYTES + 1), "a\0b"])
@pytest.mark.parametrize(
    "words",
    [
        ("card", "01.2"),
        ("log", "sheet"),
        ("log", "rescue", "log.sqlite"),
        ("kit", "new"),
        ("reshoot", "01.2", "--report"),
        ("series", "check", "1.jpg", "--preview"),
    ],
    ids=" ".join,
)
def test_a_name_that_no_file_can_have_is_refused(words: tuple[str, ...], name: str, here: Path) -> None:
    (here / "folder").mkdir()
    result = CliRunner().invoke(stillset, [*words, name], catch_exceptions=False)
    assert result.exit_code == WRONG_USE
    assert [one.name for one in here.iterdir()] == ["folder"]


def test_a_name_as_long_as_can_be_written_is_taken() -> None:
    assert NewFile().convert("n" * LONGEST_FILE_NAME_BYTES, None, None).name == "n" * LONGEST_FILE_NAME_BYTES
