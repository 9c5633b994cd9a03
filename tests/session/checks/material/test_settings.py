"""The file's Exif against what was asked: a tenth of a stop is the same setting, and every difference is named."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.checks.material.settings import as_asked, difference_ev, flash_light_ev
from session.frame.finding import CheckId, Level
from session.picture.exif import Exif

ASKED: dict[str, object] = {"exposure_s": 1 / 200, "f_number": 11.0, "iso": 100}
AS_ASKED = Exif(exposure_s=1 / 200, f_number=11.0, iso=100)
quick = settings(max_examples=40)


@pytest.mark.parametrize("exif", [AS_ASKED, Exif(), replace(AS_ASKED, exposure_s=0.0051), replace(AS_ASKED, iso=None)])
def test_a_file_that_says_what_was_asked_or_nothing_gives_no_finding(exif: Exif) -> None:
    assert as_asked(exif, ASKED) == ()


def test_every_setting_that_differs_is_named_in_one_finding_with_the_largest_difference() -> None:
    (finding,) = as_asked(Exif(exposure_s=1 / 100, f_number=5.6, iso=100), ASKED)
    assert (finding.id, finding.level, finding.unit) == (CheckId.SETTINGS, Level.CAUTION, "EV")
    assert finding.text.startswith("The file says ") and "; " in finding.text
    assert "1/100 s, asked was 1/200 s" in finding.text and "f/5.6, asked was f/11" in finding.text
    assert "iso" not in finding.text.lower()
    assert finding.value == pytest.approx(2 * math.log2(11 / 5.6), abs=0.01)


@quick
@given(st.floats(-3, 3))
def test_a_time_is_another_setting_from_a_tenth_of_a_stop_on(off_ev: float) -> None:
    told = as_asked(replace(AS_ASKED, exposure_s=2**off_ev / 200), ASKED)
    if abs(off_ev) < 0.09:
        assert told == ()
    if abs(off_ev) > 0.11:
        assert told[0].value == pytest.approx(abs(off_ev), abs=0.01)


@pytest.mark.parametrize("asked", [{}, {"f_number": None}, {"iso": 0}, {"iso": -100}, {"exposure_s": "1/200"}])
def test_what_nobody_asked_for_in_a_number_is_not_compared(asked: dict[str, object]) -> None:
    assert as_asked(Exif(exposure_s=1.0, f_number=1.4, iso=6400), asked) == ()


@quick
@given(st.floats(1, 64), st.floats(1, 64))
def test_opening_the_lens_makes_the_picture_brighter_and_there_and_back_is_nothing(told: float, wanted: float) -> None:
    there = difference_ev("f_number", told, wanted)
    assert (there > 0) == (told < wanted)
    assert there == pytest.approx(-difference_ev("f_number", wanted, told))
    assert difference_ev("iso", told, wanted) == pytest.approx(math.log2(told / wanted))


@pytest.mark.parametrize(
    ("frame", "ev"),
    [
        (AS_ASKED, 0.0),
        (replace(AS_ASKED, iso=200), 1.0),
        (replace(AS_ASKED, f_number=11 * math.sqrt(2)), -1.0),
        (replace(AS_ASKED, exposure_s=1 / 50), 0.0),  # the flash is over long before
        (replace(AS_ASKED, iso=None, f_number=None), 0.0),
        (replace(AS_ASKED, iso=200, f_number=11 * math.sqrt(2)), 0.0),
    ],
)
def test_flash_light_changes_by_f_number_and_iso_alone(frame: Exif, ev: float) -> None:
    assert flash_light_ev(frame, AS_ASKED) == pytest.approx(ev)
