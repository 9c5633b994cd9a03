"""The demo's story at the bench, in a real terminal: a scene's outcome stands until a key asks for the next one."""

from __future__ import annotations

from pathlib import Path

from tests.support.stillset_program import StillsetHome
from tests.support.terminal_program import in_terminal

OVER = "[tab] goes on. That was: exposure time 1/500 s with a flash"


def test_the_story_waits_for_a_key_between_two_scenes(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    with in_terminal(home, "demo", columns=120, rows=40) as at:
        read = at.until("is too short for the flash. Then [f] sets 1/200 s.")
        at.press(" ")
        read = at.until("did not fire", read)
        at.press("\t")  # not while a scene runs
        at.press("f")
        read = at.until(OVER, read)
        assert "for a frame, then [c]" not in at.text
        at.press(" ")  # a frame in between changes nothing
        read = at.until("FRAME 1", read)
        assert "for a frame, then [c]" not in at.text
        at.press("\t")
        at.until("Press [space] for a frame, then [c] to take it as the reference.", read)
        at.press("\x03")
        assert at.ended() == 0
