"""The light with another flash, or more light than then wanted of it."""

from __future__ import annotations

import pytest

from session.match.other_light import Exchange, on_light, other_light_words
from session.set.kit import Kit
from session.set.setup import PlacedLight
from session.set.things import Light, Shaper

KIT = Kit(light=(Light(name="key", guide_number_m=36.0),), shaper=(Shaper(name="tube", kind="tube"),))
KEY = PlacedLight("key", -2.0, 600.0)


def test_more_light_comes_by_power_and_from_nearer_where_full_power_does_not_do() -> None:
    assert on_light(Exchange(KEY, "key", "", 1.0), KIT) == PlacedLight("key", -1.0, 600.0)
    near = on_light(Exchange(KEY, "key", "", 4.0), KIT)  # 2 EV over full power: half the distance, of a point
    assert (near.power_ev, near.distance_mm) == (0.0, pytest.approx(300.0))
    assert "2.0 EV too little at full power: 300 mm" in other_light_words(Exchange(KEY, "key", "", 4.0), KIT, 0.005)[0]


def test_a_loss_that_nobody_measured_leaves_the_power_as_it_was() -> None:
    tubed = PlacedLight("key", -2.0, 600.0, shaper="tube")
    assert on_light(Exchange(tubed, "key", ""), KIT) == PlacedLight("key", -2.0, 600.0)


def test_nothing_is_exchanged_by_less_than_half_of_the_finest_step() -> None:
    assert Exchange(KEY, "key", "", 0.04).is_the_same and not Exchange(KEY, "key", "", 0.4).is_the_same


def test_a_flash_that_has_not_enough_says_so_where_nobody_measured_the_distance_too() -> None:
    half = KIT.model_copy(update={"light": (*KIT.light, Light(name="half", guide_number_m=18.0))})
    anywhere = PlacedLight("key", -1.0)
    assert other_light_words(Exchange(anywhere, "half", ""), half, 0.005)[0] == (
        "1.0 EV more power than then, from as far: 1.0 EV too little at full power; how much nearer, can't tell "
        "without its distance of then"
    )
    full = other_light_words(Exchange(PlacedLight("key", 0.0), "key", "", 1.1), KIT, 0.005)[0]
    assert full.startswith("as much power as then, from as far: 1.1 EV too little at full power")
