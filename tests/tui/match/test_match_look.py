"""What the log tells of a reshoot: the reference of the piece, or of another one."""

from __future__ import annotations

from dataclasses import replace

from tests.support.reshoot_screen import reshoot_screen
from tests.support.running_screen import LARGE
from tests.support.written_log import WrittenLog


async def test_the_reference_of_another_piece_stands_beside_a_new_one(written: WrittenLog) -> None:
    other = written.log.open_place(written.place.job, "barrel 7", "three-quarter")
    async with reshoot_screen(replace(written, place=other), LARGE) as at:
        assert "REFERENCE 1 · barrel 6 of 24" in at.text
