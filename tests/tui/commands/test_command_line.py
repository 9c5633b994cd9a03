"""The commands by name: each is there, is imported only when it is asked for, and has its line in the help."""

from importlib.util import find_spec

import click
import pytest

from tui.commands.command_line import COMMANDS, stillset

CONTEXT = click.Context(stillset)


def test_the_commands_are_listed_in_their_order() -> None:
    assert stillset.list_commands(CONTEXT) == list(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_has_a_module_of_its_name(name: str) -> None:
    assert find_spec(f"tui.commands.{name}_command") is not None


@pytest.mark.parametrize("name", ["cameras", "keys", "completion"])
def test_a_command_is_found_by_its_name(name: str) -> None:
    command = stillset.get_command(CONTEXT, name)
    assert isinstance(command, click.Command)
    assert command.name == name


@pytest.mark.parametrize("name", ["", "Keys", "key", "__main__", "../keys", "log_command"])
def test_what_is_no_command_is_none_and_imports_nothing(name: str) -> None:
    assert stillset.get_command(CONTEXT, name) is None


@pytest.mark.parametrize("line", COMMANDS.values())
def test_each_line_of_the_help_is_a_sentence_that_fits_a_terminal(line: str) -> None:
    assert line.endswith(".")
    assert line[0].isupper()
    assert len(line) <= 85


def test_the_help_has_every_command_with_its_line_and_the_exit_codes() -> None:
    text = " ".join(stillset.get_help(CONTEXT).split())
    for name, line in COMMANDS.items():
        assert f"{name} {line}" in text
    told = "0 done, 1 failed, 2 wrong use, 3 stopped by a rule, 4 done, but something that was wanted is missing."
    assert f"Exit codes: {told}" in " ".join(text.split())
