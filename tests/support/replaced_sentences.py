"""A plugin of pytest: tests as drivers of the controller, with the program's sentences as they are, or all replaced.

    STILLSET_SENTENCES=kept|replaced STILLSET_TOLD=FILE \
        python -m pytest -p tests.support.replaced_sentences --assert=plain TESTS

Assertions are taken out of the tests, since they read sentences. What the controller then asks of the camera and the
judge, emits and writes goes into FILE, sentences left out, so that two runs can be compared.

Replaced is, at import, every text in `session` that people could read: literal parts of f-strings, and texts of several
words. Not replaced is what the program itself reads: members of enumerations, keys of dictionaries, and whatever a text
is compared with or searched for. So code that decides by a sentence finds another one, and does otherwise.
"""

from __future__ import annotations

import ast
import codecs
import json
import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from importlib.machinery import SourceFileLoader
from pathlib import Path
from typing import Any

import numpy as np
import pytest

ROOT = Path(__file__).parents[2]
SEVERAL_WORDS = re.compile(r"[A-Za-z]{2,}[,.;:!?]? [A-Za-z]|[a-z]{3,}[.!?]$")
WORD = re.compile(r"[A-Za-z]{3,}")
FIELD = re.compile(r"(\{[^{}]*\})")
READERS = frozenset(
    {"startswith", "endswith", "removeprefix", "removesuffix", "strip", "split", "rsplit", "partition", "rpartition"}
    | {
        "compile",
        "match",
        "fullmatch",
        "search",
        "sub",
        "findall",
        "index",
        "find",
        "count",
        "get",
        "encode",
        "getattr",
    }
)
"""Calls whose texts are looked for, not shown."""
SAID = frozenset({"text", "why", "reason", "said", "error", "words", "refused"})
"""Fields that hold sentences."""


class Replacing(ast.NodeTransformer):
    """Replaces the sentences of a module."""

    def __init__(self) -> None:
        self.count = 0

    def visit_ClassDef(self, node: ast.ClassDef) -> ast.AST:
        return node if any("Enum" in ast.unparse(base) for base in node.bases) else self._body(node)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        return self._body(node)

    def _body(self, node: Any) -> ast.AST:
        """Docstrings and annotations stay."""
        node.body = [part if _is_docstring(part) else self.visit(part) for part in node.body]
        return node  # type: ignore[no-any-return]

    def visit_Compare(self, node: ast.Compare) -> ast.AST:
        return node

    def visit_Subscript(self, node: ast.Subscript) -> ast.AST:
        return node

    def visit_Dict(self, node: ast.Dict) -> ast.AST:
        node.values = [self.visit(value) for value in node.values]
        return node

    def visit_Call(self, node: ast.Call) -> ast.AST:
        called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if called in READERS:
            return node if not isinstance(node.func, ast.Attribute) else self._owner(node)
        return self.generic_visit(node)

    def _owner(self, node: ast.Call) -> ast.AST:
        assert isinstance(node.func, ast.Attribute)
        node.func.value = self.visit(node.func.value)
        return node

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.AST:
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                self.visit(part.value)
            elif isinstance(part, ast.Constant) and isinstance(part.value, str) and WORD.search(part.value):
                part.value = self._replaced(part.value)
        return node

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        if isinstance(node.value, str) and SEVERAL_WORDS.search(node.value):
            return ast.copy_location(ast.Constant(self._replaced(node.value)), node)
        return node

    def _replaced(self, text: str) -> str:
        """Other words, each text its own; what `str.format` fills in stays."""
        self.count += 1
        return "".join(part if part.startswith("{") else codecs.encode(part, "rot13") for part in FIELD.split(text))


class Driving(ast.NodeTransformer):
    """Takes assertions out of a test, and what an expected error must say."""

    def visit_Assert(self, node: ast.Assert) -> ast.AST:
        return ast.copy_location(ast.Pass(), node)

    def visit_Call(self, node: ast.Call) -> ast.AST:
        self.generic_visit(node)
        if isinstance(node.func, ast.Attribute) and node.func.attr == "raises":
            node.keywords = [word for word in node.keywords if word.arg != "match"]
        return node


