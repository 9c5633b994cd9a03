"""What differs between two arrangements is told in words, whichever field it is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.set.setup import PlacedLight, Revision, Settings
from session.shoot.changes import back_words, change_words, hand_words, setting_words, settings_left, turned_words
from tests.support.changed_set_ups import CHANGED, SAMPLE

BEFORE = Revision(settings=Settings(1 / 200, 11.0, 100), lights=(PlacedLight("key", -2.0, 620, 45, 30, "tube"),))
F8 = replace(BEFORE, settings=Settings(1 / 200, 8.0, 100))


@pytest.mark.parametrize("way", CHANGED)
def test_a_changed_field_is_told_and_told_the_other_way_too(way: str) -> None:
    other = CHANGED[way]
    there, back = change_words(SAMPLE, other), change_words(other, SAMPLE)
    assert there != "nothing" and back != "nothing"
    assert len(there.split(", ")) >= 1 and not there.startswith(",")


@pytest.mark.parametrize("way", CHANGED)
def test_what_hands_must_do_is_told_of_lens_lights_and_things_and_of_no_camera_setting(way: str) -> None:
    by_hand = hand_words(SAMPLE, CHANGED[way])
    if way.startswith("settings"):
        assert by_hand == []
    if way.startswith(("arrangement", "lights", "passive")):
        assert by_hand
    assert len(by_hand) == len(set(by_hand)), "each is told once"


def test_alike_is_nothing() -> None:
    for one in (SAMPLE, BEFORE):
        assert change_words(one, one) == "nothing"
        assert hand_words(one, one) == setting_words(one, one) == []
        assert settings_left(one, one) == ""
    assert change_words(SAMPLE, replace(SAMPLE, revision=99)) == "nothing", "the number is none of it"


def test_settings_are_told_with_both_values_as_photographers_write_them() -> None:
    assert setting_words(BEFORE, F8) == ["aperture f/11 → f/8"]
    slower = replace(BEFORE, settings=Settings(1 / 125, 8.0, 100))
    assert setting_words(BEFORE, slower) == ["exposure time 1/200 s → 1/125 s", "aperture f/11 → f/8"]
    assert settings_left(BEFORE, slower) == "1/200 s, f/11"
    assert settings_left(BEFORE, slower, named_by=slower) == "1/125 s, f/8"
    assert settings_left(BEFORE, replace(F8, setup_number=9)) == "set-up 01 with f/11"


def test_a_light_is_put_in_taken_out_changed_in_power_or_moved() -> None:
    key = BEFORE.lights[0]
    for lights, told in (
        ((), "light key taken out"),
        ((key, PlacedLight("rim")), "light rim put in"),
        ((replace(key, power_ev=-1.0),), "light key 1/4 → 1/2"),
        ((replace(key, distance_mm=500),), "light key moved"),
        ((replace(key, power_ev=-1.0, distance_mm=500),), "light key 1/4 → 1/2 and moved"),
    ):
        assert change_words(BEFORE, replace(BEFORE, lights=lights)) == told


@pytest.mark.parametrize("way", CHANGED)
def test_the_way_back_names_everything_and_has_no_arrow_that_points_the_wrong_way(way: str) -> None:
    told = back_words(CHANGED[way], SAMPLE)
    assert told != "nothing" and "→" not in told
    assert len(told.split(", ")) == len(change_words(CHANGED[way], SAMPLE).split(", "))


def test_back_goes_each_setting_and_thing_to_what_stands_then() -> None:
    key = BEFORE.lights[0]
    for lights, told in (
        ((), "light key in the set again"),
        ((key, PlacedLight("rim")), "light rim out of the set again"),
        ((replace(key, power_ev=-1.0),), "light key back to 1/4"),
        ((replace(key, distance_mm=500),), "light key as before"),
        ((replace(key, power_ev=-1.0, distance_mm=500),), "light key back to 1/4 and as before"),
    ):
        assert back_words(replace(BEFORE, lights=lights), BEFORE) == told
    assert back_words(F8, BEFORE) == "aperture back to f/11"
    assert back_words(BEFORE, replace(BEFORE, settings=Settings(1 / 200, None, 100))) == (
        "aperture left to the camera again"
    )
    assert back_words(SAMPLE, SAMPLE) == "nothing"


def test_what_an_undo_takes_along_is_named_with_the_settings_and_not_without_them() -> None:
    brighter = replace(F8, lights=(replace(BEFORE.lights[0], power_ev=-1.0),), hold_off_s=9.0)
    assert turned_words(brighter, BEFORE) == "f/8, light key, hold-off"
    assert turned_words(brighter, BEFORE, named_by=BEFORE) == "f/11, light key, hold-off"
    assert turned_words(replace(BEFORE, hold_off_s=9.0), BEFORE) == "", "no setting of the camera is touched"
