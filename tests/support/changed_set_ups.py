"""A set-up with every field filled, and the same set-up once for each of its fields with that one changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

from tests.support.log_samples import revision

SAMPLE = revision(1, 1)


def another(name: str, value: object) -> Any:
    """A value of the same kind that differs, and is one that the field may have."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1 if isinstance(value, int) else value * 0.75
    if isinstance(value, str):
        return {"bounce": "flag", "raw+jpeg": "jpeg", "left": "up"}.get(value, value + " two")
    assert isinstance(value, tuple), f"no other value is known for {name}"
    return (*value, "focus locked")


def changed(thing: Any, way: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """The dataclass once for each of its fields, and of those within, with that one changed; named by its way."""
    for one in fields(thing):
        here, value = (*way, one.name), getattr(thing, one.name)
        if is_dataclass(value):
            yield from ((name, replace(thing, **{one.name: part})) for name, part in changed(value, here))
        elif isinstance(value, tuple) and value and is_dataclass(value[0]):
            for name, part in changed(value[0], here):
                yield name, replace(thing, **{one.name: (part, *value[1:])})
        elif one.name not in ("setup_number", "revision"):
            yield " ".join(here), replace(thing, **{one.name: another(one.name, value)})


CHANGED = dict(changed(SAMPLE))
"""Way to the field, `settings iso` → the set-up with another value there."""
