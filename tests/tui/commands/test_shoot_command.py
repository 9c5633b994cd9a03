"""`stillset shoot`: what can't be meant together is refused before anything is opened."""

from __future__ import annotations

from pathlib import Path

import pytest

from session.rules import CAN_STOP
from tests.support.in_process import stillset


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("--plain --headless", "--plain is for the bench, --headless goes without one"),
        ("--ambient", "--ambient goes with --headless"),
        ("--headless --ambient --frames 3", "with neither --frames nor --overrule"),
        ("--headless --overrule sync", "Overruling sync takes a reason: --reason TEXT"),
        ("", "There is no terminal for the bench; use --headless"),
    ],
)
def test_what_cant_be_meant_is_wrong_use_and_makes_no_log(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: str, said: str
) -> None:
    monkeypatch.setenv("STILLSET_LOG", str(tmp_path / "log.sqlite"))
    assert said in " ".join(stillset("shoot", *words.split(), exit_code=2).split())
    assert list(tmp_path.iterdir()) == []


def test_overruling_a_rule_that_there_is_not_names_those_there_are() -> None:
    said = stillset("shoot", "--headless", "--overrule", "sink", "--reason", "wanted", exit_code=2)
    assert "'sink'" in said and all(rule in " ".join(said.split()) for rule in CAN_STOP)
