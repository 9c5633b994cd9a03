"""What is asked of an arrangement: stops to spare and short, and the sentence each criterion says."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.plan.criteria import MOST_SHORT_EV, ROUNDING_EV, Criterion, at_least, at_most, filling, framing, light
from session.plan.wish import Wish

POSITIVE = st.floats(1e-3, 1e6)
WISH = Wish(28, 28, 2.4, blur_radius_on_piece_mm=0.015)


@settings(max_examples=25)
@given(POSITIVE, POSITIVE)
def test_enough_and_too_much_are_each_others_mirror_image(value: float, limit: float) -> None:
    enough, much = at_least("room", value, limit, "mm"), at_most("blur", limit, value, "mm")
    assert enough.spare_ev is not None and much.spare_ev is not None
    assert enough.spare_ev == pytest.approx(max(much.spare_ev, -MOST_SHORT_EV), abs=1e-9)


@pytest.mark.parametrize(
    ("value", "limit", "spare_ev"),
    [(200, 100, 1), (100, 100, 0), (50, 100, -1), (25, 100, -2), (0, 100, -MOST_SHORT_EV), (-5, 100, -MOST_SHORT_EV)],
)
def test_half_of_what_is_needed_is_a_stop_short(value: float, limit: float, spare_ev: float) -> None:
    found = at_least("room", value, limit, "mm")
    assert found.spare_ev == spare_ev
    assert found.short_ev == max(0.0, -spare_ev)


@pytest.mark.parametrize(("value", "spare_ev"), [(5.0, 10.0), (0.0, 10.0), (-0.1, -10.0)])
def test_where_no_room_is_needed_only_less_than_none_is_short(value: float, spare_ev: float) -> None:
    assert at_least("room", value, 0.0, "mm").spare_ev == spare_ev


@settings(max_examples=25)
@given(st.floats(-1e9, 1e9, allow_nan=False))
def test_nothing_is_shorter_than_hopeless(spare_ev: float) -> None:
    assert 0.0 <= light(spare_ev).short_ev <= MOST_SHORT_EV


def test_rounding_is_no_failure_but_a_little_more_is() -> None:
    assert light(-ROUNDING_EV).short_ev == 0.0
    assert light(-1.01 * ROUNDING_EV).short_ev == 1.01 * ROUNDING_EV


def test_what_cannot_be_told_neither_holds_nor_fails() -> None:
    unknown = at_least("room", None, 30.0, "mm")
    assert (unknown.spare_ev, unknown.short_ev) == (None, 0.0)


@pytest.mark.parametrize(
    ("name", "lacks"),
    [("room", "front_to_pupil_mm"), ("light", "guide_number_m"), ("plate", "how large the plate is")],
)
def test_the_sentence_of_an_unknown_names_what_the_kit_lacks(name: str, lacks: str) -> None:
    assert lacks in Criterion(name, None, 1.0, "", None).text


@pytest.mark.parametrize(
    ("found", "sentence"),
    [
        (at_least("room", 20, 30, "mm"), "20 mm are free before the lens, 30 mm are needed, 10.0 mm short."),
        (at_least("room", 30.0, 30, "mm"), "30 mm are free before the lens, 30 mm are needed."),
        (at_least("pixels", 1999.6, 2400, "px"), "2000 pixels across the delivered picture, 2400 are wanted."),
        (at_most("blur", 0.02, 0.015, "mm"), "The blur on the piece has a radius of 0.020 mm, 0.015 mm are allowed."),
        (at_most("frames", 12, 5, ""), "12 frames cover the depth, 5 may be taken."),
        (light(1.25), "The flash has 1.2 EV to spare."),
        (light(-2.04), "The flash is 2.0 EV too weak at its nearest."),
        (framing(1.2, WISH), "The piece is cut off: it would take 120 % of the picture."),
        (
            *filling(0.19, WISH),
            "The piece takes 19 % of the picture, 80 % was wanted; where it may be cropped, say how many pixels to "
            "deliver.",
        ),
        (*filling(0.8, WISH), "The piece takes 80 % of the picture."),
        (framing(1.0, WISH), "The piece takes 100 % of the picture, 80 % at most was wanted."),
    ],
)
def test_each_criterion_tells_value_and_limit(found: Criterion, sentence: str) -> None:
    assert found.text == sentence


def test_a_plate_says_how_much_it_is_short() -> None:
    text = at_least("plate", 80, 100, "mm").text
    assert text == "The plate measures 80 mm where 100 mm are needed to clear the beam, 20 mm short."


@settings(max_examples=25)
@given(st.floats(0.01, 3))
def test_framing_fails_above_the_share_that_was_wished(share: float) -> None:
    fails = framing(share, WISH).short_ev > 0
    assert fails == (math.log2(share / WISH.fill) > ROUNDING_EV)


@pytest.mark.parametrize(
    ("spare_ev", "text"),
    [(0.0, "The flash has 0.0 EV to spare."), (-0.5, "The flash is 0.5 EV too weak at its nearest.")],
)
def test_light_that_just_suffices_is_not_called_too_weak(spare_ev: float, text: str) -> None:
    assert light(spare_ev).text == text
