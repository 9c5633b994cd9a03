"""A frame as a line, in full and beside another: columns line up, nothing is left out or lets hostile text through."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.finding import Finding, FocusVerdict, Level, Verdict
from session.frame.frame_facts import FrameFacts
from session.frame.states import FrameState, ReleasedBy
from session.set.setup import Region, Revision, Settings
from storage.reading.views import FileRow, FrameFilter, FrameRecord, NoteRow
from tui.screen.ledger_text import (
    BESIDE_SIGN,
    HERE_SIGN,
    RowColumns,
    camera_text,
    comparison,
    filter_text,
    local,
    narrowed_by,
    record_text,
    row_heads,
    row_line,
    row_verdict,
    sheet_words,
    time_of,
    verdict_name,
)

NOON = datetime(2026, 5, 4, 12, 30, tzinfo=UTC)
HOSTILE = "\x1b[31mred\u202eder\n\t"


def record(number: int = 7, **more: Any) -> FrameRecord:
    values: dict[str, Any] = {
        "facts": FrameFacts(f"f{number}", number, FrameState.SAVED),
        "job": "Shop",
        "piece": "ring 4",
        "view": "front",
        "setup": "07.3",
        "asked_at": NOON,
        "released_at": NOON + timedelta(seconds=2),
        "focus_verdict": FocusVerdict.SHARP,
        "verdict": Verdict.CLEAN,
        "flaw": None,
        "blur_px": 0.8,
        "defocus_mm": 0.02,
        "mark": None,
        "note_count": 0,
        "revision_id": "r",
        "is_reference": False,
        "client": "Müller",
        "folder": "/pictures",
        "stem": "7",
        "camera_serial": "",
        "camera_model": "",
        "revision": Revision(),
        "camera": {},
        "files": (),
        "rules": (),
        "checks": (),
        "focus": None,
        "overrulings": {},
        "notes": (),
        "references": (),
        "reference": None,
        "region": Region(),
    }
    return FrameRecord(**{**values, **more})


def line(of: FrameRecord, *others: FrameRecord, width: int = 120, here: bool = False, beside: bool = False) -> str:
    return row_line(of, RowColumns.of((of, *others)), width, here=here, beside=beside).plain


SOFT = record(12, focus_verdict=FocusVerdict.SOFT, mark="hero", note_count=3)


def test_heads_stand_above_their_columns() -> None:
    rows = (record(), SOFT, record(1234, focus_verdict=None))
    columns = RowColumns.of(rows)
    heads = row_heads(columns, 200).plain
    for head, words in (
        ("verdict", "soft"),
        ("set-up", "07.3"),
        ("mark", "hero"),
        ("notes", "3✎"),
        ("piece", "ring 4"),
    ):
        assert row_line(SOFT, columns, 200, here=False, beside=False).plain.index(words) == heads.index(head), head


@settings(max_examples=40)
@given(
    st.lists(
        st.builds(
            record,
            number=st.integers(1, 9999),
            focus_verdict=st.sampled_from([None, *FocusVerdict]),
            mark=st.sampled_from([None, "hero", "spare take"]),
            note_count=st.integers(0, 12),
        ),
        min_size=2,
        max_size=6,
    ),
    st.integers(1, 120),
)
def test_all_rows_of_a_list_begin_their_place_in_the_same_column_and_none_is_too_wide(
    rows: list[FrameRecord], width: int
) -> None:
    columns = RowColumns.of(rows)
    whole = [row_line(row, columns, 300, here=False, beside=False).plain for row in rows]
    assert len({text.index("ring 4 · front") for text in whole}) == 1
    assert all(len(row_line(row, columns, width, here=True, beside=True).plain) <= width for row in rows)


def test_columns_that_no_row_needs_are_left_out() -> None:
    plain = row_heads(RowColumns.of((record(),)), 200).plain
    assert "mark" not in plain
    assert "notes" not in plain
    assert RowColumns.of(()) == RowColumns(0, 0, 0)


def test_the_chosen_row_and_the_one_beside_it_have_their_signs() -> None:
    assert line(record(), here=True).startswith(f"{HERE_SIGN} ")
    assert line(record(), beside=True).startswith(f" {BESIDE_SIGN}")
    assert line(record()).startswith("  ")
    words = sheet_words(SOFT, here=True, beside=False)
    assert words == (f"{HERE_SIGN}12 ◐ soft", "  hero 3✎", f" {SOFT.piece} · {SOFT.view}")
    assert sheet_words(SOFT, here=False, beside=True)[1] == f"{BESIDE_SIGN} hero 3✎"


def test_the_time_is_that_of_the_release_else_of_the_wish_at_this_place() -> None:
    assert time_of(record()) == local(NOON).strftime("%H:%M")
    waiting = record(asked_at=NOON + timedelta(hours=1), released_at=None)
    assert time_of(waiting) == local(NOON + timedelta(hours=1)).strftime("%H:%M")


def test_a_frame_that_nobody_judged_has_the_word_of_its_state() -> None:
    words = {
        state: row_verdict(record(facts=FrameFacts("f", 1, state), focus_verdict=None, verdict=None))
        for state in FrameState
    }
    assert all(words.values())
    assert len(set(words.values())) == len(words)


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        (FrameFilter(), ""),
        (FrameFilter(text="barrel"), "“barrel”"),
        (FrameFilter(verdict=FocusVerdict.UNJUDGED), "focus ?"),
        (FrameFilter(verdict=Verdict.FLAWED, mark="hero"), "with a flaw and hero"),
        (FrameFilter(verdict=FocusVerdict.MISSED, mark="hero", text="a b"), "missed and hero and “a b”"),
    ],
)
def test_a_narrowing_is_told_in_words(wanted: FrameFilter, words: str) -> None:
    assert filter_text(wanted) == words


def test_only_what_a_narrowing_adds_is_told() -> None:
    before = FrameFilter(mark="hero", job="Shop")
    assert narrowed_by(replace(before, verdict=FocusVerdict.SOFT), before) == "soft"
    assert narrowed_by(before, before) == ""
    assert narrowed_by(FrameFilter(), before) == ""  # taken away
    assert verdict_name(None) == ""


def test_all_that_the_log_knows_is_told_and_nothing_that_steers_a_terminal() -> None:
    full = record(
        piece=HOSTILE,
        view=HOSTILE,
        mark="hero",
        camera={"exposure_s": 0.004, "iso": 200},
        notes=(NoteRow("n", "f7", 7, "Shop", "ring 4", f"dust {HOSTILE}", NOON),),
        overrulings={"depth": f"as wished {HOSTILE}"},
        checks=(Finding("exposure", Level.CAUTION, "The region is dark.", -0.6, 0.25, "EV"),),
        files=(FileRow(f"/pictures/{HOSTILE}7.jpg", "jpeg", 12_340_000, "", "", "", NOON, ()),),
        folder=f"/pictures{HOSTILE}",
    )
    text = record_text(full, 200).plain
    for words in (
        *("FRAME 7", "set-up 07.3", "hero", "1/250 s", "ISO 200", "dust", "overruled depth", "The region is dark."),
        *("12.3 MB", "in /pictures", "from here"),
    ):
        assert words in text, words
    assert "\x1b" not in text
    assert "\u202e" not in text
    lines = text.split("\n")
    assert all(HOSTILE.strip() not in one for one in lines)
    by_body = record_text(replace(full, facts=replace(full.facts, released_by=ReleasedBy.BODY)), 200).plain
    assert "released on the camera" in by_body


@pytest.mark.parametrize(
    ("camera", "said"),
    [
        ({}, "1/200 s  f/11  ISO 100"),
        ({"exposure_s": 2.0}, "2 s  f/11  ISO 100"),
        ({"f_number": 5.6, "iso": 400}, "1/200 s  f/5.6  ISO 400"),
        ({"exposure_s": None, "f_number": "auto", "iso": True}, "1/200 s  f/11  ISO 100"),
    ],
)
def test_settings_are_the_cameras_own_else_those_that_were_asked_for(camera: dict[str, Any], said: str) -> None:
    assert camera_text(record(camera=camera)) == said


def test_an_aperture_by_hand_has_no_number() -> None:
    assert "f by hand" in camera_text(record(revision=Revision(settings=Settings(f_number=None))))


def test_two_frames_alike_say_that_nothing_differs() -> None:
    text = comparison(record(1), record(2), 120).plain
    assert "Nothing differs in settings, lights or verdict." in text
    assert "frame 1" in text
    assert "frame 2" in text


@pytest.mark.parametrize(
    ("change", "row"),
    [
        ({"mark": "hero"}, "mark"),
        ({"piece": "ring 5"}, "piece"),
        ({"view": "back"}, "view"),
        ({"setup": "08.1"}, "set-up"),
        ({"camera": {"iso": 400}}, "camera ISO"),
        ({"revision": Revision(settings=Settings(f_number=16.0))}, "aperture"),
    ],
)
def test_what_differs_has_a_row_and_nothing_else(change: dict[str, Any], row: str) -> None:
    text = comparison(record(1), record(2, **change), 120).plain
    heads = [one[:20].strip() for one in text.split("\n")]
    assert row in heads
    assert "Nothing differs" not in text
    assert not {"mark", "piece", "view", "set-up", "camera ISO", "aperture"} & set(heads) - {row}


def test_what_passes_by_itself_is_no_difference() -> None:
    old, new = ({"battery_percent": charge, "date_time": day} for charge, day in ((90, "1"), (80, "2")))
    assert "Nothing differs" in comparison(record(1, camera=old), record(2, camera=new), 120).plain


def test_a_long_piece_leaves_the_views_name_its_beginning_at_80_columns() -> None:
    row = record(piece="signet ring with the double-headed eagle, large", view="three-quarter from the left")
    line = row_line(row, RowColumns.of([row]), 80, here=False, beside=False).plain
    assert len(line) <= 80 and "signet ring" in line and " · three-quarter" in line
