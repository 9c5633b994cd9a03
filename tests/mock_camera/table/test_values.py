"""Values from outside, read one by one: what is missing, of a wrong kind or out of range is said in a sentence."""

import math

import pytest

from mock_camera.table.values import RefusedValueError, Values

KNOWN = ("azimuth_deg", "name", "on")


def values(**given: object) -> Values:
    return Values("light", given, KNOWN)


def test_what_is_known_is_read() -> None:
    told = values(azimuth_deg=45, name="key", on=True)
    assert (told.number("azimuth_deg"), told.text("name"), told.yes("on")) == (45.0, "key", True)
    assert told.has("name") and not values().has("name")
    assert values().number("azimuth_deg", 30.0) == 30.0
    assert told.one_of("name", ("key", "rim")) == "key"


@pytest.mark.parametrize(
    ("given", "read", "said"),
    [
        ({"azimut": 1}, None, "light takes no azimut: it takes azimuth_deg, name, on."),
        ({}, ("number", "azimuth_deg"), "light needs azimuth_deg."),
        ({"azimuth_deg": "left"}, ("number", "azimuth_deg"), "light: azimuth_deg is a number, not 'left'."),
        ({"azimuth_deg": True}, ("number", "azimuth_deg"), "light: azimuth_deg is a number, not True."),
        ({"azimuth_deg": math.nan}, ("number", "azimuth_deg"), "light: azimuth_deg is a number, not nan."),
        ({"azimuth_deg": math.inf}, ("number", "azimuth_deg"), "light: azimuth_deg is a number, not inf."),
        ({"name": ""}, ("text", "name"), "light needs name, a word."),
        ({"name": 7}, ("text", "name"), "light needs name, a word."),
        ({"on": 1}, ("yes", "on"), "light: on is true or false, not 1."),
    ],
)
def test_what_cant_be_read_is_said(given: dict[str, object], read: tuple[str, str] | None, said: str) -> None:
    with pytest.raises(RefusedValueError) as refused:
        told = values(**given)
        if read:
            getattr(told, read[0])(read[1])
    assert str(refused.value) == said


@pytest.mark.parametrize(("value", "ok"), [(-180, True), (180, True), (-180.1, False), (181, False)])
def test_a_number_lies_within_its_limits_ends_included(value: float, ok: bool) -> None:
    told = values(azimuth_deg=value)
    if ok:
        assert told.number("azimuth_deg", least=-180, most=180) == value
    else:
        with pytest.raises(RefusedValueError, match="it must lie within -180 and 180"):
            told.number("azimuth_deg", least=-180, most=180)


def test_a_word_that_is_none_of_the_choices_is_refused_with_them() -> None:
    with pytest.raises(RefusedValueError, match="light: no name is called 'sun': there are key, rim"):
        values(name="sun").one_of("name", ("key", "rim"))
