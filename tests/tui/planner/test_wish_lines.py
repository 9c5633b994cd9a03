"""The planner's wish, line by line: how each reads, what the keys offer, and what is typed."""

from __future__ import annotations

from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.plan.wish import Wish
from session.set.kit import Kit, demo_kit
from tui.planner.wish_lines import FIRST_WISH, LINES, WishLine, series

KIT = demo_kit()
BY_NAME = {line.name: line for line in LINES}
by_line = pytest.mark.parametrize("line", LINES, ids=lambda line: line.label)


@by_line
def test_every_line_is_about_a_field_of_the_wish_and_reads(line: WishLine) -> None:
    assert line.name in {field.name for field in fields(Wish)}
    assert line.text(FIRST_WISH)
    assert len(line.label) <= 14


@by_line
@settings(max_examples=8)
@given(steps=st.lists(st.sampled_from([1, -1]), max_size=25))
def test_keys_lead_through_wishes_that_can_be_meant_or_say_why_not(line: WishLine, steps: list[int]) -> None:
    wish = FIRST_WISH
    for step in steps:
        try:
            changed = line.step(wish, step, KIT)
        except ValueError as error:
            assert str(error)
            continue
        others = {field.name for field in fields(Wish)} - {line.name}
        assert all(getattr(changed, name) == getattr(wish, name) for name in others)
        wish = changed
        assert line.text(wish)


@by_line
def test_a_step_up_and_down_again_comes_back(line: WishLine) -> None:
    offered = line.steps(KIT)
    if len(offered) < 3 or line.name == "lights":
        return
    value = offered[1]
    wish = line.with_value(FIRST_WISH, value)
    try:
        up = line.step(wish, 1, KIT)
    except ValueError:
        return
    assert getattr(line.step(up, -1, KIT), line.name) == value


@pytest.mark.parametrize(
    ("low", "high", "first", "last"), [(0.5, 500, 0.5, 500.0), (0.001, 0.5, 0.001, 0.5), (5, 500, 5.0, 500.0)]
)
def test_a_series_has_rounded_steps_within_its_ends(low: float, high: float, first: float, last: float) -> None:
    steps = series(low, high)
    assert (steps[0], steps[-1]) == (first, last) and list(steps) == sorted(set(steps))
    assert all(len(f"{step:.6g}".strip("0.").replace(".", "")) <= 2 for step in steps), "two digits at most"


@pytest.mark.parametrize(
    ("name", "typed", "value", "text"),
    [
        ("piece_width_mm", "28", 28.0, "28 mm"),
        ("depth_needed_mm", "", None, "all"),
        ("depth_needed_mm", "1.5", 1.5, "1.5 mm"),
        ("delivered_pixels", "3000", 3000.0, "3000 px"),
        ("fill", "0.5", 0.5, "50 %"),
        ("plate", "", "", "none"),
        ("surface", " mirror ", "mirror", "mirror"),
        ("iso", "200", 200, "200"),
        ("body", "", "", "any"),
    ],
)
def test_what_is_typed_is_set_and_reads_back(name: str, typed: str, value: object, text: str) -> None:
    line = BY_NAME[name]
    wish = line.with_value(FIRST_WISH, line.from_typed(typed))
    assert getattr(wish, name) == value and line.text(wish) == text


@pytest.mark.parametrize(
    ("name", "typed"),
    [("piece_width_mm", "wide"), ("fill", "2"), ("relief_mm", ""), ("surface", "shiny"), ("lights", "key=")],
)
def test_what_cant_be_meant_is_refused(name: str, typed: str) -> None:
    line = BY_NAME[name]
    if name == "lights":
        assert line.with_value(FIRST_WISH, line.from_typed(typed)).lights == ("key=",)
        return
    with pytest.raises(ValueError):
        line.with_value(FIRST_WISH, line.from_typed(typed))


def test_lights_are_named_with_their_level_and_their_angle() -> None:
    line = BY_NAME["lights"]
    wish = line.with_value(FIRST_WISH, line.from_typed(" key , fill=-2,  rim=-1@120 ,"))
    assert wish.lights == ("key", "fill=-2", "rim=-1@120")
    assert line.text(wish) == "key, fill −2 EV, rim −1 EV 120°"
    assert line.with_value(wish, None).lights == () and line.text(FIRST_WISH) == "one flash"


def test_the_keys_offer_each_flash_alone_and_all_together() -> None:
    offered = list(BY_NAME["lights"].steps(KIT))
    flashes = [light.name for light in KIT.light if light.kind == "flash" and light.guide_number_m is not None]
    assert offered[0] == "" and offered[1 : 1 + len(flashes)] == flashes
    assert all(", " in pair for pair in offered[1 + len(flashes) :])


def test_a_kit_without_things_offers_none_of_them() -> None:
    bare = Kit()
    for name in ("plate", "body", "lens"):
        assert list(BY_NAME[name].steps(bare)) == [""]
        assert BY_NAME[name].step(FIRST_WISH, 1, bare) == FIRST_WISH
    assert list(BY_NAME["lights"].steps(bare)) == [""]
