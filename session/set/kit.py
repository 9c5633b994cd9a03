"""The photographer's kit, read from a TOML file: a table for each thing, names of the photographer's choosing.

Every number wears its unit. A fault in the file is reported with its line and field, all faults at once;
a misspelt field is a fault too, since a forgotten sync time would cost a picture.
"""

from __future__ import annotations

import re
import stat
import tomllib
from importlib import resources
from pathlib import Path
from typing import TypeVar

from pydantic import AliasChoices, BaseModel, ConfigDict, Field, ValidationError

from session.set.kit_fields import advice
from session.set.things import (
    Body,
    Converter,
    ExtensionTube,
    Lens,
    LensDrive,
    Light,
    Plate,
    ReversingRing,
    Shaper,
    SupplementaryLens,
    Support,
    Thing,
    Trigger,
)

__all__ = [
    "Body",
    "Converter",
    "ExtensionTube",
    "Kit",
    "KitError",
    "KitLacksError",
    "Lens",
    "LensDrive",
    "Light",
    "Plate",
    "ReversingRing",
    "Shaper",
    "SupplementaryLens",
    "Support",
    "Thing",
    "Trigger",
    "demo_kit",
    "parse_kit",
    "read_kit",
]

ThingT = TypeVar("ThingT", bound=Thing)

LARGEST_BYTES = 1_000_000
"""Of a kit file. The demo's kit has some 6 kB; a studio's with a hundred times as many things fits. Chosen."""

DEEPEST_LEVELS = 64
"""Of tables, arrays and parts of a dotted name inside each other. A kit has three. Chosen: reading deeper ones takes
the square of the depth (20,000 parts of one name 11 s) or Python's whole stack."""

TOKENS = re.compile(
    r'"""(?:\\.|[^\\])*?(?:"""|\Z)|\'\'\'.*?(?:\'\'\'|\Z)|"(?:\\.|[^"\\\n])*"?|\'[^\'\n]*\'?|\#[^\n]*|[\[\]{}.,=\n]',
    re.DOTALL,
)
"""Strings and comments of TOML, to be passed over, and what stands between its levels (https://toml.io/en/v1.0.0)."""

WORDS = {
    "extra_forbidden": "there is no field of this name",
    "missing": "this field is needed",
    "tuple_type": "this must be a table in double brackets, [[like this]]",
    "model_type": "this must be a table in double brackets, [[like this]]",
    "string_pattern_mismatch": "control characters, '=' and ',' can't stand in a name",
}
"""Our words for pydantic's kinds of fault; all others speak for themselves."""


OLD_SUPPORT = "stand"
"""What kit files called a support at first, which they may still do."""


class KitError(ValueError):
    """The kit file can't be used; `faults` holds one sentence a fault, with line and field."""

    def __init__(self, path: str, faults: list[str]) -> None:
        self.faults = faults
        super().__init__(f"The kit file {path} can't be used: " + "; ".join(faults))


class KitLacksError(ValueError):
    """The kit has no thing of a name that was asked for, or lacks a number of the thing; the text is one sentence."""


class Kit(BaseModel):
    """All of it. The first body, trigger and support are taken where a set-up names none."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    invented: bool = False
    body: tuple[Body, ...] = ()
    lens: tuple[Lens, ...] = ()
    light: tuple[Light, ...] = ()
    shaper: tuple[Shaper, ...] = ()
    trigger: tuple[Trigger, ...] = ()
    support: tuple[Support, ...] = Field(default=(), validation_alias=AliasChoices("support", OLD_SUPPORT))
    tube: tuple[ExtensionTube, ...] = ()
    supplementary: tuple[SupplementaryLens, ...] = ()
    converter: tuple[Converter, ...] = ()
    reversing_ring: tuple[ReversingRing, ...] = ()
    plate: tuple[Plate, ...] = ()
    drive: tuple[LensDrive, ...] = ()

    def body_for(self, name: str, serial: str = "", model: str = "") -> Body | None:
        """The body of that name, else the connected one, else the first one; None in an empty kit."""
        by_name = next((body for body in self.body if name and body.name == name), None)
        return by_name or self.connected_body(serial, model) or next(iter(self.body), None)

    def connected_body(self, serial: str, model: str) -> Body | None:
        """The body with the connected camera's serial number, else the one named as its model; None: it isn't told."""
        by_serial = next((body for body in self.body if serial and body.serial == serial), None)
        return by_serial or next((body for body in self.body if body.name.casefold() == model.casefold()), None)

    def lens_for(self, name: str) -> Lens | None:
        return next((lens for lens in self.lens if lens.name == name), None)

    def light_for(self, name: str) -> Light | None:
        return next((light for light in self.light if light.name == name), None)

    def shaper_for(self, name: str) -> Shaper | None:
        return next((shaper for shaper in self.shaper if shaper.name == name), None)

    def plate_for(self, name: str) -> Plate | None:
        return next((plate for plate in self.plate if plate.name == name), None)

    def loss_ev(self, light: Light, shaper: str) -> float | None:
        """EV (stops) lost in a shaper on this light: as measured for the pair, else for the shaper; 0 without a shaper.

        None when nobody measured the loss.
        """
        if not shaper:
            return 0.0
        known = self.shaper_for(shaper)
        return light.shaper_losses_ev.get(shaper, known.loss_ev if known else None)

    def origin_behind_mm(self, light: Light, shaper: str) -> float:
        """How far behind the front from which its distance is measured the light seems to come from, mm."""
        known = self.shaper_for(shaper)
        return known.origin_behind_mm if known else light.origin_behind_mm

    def trigger_for(self, name: str) -> Trigger | None:
        return _named_or_first(self.trigger, name)

    def support_for(self, name: str) -> Support | None:
        return _named_or_first(self.support, name)


def _named_or_first(things: tuple[ThingT, ...], name: str) -> ThingT | None:
    return next((thing for thing in things if thing.name == name), None) or next(iter(things), None)


def demo_kit() -> Kit:
    """The kit of the demo: every maker and model in it is invented."""
    text = resources.files("session").joinpath("demo_kit.toml").read_text(encoding="utf-8")
    return parse_kit(text, "of the demo")


def read_kit(path: Path) -> Kit:
    """The kit in a TOML file. Raises KitError."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise KitError(str(path), ["it is no file"])
        with path.open("rb") as file:
            text = file.read(LARGEST_BYTES + 1).decode("utf-8")
    except FileNotFoundError:
        raise KitError(str(path), ["there is no such file"]) from None
    except UnicodeDecodeError:
        raise KitError(str(path), ["it isn't UTF-8 text"]) from None
    except OSError as error:
        raise KitError(str(path), [error.strerror or "it can't be read"]) from None
    return parse_kit(text, str(path))


