"""What goes into an open line, and what a paste does where none is open."""

from __future__ import annotations

from textual.events import AppBlur, Paste

from tests.support.played_bench import played_bench
from tests.support.running_screen import SMALL
from tui.screen.prompt import MOST_TYPED


async def test_a_paste_that_the_line_cant_hold_is_refused_whole_and_a_key_too_many_as_well() -> None:
    async with played_bench(size=(160, 48)) as at:
        frame_id = await at.frame()
        await at.press("n")
        at.app.post_message(Paste("y" * (MOST_TYPED - 1)))
        at.app.post_message(Paste("zz"))
        await at.settle()
        assert f"2 characters were not taken: the line holds {MOST_TYPED}, and has room for 1." in at.text
        await at.press("a", "b")
        assert f"The last key was not taken: the line holds {MOST_TYPED}, and has room for 0." in at.text
        await at.press("enter")
        assert at.row(frame_id)["notes"] == ["y" * (MOST_TYPED - 1) + "a"]


async def test_a_line_keeps_its_keys_when_another_window_had_the_focus() -> None:
    async with played_bench(size=SMALL) as at:
        frame_id = await at.frame()
        await at.press("n", "a")
        at.app.post_message(AppBlur())
        await at.settle()
        at.app.screen.set_focus(None)
        await at.press("x", "space", "h", "home", "Q", "end", "left", "delete", "enter")
        assert at.row(frame_id)["notes"] == ["Qax"]
        assert at.releases == 1 and "mark" not in at.row(frame_id)


async def test_a_paste_goes_where_the_cursor_is_and_over_what_is_selected() -> None:
    async with played_bench(size=SMALL) as at:
        frame_id = await at.frame()
        await at.press("n", "a", "b", "c", "left", "shift+left")
        at.app.post_message(Paste("é\n"))
        await at.press("enter")
        assert at.row(frame_id)["notes"] == ["aé c"]
