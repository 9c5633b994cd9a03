"""Numbers as people type them: many ways to write one, and a refusal that shows how it is written."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.units.quantities import QUANTITIES, RefusedNumberError
from session.units.refusals import UnreadableTextError
from session.units.typed import typed_number, typed_turn

quick = settings(max_examples=60)


@pytest.mark.parametrize(
    ("name", "texts", "value"),
    [
        ("exposure_s", ("1/200", "1/200 s", "0.005", "0,005", " .005s ", "1:200", "1/200S"), 0.005),
        ("f_number", ("11", "f/11", "F11", "f 11", "F/11.0", "11,0"), 11.0),
        ("iso", ("100", "ISO 100", "iso100", "100.2"), 100),
        ("magnification", ("0.5", "1:2", "1/2", "0,5"), 0.5),
        ("power_ev", ("1/4", "-2", "−2", "-2 EV", "1/4 (-2 EV)", "1/4 (−2 EV)", "-2,0"), -2.0),
        ("power_ev", ("full", "1/1", "0", "-0", "FULL"), 0.0),
        ("azimuth_deg", ("60 left", "60l", "60° L", " 60 LEFT "), 60.0),
        ("azimuth_deg", ("60 right", "60r", "60° right"), 300.0),
        ("azimuth_deg", ("0", "0 left", "0 right"), 0.0),
        ("azimuth_deg", ("180", "180 left", "180 right"), 180.0),
        ("elevation_deg", ("35 up", "35", "35u", "35°"), 35.0),
        ("elevation_deg", ("10 down", "-10", "−10", "10d"), -10.0),
        ("distance_mm", ("620", "620 mm", "620mm", "620,0 MM"), 620.0),
        ("frequency_hz", ("6 Hz", "6hz", "6"), 6.0),
    ],
)
def test_one_number_is_written_in_many_ways(name: str, texts: tuple[str, ...], value: float) -> None:
    for text in texts:
        assert typed_number(name, text) == pytest.approx(value), text


@pytest.mark.parametrize(
    ("text", "power_ev"),
    [
        ("1/4 +1/3", -5 / 3),
        ("1/4 +⅓", -5 / 3),
        ("1/4 +0.3", -5 / 3),
        ("1/4+2/3", -4 / 3),
        ("1/4 +0,7", -4 / 3),
        ("1/8 +0.5", -2.5),
    ],
)
def test_thirds_of_a_stop_are_thirds_however_a_flash_shows_them(text: str, power_ev: float) -> None:
    assert typed_number("power_ev", text) == pytest.approx(power_ev, abs=1e-4)


@quick
@given(st.floats(1e-6, 60))
def test_a_time_is_read_as_it_is_written_in_full(exposure_s: float) -> None:
    assert typed_number("exposure_s", repr(exposure_s)) == exposure_s
    assert typed_number("exposure_s", f"1/{1 / exposure_s!r}") == pytest.approx(exposure_s)


@quick
@given(st.floats(0, 180), st.sampled_from(["left", "right"]))
def test_left_and_right_mirror_each_other_and_lie_on_the_circle(degrees: float, side: str) -> None:
    here = typed_number("azimuth_deg", f"{degrees:.6f} {side}")
    there = typed_number("azimuth_deg", f"{degrees:.6f} {'left' if side == 'right' else 'right'}")
    assert 0 <= here < 360
    assert min((here + there) % 360, -(here + there) % 360) == pytest.approx(0, abs=1e-5)


@pytest.mark.parametrize(
    ("name", "text", "like"),
    [
        ("exposure_s", "fast", "an exposure time is written like 1/200 or 0.005, not 'fast'."),
        ("exposure_s", "1/0", "an exposure time is written like 1/200 or 0.005, not '1/0'."),
        ("exposure_s", "1/2/3", "an exposure time is written like 1/200 or 0.005, not '1/2/3'."),
        ("exposure_s", "1/2:3", "an exposure time is written like 1/200 or 0.005, not '1/2:3'."),
        ("f_number", "f/11/", "an f-number is written like 11 or f/11, not 'f/11/'."),
        ("f_number", "wide open", "an f-number is written like 11 or f/11, not 'wide open'."),
        ("power_ev", "1/x", "power is written like 1/4, 1/4 +1/3 or -2, not '1/x'."),
        ("level_ev", "half", "a level is written like 1/4, 1/4 +1/3 or -2, not 'half'."),
        ("azimuth_deg", "60", "an angle has a side, like 60 left or 60 right (0: from the camera), not '60'."),
        ("azimuth_deg", "-60", "an angle has a side, like 60 left or 60 right (0: from the camera), not '-60'."),
        (
            "azimuth_deg",
            "190 left",
            "an angle has a side, like 60 left or 60 right (0: from the camera), not '190 left'.",
        ),
        ("elevation_deg", "91 up", "a height is written like 35 up or 10 down, up to 90°, not '91 up'."),
        ("elevation_deg", "-10 down", "a height is written like 35 up or 10 down, up to 90°, not '-10 down'."),
        ("magnification", "life size", "a ratio is written like 1:2 or 0.5, not 'life size'."),
        ("distance_mm", "near", "distance_mm is a number in mm, not 'near'."),
        ("distance_mm", "", "distance_mm is a number in mm, not ''."),
        ("distance_mm", "1/2/3 mm", "distance_mm is a number in mm, not '1/2/3 mm'."),
        ("magnification", "1:2:3", "a ratio is written like 1:2 or 0.5, not '1:2:3'."),
        ("overlap", "some", "overlap is a number, not 'some'."),
    ],
)
def test_what_cant_be_read_is_refused_with_how_it_is_written(name: str, text: str, like: str) -> None:
    with pytest.raises(UnreadableTextError) as refused:
        typed_number(name, text)
    assert str(refused.value) == like


def test_a_refusal_calls_the_quantity_as_the_screen_does() -> None:
    with pytest.raises(UnreadableTextError, match=r"^Distance is a number in mm, not 'near'\.$"):
        typed_number("distance_mm", "near", "Distance")
    with pytest.raises(RefusedNumberError, match=r"^Distance is 0\.6 mm, but must be from 1 to 100,000 mm"):
        typed_number("distance_mm", "0.6", "Distance")


@quick
@given(st.sampled_from(sorted(QUANTITIES)), st.text(max_size=12))
def test_any_text_is_a_number_in_the_range_or_one_sentence(name: str, text: str) -> None:
    """Hostile input: nothing but a ValueError with a sentence may come of it."""
    try:
        value = typed_number(name, text)
    except ValueError as error:
        assert isinstance(error, UnreadableTextError | RefusedNumberError) and str(error).endswith((".", "?"))
    else:
        allowed = QUANTITIES[name]
        assert allowed.low - 0.5 <= value <= allowed.high + 0.5 or value == 0


@pytest.mark.parametrize("text", ["nan", "inf", "-inf", "1e999", "1" * 400, "1/1e-320"])
def test_a_number_that_is_none_is_refused(text: str) -> None:
    for name in ("distance_mm", "exposure_s", "f_number", "iso", "magnification"):
        with pytest.raises(ValueError):
            typed_number(name, text)


@pytest.mark.parametrize(("text", "value"), [("99.6", 100), ("100.4", 100), ("64", 64)])
def test_whole_numbers_are_rounded_and_stay_whole(text: str, value: int) -> None:
    found = typed_number("iso", text)
    assert found == value and isinstance(found, int)


@pytest.mark.parametrize(
    ("text", "turn"),
    [
        ("45 left", (45.0, "left")),
        ("30° d", (30.0, "down")),
        ("0", (0.0, "")),
        ("0 up", (0.0, "")),
        ("7,5 r", (7.5, "right")),
    ],
)
def test_a_turn_is_an_angle_and_a_side(text: str, turn: tuple[float, str]) -> None:
    assert typed_turn(text) == turn


@pytest.mark.parametrize("text", ["45", "left", "", "95 left", "-45 left", "45 behind", "nan up"])
def test_a_turn_without_a_side_or_beyond_a_right_angle_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"turned|a turn is written like 45 left"):
        typed_turn(text)
