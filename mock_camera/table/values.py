"""Named values that came from outside, read one by one with a plain sentence for what is wrong."""

from __future__ import annotations

import math


class RefusedValueError(ValueError):
    """A value or a name that the table can't take; the text is a sentence."""


class Values:
    """The values of one call. Raises ValueError for names that the call doesn't know."""

    def __init__(self, call: str, values: dict[str, object], known: tuple[str, ...]) -> None:
        for name in values:
            if name not in known:
                raise RefusedValueError(f"{call} takes no {name}: it takes {', '.join(known)}.")
        self._call = call
        self._values = values

    def has(self, name: str) -> bool:
        return name in self._values

    def number(self, name: str, default: float | None = None, least: float = -1e9, most: float = 1e9) -> float:
        """A finite number from `least` to `most`, in the unit that its name ends with.

        Raises ValueError when the number is missing and there is no default.
        """
        value = self._values.get(name, default)
        if value is None:
            raise RefusedValueError(f"{self._call} needs {name}.")
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            raise RefusedValueError(f"{self._call}: {name} is a number, not {value!r}.")
        if not least <= value <= most:
            raise RefusedValueError(f"{self._call}: {name} is {value:g}, it must lie within {least:g} and {most:g}.")
        return float(value)

    def yes(self, name: str) -> bool:
        value = self._values[name]
        if not isinstance(value, bool):
            raise RefusedValueError(f"{self._call}: {name} is true or false, not {value!r}.")
        return value

    def text(self, name: str) -> str:
        value = self._values.get(name)
        if not isinstance(value, str) or not value:
            raise RefusedValueError(f"{self._call} needs {name}, a word.")
        return value

    def one_of(self, name: str, choices: tuple[str, ...]) -> str:
        value = self.text(name)
        if value not in choices:
            raise RefusedValueError(f"{self._call}: no {name} is called {value!r}: there are {', '.join(choices)}.")
        return value
