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
    "starlette": "tui/follow/page",
    "uvicorn": "tui/follow/page",
    "segno": "tui/follow/page",
    "weasyprint": "tui/paper",
}
"""Libraries that only one folder may know."""

SHELVES = ("units", "system", "picture", "optics", "lighting", "set", "frame")
FLOORS = {
    "session": {
        "units": set(),
        "system": set(),
        "picture": {"units"},
        "optics": {"units"},
        "lighting": {"units", "optics"},
        "set": {"units", "optics", "lighting"},
        "frame": {"units", "optics", "set"},
        "order": {"units", "set", "frame"},
        "plan": {"units", "optics", "lighting", "set", "order"},
        "rules": {"units", "optics", "lighting", "set", "frame"},
        "checks": {"units", "system", "picture", "optics", "set", "frame"},
        "live": {"units", "picture", "optics", "set", "frame"},
        "match": {"units", "picture", "optics", "lighting", "set", "frame", "plan", "checks"},
        "series": {"units", "picture", "optics", "lighting", "set", "frame"},
        "cameras": {"units", "system", "frame", "set"},
        "shoot": {*SHELVES, "plan", "rules", "checks", "live", "series", "cameras"},
    },
    "session/checks": {
        "material": set(),
        "light": {"material"},
        "drift": {"material"},
        "focus": {"material", "light", "drift"},
        "band": {"material", "light"},
        "standard": {"material", "light"},
        "judge": {"material", "light", "focus", "band", "drift", "standard"},
    },
    "storage": {
        "schema": set(),
        "files": {"schema"},
        "migrations": {"files"},
        "database": {"schema", "files", "migrations"},
        "writing": {"schema", "files", "database"},
        "archive": {"schema", "files", "database", "writing"},
        "reading": {"schema", "files", "database", "writing", "archive"},
        "handover": {"files", "reading"},
    },
    "tui": {
        "words": set(),
        "shell": {"words"},
        "paper": {"words", "shell"},
        "screen": {"words", "shell"},
        "compare": {"words", "screen"},
        "explain": {"words", "screen", "compare"},
        "bench": {"words", "shell", "screen", "explain"},
        "ledger": {"words", "screen", "compare", "explain"},
        "planner": {"words", "screen"},
        "match": {"words", "shell", "screen", "bench"},
        "follow": {"words", "shell", "screen"},
        "handover": {"words", "paper", "screen"},
        "headless": {"words", "shell"},
        "demo": {"words", "shell", "screen", "headless"},
        "app": {
            *("words", "shell", "screen", "compare", "bench", "ledger", "planner", "match", "follow", "handover"),
            "demo",
        },
        "commands": {"words", "paper", "shell", "screen", "compare", "planner", "follow", "headless", "demo", "app"},
        "__main__.py": {"shell", "commands"},
    },
    "mock_camera": {
        "ptp": set(),
        "scene": set(),
        "table": {"scene"},
        "body": {"ptp", "table"},
        "wire": {"ptp", "body"},
        "played": {"ptp", "body", "wire"},
        "camera.py": {"body", "wire", "played"},
        "__main__.py": {"scene", "table", "body", "played", "camera"},
    },
}
"""Folder → the folders beside it that it may import; each stands above what it imports, so none imports back."""

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


def folder_of(name: str, package: str) -> str:
    """The part of a module's name that says in which of the package's folders it lies; "" when it lies elsewhere."""
    inside = name.removeprefix(package.replace("/", ".") + ".")
    return "" if inside == name else inside.split(".")[0]


@pytest.mark.parametrize(
    ("package", "folder"), [(package, folder) for package, folders in FLOORS.items() for folder in folders]
)
def test_a_folder_imports_only_what_stands_below_it(package, folder):
    place = ROOT / package / folder
    files = [place] if place.is_file() else sorted(place.rglob("*.py"))
    assert files, f"{package}/{folder} is empty"
    for path in files:
        folders = {folder_of(name, package) for name in imported(path)} - {"", folder.removesuffix(".py")}
        folders = {name for name in folders if (ROOT / package / name).exists() or f"{name}.py" in FLOORS[package]}
        assert folders <= FLOORS[package][folder], f"{path} imports {folders - FLOORS[package][folder]}"


