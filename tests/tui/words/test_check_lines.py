"""The large line for what a check says: the flaw's name, its amount where one was measured, never the word flawed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.checks.material.check_limits import NO_FLASH_EV
from session.frame.finding import CheckId, Finding, FlawKind, Level, Move
from session.lighting.mix import AMBIENT_STOPS_UNDER
from tui.words.check_lines import check_line, flaw_words, is_unmeasured_or_near


def found(
    check: str, value: float | None = None, kind: FlawKind | None = None, move: Move | None = None, text: str = "told."
) -> Finding:
    return Finding(check, Level.CAUTION, text, value, kind=kind, move=move)


@pytest.mark.parametrize(
    ("finding", "line"),
    [
        (found(CheckId.FILE), "BAD FILE"),
        (found(CheckId.SETTINGS, 1.0), "NOT AS SET"),
        (found(CheckId.FLASH), "NO FLASH"),
        (found(CheckId.FLASH, -float(NO_FLASH_EV)), "NO FLASH"),
        (found(CheckId.FLASH, -float(NO_FLASH_EV) + 0.01), "WEAK FLASH"),
        (found(CheckId.FLASH, -1.0, FlawKind.ONE_OF_SEVERAL), "LIGHT MISSING?"),
        (found(CheckId.BAND), "DARK BAND"),
        (found(CheckId.BAND, 0.33), "BAND 33 %"),
        (found(CheckId.EXPOSURE), "EXPOSURE"),
        (found(CheckId.EXPOSURE, -0.6), "DARK 0.6 EV"),
        (found(CheckId.EXPOSURE, 1.25), "BRIGHT 1.2 EV"),
        (found(CheckId.CLIPPING, 3.0), "CLIPPED"),
        (found(CheckId.EVENNESS, 0.8), "UNEVEN 0.8 EV"),
        (found(CheckId.EVENNESS), "UNEVEN"),
        (found(CheckId.EVENNESS, 1.4, FlawKind.HOT_SPOT), "HOT SPOT 1.4 EV"),
        (found(CheckId.EVENNESS, -0.7, FlawKind.CENTRE), "CENTRE DARK"),
        (found(CheckId.EVENNESS, 0.7, FlawKind.CENTRE), "CENTRE LIGHT"),
        (found(CheckId.COLOUR, 4.0), "COLOUR OFF"),
        (found(CheckId.MIXED_LIGHT, 0.3), "MIXED LIGHT?"),
        (found(CheckId.AMBIENT_LIGHT), "AMBIENT ?"),
        (found(CheckId.AMBIENT_LIGHT, -6.2), "AMBIENT −6.2 EV"),
        (found(CheckId.AMBIENT_LIGHT, 0.3), "AMBIENT +0.3 EV"),
        (found("a check of next year"), "A CHECK OF NEXT YEAR"),
    ],
)
def test_a_check_is_told_by_its_flaws_name_with_the_amount(finding: Finding, line: str) -> None:
    assert check_line(finding) == line


@pytest.mark.parametrize(
    ("kind", "line"),
    [
        (FlawKind.CAMERA_MOVED, "CAMERA MOVED"),
        (FlawKind.PIECE_MOVED, "PIECE MOVED"),
        (FlawKind.CAMERA_OR_PIECE_MOVED, "MOVED"),
        (FlawKind.SIZE_CHANGED, "SIZE CHANGED"),
        (FlawKind.PART_MOVED, "PART MOVED"),
        (FlawKind.ANOTHER_PIECE, "MOVED"),
        (None, "MOVED"),
    ],
)
def test_what_moved_is_named(kind: FlawKind | None, line: str) -> None:
    assert check_line(found(CheckId.DRIFT, 12.0, kind)) == line


@pytest.mark.parametrize(
    ("kind", "move", "line"),
    [
        (FlawKind.MOVE_CAMERA, Move(0.8, 0.0, 0.0, "mm"), "CAMERA 0.8 mm RIGHT"),
        (FlawKind.MOVE_CAMERA, Move(-0.8, 3.0, 0.0, "mm"), "CAMERA 0.8 mm LEFT"),
        (FlawKind.MOVE_PIECE, Move(0.0, 2.5, 1.0, "mm"), "PIECE 2.5 mm DOWN"),
        (FlawKind.MOVE_PIECE, Move(0.0, -31.4, 0.0, "px"), "PIECE 31 px UP"),
        (FlawKind.MOVE_PIECE, Move(0.0, 0.0, -1.2, "mm"), "TURN IT"),
        (FlawKind.MOVE_PIECE, Move(0.0, 0.0, 0.0, "mm"), "MOVE PIECE"),
    ],
)
def test_a_set_that_is_built_again_says_the_first_move_for_the_hands(kind: FlawKind, move: Move, line: str) -> None:
    assert check_line(found(CheckId.DRIFT, 12.0, kind, move)) == line


@settings(max_examples=40)
@given(st.sampled_from(list(CheckId)), st.none() | st.floats(-20, 20), st.none() | st.sampled_from(list(FlawKind)))
def test_whatever_was_measured_the_line_is_one_of_words_and_the_small_print_says_the_same(
    check: CheckId, value: float | None, kind: FlawKind | None
) -> None:
    finding = found(check, value, kind)
    line, small = check_line(finding), flaw_words(finding)
    assert line and "\n" not in line and "FLAWED" not in line.upper() and "nan" not in line
    assert small.upper() == line.upper()
    if value is not None and f"{abs(value):.1f} EV" in line:
        assert f"{abs(value):.1f} EV" in small, "the unit keeps its capitals"


@pytest.mark.parametrize(
    ("value", "near"),
    [(None, True), (-AMBIENT_STOPS_UNDER, False), (-AMBIENT_STOPS_UNDER + 0.01, True), (-9.0, False), (1.0, True)],
)
def test_ambient_light_is_near_from_less_than_five_stops_under_on(value: float | None, near: bool) -> None:
    assert is_unmeasured_or_near(found(CheckId.AMBIENT_LIGHT, value)) is near
