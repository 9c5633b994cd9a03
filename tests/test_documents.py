"""README and DEVELOPERS.md are true: keys, commands, options, files and states."""

import re
import shlex
from pathlib import Path

import click
import pytest

from session.frame.states import ENDED, TRANSITIONS, FrameState
from tui.commands.command_line import stillset
from tui.words.keys import readme_table

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def block(text: str, name: str) -> str:
    found = re.search(rf"<!-- {name} -->\n(.*?)<!-- /{name} -->", text, re.DOTALL)
    assert found, f"no block {name}"
    return found[1].strip()


def state_lines() -> str:
    """The states and what moves between them, as DEVELOPERS.md shows them."""
    lines = []
    for state in FrameState:
        moves = [f"{event} → **{after}**" for (before, event), after in TRANSITIONS.items() if before is state]
        rest = " (at rest)" if state in ENDED else ""
        lines.append(f"- **{state}**{rest}" + (": " + "; ".join(moves) if moves else ""))
    return "\n".join(lines)


def test_the_keys_in_the_readme_are_those_of_the_table():
    assert block(README, "keys") == readme_table().strip()


def test_the_states_in_developers_are_those_of_the_table():
    assert block(DEVELOPERS, "states") == state_lines()


COMMANDS = [
    line.split("#")[0].strip()
    for fence in re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    for line in fence.splitlines()
    if line.startswith("stillset ")
]


@pytest.mark.parametrize("line", COMMANDS)
def test_a_command_in_the_readme_is_understood(line):
    command: click.Command = stillset
    context = click.Context(command)
    words = shlex.split(line)[1:]
    while isinstance(command, click.Group) and words and not words[0].startswith("-"):
        found = command.get_command(context, words[0])
        assert found, f"there is no {words[0]!r} in {line!r}"
        command, context, words = found, click.Context(found, parent=context), words[1:]
    command.make_context(command.name, words, resilient_parsing=False)


def test_there_are_commands_to_look_at():
    assert len(COMMANDS) >= 8


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_a_file_that_is_named_is_there(text):
    named = re.findall(r"`((?:session|tui|storage|mock_camera|tests|\.ci)/[\w./-]*)`", text)
    named += re.findall(r"\]\(([\w./-]+)\)", text)
    assert named
    for name in named:
        assert (ROOT / name).exists(), name


def test_set_up_and_tests_are_one_line_each():
    first, second = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)[:2]
    assert len(first.strip().splitlines()) == 1
    assert first.strip().endswith("stillset demo")
    assert len(second.strip().splitlines()) == 1
    assert second.strip().endswith("pytest -q -n 3")
