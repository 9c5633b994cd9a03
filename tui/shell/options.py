"""Options of commands: numbers as photographers write them, held to their quantity's range; several at once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

import click

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
