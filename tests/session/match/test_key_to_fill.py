"""The lighting ratio against numbers worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from session.match.key_to_fill import key_to_fill, levels_in_region, then_and_now_words
from session.set.setup import Region


def test_key_2_and_fill_1_are_3_to_1() -> None:
    """Photometric additivity: 2 + 1 on the lit side, 1 in the shadow."""
    found = key_to_fill({"key": 0.2, "fill": 0.1})
    assert found and found.ratio == pytest.approx(3) and found.ratio_ev == pytest.approx(1.585, abs=1e-3)
    assert found.over_key_ev == {"fill": pytest.approx(-1)}


def test_a_light_that_is_called_neither_is_in_no_ratio_and_told_beside_the_key() -> None:
    found = key_to_fill({"rim": 0.4, "Key left": 0.2, "fill card": 0.1})
    assert found and (found.key, found.fill) == ("Key left", ("fill card",))
    assert found.ratio == pytest.approx(3)
    assert found.over_key_ev == {"rim": pytest.approx(1), "fill card": pytest.approx(-1)}


def test_without_such_names_the_strongest_is_the_key_and_all_others_fill() -> None:
    found = key_to_fill({"a": 0.1, "monkey": 0.4, "b": 0.1})
    assert found and found.key == "monkey" and found.fill == ("a", "b") and found.ratio == pytest.approx(3)
    assert key_to_fill({"a": 0.1, "monkey": 0.4, "b": 0.1}, "a") == key_to_fill(
        {"monkey": 0.4, "b": 0.1, "a": 0.1}, "a"
    )
    assert key_to_fill({"key": 0.2}) is None


def test_a_light_that_is_called_fill_is_not_the_key_however_strong() -> None:
    """(0.2 + 0.4) : 0.4 = 1.5."""
    found = key_to_fill({"main": 0.1, "fill": 0.4, "top": 0.2})
    assert found and (found.key, found.fill) == ("top", ("fill",)) and found.ratio == pytest.approx(1.5)


def test_lights_that_are_called_key_count_as_one_key() -> None:
    """(0.2 + 0.2 + 0.1) : 0.1 = 5."""
    found = key_to_fill({"key_left": 0.2, "key_right": 0.2, "rim": 0.1})
    assert found and found.fill == ("rim",) and found.ratio == pytest.approx(5)
    assert found.sides == "key_left + key_right + rim to rim"
    assert key_to_fill({"key_left": 0.2, "key_right": 0.2}) is None, "nothing is fill"


def test_a_fill_that_gives_nothing_is_told_as_no_fill_and_not_as_a_number() -> None:
    light, noise = np.full((3, 60, 60), 0.3, np.float32), np.full((3, 60, 60), 1e-4, np.float32)
    levels = levels_in_region({"key": light, "fill": noise}, np.ones((60, 60), bool), Region(0, 0, 1, 1))
    assert levels == {"key": pytest.approx(0.3, rel=1e-4), "fill": 0.0}
    dark, lit = key_to_fill(levels), key_to_fill({"key": 0.2, "fill": 0.1})
    assert dark and lit and dark.words == "no fill" and dark.over_key_ev == {"fill": -math.inf}
    assert then_and_now_words(lit, dark) == "key + fill to fill 3.0 : 1 then, no fill now"
    assert then_and_now_words(dark, dark) == "no fill then and now"
    assert key_to_fill({"key": 0.0, "fill": 0.1}) is None


def test_levels_are_of_the_region_where_nothing_is_burnt() -> None:
    light = np.full((3, 100, 100), 0.5, np.float32)
    light[:, :50] = 0.1
    counted = np.ones((100, 100), bool)
    low = Region(0.0, 0.5, 1.0, 0.5)
    assert levels_in_region({"key": light}, counted, low) == {"key": pytest.approx(0.5)}
    assert levels_in_region({"key": light}, counted, Region(0, 0, 1, 1)) == {"key": pytest.approx(0.3, rel=1e-4)}
    counted[60:] = False
    assert levels_in_region({"key": light}, counted, low) is None


def test_the_ratio_is_told_then_and_now() -> None:
    then, now = key_to_fill({"key": 0.22, "fill": 0.1}), key_to_fill({"key": 0.18, "fill": 0.1})
    assert then and now and then.words == "key + fill to fill 3.2 : 1 (1.7 EV)"
    assert then_and_now_words(then, now) == "key + fill to fill 3.2 : 1 then, 2.8 : 1 now (0.2 EV less)"
    nearly = key_to_fill({"key": 0.2149, "fill": 0.1})
    assert nearly and then_and_now_words(then, nearly) == "key + fill to fill 3.2 : 1 then, 3.1 : 1 now", "0.03 EV"
    assert then_and_now_words(then, then) == "key + fill to fill 3.2 : 1 then, 3.2 : 1 now"