def _is_docstring(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)


REPLACED: dict[str, int] = {}
"""Module → how many texts were replaced in it."""

_as_written = SourceFileLoader.source_to_code


def _source_to_code(self: SourceFileLoader, data: Any, path: Any, **options: Any) -> Any:
    place = Path(os.fsdecode(path))
    if place.is_relative_to(ROOT / "session") and os.environ["STILLSET_SENTENCES"] == "replaced":
        module = ast.parse(data)
        replacing = Replacing()
        replacing._body(module)
        REPLACED[str(place.relative_to(ROOT))] = replacing.count
        return compile(ast.fix_missing_locations(module), place, "exec")
    if place.is_relative_to(ROOT / "tests" / "session"):
        return compile(ast.fix_missing_locations(Driving().visit(ast.parse(data))), place, "exec")
    return _as_written(self, data, path, **options)


SourceFileLoader.source_to_code = _source_to_code  # type: ignore[method-assign, assignment]


class Bare:
    """Values as plain JSON without sentences; keys made at random are numbered as they come."""

    def __init__(self) -> None:
        self._keys: dict[str, str] = {}

    def of(self, value: Any) -> Any:  # noqa: PLR0911 - one for each kind of value
        if isinstance(value, Enum):
            return f"{type(value).__name__}.{value.name}"
        if isinstance(value, str):
            return self._text(value)
        if isinstance(value, float):
            return round(value, 9)
        if value is None or isinstance(value, int):
            return value
        if isinstance(value, bytes | np.ndarray):
            return type(value).__name__
        if is_dataclass(value):
            parts = {one.name: getattr(value, one.name) for one in fields(value)}
            return {"": type(value).__name__} | {
                name: bool(part) if name in SAID else self.of(part) for name, part in parts.items()
            }
        if isinstance(value, Mapping):
            return {str(self.of(name)): bool(part) if name in SAID else self.of(part) for name, part in value.items()}
        if isinstance(value, set | frozenset):
            return sorted(map(str, map(self.of, value)))
        return [self.of(part) for part in value] if isinstance(value, list | tuple) else type(value).__name__

    def _text(self, text: str) -> str:
        if re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", text):
            return self._keys.setdefault(text, f"key {len(self._keys)}")
        return "…" if " " in text or text.endswith((".", "!", "?")) else text


def bench_of(events: list[Any]) -> list[str]:
    """The phase and the large line of the bench after each event."""
    from tui.words.model import BenchModel
    from tui.words.wording import headline

    model, seen = BenchModel(), []
    for event in events:
        model.hear(event, 0.0)
        seen.append(f"{model.phase()} {headline(model, 0.0).large}")
    return seen


STUDIOS: list[Any] = []
TOLD: dict[str, Any] = {}


def pytest_collection_finish() -> None:
    """Every scripted shoot is kept as it is made."""
    from tests.support import scripted

    made = scripted.Studio.__init__

    def init(self: Any, *args: Any, **options: Any) -> None:
        STUDIOS.append(self)
        made(self, *args, **options)

    scripted.Studio.__init__ = init  # type: ignore[method-assign]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    report = yield
    if call.when == "call":
        bare = Bare()
        TOLD[item.nodeid] = {
            "error": type(call.excinfo.value).__name__ if call.excinfo else "",
            "shoots": [
                {
                    "emitted": bare.of(studio.events),
                    "asked of the camera": bare.of(studio.camera.requests),
                    "asked of the judge": bare.of(studio.judge.assignments),
                    "written": bare.of(studio.log),
                    "at the bench": bench_of(studio.events),
                }
                for studio in STUDIOS
            ],
        }
        STUDIOS.clear()
    return report


def pytest_sessionfinish() -> None:
    told = {"tests": TOLD, "replaced": REPLACED}
    Path(os.environ["STILLSET_TOLD"]).write_text(json.dumps(told, indent=1), encoding="utf-8")
