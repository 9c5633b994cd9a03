"""One word for one thing: the words that were given up don't come back, wherever a person or a program reads them.

Read are all texts in the code that aren't docstrings, the docstrings that are help, the names that go into JSON and kit
files, and the documents. Which word stands for which is the trade's own (common practice, no source).
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path

import pytest

from session.frame.finding import Finding, FocusJudgement
from session.rules import RULES
from session.set import setup
from session.set.kit import Kit
from storage.reading import views
from tui.words.keys import KEYS

ROOT = Path(__file__).parents[1]
DOCUMENTS = (
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    *(f"docs/{path.name}" for path in (ROOT / "docs").glob("*.md")),
)
HELP = ("tui/commands/", "tui/shell/choices.py")

GIVEN_UP = {
    r"\b(take|takes|taken|taking|took)( \w+)? back\b(?! to linear)": "undo",
    r"\b(put|puts|putting) back\b": "back to …, with the value",
    r"\btake[ns]? over\b": "keep",
    r"\b(un)?tick(s|ed)?\b": "yes, …, or confirmed",
    r"\bdo(es|ne)? (it )?again what\b": "redo",
    r"\bcall(s|ed)? off\b": "cancel",
    r"\bUNJUDGED\b": "FOCUS ?",
    r"\bMOVES \d|\bSTILL \d": "MOVING, AT REST",
    r"\bflawed\b": "the flaw's own name",
    r"stands? against the next release": "All clear.",
    r"\broom('s)?[ _-]light\b": "ambient",
    r"\bon the (camera )?body\b": "on the camera",
    r"\b(a|the|this|no|keep|measured|kit's|copy-) ?stand\b(?! still)": "support, where the camera stands on it",
    r"--stand\b|\[\[stand\]\]": "support",
    r"\bfocus[ _-]meter\b": "focus number",
    r"\bcharg(es|ing)\b": "recycles, of a flash",
    r"\bCHARGING\b": "RECYCLES",
    r"\b(held|holds?|holding)( \w+){0,3} against\b": "compared with",
    r"\bpassive items?\b": "reflector, flag, glass",
    r"\barchive (push|pull)\b|\bnext push\b|\bpush(es)? first\b": "archive send, archive fetch",
    r"\bpin(s|ned)?\b": "beside",
    r"\bbridge 6\b": "another invented piece",
    r"\b[Bb]ench (One|Full)\b|mount = \"bench\"": "another invented make",
    r"\d°/\d+°": "60° left · 35° up",
}
"""Pattern → the word in its place."""

KEPT = {
    ("session/frame/finding.py", "flawed"): "in the log's tables",
    ("session/frame/finding.py", "tick"): "in the log's tables",
    ("session/frame/states.py", "call off"): "the state table's event",
    ("session/frame/states.py", "called off"): "the state's name in the log's tables",
    ("session/shoot/releasing.py", "called off"): "the event's kind in the log's tables",
    ("DEVELOPERS.md", "Releases.tick"): "a function: the controller's time has gone on",
    ("DEVELOPERS.md", "called off"): "the state table and the event's kind, as they are",
    ("storage/reading/records.py", "room light"): "in older logs",
    ("storage/writing/setups.py", "ticked"): "a column of the log's tables",
    ("storage/database/soundness.py", "ticked"): "a column of the log's tables",
    ("storage/archive/strangers.py", "ticked"): "a column of the log's tables",
    ("storage/writing/standing.py", "ticked"): "in drafts of older logs",
    ("storage/schema/frame_models.py", "verdict = 'flawed'"): "in the log's tables",
    ("session/set/kit.py", "stand"): "in kit files of an older stillset",
    ("CHANGELOG.md", "[[stand]]"): "says which word went",
}
"""Where a word may stand: (file, text that holds it) → why."""


def shown_texts() -> Iterator[tuple[str, str]]:
    """(file, text) of everything that is read."""
    for name in DOCUMENTS:
        yield from ((name, line) for line in (ROOT / name).read_text(encoding="utf-8").splitlines())
    for package in ("session", "storage", "tui"):
        for path in sorted((ROOT / package).rglob("*.py")):
            name = path.relative_to(ROOT).as_posix()
            if "migrations/versions" in name:
                continue  # what the schema was; it is never rewritten
            yield from ((name, text) for text in literals(ast.parse(path.read_text(encoding="utf-8")), name))
    kit = (ROOT / "session/demo_kit.toml").read_text(encoding="utf-8")
    yield from (("session/demo_kit.toml", line) for line in kit.splitlines())


def literals(tree: ast.AST, name: str) -> Iterator[str]:
    """Texts of a module, without the docstrings and bare strings that explain it, unless they are help."""
    explains = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        shown = id(node) not in explains or name.startswith(HELP)
        if shown and isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def names() -> Iterator[tuple[str, str]]:
    """(where, name) of what JSON, CSV and kit files call things."""
    values = [kind for kind in (*vars(setup).values(), *vars(views).values(), Finding, FocusJudgement)]
    for kind in values:
        if isinstance(kind, type) and is_dataclass(kind):
            yield from ((kind.__name__, field.name.replace("_", " ")) for field in fields(kind))
    for group, field in Kit.model_fields.items():
        yield "kit", group.replace("_", " ")
        (kind,) = [one for one in getattr(field.annotation, "__args__", ()) if isinstance(one, type)] or (None,)
        if kind is not None:
            yield from ((group, one.replace("_", " ")) for one in kind.model_fields)  # type: ignore[attr-defined]
    yield from (("rule", rule.__name__.replace("_", " ")) for rule in RULES.values())


@cache
def everything() -> list[tuple[str, str]]:
    """All texts and names, read once."""
    return [*shown_texts(), *names()]


@pytest.mark.parametrize("pattern", GIVEN_UP)
def test_a_word_that_was_given_up_has_not_come_back(pattern: str) -> None:
    found = [
        f"{name}: {text.strip()[:100]!r}"
        for name, text in everything()
        if re.search(pattern, text) and not any(name == file and kept in text for file, kept in KEPT)
    ]
    assert not found, f"say {GIVEN_UP[pattern]}:\n" + "\n".join(found)


@pytest.mark.parametrize(
    "text",
    [
        *("take back", "Taken back: a mark", "put back", "a tick kept", "room's light", "room_light", "flawed"),
        *("released on the body", "look at the stand", "focus meter", "held against the reference", "passive items"),
        *("archive push", "pin this frame", "charging, 2 s", "45°/30°", "UNJUDGED", "called off"),
    ],
)
def test_the_list_finds_each_of_the_old_words(text: str) -> None:
    assert any(re.search(pattern, text, re.IGNORECASE) for pattern in GIVEN_UP)


@pytest.mark.parametrize("name", ["stand", "ticked", "charging time s"])
def test_old_names_are_none_of_json_or_kit(name: str) -> None:
    assert name not in {told for _, told in names()}


def test_undo_redo_and_cancel_are_on_the_keys_that_are_called_so() -> None:
    caps = {(key.cap, key.word) for key in KEYS if key.act in ("undo", "redo", "cancel", "call_off")}
    assert caps == {("z", "undo"), ("z", ""), ("Z", ""), ("esc", "cancel")}  # z without a word: nothing to undo


def test_no_key_of_the_ledger_says_compare_explain_and_choose_by_the_letters_of_elsewhere() -> None:
    """Marks are on their first letters, explain is i: with c, p or x beside them the set would be another program's."""
    from tui.words.keys import MARKS, Where

    letters = {name for key in KEYS if key.where is Where.LEDGER for name in key.names}
    assert {"c", "p", "x"}.isdisjoint(letters)
    assert all(mark.startswith(letter) for letter, mark in MARKS.items())
