"""The settings at the bench: each line's text, its next value on offer, and what is typed into it."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from unittest.mock import Mock

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.camera_messages import Reading, Setting
from session.set.kit import demo_kit
from session.set.setup import Arrangement, Confirmation, Revision, Settings
from session.units.refusals import UnreadableTextError
from tui.bench.mode import BenchPort
from tui.bench.setting_lines import F_NUMBERS, ISO_SPEEDS, LINES, TIMES_S, ConfirmedLine, SettingLine, SettingsMode

KIT = demo_kit()
REVISION = Revision(arrangement=Arrangement(KIT.lens[0].name, KIT.lens[0].focal_length_mm, 0.5))
BY_NAME = {line.name: line for line in LINES if isinstance(line, SettingLine)}
OFFERED = Reading({"exposure_s": Setting("exposure_s", 1 / 200, "", (1 / 500, 1 / 200, 1 / 60))})
by_line = pytest.mark.parametrize("line", LINES, ids=lambda line: line.label)


def value(revision: Revision, line: SettingLine) -> object:
    return getattr(getattr(revision, line.group) if line.group else revision, line.name)


@by_line
def test_every_line_has_a_label_and_reads_as_text(line: SettingLine | ConfirmedLine) -> None:
    assert line.label and len(line.label) <= 24 and line.text(REVISION)


@by_line
@settings(max_examples=10)
@given(steps=st.lists(st.sampled_from([1, -1]), max_size=30))
def test_keys_never_leave_what_may_be_set(line: SettingLine | ConfirmedLine, steps: list[int]) -> None:
    revision = REVISION
    for step in steps:
        revision = line.step(revision, step, OFFERED, KIT)
        assert line.text(revision)
    others = [one for one in LINES if one is not line and one.name not in ("lens", line.name)]
    if line.name != "lens":
        assert all(one.text(revision) == one.text(REVISION) for one in others), "no other setting changes"


def test_what_the_camera_offers_goes_before_what_is_usual() -> None:
    line = BY_NAME["exposure_s"]
    slower = line.step(REVISION, 1, OFFERED, KIT)
    assert value(slower, line) == 1 / 60 and value(line.step(slower, 1, OFFERED, KIT), line) == 1 / 60
    assert value(line.step(REVISION, -1, OFFERED, KIT), line) == 1 / 500
    unasked = line.step(REVISION, 1, Reading(), KIT)
    assert value(unasked, line) in TIMES_S and value(unasked, line) > 1 / 200


@pytest.mark.parametrize("series", [TIMES_S, F_NUMBERS, ISO_SPEEDS])
def test_the_usual_values_go_up_by_equal_steps(series: tuple[float, ...]) -> None:
    assert list(series) == sorted(set(series))
    ratios = [b / a for a, b in pairwise(series)]
    assert max(ratios) == pytest.approx(min(ratios))


def test_a_value_that_nobody_has_said_begins_at_the_first_on_offer_or_stays() -> None:
    assert BY_NAME["depth_needed_mm"].text(REVISION) == "not said"
    assert BY_NAME["depth_needed_mm"].step(REVISION, 1, Reading(), KIT) == REVISION, "nothing is on offer"
    fixed = Reading({"white_balance": Setting("white_balance", "Flash", "", ("Daylight", "Flash"))})
    assert value(BY_NAME["white_balance"].step(REVISION, 1, fixed, KIT), BY_NAME["white_balance"]) == "Daylight"


def test_a_lens_brings_its_focal_length_and_pupils() -> None:
    line, other = BY_NAME["lens"], KIT.lens[1]
    changed = line.with_value(REVISION, other.name, KIT).arrangement
    assert (changed.lens, changed.focal_length_mm) == (other.name, other.focal_length_mm)
    assert changed.pupil_magnification == other.pupil_magnification and changed.magnification == 0.5
    borrowed = line.with_value(REVISION, "borrowed", KIT).arrangement
    assert (borrowed.lens, borrowed.focal_length_mm) == ("borrowed", REVISION.arrangement.focal_length_mm)


@pytest.mark.parametrize(
    ("name", "typed", "set_to"),
    [
        ("exposure_s", "1/60", 1 / 60),
        ("f_number", "f/8", 8.0),
        ("iso", "200", 200),
        ("magnification", "1:2", 0.5),
        ("hold_off_s", "3.5", 3.5),
        ("white_balance", " Flash ", "Flash"),
    ],
)
def test_what_is_typed_is_set(name: str, typed: str, set_to: object) -> None:
    line = BY_NAME[name]
    changed = line.with_value(REVISION, line.from_typed(typed), KIT)
    assert value(changed, line) == pytest.approx(set_to)
    assert isinstance(changed.settings.iso, int)


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("exposure_s", "quick", "an exposure time is written like"),
        ("f_number", "200", "but must be from 0.5 to 128"),
        ("iso", "9000000", "but must be from 1 to 5,000,000"),
        ("blur_limit_px", "", "is a number in px"),
    ],
)
def test_what_cant_be_meant_is_refused_in_a_sentence(name: str, typed: str, said: str) -> None:
    with pytest.raises(ValueError, match=said.replace(".", r"\.")):
        BY_NAME[name].from_typed(typed)


CONFIRMED = [line for line in LINES if isinstance(line, ConfirmedLine)]


@pytest.mark.parametrize("line", CONFIRMED, ids=lambda line: line.label)
def test_a_confirmation_is_one_of_two_words(line: ConfirmedLine) -> None:
    assert line.text(REVISION) == line.without
    said = line.step(REVISION, 1, Reading(), KIT)
    assert line.text(said) == line.confirmed and said.confirmed == (line.said,)
    assert line.step(said, -1, Reading(), KIT) == REVISION
    for word in (line.without, line.confirmed):
        assert line.from_typed(word.upper()) == word
    with pytest.raises(UnreadableTextError, match=f"{line.label} is {line.without} or {line.confirmed}, not 'maybe'"):
        line.from_typed("maybe")
    with pytest.raises(UnreadableTextError):
        line.from_typed("")


def test_confirming_one_thing_keeps_the_others() -> None:
    still = replace(REVISION, confirmed=(Confirmation.STABILISER,))
    for line in CONFIRMED:
        changed = line.with_value(still, line.confirmed, KIT)
        assert set(changed.confirmed) == {Confirmation.STABILISER, line.said}
        assert line.with_value(changed, line.without, KIT) == still
    assert Settings() == REVISION.settings


@pytest.mark.parametrize("height", [2, 6, 10, len(LINES) + 1])
def test_a_panel_too_low_for_all_lines_says_which_it_shows(height: int) -> None:
    bench = Mock(spec=BenchPort)
    bench.model.revision = REVISION
    mode = SettingsMode(bench)
    for _ in LINES:
        title, *lines = [line.plain for line in mode.panel(60, height)]
        assert len(lines) == height - 1
        first, last = title_lines(title)
        signs = ["▸" if line is LINES[mode._at] else " " for line in LINES[first - 1 : last]]
        assert lines == [
            sign + mode._line_text(line) for sign, line in zip(signs, LINES[first - 1 : last], strict=True)
        ]
        assert f"of {len(LINES)}" in title or last - first + 1 == len(LINES)
        mode.act_line("down")


def title_lines(title: str) -> tuple[int, int]:
    """The first and last line that a panel's title names; all of them where it names none."""
    told = re.search(r"lines (\d+) to (\d+) of", title)
    return (int(told[1]), int(told[2])) if told else (1, len(LINES))
