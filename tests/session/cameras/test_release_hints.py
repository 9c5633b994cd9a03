"""What a body's own settings say of a shutter that doesn't go: each sign in its words, once, and none from nothing."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.cameras.release_hints import (
    CONDITION_WORDS,
    HINT_WIDGETS,
    LEVELS_OF_HEAT,
    OVERHEATED,
    SWITCHES_ITSELF_OFF,
    hints,
    sleeps_after,
)
from session.cameras.widgets import Widget

ODD_TEXTS = st.text(max_size=8) | st.sampled_from(
    ["", ":", "::,,", "1: ,", "on", "\x00", "²", "-1", "Timer", "mirror remote timer", "ff: card error,"]
)


def told(**texts: str) -> dict[str, Widget]:
    return {name: Widget(name, text) for name, text in texts.items()}


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({}, ""),
        ({"capturemode": "Single Shot"}, ""),
        ({"capturemode": "Self-Timer"}, "Its self-timer is on (Self-Timer)."),
        ({"drivemode": "Timer 10 sec"}, "Its self-timer is on (Timer 10 sec)."),
        ({"capturemode": "MIRROR UP"}, "Mirror lock-up is on (MIRROR UP): one release only lifts the mirror."),
        ({"capturemode": "Quick-Response Remote"}, "It waits for a remote control (Quick-Response Remote)."),
        ({"mirrorlock": "On"}, "Mirror lock-up is on: one release only lifts the mirror."),
        ({"mirrorlock": "1"}, "Mirror lock-up is on: one release only lifts the mirror."),
        ({"mirrorlock": "Off"}, ""),
        ({"mirrorlock": ""}, ""),
        ({"mirrorupstatus": "1"}, "Its mirror is up."),
        ({"liveviewprohibit": "0: "}, ""),
        ({"liveviewprohibit": "Temperature too high"}, ""),  # without its bits it is another body's text
        ({"liveviewprohibit": "4: Temperature too high"}, "It is too hot: switch it off until it has cooled."),
        (
            {"liveviewprohibit": "c: battery exhausted, TEMPERATURE TOO HIGH"},
            "Its battery is empty. It is too hot: switch it off until it has cooled.",
        ),
        ({"liveviewprohibit": "1: a thing nobody knows"}, ""),
    ],
)
def test_each_sign_is_told_in_words(texts: dict[str, str], said: str) -> None:
    assert hints(told(**texts)) == said


def test_self_timer_with_a_remote_is_both() -> None:
    said = hints(told(capturemode="Timer with remote"))
    assert "self-timer" in said
    assert "remote control" in said


def test_the_same_sign_from_two_settings_is_told_once() -> None:
    said = hints(told(mirrorupstatus="on", liveviewprohibit="2: mirror-up operation"))
    assert said == "Its mirror is up."


@pytest.mark.parametrize("both", list(combinations(CONDITION_WORDS, 2)), ids=" and ".join)
def test_two_conditions_are_each_told_by_their_own_words(both: tuple[str, str]) -> None:
    said = hints(told(liveviewprohibit=f"3: {both[0]},{both[1]}"))
    assert said == " ".join(CONDITION_WORDS[name] for name in both)


@pytest.mark.parametrize(("level", "said"), [("0", ""), ("1", "getting hot"), ("2", "too hot")])
def test_heat_is_told_of_where_the_property_has_the_three_levels_of_heat(level: str, said: str) -> None:
    assert said in hints({OVERHEATED: Widget(OVERHEATED, level, LEVELS_OF_HEAT)})
    assert hints({OVERHEATED: Widget(OVERHEATED, level)}) == "", "another extension's property of that number"
    assert bool(hints({OVERHEATED: Widget(OVERHEATED, level, LEVELS_OF_HEAT)})) == bool(said)


@settings(max_examples=25)
@given(st.dictionaries(st.sampled_from([*HINT_WIDGETS, "iso", SWITCHES_ITSELF_OFF]), ODD_TEXTS))
def test_whatever_a_camera_says_hints_are_sentences_or_nothing(texts: dict[str, str]) -> None:
    said = hints(told(**texts))
    assert said == "" or said.endswith(".")
    assert sleeps_after(told(**texts)) == "" or texts[SWITCHES_ITSELF_OFF] in sleeps_after(told(**texts))


@pytest.mark.parametrize("text", ["", "0", "00", "-30", "never", "1.5", "30 s", "²", "٣٠s"])
def test_a_body_that_never_sleeps_or_does_not_say_is_not_called_sleepy(text: str) -> None:
    assert sleeps_after(told(autopoweroff=text)) == ""


def test_a_body_that_sleeps_says_after_how_long() -> None:
    assert sleeps_after(told(autopoweroff="120")).startswith("By its own setting it switches itself off after 120 s")
    assert sleeps_after({}) == ""