def parse_kit(text: str, path: str) -> Kit:
    """The kit in TOML text; `path` is for the words of an error only. Raises KitError with every fault found."""
    if len(text.encode("utf-8")) > LARGEST_BYTES:
        raise KitError(path, [f"it is larger than {LARGEST_BYTES // 1_000_000} MB"])
    if _levels(text) > DEEPEST_LEVELS:
        raise KitError(path, [f"tables stand more than {DEEPEST_LEVELS} deep inside each other"])
    try:
        kit = Kit.model_validate(tomllib.loads(text))
    except ValidationError as error:
        faults = [
            _fault(
                text,
                found["loc"],
                WORDS.get(found["type"], found["msg"].removeprefix("Value error, ").rstrip(".")),
                advice(Kit, found["loc"], found["type"]),
            )
            for found in error.errors()
        ]
        raise KitError(path, faults) from None
    except ValueError as error:  # besides TOMLDecodeError: a number with thousands of digits
        raise KitError(path, [f"not valid TOML: {error}"]) from None
    except (RecursionError, MemoryError):
        raise KitError(path, ["it takes more memory than there is"]) from None
    faults = [fault for group in Kit.model_fields for fault in _namesakes(kit, group)] + _unknown_shapers(kit)
    if faults:
        raise KitError(path, faults)
    return kit


def _levels(text: str) -> int:
    """The deepest level of brackets, with the parts of a dotted name that stand there."""
    depth = parts = deepest = 0
    for token in TOKENS.findall(text):
        match token:
            case "[" | "{":
                depth, parts = depth + 1, 0
            case "]" | "}":
                depth, parts = depth - 1, 0
            case ".":
                parts += 1
            case "," | "=" | "\n":
                parts = 0
        deepest = max(deepest, depth + parts)
    return deepest


def _unknown_shapers(kit: Kit) -> list[str]:
    known = {"", *(shaper.name for shaper in kit.shaper)}
    return [
        f"light {light.name!r} names the shaper {name!r}, which the kit hasn't"
        for light in kit.light
        for name in dict.fromkeys((light.shaper, *light.shaper_losses_ev))
        if name not in known
    ]


def _namesakes(kit: Kit, group: str) -> list[str]:
    things = getattr(kit, group)
    if not isinstance(things, tuple):
        return []
    names = [thing.name for thing in things]
    return [f"{group} {name!r} is there twice" for name in dict.fromkeys(names) if names.count(name) > 1]


def _fault(text: str, place: tuple[int | str, ...], message: str, helps: str = "") -> str:
    words = " ".join(str(part + 1) if isinstance(part, int) else part for part in place)
    line = _line_of(text, place)
    return (
        f"{f'line {line}, ' if line else ''}{words}: {message[:1].lower()}{message[1:]}{f'; {helps}' if helps else ''}"
    )


def _line_of(text: str, place: tuple[int | str, ...]) -> int | None:
    """Line of the field, else of its table; None when the place isn't of the form (group, index, field)."""
    group, index = place[0], place[1] if len(place) > 1 else 0
    heads = [n for n, line in enumerate(text.splitlines(), 1) if re.match(rf"\s*\[\[?\s*{group}\s*\]\]?", line)]
    if not isinstance(index, int) or index >= len(heads):
        field = [n for n, line in enumerate(text.splitlines(), 1) if re.match(rf"\s*{group}\s*=", line)]
        return next(iter(field), next(iter(heads), None))
    start = heads[index]
    for number, line in enumerate(text.splitlines()[start:], start + 1):
        if re.match(r"\s*\[", line):
            break
        if len(place) > 2 and re.match(rf"\s*{place[2]}\s*=", line):
            return number
    return start
