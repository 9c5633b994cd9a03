"""What a number may be stands in one table: every numeric option, prompt and field of a kit or set-up obeys it."""

from __future__ import annotations

import typing
from collections.abc import Iterator
from dataclasses import fields
from typing import Any

import click
import pytest
from click.testing import CliRunner
from pydantic import ValidationError

from session.set.kit import Kit, demo_kit
from session.set.setup import Arrangement, PassiveItem, PlacedLight, Revision, Settings
from session.set.things import Thing
from session.units.quantities import QUANTITIES, Quantity, allowed_range, is_quantity
from tui.bench.setting_lines import LINES, SettingLine
from tui.commands.command_line import stillset
from tui.planner import wish_lines
from tui.shell.choices import LIGHT_NUMBERS, parse_light
from tui.shell.options import QuantityType, Refused

COUNTS = frozenset({"frames", "first", "jobs", "newest", "frame", "seed", "numbers", "steps"})
"""Options that count or number frames, pictures, lines, processes or a drive's steps, or begin random numbers."""


def options(command: click.Command, way: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], click.Parameter]]:
    """Every option and argument of every command, with the words that lead to it."""
    yield from ((way, one) for one in command.params)
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            assert below is not None
            yield from options(below, (*way, name))


OPTIONS = [(way, one) for way, one in options(stillset) if isinstance(one, click.Option)]
NUMBERS = [(way, one) for way, one in OPTIONS if isinstance(one.type, QuantityType)]


def outside(allowed: Quantity) -> list[float]:
    """Just below and above the range, and numbers that are none."""
    step = (allowed.high - allowed.low) * 1e-6
    below = [allowed.low / 2] if allowed.or_zero and allowed.low else [allowed.low - step]
    return [*below, allowed.high + step, allowed.high * 1000 + 1, float("inf"), float("nan")]


def test_the_walk_finds_the_options_that_set_a_camera() -> None:
    found = {one.opts[0] for way, one in NUMBERS if way == ("setup", "set")}
    assert found >= {"--exposure-s", "--f-number", "--iso", "--magnification", "--hold-off-s", "--blur-limit-px"}


@pytest.mark.parametrize(
    ("way", "option"), OPTIONS, ids=lambda one: one.name if isinstance(one, click.Parameter) else " ".join(one)
)
def test_an_option_is_a_quantity_a_count_or_words(way: tuple[str, ...], option: click.Option) -> None:
    numeric = option.type in (click.INT, click.FLOAT) or isinstance(option.type, click.IntRange | click.FloatRange)
    assert not numeric or option.name in COUNTS, f"{option.opts} of {way} has a range of its own"
    name = (option.name or "").removesuffix("_from").removesuffix("_to")
    if is_quantity(name):
        assert isinstance(option.type, QuantityType) and option.type.quantity == name


@pytest.mark.parametrize(
    "quantity", sorted({one.type.quantity for _, one in NUMBERS if isinstance(one.type, QuantityType)})
)
def test_an_option_refuses_what_the_table_refuses(quantity: str) -> None:
    kind, allowed = QuantityType(quantity), allowed_range(quantity)
    for number in outside(allowed):
        with pytest.raises(Refused, match=f"{quantity} is "):
            kind.convert(f"{number:.12g}", None, None)
    if not quantity.endswith(("azimuth_deg", "elevation_deg")):
        for number in (allowed.low, allowed.high):
            assert kind.convert(repr(number), None, None) == pytest.approx(number)


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--magnification", "80", "magnification is 80, but must be from 0 to 50."),
        ("--f-number", "200", "f_number is 200, but must be from 0.5 to 128."),
        ("--iso", "9000000", "iso is 9,000,000, but must be from 1 to 5,000,000."),
        ("--exposure-s", "100", "exposure_s is 100 s, but must be from 0.000001 to 60 s: was 1/100 typed as 100?"),
        ("--hold-off-s", "3000", "hold_off_s is 3000 s, but must be from 0 to 600 s: was it given in ms?"),
        (
            "--light",
            "key,distance_mm=0.6",
            "distance_mm is 0.6 mm, but must be from 1 to 100,000 mm: was it given in m?",
        ),
    ],
)
def test_a_set_up_is_not_changed_to_what_cannot_be_meant(option: str, value: str, words: str, tmp_path: Any) -> None:
    told = CliRunner().invoke(stillset, ["setup", "set", option, value, "--log", str(tmp_path / "shoot.db")])
    assert (told.exit_code, told.output.strip()) == (2, words)
    assert not (tmp_path / "shoot.db").exists()


