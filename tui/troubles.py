"""Turns every known trouble into one sentence and an exit code."""

from __future__ import annotations

import click

from session.kit import KitError
from session.ports import LogError

FAILED, WRONG_USE, STOPPED = 1, 2, 3


class Stopped(click.ClickException):
    """A rule kept the shutter shut."""

    exit_code = STOPPED

    def show(self, file: object = None) -> None:
        click.echo(self.message, err=True)


class Failed(click.ClickException):
    """Something could not be done; the sentence says what, and what is safe."""

    exit_code = FAILED

    def show(self, file: object = None) -> None:
        click.echo(self.message, err=True)


def in_words(command: click.Command) -> int:
    """Run the command and return its exit code; print one sentence for anything that is known to go wrong."""
    try:
        result = command.main(standalone_mode=False)
    except click.exceptions.Abort:
        click.echo("Stopped. Everything that was saved is in the log.", err=True)
        return FAILED
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except (KitError, LogError) as error:
        click.echo(str(error), err=True)
        return WRONG_USE if isinstance(error, KitError) else FAILED
    except BrokenPipeError:
        return FAILED
    return result if isinstance(result, int) else 0
