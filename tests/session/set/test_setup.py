"""An arrangement as a value: regions, labels, lights put in and struck, and what two arrangements differ in."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.set.setup import (
    PLAIN,
    RECTANGLES,
    Arrangement,
    PassiveItem,
    PlacedLight,
    Region,
    Revision,
    Settings,
    arranged_parts,
    differences,
    kind_word,
    parse_label,
    same_arrangement,
    thing_name,
)
from session.units.refusals import ImpossibleNumbersError, UnreadableTextError

quick = settings(max_examples=60)
shares = st.floats(0, 1)
names = st.sampled_from(["key", "rim", "fill", "hair"])
lights = st.builds(PlacedLight, names, st.sampled_from([0.0, -1.0, -2.0]))


def inside(left: float, top: float, width: float, height: float) -> bool:
    return left + width <= 1 and top + height <= 1 and width > 0 and height > 0 and left < 1 and top < 1


# --- regions --------------------------------------------------------------------------------------------


@quick
@given(shares, shares, shares, shares, st.integers(1, 9000), st.integers(1, 9000))
def test_a_region_has_pixels_of_every_picture_and_never_one_outside_it(
    left: float, top: float, width: float, height: float, across: int, down: int
) -> None:
    if not inside(left, top, width, height):
        return
    x0, y0, x1, y1 = Region(left, top, width, height).in_pixels(across, down)
    assert 0 <= x0 < x1 <= across and 0 <= y0 < y1 <= down
    assert abs(x0 - left * across) <= 1 and abs(y1 - (top + height) * down) <= 1


@pytest.mark.parametrize(
    "corner",
    [(0.9, 0, 0.2, 0.5), (0, 0.9, 0.5, 0.2), (-0.01, 0, 0.5, 0.5), (0, 0, 0, 0.5), (0, 0, 0.5, 0), (1, 0, 0.1, 0.1)],
    ids=["to the right", "below", "to the left", "no width", "no height", "beyond"],
)
def test_a_region_must_lie_in_the_picture(corner: tuple[float, float, float, float]) -> None:
    with pytest.raises(ImpossibleNumbersError, match="a region must lie in the picture: "):
        Region(*corner)


def test_a_region_that_ends_with_the_picture_lies_in_it() -> None:
    whole = Region(0, 0, 1, 1)
    assert whole.in_pixels(6000, 4000) == (0, 0, 6000, 4000)
    assert Region(0.7, 0.7, 0.1 + 0.2, 0.3).in_pixels(10, 10) == (7, 7, 10, 10), "0.7 + 0.3 is a little over 1"


def test_a_region_reads_as_a_person_says_it() -> None:
    assert str(Region(0.4, 0.3, 0.2, 0.4)) == "20 % × 40 % of the picture, middle at 50 %, 50 %"
    assert Region(0.5, 0.5, 1e-4, 1e-4).in_pixels(100, 100) == (50, 50, 51, 51), "a pixel at least"


# --- labels ---------------------------------------------------------------------------------------------


@quick
@given(st.integers(0, 999_999), st.integers(0, 999_999))
def test_a_label_is_read_as_it_is_written(setup: int, revision: int) -> None:
    assert parse_label(Revision(setup, revision).label) == (setup, revision)
    assert parse_label(f"  {setup} ") == (setup, None)


@pytest.mark.parametrize("text", ["", "seven", "7.", ".3", "07.3.1", "-7", "7,3", "1234567", "٧.x", "7 .3"])
def test_what_is_no_label_is_refused_with_how_one_is_written(text: str) -> None:
    with pytest.raises(UnreadableTextError) as refused:
        parse_label(text)
    assert str(refused.value) == f"a set-up is written like 07.3 or 7, not {text!r}"


# --- lights ---------------------------------------------------------------------------------------------


@quick
@given(st.lists(lights, unique_by=lambda light: light.name), lights)
def test_a_light_that_is_put_in_is_there_once_and_gone_when_it_is_struck(
    placed: list[PlacedLight], new: PlacedLight
) -> None:
    before = Revision(lights=tuple(placed))
    after = before.with_light(new)
    assert after.light(new.name) == new
    assert [light.name for light in after.lights].count(new.name) == 1
    assert [one for one in after.lights if one.name != new.name] == [one for one in placed if one.name != new.name]
    struck = after.without_light(new.name)
    assert struck.light(new.name) is None and len(struck.lights) == len(after.lights) - 1
    if before.light(new.name) is None:
        assert struck == before, "putting in and striking undo each other"


def test_striking_a_light_that_is_not_there_changes_nothing() -> None:
    revision = Revision(lights=(PlacedLight("key"),))
    assert revision.without_light("rim") == revision


# --- differences ----------------------------------------------------------------------------------------


def test_alike_but_for_its_number_an_arrangement_has_no_difference() -> None:
    one = Revision(1, 1, lights=(PlacedLight("key", -2.0),))
    other = replace(one, setup_number=9, revision=4)
    assert differences(one, other) == [] and same_arrangement(one, other)
    assert not same_arrangement(one, replace(other, notes="again"))


def test_what_differs_is_named_as_a_photographer_names_it() -> None:
    one = Revision(lights=(PlacedLight("key", -2.0, 600.0),), passive=(PassiveItem("bounce", "white card", 300.0),))
    other = replace(
        one,
        settings=Settings(exposure_s=1 / 100),
        arrangement=Arrangement(magnification=1.0),
        lights=(PlacedLight("key", -1.0, 600.0),),
        passive=(PassiveItem("bounce", "white card", 250.0),),
    )
    assert differences(one, other) == [
        ("exposure_s", 1 / 200, 1 / 100),
        ("magnification", 0.5, 1.0),
        ("light key power_ev", -2.0, -1.0),
        ("reflector white card distance_mm", 300.0, 250.0),
    ]


@quick
@given(*2 * [st.lists(lights, max_size=4, unique_by=lambda light: light.name)])
def test_going_back_has_the_same_differences_the_other_way_round(
    there: list[PlacedLight], back: list[PlacedLight]
) -> None:
    one, other = Revision(lights=tuple(there)), Revision(lights=tuple(back))
    forth = {name: (was, now) for name, was, now in differences(one, other)}
    assert forth == {name: (now, was) for name, was, now in differences(other, one)}
    assert bool(forth) == (set(there) != set(back)), "the order in which lights were put in is none"


def test_a_thing_that_only_one_side_has_stands_against_nothing() -> None:
    light = PlacedLight("rim")
    assert differences(Revision(), Revision(lights=(light,))) == [("light rim", None, light)]
    assert differences(Revision(lights=(light,)), Revision()) == [("light rim", light, None)]


def test_namesakes_are_told_apart_by_number() -> None:
    three = Revision(passive=(PassiveItem("flag", "card"), PassiveItem("flag", "card"), PassiveItem("flag", "card")))
    flags = [name for name in arranged_parts(three) if name.startswith("flag")]
    assert flags == ["flag card", "flag card 2", "flag card 3"]


@pytest.mark.parametrize(
    ("kind", "word"), [("bounce", "reflector"), ("flag", "flag"), ("plate", "glass"), ("mirror", "mirror")]
)
def test_what_stands_in_the_set_is_called_by_its_word(kind: str, word: str) -> None:
    assert kind_word(PassiveItem(kind, "one")) == word
    assert thing_name(PassiveItem(kind, "one")) == f"{word} one"
    assert thing_name(PassiveItem(kind, "")) == word


def test_every_field_of_a_revision_has_its_place_among_the_parts() -> None:
    parts = arranged_parts(Revision())
    assert set(PLAIN) <= set(parts) and {field.name for field in fields(Settings)} <= set(parts)
    assert {field.name for field in fields(Arrangement)} <= set(parts)
    assert set(RECTANGLES) == {"region", "grey_patch"}
    with pytest.raises(TypeError):
        parts["iso"] = 1  # type: ignore[index]
    assert Settings(f_number=None).by_name() == {"exposure_s": 1 / 200, "iso": 100}
