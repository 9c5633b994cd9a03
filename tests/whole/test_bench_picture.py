"""The README's picture of the bench shows what the demo shows today: the demo is played again, the text compared."""

from __future__ import annotations

import re
from pathlib import Path

from tests.support.bench_picture import PICTURE, TITLE, demo_screen
from tests.support.screen_picture import screen_in, svg_of, text_of

RENEW = "write the picture anew: .venv/bin/python -m tests.support.bench_picture"


def test_the_picture_of_the_bench_reads_as_the_demo_does_today(tmp_path: Path) -> None:
    screen = demo_screen(tmp_path)
    assert screen_in(svg_of(screen, TITLE)) == screen
    shown, today = (text_of(one) for one in (screen_in(PICTURE.read_text(encoding="utf-8")), screen))
    assert [without_count(row) for row in shown] == [without_count(row) for row in today], RENEW


def without_count(row: str) -> str:
    """A row without the number of frames that the card takes: it follows the JPEG encoder's and numpy's versions."""
    return re.sub(r"card \d+$", "card", row)
