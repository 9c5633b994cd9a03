"""Answers on the screen: numbers with their units, wrapped, no word lost."""

from __future__ import annotations

import pytest

from tests.support.plan_answers import LENS, run


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("depth", *LENS, "--magnification", "1"), ("f/22", "1.32 mm", "29.5 µm", "2 EV")),
        (("light", "--guide-number-m", "36", "--distance-mm", "750"), ("f/48", "! Capacitors")),
        (("plate", "--thickness-mm", "2"), ("3.51 EV", "! Plates with ground or taped edges")),
        (
            ("sync", "--exposure-s", "1/400", "--curtain-travel-s", "0.003"),
            ("17 %", "1/333 s", "all of it", "0.3 EV too short"),
        ),
        (("steps", "--relief-mm", "10", "--depth-mm", "1.32"), ("10", "0.99 mm")),
        (("shake", "--frequency-hz", "10", "--damping-ratio", "0.02", "--delay-s", "2"), ("0.081", "3.66 s")),
    ],
)
def test_tables_write_numbers_with_their_units(arguments, words):
    told = run(*arguments)
    for word in words:
        assert word in told


SIZE = ("--piece-width-mm", "28", "--piece-height-mm", "28", "--relief-mm", "2.4")
MOVEMENT = ("view", *SIZE, "--delivered-pixels", "2400", "--blur-radius-on-piece-mm", "0.015")


@pytest.mark.parametrize("columns", [40, 60, 80, 120])
@pytest.mark.parametrize(
    "arguments",
    [
        (*MOVEMENT, "--plate", "2 mm glass"),
        (*MOVEMENT, "--clear-in-front-mm", "900", "--most-frames", "1"),
        ("plate", "--thickness-mm", "2", "--plate-distance-mm", "90", "--depth-mm", "1.3"),
        ("sync", "--exposure-s", "1/400", "--curtain-travel-s", "0.003"),
    ],
    ids=["view", "view that fails", "plate", "sync"],
)
def test_answers_fit_the_terminal_and_lose_no_word(arguments, columns):
    whole, fitted = run(*arguments), run(*arguments, columns=columns)
    longest = max(len(line) for line in fitted.splitlines())
    assert longest <= max(columns, max(map(len, whole.split())) + 2), fitted
    assert sorted(fitted.split()) == sorted(whole.split())
