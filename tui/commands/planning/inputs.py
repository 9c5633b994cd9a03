"""Quantities as options: read as photographers write them, held to their range, asked for where they are missing.

f/11 may be typed as 11 or f/11, 1/200 s as 1/200, a ratio as 0.5 or 1:2, a quarter of the power as -2 or 1/4.
Whatever can't be meant is refused with one sentence and exit code 2.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, TypeVar

import click

from session.units.quantities import allowed_range, require
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
    """A number in its quantity's unit."""

    def __init__(self, quantity: str) -> None:
        self.quantity = quantity
        self.name = allowed_range(quantity).unit or "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        with refusing():
            return quantity_from(self.quantity, str(value))


def quantity_from(quantity: str, text: str) -> float:
    """The number meant by the text, in the quantity's unit. Raises ValueError with one sentence."""
    unit = allowed_range(quantity).unit
    bare = text.strip().replace("−", "-").casefold()
    if unit:
        bare = bare.removesuffix(unit.casefold()).strip()
    if quantity.endswith("f_number"):
        bare = bare.removeprefix("f").removeprefix("/").strip()
    try:
        number = _number(quantity, bare.replace(",", "."))
    except (ValueError, ZeroDivisionError):
        raise ValueError(f"{quantity} is a number{f' in {unit}' if unit else ''}, not {text!r}.") from None
    require(**{quantity: number})
    return number


def _number(quantity: str, bare: str) -> float:
    for sign in "/:":
        if sign in bare:
            above, below = (float(part) for part in bare.split(sign))
            share = above / below
            return math.log2(share) if quantity.endswith("power_ev") and share > 0 else share
    return float(bare)


def quantity(name: str, words: str, default: float | None = None) -> Callable[[FunctionT], FunctionT]:
    """An option of that quantity's name; without a default its value may be None (see `complete`)."""
    option = "--" + name.replace("_", "-")
    return click.option(
        option, name, type=QuantityType(name), default=default, show_default=default is not None, help=words
    )


def stacked(*options: Callable[[FunctionT], FunctionT]) -> Callable[[FunctionT], FunctionT]:
    """Several options at once, in this order in the help."""

    def wrap(function: FunctionT) -> FunctionT:
        for option in reversed(options):
            function = option(function)
        return function

    return wrap


def complete(given: Mapping[str, Any], needed: Mapping[str, str], instead: str = "") -> dict[str, Any]:
    """The values with every needed one: asked for at a terminal, else refused by name and unit, all at once.

    needed   quantity → what it is, in words
    instead  what else would do, for the refusal
    """
    missing = [name for name in needed if given.get(name) is None]
    if not missing:
        return dict(given)
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        named = " and ".join(_with_unit(name) for name in missing)
        options = " ".join("--" + name.replace("_", "-") for name in missing)
        raise Refused(f"Missing: {named}; give {options}{instead}.")
    return dict(given) | {name: _asked(name, needed[name]) for name in missing}


def _with_unit(name: str) -> str:
    unit = allowed_range(name).unit
    return f"{name} in {unit}" if unit else name


def _asked(name: str, words: str) -> float:
    def read(text: str) -> float:
        try:
            return quantity_from(name, text)
        except ValueError as error:
            raise click.UsageError(str(error)) from None

    return float(click.prompt(f"{words}, {_with_unit(name)}", value_proc=read, err=True))
