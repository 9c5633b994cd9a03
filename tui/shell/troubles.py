"""Turns every known trouble into one sentence and an exit code."""

from __future__ import annotations

import os
import sys
from typing import IO, Any

import click

from session.frame.ports import LogError

FAILED, WRONG_USE, STOPPED, NOT_ALL = 1, 2, 3, 4


class Stopped(click.ClickException):
    """A rule kept the shutter shut."""

    exit_code = STOPPED

    def show(self, file: IO[Any] | None = None) -> None:
        click.echo(self.message, err=True)


class CommandFailed(click.ClickException):
    """A command could not be done; the sentence says why, and which data are safe."""

    exit_code = FAILED

    def show(self, file: IO[Any] | None = None) -> None:
        click.echo(self.message, err=True)


def in_words(command: click.Command) -> int:
    """Run the command and return its exit code; print one sentence for anything that is known to go wrong."""
    try:
        result = command.main(standalone_mode=False)
    except (click.exceptions.Abort, KeyboardInterrupt):  # the second before click has taken over
        return _say("Stopped. What was saved until now is safe.", FAILED)
    except click.UsageError as error:
        return _say(_with_help(error), WRONG_USE)
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except (LogError, OSError) as error:
        return _say(_of_system(error) if isinstance(error, OSError) else str(error), FAILED)
    except ValueError as error:
        return _say(_of_kit(error), WRONG_USE)
    return result if isinstance(result, int) else 0


def _say(text: str, code: int) -> int:
    click.echo(text, err=True)
    return code


def _give_up_output() -> None:
    """Drop the text that the output refused: the buffer would try it again, and complain, at the very end.

    Source: Python's library reference, signal, "Note on SIGPIPE".
    """
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
    except (OSError, ValueError):  # an output of a test, or none
        return


def _of_kit(error: ValueError) -> str:
    """The sentence of a KitError; any other is our mistake, and is raised again."""
    from session.set.kit import KitError  # noqa: PLC0415 - pydantic, for those who use a kit

    if not isinstance(error, KitError):
        raise error
    return str(error)


def _with_help(error: click.UsageError) -> str:
    text = error.format_message()
    end = "" if text.endswith((".", "?", "!")) else "."
    where = f" See {error.ctx.command_path} --help." if error.ctx else ""
    return f"{text[:1].upper()}{text[1:]}{end}{where}"


def _of_system(error: OSError) -> str:
    """The act that the system refused, with the file where the system names a file."""
    if error.filename is None:
        _give_up_output()
    what = str(error.filename) if error.filename is not None else "The output"
    return f"{what} can't be used: {error.strerror or error}."