@pytest.mark.parametrize("name", LIGHT_NUMBERS)
def test_a_light_is_held_to_the_table(name: str) -> None:
    for number in outside(allowed_range(name)):
        with pytest.raises(Refused, match=f"{name} is "):
            parse_light(f"key,{name}={number:.12g}")


NUMERIC_LINES = [one for one in LINES if isinstance(one, SettingLine) and is_quantity(one.name)]


@pytest.mark.parametrize("line", NUMERIC_LINES, ids=lambda one: one.name)
def test_what_is_typed_at_the_bench_is_held_to_the_table(line: SettingLine) -> None:
    for number in outside(allowed_range(line.name)):
        with pytest.raises(ValueError, match=f"{line.label} is ") as told:
            line.from_typed(f"{number:.12g}")
        assert line.name == line.label or line.name not in str(told.value), "the bench knows no code names"


def test_every_number_of_a_set_up_that_the_bench_offers_is_walked() -> None:
    kinds = {**typing.get_type_hints(Settings), **typing.get_type_hints(Arrangement), **typing.get_type_hints(Revision)}
    numbers = {one.name for one in LINES if {float, int} & {kinds[one.name], *typing.get_args(kinds[one.name])}}
    assert numbers == {one.name for one in NUMERIC_LINES}


@pytest.mark.parametrize("line", [one for one in wish_lines.LINES if is_quantity(one.name)], ids=lambda one: one.name)
def test_what_is_typed_in_the_planner_is_held_to_the_table(line: wish_lines.WishLine) -> None:
    for number in outside(allowed_range(line.name)):
        with pytest.raises(ValueError, match=" is "):
            line.from_typed(f"{number:.12g}")


@pytest.mark.parametrize("kind", [Settings, Arrangement, PlacedLight, PassiveItem, Revision])
def test_every_number_of_a_set_up_has_a_row_in_the_table(kind: type[Any]) -> None:
    hints = typing.get_type_hints(kind)
    for one in fields(kind):
        if {float, int} & {hints[one.name], *typing.get_args(hints[one.name])}:
            assert is_quantity(one.name) or one.name in ("setup_number", "revision"), one.name


THINGS: list[tuple[type[Thing], str]] = [
    (thing, name)
    for group in Kit.model_fields.values()
    for thing in typing.get_args(group.annotation)[:1]
    for name, field in thing.model_fields.items()
    if {float, int} & {field.annotation, *typing.get_args(field.annotation)}
]


@pytest.mark.parametrize(("thing", "name"), THINGS, ids=lambda one: getattr(one, "__name__", one))
def test_a_field_of_the_kit_is_held_to_the_table(thing: type[Thing], name: str) -> None:
    kit = demo_kit()
    owned = next(getattr(kit, group)[0] for group, field in Kit.model_fields.items()
                 if typing.get_args(field.annotation)[:1] == (thing,))  # fmt: skip
    keys, quantity = thing.quantities_of(name)
    assert quantity in QUANTITIES or is_quantity(quantity)
    table = typing.get_origin(thing.model_fields[name].annotation) is dict
    for number in outside(allowed_range(quantity)):
        value = {(-1.0 if keys else "tube"): number} if table else number
        with pytest.raises(ValidationError) as told:
            thing.model_validate({**owned.model_dump(), name: value})
        assert [one["loc"][0] for one in told.value.errors()] == [name]


def test_the_walk_finds_every_group_of_a_kit() -> None:
    assert {thing.__name__ for thing, _ in THINGS} == {
        *("Body", "Lens", "Light", "Shaper", "Trigger", "Support", "ExtensionTube", "SupplementaryLens", "Converter"),
        *("ReversingRing", "Plate", "LensDrive"),
    }
