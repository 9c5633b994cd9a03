"""Measurements of light as words for hands, and whether they match."""

from __future__ import annotations

import math
from dataclasses import replace

from session.match.light_match import LightAlone, LightCompared, Tint
from session.match.light_place import LightPlace
from session.match.light_words import NO_SIZE, light_told, together_told
from session.match.step_words import StepWords
from session.set.setup import PlacedLight

KEY, FILL = PlacedLight("key", -2.0, 600.0), PlacedLight("fill", -3.0)
EVEN = LightCompared(((0.0,) * 3,) * 3, Tint(0.4))


def told_of(light: PlacedLight, found: LightAlone) -> StepWords:
    return light_told(light, found, {light.name: found})


def test_a_light_is_told_by_power_or_distance_and_by_where_it_stands() -> None:
    """600 mm · (2^(0.7/2) − 1) = 165 mm, inverse square law."""
    assert told_of(KEY, LightAlone(0.7)).to_do == "key 0.7 EV less, or 165 mm farther"
    assert told_of(FILL, LightAlone(-0.7)).to_do == "fill 0.7 EV more"
    assert told_of(KEY, LightAlone(0.05)).matches is True
    assert told_of(KEY, LightAlone(-5.0)).to_do == "key is off or doesn't fire: switch it on"
    assert told_of(KEY, LightAlone(None)).matches is None
    turned = told_of(KEY, LightAlone(0.3, LightPlace(0.02, 12.0, -1.0)))
    assert turned.to_do == "key 12° anticlockwise around the piece, seen from above; then see its power"
    assert told_of(KEY, LightAlone(0.0, LightPlace(0.02, -1.0, -8.0))).to_do == "key 8° higher; then see its power"
    assert "can't tell which way" in told_of(KEY, LightAlone(0.3, LightPlace(0.04))).to_do
    why = "by its falloff, since the camera looks down by 45° only"
    from_aside = LightAlone(0.0, LightPlace(0.01, turned=True, no_way=why))
    assert told_of(KEY, from_aside).to_do.endswith(f"can't tell which way {why}")
    by_power = LightAlone(0.7, LightPlace(0.01, same_distance=True))
    assert told_of(KEY, by_power).to_do == "key 0.7 EV less"
    turned_only = told_of(KEY, LightAlone(0.0, LightPlace(0.02, turned=True))).to_do
    assert turned_only.startswith("key shines from another direction")


def test_an_amount_smaller_than_a_flash_is_set_by_is_told_by_the_distance() -> None:
    """600 mm · (2^(0.1/2) − 1) = 21 mm, inverse square law."""
    assert told_of(KEY, LightAlone(0.1)).to_do == "key 21 mm farther"
    assert told_of(KEY, LightAlone(-0.1, LightPlace(0.01, same_distance=True))).to_do == "key 20 mm nearer"
    assert told_of(FILL, LightAlone(0.1)).to_do == "fill 0.1 EV less", "nobody recorded its distance"


def test_what_is_left_of_lights_that_can_not_be_told_back_is_spread_over_the_ninths() -> None:
    """log2(1.09) = 0.12 EV, log2(0.98) = −0.03; 0.05 EV less leaves 0.08 on both. 600 mm · (2^0.025 − 1) = 10.5 mm."""
    slanted = ((0.98, 1.0, 1.09),) * 3
    ninths_ev = tuple(tuple(math.log2(one) for one in row) for row in slanted)
    light = replace(EVEN, ninths_ev=ninths_ev, then=((1.0,) * 3,) * 3, now=slanted)
    elsewhere = LightAlone(0.02, LightPlace(0.03, turned=True), ninths=slanted)
    told = together_told(light, (KEY,), {"key": elsewhere})
    assert told.matches is False
    assert told.to_do == "key 10.5 mm farther; then every ninth lies within 0.08 EV"
    nearly = replace(elsewhere, place=LightPlace(0.03, 5.0, 0.0, turned=True))
    assert together_told(light, (KEY,), {"key": nearly}) == told
    to_turn = replace(elsewhere, place=LightPlace(0.03, 12.0, 0.0, turned=True))
    assert together_told(light, (KEY,), {"key": to_turn}).to_do == "put key right first"
    assert together_told(light, (KEY, FILL), {"key": elsewhere}).to_do == "put key right first"
    weak = replace(elsewhere, level_ev=-0.19)
    assert together_told(light, (KEY,), {"key": weak}).to_do == "put key right first", "its step would call it back"
    too_much = replace(light, ninths_ev=((-0.2, 0.0, 0.2),) * 3, now=((0.87, 1.0, 1.15),) * 3)
    assert together_told(too_much, (KEY,), {"key": elsewhere}).to_do == "put key right first"


