"""Two frames compared in words: settings, lights and findings that differ, or nothing."""

from __future__ import annotations

from tests.support.at_ledger import (
    SIZES,
    looking_only,
    over_the_controller,
)
from tests.support.written_log import WrittenLog
from tui.compare.compare_screen import CompareScreen


@SIZES
async def test_two_frames_are_compared_in_settings_lights_and_findings(
    looked_back: WrittenLog, size: tuple[int, int]
) -> None:
    async with looking_only(looked_back, size) as at:
        await at.press("down", "down", "down", "b", "up", "b")  # 9, on revision 4, and 10, on revision 3
        flat = "\n".join(" ".join(line.split()) for line in at.text.split("\n"))
        assert "FRAME 9 region: 60 × 40 px ▸FRAME 10 at the same place" in flat
        for words in ("verdict missed sharp", "set-up 07.4 07.3", "light key power 1/2 (−1 EV) 1/4 (−2 EV)"):
            assert words in flat
        assert "limit of 2.0 px" in " ".join(at.text.split())
        await at.press("escape")
        assert "LEDGER" in at.text


async def test_comparing_goes_with_the_cursor_however_quickly_the_keys_come(looked_back: WrittenLog) -> None:
    async with looking_only(looked_back) as at:
        await at.pilot.press("down", "b", "down", "down", "b")  # without waiting for what is read in between
        await at.settle()
        assert "FRAME 11" in at.text and "FRAME 9" in at.text


async def test_frames_that_are_alike_say_that_nothing_differs(looked_back: WrittenLog) -> None:
    async with looking_only(looked_back) as at:
        await at.press("down", "b", "down", "down", "down", "b")  # 11 and 8: same revision, both sharp
        assert "Nothing differs in settings, lights or verdict." in at.text


async def test_a_frame_that_its_mark_takes_out_of_the_narrowed_list_tells_the_mark_and_loses_it_by_the_key_again(
    looked_back: WrittenLog,
) -> None:
    for number in (11, 12):
        looked_back.log.mark(looked_back.frame_ids[number], "select")
    async with over_the_controller(looked_back) as at:
        await at.press("l", "m", "b", "down", "b", "k")
        assert isinstance(at.app.screen, CompareScreen)
        at.app.screen.look_round()
        await at.settle()
        assert "▸FRAME 11 KILL" in at.text
        await at.press("k")
        record = looked_back.reader.frame(looked_back.frame_ids[11])
        assert record is not None and record.mark is None
