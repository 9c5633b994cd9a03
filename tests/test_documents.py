"""README, DEVELOPERS.md and docs/ are true: keys, commands, options, files and states, and the README stays short."""

import ast
import re
import shlex
from pathlib import Path

import click
import pytest

from session.frame.states import ENDED, TRANSITIONS, FrameState
from tui.commands.command_line import stillset
from tui.words.keys import KEYS, Where, keys_table

ROOT = Path(__file__).parent.parent
DOCUMENTS = {
    path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8")
    for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md")))
}
README, DEVELOPERS = DOCUMENTS["README.md"], DOCUMENTS["DEVELOPERS.md"]
MOST_README_LINES = 170
"""About 150: what a newcomer reads in one sitting. Chosen."""


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


def test_all_keys_are_those_of_the_table():
    assert block(DOCUMENTS["docs/keys.md"], "keys") == keys_table().strip()


def test_the_twelve_keys_of_the_readme_are_the_benchs_own():
    rows = block(README, "twelve keys").splitlines()[2:]
    bench = {f"| `{key.cap}` | {key.says} |" for key in KEYS if key.where is Where.BENCH}
    assert len(rows) == 12
    assert set(rows) <= bench


def test_the_readme_stays_short_and_leads_to_every_page():
    assert len(README.splitlines()) <= MOST_README_LINES
    for name in DOCUMENTS:
        assert name == "README.md" or f"({name})" in README, f"{name} is not to be found from the README"


def floors() -> list[str]:
    """The folders of the four packages in their order, as the contracts of the imports have them."""
    tree = ast.parse((ROOT / "tests/test_imports.py").read_text(encoding="utf-8"))
    (table,) = (
        node.value
        for node in tree.body
        if isinstance(node, ast.Assign) and [one.id for one in node.targets if isinstance(one, ast.Name)] == ["FLOORS"]
    )
    assert isinstance(table, ast.Dict)
    return [
        f"{ast.literal_eval(package)}/{ast.literal_eval(folder)}"
        for package, folders in zip(table.keys, table.values, strict=True)
        if package and isinstance(folders, ast.Dict) and "/" not in ast.literal_eval(package)
        for folder in folders.keys
        if folder
    ]


def test_the_map_in_developers_is_that_of_the_contracts():
    shown = re.findall(r"^\| `([\w/.]+)` \|", block(DEVELOPERS, "floors"), re.MULTILINE)
    assert shown == floors()


def test_the_states_in_developers_are_those_of_the_table():
    assert block(DEVELOPERS, "states") == state_lines()


COMMANDS = [
    line.split("#")[0].strip()
    for text in DOCUMENTS.values()
    for fence in re.findall(r"```sh\n(.*?)```", text, re.DOTALL)
    for line in fence.splitlines()
    if line.startswith("stillset ")
]


@pytest.mark.parametrize("line", COMMANDS)
def test_a_command_in_the_documents_is_understood(line):
    command: click.Command = stillset
    context = click.Context(command)
    words = shlex.split(line)[1:]
    while isinstance(command, click.Group) and words and not words[0].startswith("-"):
        found = command.get_command(context, words[0])
        assert found, f"there is no {words[0]!r} in {line!r}"
        command, context, words = found, click.Context(found, parent=context), words[1:]
    command.make_context(command.name, words, resilient_parsing=False)


def test_there_are_commands_to_look_at():
    assert len(COMMANDS) >= 40


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_file_that_is_named_is_there(name):
    text = DOCUMENTS[name]
    for named in re.findall(r"`((?:session|tui|storage|mock_camera|tests|docs|\.ci)/[\w./-]*)`", text):
        assert (ROOT / named).exists(), named
    for link in re.findall(r"\]\(([\w./-]+)\)", text):
        assert (ROOT / name).parent.joinpath(link).exists(), link


def test_there_are_files_to_look_for():
    assert len(re.findall(r"`(?:session|tui|storage)/", DEVELOPERS)) > 40
    assert len(re.findall(r"\]\(docs/", README)) > 8


def test_set_up_and_tests_are_one_line_each():
    first, second = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)[:2]
    assert len(first.strip().splitlines()) == 1
    assert first.strip().endswith("stillset demo")
    assert len(second.strip().splitlines()) == 1
    assert second.strip().endswith("pytest -q -n 3 --dist worksteal")
