"""The picture in DEVELOPERS.md is true: who imports whom, read from the source and tried in a fresh interpreter."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGES = ("session", "storage", "tui", "mock_camera")
MAY_IMPORT = {
    "session": {"session"},
    "storage": {"storage", "session"},
    "tui": {"tui", "session", "storage"},
    "mock_camera": {"mock_camera"},
}
FOREIGN = {
    "gphoto2": "session/cameras",
    "sqlalchemy": "storage",
    "alembic": "storage",
    "psycopg": "storage",
    "textual": "tui",
    "click": "tui",
    "starlette": "tui/page",
    "uvicorn": "tui/page",
    "segno": "tui/page",
}
"""Libraries that only one folder may know."""

FILES = [path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))]


def imported(path: Path) -> set[str]:
    """Full names of the modules that a file imports, wherever in it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} imports by a relative name"
            names |= {node.module or ""} | {f"{node.module}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_file_imports_only_what_its_package_may(path):
    package = path.relative_to(ROOT).parts[0]
    for name in imported(path):
        top = name.split(".")[0]
        if top in PACKAGES:
            assert top in MAY_IMPORT[package], f"{path} imports {name}"
        home = FOREIGN.get(top)
        if home and package != "mock_camera":
            assert str(path.relative_to(ROOT)).startswith(home), f"{path} imports {name}"
        if package == "mock_camera":
            assert top not in FOREIGN, f"{path} imports {name}"


def test_there_is_something_to_look_at():
    assert {path.relative_to(ROOT).parts[0] for path in FILES} == set(PACKAGES)
    assert len(FILES) > 60


def test_no_module_imports_itself_through_others():
    modules = {".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in FILES}
    edges = {name: {found for found in imported(path) if found in modules} - {name} for name, path in modules.items()}
    done: set[str] = set()

    def walk(name: str, way: tuple[str, ...]) -> None:
        assert name not in way, " -> ".join((*way, name))
        if name in done:
            return
        for other in edges[name]:
            walk(other, (*way, name))
        done.add(name)

    for name in modules:
        walk(name, ())


@pytest.mark.parametrize(
    ("module", "absent"),
    [
        ("session.shoot.controller", ("textual", "sqlalchemy", "gphoto2", "storage", "tui", "mock_camera")),
        ("tui.__main__", ("click",)),
        ("tui.commands.command_line", ("textual", "sqlalchemy", "gphoto2", "numpy", "pydantic")),
        ("mock_camera", ("session", "storage", "tui", "gphoto2")),
        ("storage.writing.log", ("textual", "gphoto2", "tui")),
        ("tui.follow.page.server", ("textual", "gphoto2", "alembic")),
        ("storage.reading.reading", ("alembic", "psycopg", "sqlalchemy.dialects.postgresql")),
    ],
)
def test_a_fresh_interpreter_gets_only_what_it_asked_for(module, absent):
    code = f"import {module}, sys; print(','.join(n for n in {absent!r} if n in sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.strip() == ""