@pytest.mark.parametrize("package", FLOORS)
def test_every_file_lies_on_a_floor_and_no_floor_imports_one_above_it(package):
    here = {path.name for path in (ROOT / package).iterdir() if path.suffix == ".py" or (path / "__init__.py").exists()}
    assert here - {"__init__.py"} == set(FLOORS[package])
    seen: set[str] = set()
    for folder, below in FLOORS[package].items():
        assert {name for name in below if f"{name}.py" not in FLOORS[package]} <= seen
        seen.add(folder)


@pytest.mark.parametrize("path", sorted((ROOT / "tui/words").rglob("*.py")), ids=lambda path: path.stem)
def test_words_know_no_widget(path):
    assert not {name for name in imported(path) if name.split(".")[0] in ("textual", "rich")}


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


def names_given_twice(places_by_name: dict[str, list[str]]) -> dict[str, list[str]]:
    return {name: places for name, places in places_by_name.items() if len(places) > 1}


def test_no_two_modules_have_one_name():
    places: dict[str, list[str]] = {}
    for path in FILES:
        if path.stem not in ("__init__", "__main__"):
            places.setdefault(path.stem, []).append(str(path.relative_to(ROOT)))
    assert len(places) > 250
    assert names_given_twice(places) == {}


def test_no_two_classes_have_one_name():
    places: dict[str, list[str]] = {}
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                places.setdefault(node.name, []).append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert len(places) > 300
    assert names_given_twice(places) == {}


def test_the_start_knows_nothing_but_the_first_lines_of_the_command_line():
    ours = {name for name in imported(ROOT / "stillset.py") if name.split(".")[0] in PACKAGES}
    assert ours == {"tui.__main__", "tui.__main__.main"}
    assert not [path for path in FILES if "stillset" in imported(path)]


@pytest.mark.parametrize(
    ("module", "absent"),
    [
        ("stillset", ("click", "tui", "session", "storage", "mock_camera", "importlib.metadata")),
        ("session.shoot.controller", ("textual", "sqlalchemy", "gphoto2", "storage", "tui", "mock_camera")),
        ("tui.__main__", ("click",)),
        ("tui.commands.command_line", ("textual", "sqlalchemy", "gphoto2", "numpy", "pydantic")),
        ("mock_camera", ("session", "storage", "tui", "gphoto2")),
        ("storage.writing.log", ("textual", "gphoto2", "tui")),
        ("tui.follow.page.server", ("textual", "gphoto2", "alembic")),
        ("storage.reading.log_reader", ("alembic", "psycopg", "sqlalchemy.dialects.postgresql")),
    ],
)
def test_a_fresh_interpreter_gets_only_what_it_asked_for(module, absent):
    code = f"import {module}, sys; print(','.join(n for n in {absent!r} if n in sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.strip() == ""


HELPERS = {path.stem for path in (ROOT / "tests/support").glob("*.py")} - {"__init__"}


def test_every_helper_of_the_tests_stands_on_their_map_and_nothing_else_does():
    listed = (ROOT / "tests/support/__init__.py").read_text(encoding="utf-8").split("\n    ")[1:]
    named = {name for line in listed if line[0] != " " for name in line.split("  ")[0].split("\n")[0].split(", ")}
    assert named == HELPERS


@pytest.mark.parametrize("path", sorted((ROOT / "tests").rglob("*.py")), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_helper_is_imported_by_its_whole_name(path):
    short = {name.partition(".")[0] for name in imported(path)} & HELPERS
    assert not short, f"import {', '.join(sorted(short))} as tests.support.…"
