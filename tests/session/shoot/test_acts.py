"""Acts are values: the controller has a case for each, a screen or a script posts each, and no screen knows more."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from session.shoot import acts
from session.shoot.acts import Act
from tests.support.scripted import Studio

ROOT = Path(__file__).parents[3]
KINDS = {kind.__name__ for kind in Act.__subclasses__()}


def test_the_controller_has_a_case_for_each_act() -> None:
    module = ast.parse((ROOT / "session" / "shoot" / "controller.py").read_text(encoding="utf-8"))
    cases = [node.cls for node in ast.walk(module) if isinstance(node, ast.MatchClass)]
    named = {
        case.attr
        for case in cases
        if isinstance(case, ast.Attribute) and isinstance(case.value, ast.Name) and case.value.id == "acts"
    }
    assert named == KINDS


def test_an_act_without_a_case_is_our_mistake_and_says_which() -> None:
    class Dance(Act):
        """Nothing that a controller can do."""

    with pytest.raises(NotImplementedError, match="Dance"):
        Studio().do(Dance())


def test_each_act_is_posted_by_somebody() -> None:
    made = set()
    for path in (ROOT / "tui").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                made.add(node.func.id)
    assert made >= KINDS


def test_screens_know_acts_and_not_the_controller() -> None:
    knowing = {
        str(path.relative_to(ROOT / "tui"))
        for path in (ROOT / "tui").rglob("*.py")
        if "session.shoot.controller" in path.read_text(encoding="utf-8")
    }
    assert knowing == {"shell/build.py", "headless/headless_shoot.py"}, "it is built there, and asked by a script"


def test_acts_are_told_apart_by_what_they_ask_alone() -> None:
    one, other = acts.AskRelease(), acts.AskRelease()
    assert one == other and one.frame_id != other.frame_id