def test_what_is_spread_over_the_ninths_is_told_as_it_can_be_set_and_foretold_by_what_is_told() -> None:
    """0.05 EV less can't be set on a flash, which steps by tenths; of 0.17 EV too much 0.2 less leaves 0.03."""
    slanted = ((0.98, 1.0, 1.09),) * 3
    ninths_ev = tuple(tuple(math.log2(one) for one in row) for row in slanted)
    light = replace(EVEN, ninths_ev=ninths_ev, then=((1.0,) * 3,) * 3, now=slanted)
    elsewhere = LightAlone(0.02, LightPlace(0.03, turned=True), ninths=slanted)
    assert "0.0 EV" not in together_told(light, (FILL,), {"fill": elsewhere}).to_do
    strong = ((2**0.17,) * 3,) * 3
    bright = replace(EVEN, ninths_ev=((0.17,) * 3,) * 3, then=((1.0,) * 3,) * 3, now=strong)
    told = together_told(bright, (FILL,), {"fill": replace(elsewhere, level_ev=0.17, ninths=strong)}).to_do
    assert told == "fill 0.2 EV less; then every ninth lies within 0.03 EV"


def test_no_amounts_are_told_of_solos_that_have_ambient_in_them() -> None:
    slanted = ((0.98, 1.0, 1.09),) * 3
    ninths_ev = tuple(tuple(math.log2(one) for one in row) for row in slanted)
    light = replace(EVEN, ninths_ev=ninths_ev, then=((1.0,) * 3,) * 3, now=slanted)
    elsewhere = LightAlone(0.02, LightPlace(0.03, turned=True), ninths=slanted, ambient_due=True)
    assert "every ninth" not in together_told(light, (KEY,), {"key": elsewhere}).to_do


def test_a_little_more_or_less_of_a_light_that_shines_from_elsewhere_is_left_to_all_lights_together() -> None:
    little, much = (told_of(KEY, LightAlone(ev, LightPlace(0.04, turned=True))).to_do for ev in (0.15, 0.3))
    assert "EV" not in little and "mm" not in little
    assert much.startswith("key 0.3 EV less, or 66 mm farther; it shines from another direction")


def test_what_a_solo_can_not_tell_of_a_light_is_said_also_where_it_matches() -> None:
    right, dark, absent = (told_of(KEY, LightAlone(ev)) for ev in (0.01, -0.7, -5.0))
    assert right.matches and right.measured.endswith("; can't tell the size of the light from this piece")
    assert dark.measured.endswith(NO_SIZE) and NO_SIZE not in absent.measured


def test_a_light_is_not_told_right_by_a_frame_that_lies_beside_the_reference() -> None:
    beside = told_of(KEY, LightAlone(0.0, framed=False))
    assert beside.matches is None and "before the camera is framed" in beside.to_do
    assert told_of(KEY, LightAlone(0.7, framed=False)).to_do == "key 0.7 EV less, or 165 mm farther"


def test_all_lights_do_not_match_by_a_frame_that_lies_beside_the_reference() -> None:
    beside = together_told(EVEN, (KEY, FILL), {}, features_px=60.0)
    assert (beside.matches, beside.to_do) == (None, "can't tell before the camera is framed as then")
    assert together_told(EVEN, (KEY, FILL), {}, features_px=4.0).matches is True


WARM = LightAlone(0.0, tint=Tint(3.0, 0.2))


def test_a_gel_is_told_from_the_white_balance_by_the_other_lights() -> None:
    """0.2 EV of red to blue are 14 mired, see `session.lighting.temperature`; 1e6 / (1e6 / 5500 + 14) = 5107 K."""
    alone = light_told(KEY, WARM, {"key": WARM}).to_do
    assert alone == "key is 14 mired warmer than before: look at its gel, its shaper and the white balance"
    one = {"key": WARM, "fill": LightAlone(0.0)}
    assert light_told(KEY, WARM, one).to_do == "key is 14 mired warmer than before: look at its gel and its shaper"
    warm = replace(EVEN, tint=WARM.tint)
    assert together_told(warm, (KEY, FILL), one).to_do == "see the colour of key first"
    both = {"key": WARM, "fill": WARM}
    told = light_told(KEY, WARM, both)
    assert told.matches and told.measured == f"0.00 EV darker, colour ΔE 3.0, as every light's; {NO_SIZE}"
    assert together_told(warm, (KEY, FILL), both).to_do == (
        "white balance 14 mired cooler, as 5500 K to 5110 K: every light differs alike"
    )
    green = LightAlone(0.0, tint=Tint(3.0, 0.02, -0.2))
    assert "key is pinker than before" in light_told(KEY, green, {"key": green}).to_do


