"""What `.ci/run` finds and makes before it runs anything."""

import importlib.util
import re
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def everywhere() -> ModuleType:
    spec = importlib.util.spec_from_file_location("everywhere", ROOT / ".ci" / "everywhere.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def python(folder: Path, name: str, script: str) -> Path:
    """A program of that name that does this."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)
    return path


def test_each_of_the_readmes_two_commands_makes_its_own_environment(everywhere: ModuleType) -> None:
    commands = everywhere.readme_commands((ROOT / "README.md").read_text(encoding="utf-8"))
    for command, packages in zip(commands, (".", "'.[dev]'"), strict=True):
        assert command.startswith(f"python3 -m venv .venv && .venv/bin/pip install -q -e {packages} && .venv/bin/")
        assert "\n" not in command


def test_everything_begins_with_the_readmes_second_command_and_ends_with_what_it_printed(
    everywhere: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def printing(line: str, code: int = 0) -> object:
        return lambda job: job.run(f"echo '{line}'; exit {code}")

    assert (ROOT / ".ci/run").read_text().splitlines()[-1] == "exec python3 .ci/everywhere.py"
    todo = everywhere.everything({11: Path("/3.11"), 12: Path("/3.12"), 13: Path("/3.13")})
    assert todo[0][0] == everywhere.WHOLE and len(todo) == 5
    away = [abs(int(name.rpartition(".")[2]) - sys.version_info.minor) for name, *_ in todo[1:3]]
    assert away[0] == max(away), "the Python that is farthest from this one comes first, with most tests"
    monkeypatch.setattr(everywhere, "pythons", lambda folders: {})
    monkeypatch.setattr(everywhere, "copied", lambda to: to.mkdir(parents=True) or to)
    here = Path("/usr/bin/env")
    for code in (0, 1):
        others = [("good", here, printing("8 passed")), ("other", here, printing("what went wrong", code))]
        monkeypatch.setattr(everywhere, "everything", lambda here: [("whole", *others[0][1:]), *others])  # noqa: B023
        (work := tmp_path / str(code)).mkdir()
        assert everywhere.run_all(work) == code
        said = capfd.readouterr().out
        assert said.splitlines()[-1] == "8 passed"
        assert ("what went wrong" in said) is bool(code)


def test_the_first_python_that_works_of_each_version_is_taken(everywhere: ModuleType, tmp_path: Path) -> None:
    first, second = tmp_path / "stubs", tmp_path / "versions"
    python(first, "python3.12", "exit 127")  # a version manager's stub for what isn't chosen
    python(first, "python3.13", "echo 11")  # not what its name says
    python(first, "python3.10", "echo 10")  # too old
    python(first, "python3.12-config", "echo 12")
    good = python(second, "python3.12", "echo 12")
    other = python(second, "python3.11", "echo 11")
    python(tmp_path / "third", "python3.12", "echo 12")
    folders = [first, second, tmp_path / "third", tmp_path / "nowhere"]
    assert everywhere.pythons(iter(folders)) == {11: other, 12: good}


def test_version_managers_are_looked_through(
    everywhere: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for variable, below in (
        ("PYENV_ROOT", "versions"),
        ("UV_PYTHON_INSTALL_DIR", ""),
        ("MISE_DATA_DIR", "installs/python"),
    ):
        monkeypatch.setenv(variable, str(tmp_path / variable))
        (tmp_path / variable / below / "3.13.0" / "bin").mkdir(parents=True)
    found = set(everywhere.places())
    assert {tmp_path / "PYENV_ROOT/versions/3.13.0/bin", tmp_path / "UV_PYTHON_INSTALL_DIR/3.13.0/bin"} <= found
    assert {tmp_path / "MISE_DATA_DIR/installs/python/3.13.0/bin", Path("/usr/bin"), Path("/usr/local/bin")} <= found


def test_the_lowest_versions_are_those_of_every_dependency_save_the_developers(everywhere: ModuleType) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lines = everywhere.lowest(project)
    extras = {name: found for name, found in project["optional-dependencies"].items() if name != "dev"}
    assert len(lines) == len(project["dependencies"]) + sum(len(found) for found in extras.values())
    assert all(re.fullmatch(r"[\w.-]+==[\d.]+", line) for line in lines)
    assert "click==8.4" in lines


def test_what_is_left_out_on_other_pythons_is_there(everywhere: ModuleType) -> None:
    assert [name for name in everywhere.LEFT_OUT if not (ROOT / "tests" / f"{name}.py").is_file()] == []


def test_a_copy_is_as_a_fresh_clone(everywhere: ModuleType, tmp_path: Path) -> None:
    copy = everywhere.copied(tmp_path / "copy")
    names = {path.name for path in copy.rglob("*")}
    assert {"README.md", "pyproject.toml", "everywhere.py", "shoot_command.py"} <= names
    assert not names & {".git", ".venv", "__pycache__", ".mypy_cache"}
