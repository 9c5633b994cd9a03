"""Set-ups, states and numbers: the plain values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.frame.finding import Finding, Level, stops, verdict_of, worst
from session.set.setup import PlacedLight, Region, Revision, differences, parse_label
from session.units.numbers import (
    ev_text,
    f_text,
    mm_text,
    percent_text,
    ratio_text,
    same_setting,
    time_text,
)  # fmt: skip
from session.units.typed import typed_number


@pytest.mark.parametrize(
    ("text", "expected"),
    [(time_text(0.005), "1/200 s"), (time_text(0.0062), "1/161 s"), (time_text(0.4), "0.4 s"),
     (time_text(2), "2 s"),
     (f_text(11.0), "f/11"), (f_text(5.6), "f/5.6"), (f_text(8.0), "f/8"), (f_text(None), "f by hand"),
     (ev_text(-2), "−2 EV"), (ev_text(0.33), "+0.3 EV"), (ev_text(0), "0 EV"), (mm_text(620), "620 mm"),
     (mm_text(0.31), "0.3 mm"), (mm_text(0.042), "0.04 mm"), (ratio_text(0.5), "1:2"), (ratio_text(2), "2:1"),
     (ratio_text(0.71), "1:1.4"), (percent_text(0.333), "33 %"), (percent_text(0.004), "0.4 %")],
)  # fmt: skip
def test_numbers_read_as_photographers_write_them(text, expected):
    assert text == expected


@pytest.mark.parametrize(("text", "seconds"), [("1/200", 0.005), ("1/200 s", 0.005), ("0.4", 0.4), ("2 s", 2.0)])
def test_times_are_read_back(text, seconds):
    assert typed_number("exposure_s", text) == pytest.approx(seconds)


@pytest.mark.parametrize("text", ["", "fast", "1/0", "-1/200", "0", "1e9", "nan", "1/nan"])
def test_what_is_no_time_is_refused_in_words(text):
    with pytest.raises(ValueError, match="exposure time"):
        typed_number("exposure_s", text, "exposure time")


@pytest.mark.parametrize("text", ["", "1/11", "0", "-8", "1e9", "nan"])
def test_what_is_no_f_number_is_refused_in_words(text):
    with pytest.raises(ValueError, match="f-number"):
        typed_number("f_number", text, "the f-number")


def test_f_numbers_are_read_in_all_their_spellings():
    assert [typed_number("f_number", text) for text in ("11", "f/11", "F11", " f5.6 ")] == [11, 11, 11, 5.6]


def test_settings_a_tenth_of_a_stop_apart_are_the_same():
    # nominal against exact: f/11 is 8·√2 = 11.314 (0.081 EV), 1/125 is 1/128 (0.034 EV)
    assert same_setting(11, 11.314, ev_per_doubling=2)
    assert same_setting(1 / 125, 1 / 128)
    assert not same_setting(1 / 200, 1 / 250)
    assert not same_setting(11, 13, ev_per_doubling=2)


def test_labels_go_round():
    assert Revision(setup_number=7, revision=3).label == "07.3"
    assert parse_label("07.3") == (7, 3)
    assert parse_label("7") == (7, None)
    for wrong in ("", "7.", "a", "7.3.1", "-1", "07.3; drop"):
        with pytest.raises(ValueError, match=r"07\.3"):
            parse_label(wrong)


def test_differences_name_what_changed():
    old = Revision(lights=(PlacedLight("key", -2.0, 620),))
    new = old.with_light(PlacedLight("key", -1.0, 620)).with_light(PlacedLight("rim"))
    assert differences(old, new) == [
        ("light key power_ev", -2.0, -1.0),
        ("light rim", None, PlacedLight("rim")),
    ]
    assert differences(new, new) == []
    assert new.without_light("rim").lights == (PlacedLight("key", -1.0, 620),)


@given(
    st.floats(0, 0.99), st.floats(0, 0.99), st.floats(0.0001, 1), st.floats(0.0001, 1),
    st.integers(1, 9000), st.integers(1, 9000),
)  # fmt: skip
def test_a_region_in_pixels_lies_in_the_picture(left, top, width, height, across, down):
    if left + width > 1 or top + height > 1:
        with pytest.raises(ValueError, match="region"):
            Region(left + 0.001, top + 0.001, width, height)
        return
    x0, y0, x1, y1 = Region(left, top, width, height).in_pixels(across, down)
    assert 0 <= x0 < x1 <= across
    assert 0 <= y0 < y1 <= down


def test_the_heaviest_level_and_the_verdict():
    note, caution = Finding("a", Level.NOTE, "."), Finding("b", Level.CAUTION, ".")
    stop = Finding("c", Level.STOP, ".")
    assert worst([]) is None
    assert worst([note, stop, caution]) is Level.STOP
    assert stops([note, stop], ["c"]) == ()
    assert verdict_of([note, Finding("focus", Level.CAUTION, ".")]) == "clean"
    assert verdict_of([caution]) == "flawed"
