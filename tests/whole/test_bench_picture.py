"""The README's picture of the bench shows what the demo shows today: the demo is played again, the text compared."""

from __future__ import annotations

import re
from pathlib import Path

from bench_picture import PICTURE, demo_screen, svg_of, text_in, text_of

RENEW = "write the picture anew: .venv/bin/python tests/support/bench_picture.py"


def test_the_picture_of_the_bench_reads_as_the_demo_does_today(tmp_path: Path) -> None:
    screen = demo_screen(tmp_path)
    assert text_in(svg_of(screen)) == text_of(screen)
    shown, today = text_in(PICTURE.read_text(encoding="utf-8")), text_of(screen)
    assert [without_count(row) for row in shown] == [without_count(row) for row in today], RENEW


def without_count(row: str) -> str:
    """A row without the number of frames that the card takes: it follows the JPEG encoder's and numpy's versions."""
    return re.sub(r"card \d+$", "card", row)
