"""Options and arguments of commands: numbers held to their quantity's range, new files, arguments never empty."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

import click
from click.core import ParameterSource

from session.units.quantities import allowed_range
from session.units.typed import typed_number
from tui.shell.troubles import WRONG_USE

FunctionT = TypeVar("FunctionT", bound=Callable[..., Any])


class Refused(click.ClickException):
    """The question can't be answered; one sentence says why."""

    exit_code = WRONG_USE

    def show(self, file: object = None) -> None:
        click.echo(self.message, err=True)


@contextmanager
def refusing() -> Iterator[None]:
    """Turn the one sentence of a ValueError from the session into a refusal."""
    try:
        yield
    except ValueError as error:
        raise Refused(str(error)) from None


class GivenArgument(click.Argument):
    """An argument that is refused where it is typed as nothing or blanks, which would pass for an argument left out."""

    def type_cast_value(self, ctx: click.Context, value: Any) -> Any:
        """The value in the argument's type. Raises click.UsageError for an empty word."""
        words = value if isinstance(value, tuple | list) else (value,)
        typed = ctx.get_parameter_source(self.name or "") is ParameterSource.COMMANDLINE
        if typed and any(isinstance(word, str) and not word.strip() for word in words):
            raise click.UsageError(f"{self.human_readable_name.strip('[].')} is empty", ctx)
        return super().type_cast_value(ctx, value)


argument = partial(click.argument, cls=GivenArgument)
"""As `click.argument`, for an argument that is never empty."""

LONGEST_FILE_NAME_BYTES = 240
"""File systems take 255 bytes of UTF-8; a part of the file, while it is written, has some more than its name."""


class NewFile(click.Path):
    """A file to be written: a path with a name that is no folder's, refused before anything is worked out."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path. Raises click.UsageError where no file can have that name."""
        text = str(value)
        path = Path(text)
        if path.name in ("", "..") or "\0" in text:
            raise click.UsageError(f"{text!r} is no name of a file", ctx)
        if len(path.name.encode("utf-8", "surrogateescape")) > LONGEST_FILE_NAME_BYTES:
            raise click.UsageError(
                f"a file's name may take {LONGEST_FILE_NAME_BYTES} bytes; {path.name[:20]}… is longer", ctx
            )
        if os.path.isdir(path):  # noqa: PTH112 - False, too, where nobody may look
            raise click.UsageError(f"{text} is a folder; a file is named here", ctx)
        return path


class QuantityType(click.ParamType[float]):
    """A number in its quantity's unit; whatever can't be meant is refused with one sentence and exit code 2."""

    def __init__(self, quantity: str) -> None:
        self.quantity = quantity
        self.name = allowed_range(quantity).unit or "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The typed value as a number in the quantity's unit."""
        with refusing():
            return typed_number(self.quantity, str(value))


def quantity(
    name: str, words: str, default: float | None = None, *, end: str = "", **more: Any
) -> Callable[[FunctionT], FunctionT]:
    """An option for a quantity, in the unit that its name ends with; without a default the value may be None.

    end   what the option's name ends with besides: `from`, `to`
    more  what else click takes for an option
    """
    told = f"{name}_{end}" if end else name
    option, kind = "--" + told.replace("_", "-"), QuantityType(name)
    return click.option(option, told, type=kind, default=default, show_default=default is not None, help=words, **more)


def stack_options(*options: Callable[[FunctionT], FunctionT]) -> Callable[[FunctionT], FunctionT]:
    """Several options at once, in this order in the help."""

    def wrap(function: FunctionT) -> FunctionT:
        for option in reversed(options):
            function = option(function)
        return function

    return wrap
