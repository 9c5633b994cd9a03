"""Pictures are cut in one thread of their own: one that hangs holds up neither words nor the end."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.served_page import limited
from tests.support.written_log import WrittenLog
from tui.follow.page import page_pictures


def test_a_picture_that_hangs_holds_up_neither_words_nor_the_end(
    still_log: WrittenLog, still_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import threading

    for_ever = threading.Event()
    monkeypatch.setattr(page_pictures, "make", lambda wanted: for_ever.wait() and page_pictures.Cut(b"", ""))
    try:
        with limited(still_folder, picture_s=0.2) as page:
            page.looking_on().until("large", "SHARP")
            answer = page.get(f"picture/{still_log.frame_ids[1]}")
            assert answer.status == 503 and answer.text == "The picture takes too long to be read.\n"
            with page.looking_on() as viewer:
                assert viewer.until("large", "SHARP")
    finally:
        for_ever.set()
