"""Every known trouble is one sentence and an exit code; what isn't known is our mistake and stays an exception."""

from __future__ import annotations

import errno
import os

import click
import pytest

from session.frame.ports import LogError
from session.set.kit import KitError
from tui.shell.troubles import FAILED, STOPPED, WRONG_USE, CommandFailed, Stopped, in_words


def command(trouble: BaseException | None, result: object = None) -> click.Command:
    def run() -> object:
        if trouble is not None:
            raise trouble
        return result

    return click.Command("try", callback=run)


@pytest.fixture(autouse=True)
def no_arguments(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.argv", ["stillset"])


@pytest.mark.parametrize(
    ("trouble", "code", "said"),
    [
        (Stopped("Frame 4 did not fire."), STOPPED, "Frame 4 did not fire."),
        (CommandFailed("No picture was found."), FAILED, "No picture was found."),
        (click.UsageError("no such light"), WRONG_USE, "No such light."),
        (click.UsageError("was it given in m?"), WRONG_USE, "Was it given in m?"),
        (LogError("The disk is full."), FAILED, "The disk is full."),
        (KitError("kit.toml", ["line 3: no name"]), WRONG_USE, "The kit file kit.toml can't be used: line 3: no name"),
        (KeyboardInterrupt(), FAILED, "Stopped. What was saved until now is safe."),
        (click.exceptions.Abort(), FAILED, "Stopped. What was saved until now is safe."),
        (
            OSError(errno.EACCES, os.strerror(errno.EACCES), "/log.db"),
            FAILED,
            "/log.db can't be used: Permission denied.",
        ),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, BaseException) else "",
)
def test_a_known_trouble_is_a_sentence_and_a_code(
    trouble: BaseException, code: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert in_words(command(trouble)) == code
    out = capsys.readouterr()
    pointed = out.err.strip().partition(" See ")
    assert (out.out, pointed[0]) == ("", said)
    assert bool(pointed[2]) == isinstance(trouble, click.UsageError), "only wrong use points to the help"


@pytest.mark.parametrize("mistake", [RuntimeError("ours"), KeyError("ours"), ValueError("ours"), ZeroDivisionError()])
def test_a_mistake_of_ours_is_not_talked_away(mistake: Exception) -> None:
    with pytest.raises(type(mistake)):
        in_words(command(mistake))


@pytest.mark.parametrize(("result", "code"), [(None, 0), (0, 0), (3, 3), ("text", 0)])
def test_a_command_that_is_done_gives_its_own_code(result: object, code: int) -> None:
    assert in_words(command(None, result)) == code


def test_wrong_use_of_a_command_points_to_its_help(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.argv", ["stillset", "--nonsense"])
    assert in_words(command(None)) == WRONG_USE
    said = capsys.readouterr().err.strip()
    assert said.startswith("No such option") and said.endswith(" --help.") and said.count("\n") == 0
