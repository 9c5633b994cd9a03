"""Missing quantities: all named at once with their units and options where nobody can be asked, else asked for."""

import io
import sys

import click
import pytest

from tui.commands.planning.inputs import complete
from tui.shell.options import Refused

NEEDED = {"focal_length_mm": "Focal length", "magnification": "Ratio"}


class Terminal(io.StringIO):
    """Standard input or error of a person at a terminal."""

    def isatty(self) -> bool:
        return True


def test_what_was_given_is_not_asked_for_even_where_it_is_nothing() -> None:
    given = {"focal_length_mm": 0.0, "magnification": 0.0, "f_number": None}
    assert complete(given, NEEDED) == given


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (
            {},
            "Missing: focal_length_mm in mm and magnification; give --focal-length-mm --magnification.",
        ),
        ({"magnification": 0.5}, "Missing: focal_length_mm in mm; give --focal-length-mm."),
        ({"focal_length_mm": 100.0, "magnification": None}, "Missing: magnification; give --magnification."),
    ],
)
def test_without_a_terminal_all_that_is_missing_is_named_at_once(
    given: dict[str, float | None], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("100\n"))
    with pytest.raises(Refused) as refused:
        complete(given, NEEDED)
    assert refused.value.message == said


def test_another_way_is_told_with_the_refusal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    with pytest.raises(Refused) as refused:
        complete({}, {"magnification": "Ratio"}, " or --kit")
    assert refused.value.message.endswith("give --magnification or --kit.")


def test_at_a_terminal_each_is_asked_for_until_it_can_be_meant(monkeypatch: pytest.MonkeyPatch) -> None:
    typed = iter(["ten", "1000000", "100 mm", "1:2"])
    asked: list[str] = []
    said: list[str] = []

    def prompt(text: str, *, value_proc: object, err: bool) -> object:
        asked.append(text)
        assert err  # standard output is the answer's
        assert callable(value_proc)
        while True:
            try:
                return value_proc(next(typed))
            except click.UsageError as error:
                said.append(error.message)

    for name in ("stdin", "stderr"):
        monkeypatch.setattr(sys, name, Terminal())
    monkeypatch.setattr(click, "prompt", prompt)
    given = {"f_number": 8.0}
    assert complete(given, NEEDED) == {"f_number": 8.0, "focal_length_mm": 100.0, "magnification": 0.5}
    assert asked == ["Focal length, focal_length_mm in mm", "Ratio, magnification"]
    assert len(said) == 2
    assert "ten" in said[0]
    assert "1,000,000" in said[1] or "1000000" in said[1] or "1e+06" in said[1]
    assert given == {"f_number": 8.0}  # what was given isn't changed
