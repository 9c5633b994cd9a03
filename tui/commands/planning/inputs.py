"""Quantities as options: read as photographers write them, held to their range, asked for where they are missing.

f/11 may be typed as 11 or f/11, 1/200 s as 1/200, a ratio as 0.5 or 1:2, a quarter of the power as -2 or 1/4.
Whatever can't be meant is refused with one sentence and exit code 2.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import Any

import click

from session.units.quantities import allowed_range
from session.units.typed import typed_number
from tui.shell.options import Refused


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
    return dict(given) | {name: _ask(name, needed[name]) for name in missing}


def _with_unit(name: str) -> str:
    unit = allowed_range(name).unit
    return f"{name} in {unit}" if unit else name


def _ask(name: str, words: str) -> float:
    def read(text: str) -> float:
        try:
            return typed_number(name, text)
        except ValueError as error:
            raise click.UsageError(str(error)) from None

    return float(click.prompt(f"{words}, {_with_unit(name)}", value_proc=read, err=True))
