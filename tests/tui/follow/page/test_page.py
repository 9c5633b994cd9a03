"""What a tablet gets: the words, the pictures and nothing from elsewhere, over a real log that grows meanwhile."""

from __future__ import annotations

from pathlib import Path

from tests.support.served_page import ServedPage
from tests.support.written_log import WrittenLog


def test_the_newest_frame_stands_there_with_the_word_of_the_bench(page: ServedPage) -> None:
    with page.looking_on() as viewer:
        state = viewer.until("large", "MISSED 0.3 mm")
    assert state["tone"] == "stop"
    assert state["sentence"].startswith("Frame 2, missed: blur")
    assert state["progress"] == "frame 2 · barrel 6 of 24 · three-quarter"
    assert state["region"] == [0.4, 0.4, 0.2, 0.2]


def test_a_picture_that_is_gone_is_one_sentence(page: ServedPage, written: WrittenLog, tmp_path: Path) -> None:
    (tmp_path / "picture.jpg.2.jpg").unlink()
    page.looking_on().until("large", "MISSED 0.3 mm")
    answer = page.get(f"picture/{written.frame_ids[2]}")
    assert answer.status == 422 and answer.text == "The file can't be read: No such file or directory.\n"
    assert str(tmp_path) not in answer.text, "where things lie is nobody's business"