def test_a_light_is_not_told_right_while_ambient_that_was_shot_then_is_missing_now() -> None:
    due = LightAlone(0.0, ambient_due=True)
    told = told_of(KEY, due)
    assert told.matches is None and told.to_do == "can't tell: shoot ambient alone, which is in both solos"
    assert told_of(KEY, replace(due, level_ev=0.7)).to_do == (
        "shoot ambient alone, which is in both solos; key 0.7 EV less, or 165 mm farther"
    )
    assert told_of(KEY, replace(due, level_ev=-5.0)).to_do == "key is off or doesn't fire: switch it on"


def test_all_lights_match_when_every_ninth_and_the_colour_do() -> None:
    assert together_told(EVEN, (KEY, FILL), {}).matches is True
    assert together_told(replace(EVEN, tint=Tint(2.5, -0.1)), (KEY, FILL), {}).to_do.startswith(
        "the picture is 7 mired cooler"
    )
    burnt = replace(EVEN, ninths_ev=((math.nan, 0.0, 0.0), *EVEN.ninths_ev[1:]))
    assert together_told(burnt, (KEY,), {}).matches is None


def test_a_colour_at_the_edge_of_its_tolerance_is_not_said_to_match() -> None:
    assert together_told(replace(EVEN, tint=Tint(1.6, 0.1)), (KEY,), {}).matches is True
    edge = LightAlone(0.0, tint=Tint(1.8, 0.12))
    told = together_told(replace(EVEN, tint=edge.tint), (KEY,), {"key": edge})
    assert (told.matches, told.to_do) == (False, "see the colour of key first")
    assert told_of(KEY, edge).to_do.startswith("key is 8 mired warmer than before")


def test_a_ninth_at_the_edge_of_its_tolerance_is_not_said_to_match() -> None:
    edge, within = (replace(EVEN, ninths_ev=((ev, 0.0, 0.0),) * 3) for ev in (0.075, 0.065))
    assert together_told(edge, (KEY, FILL), {}).matches is False
    assert together_told(within, (KEY, FILL), {}).matches is True


def test_no_light_of_several_is_named_without_its_solo() -> None:
    dark = replace(EVEN, ninths_ev=((-0.4,) * 3,) * 3)
    assert together_told(dark, (KEY, FILL), {}).to_do == (
        "0.4 EV too dark all over; can't tell which light: shoot each light alone"
    )
    alike = {light.name: LightAlone(0.01) for light in (KEY, FILL)}
    assert together_told(dark, (KEY, FILL), alike).to_do == (
        "0.4 EV too dark all over; each light matches alone: release with all of them again"
    )
    left = replace(EVEN, ninths_ev=((-0.5, 0.0, 0.0),) * 3)
    assert together_told(left, (KEY, FILL), {}).to_do.startswith("0.50 EV darker upper left; can't tell which light")
    assert together_told(dark, (KEY,), {}).to_do == "key 0.4 EV more, or 78 mm nearer"  # 600·(1 − 2^(−0.2)) = 78
    elsewhere = "0.50 EV darker upper left: key stands elsewhere, or its shaper differs"
    assert together_told(left, (KEY,), {}).to_do == elsewhere
    assert together_told(dark, (KEY, FILL), {"fill": LightAlone(-0.8)}).to_do == "put fill right first"


def test_ninths_that_differ_about_nothing_are_named_and_no_power_is_asked_for() -> None:
    slanted = replace(EVEN, ninths_ev=((-0.09, -0.05, 0.0), (-0.03, 0.0, 0.03), (0.0, 0.05, 0.09)))
    assert together_told(slanted, (KEY,), {}).to_do.startswith("0.09 EV darker upper left: key stands elsewhere")
    assert together_told(slanted, (KEY, FILL), {}).to_do == (
        "0.09 EV darker upper left; can't tell which light: shoot each light alone"
    )
