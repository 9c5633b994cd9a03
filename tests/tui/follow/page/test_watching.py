"""One look at the log for all who look on: a new frame, no log yet, a log that goes away."""

from __future__ import annotations

from pathlib import Path

from session.frame.finding import FocusVerdict
from tests.support.scripted_table import READING, REVISION
from tests.support.served_page import ServedPage
from tests.support.written_log import WrittenLog, add_frame, written_log

SHARP, MISSED = FocusVerdict.SHARP, FocusVerdict.MISSED


def test_a_frame_that_comes_in_meanwhile_is_told_to_all_who_look_on(
    page: ServedPage, written: WrittenLog, tmp_path: Path
) -> None:
    viewers = [page.looking_on() for _ in range(5)]
    for viewer in viewers:
        viewer.until("large", "MISSED 0.3 mm")
    add_frame(written, 3, SHARP, READING, tmp_path / "picture.jpg")
    for viewer in viewers:
        state = viewer.until("large", "SHARP")
        assert state["frame"] == written.frame_ids[3] and state["sentence"] == "", "a good word says all"
        assert page.get(f"picture/{state['frame']}").status == 200
        viewer.close()


def test_before_the_first_frame_and_without_a_log_the_page_says_so(tmp_path: Path, photograph: Path) -> None:
    with ServedPage(tmp_path / "late.db") as page, page.looking_on() as viewer:
        while "There is no log at" not in (state := viewer.next() or {})["sentence"]:
            assert state["large"] == "NO FRAME"
        assert state["sentence"].startswith("There is no log at late.db"), "where it lies is no onlooker's business"
        assert state["frame"] == ""
        log = written_log(tmp_path / "late.db", REVISION, READING, (SHARP,), photograph)
        assert viewer.until("large", "SHARP")["sentence"] == ""
        log.close()


def test_a_log_that_goes_away_leaves_the_last_word_with_the_trouble_under_it(
    page: ServedPage, written: WrittenLog, tmp_path: Path
) -> None:
    with page.looking_on() as viewer:
        viewer.until("large", "MISSED 0.3 mm")
        (tmp_path / "log.db").rename(tmp_path / "away.db")
        state = viewer.next() or {}
        assert state["large"] == "MISSED 0.3 mm" and "There is no log at" in state["sentence"]
        (tmp_path / "away.db").rename(tmp_path / "log.db")
        assert "There is no log" not in (viewer.next() or {})["sentence"]
