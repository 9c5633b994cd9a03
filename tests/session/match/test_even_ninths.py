"""Small changes of powers that bring the ninths nearest to the reference, against what is worked out here."""

from __future__ import annotations

import math

import pytest

from session.match.even_ninths import even_ninths

ONE = ((1.0,) * 3,) * 3


def test_a_single_light_is_set_so_that_the_brightest_and_the_darkest_ninth_lie_off_alike() -> None:
    """log2(1.1) = 0.138 and log2(0.98) = -0.029: less by their mean, 0.054 EV, leaves 0.083 on both sides."""
    now = ((0.98, 1.0, 1.1),) * 3
    found = even_ninths(ONE, now, {"key": now}, {"key": (-0.25, 0.25)})
    assert found.changes_ev["key"] == pytest.approx(-0.054, abs=0.015)
    assert found.largest_ev == pytest.approx(0.083, abs=0.01)


def test_of_two_lights_the_one_that_gives_too_much_on_its_side_is_set() -> None:
    """The key gives 0.8 of the left, the fill of the right; the key is 0.2 EV too strong: 0.8 · 2^0.2 + 0.2."""
    key, fill = ((0.8, 0.5, 0.2),) * 3, ((0.2, 0.5, 0.8),) * 3
    strong = tuple(tuple(2**0.2 * one for one in row) for row in key)
    now = tuple(tuple(a + b for a, b in zip(*rows, strict=True)) for rows in zip(strong, fill, strict=True))
    found = even_ninths(ONE, now, {"key": strong, "fill": fill}, dict.fromkeys(("key", "fill"), (-0.3, 0.3)))
    assert found.changes_ev["key"] == pytest.approx(-0.2, abs=0.02)
    assert found.changes_ev["fill"] == pytest.approx(0.0, abs=0.02)
    assert found.largest_ev < 0.01


def test_no_light_is_changed_by_more_than_its_bounds() -> None:
    now = ((1.5,) * 3,) * 3
    found = even_ninths(ONE, now, {"key": now}, {"key": (-0.1, 0.0)})
    assert found.changes_ev["key"] == pytest.approx(-0.1)
    assert found.largest_ev == pytest.approx(math.log2(1.5) - 0.1, abs=1e-6)
