"""The region and the grey patch, moved over the picture by keys and by the mouse, and judging by them."""

from __future__ import annotations

import pytest

from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import Judgement
from session.set.setup import Region
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL
from tui.screen.picture_view import PictureView
from tui.screen.small_picture import fitted_cells
from tui.words.adjust import moved_region


async def test_the_region_is_moved_and_sized_over_the_picture_and_kept_or_not(picture: str) -> None:
    async with played_bench() as at:
        await at.frame(path=picture)
        asked, before = len(at.studio.judge.assignments), at.revision.region
        await at.press("g")
        shown = at.text
        await at.press("right", "right", "right", "down", "down", "plus", "shift+right")
        assert at.text != shown
        await at.press("escape")
        assert at.revision.region == before
        await at.press("g", "right", "enter")
        assert at.revision.region.left == pytest.approx(before.left + 0.02)
        (anew,) = at.studio.judge.assignments[asked:]
        assert anew.revision.region == at.revision.region and anew.path == picture


async def test_digits_halve_the_region_and_the_frame_on_show_is_judged_anew(picture: str) -> None:
    async with played_bench() as at:
        frame_id = await at.frame(path=picture)
        await at.press("g", "7", "3", "enter")
        assert at.revision.region == Region(0.25, 0.25, 0.25, 0.25)
        at.studio.deliver(Judgement(frame_id, (), FocusJudgement(FocusVerdict.MISSED, 7.3, 0.2, 0.31)))
        await at.tell()
        assert at.large == "MISSED 0.3 mm"
        assert "Frame 1 was judged anew with region and grey patch as they are now." in at.flat
        await at.press("G", "1", "1", "enter")
        assert at.revision.grey_patch == Region(0, 0.75, 0.25, 0.25)
        assert [one[1:] for one in at.row(frame_id)["judged anew"]] == [(Region(0.25, 0.25, 0.25, 0.25), None)]


async def test_the_grey_patch_is_marked_moved_kept_and_taken_away() -> None:
    async with played_bench() as at:
        await at.frame()
        before = at.revision.region
        await at.press("G", "up", "enter")
        assert at.revision.grey_patch == moved_region(Region(0.02, 0.86, 0.12, 0.12), 0, -1)
        assert at.revision.region == before
        await at.press("G", "delete")
        assert at.revision.grey_patch is None


@pytest.mark.parametrize("key", ["g", "G"])
@pytest.mark.parametrize("size", [SMALL, (120, 40), LARGE], ids=["80x24", "120x40", "160x48"])
async def test_the_region_is_drawn_with_the_mouse(picture: str, size: tuple[int, int], key: str) -> None:
    """The cells under the pointer, both ends whole, as fractions of the picture, which stands in the middle."""
    async with played_bench(size=size) as at:
        await at.frame(path=picture)
        view = at.app.screen.query_one(PictureView)
        assert view.picture is not None
        columns, rows = fitted_cells(view.picture, *view.size)
        left, before = (view.size.width - columns) // 2, at.revision

        async def draw(start: tuple[int, int], end: tuple[int, int]) -> None:
            await at.pilot.mouse_down(view, offset=(left + start[0], start[1]))
            await at.pilot.hover(view, offset=(left + end[0], end[1]))
            await at.pilot.mouse_up(view, offset=(left + end[0], end[1]))
            await at.settle()

        await draw((4, 2), (9, 5))
        assert at.revision == before
        await at.press(key)
        await draw((4, 2), (9, 5))
        await at.press("enter")
        drawn = at.revision.region if key == "g" else at.revision.grey_patch
        assert (drawn.left, drawn.top) == pytest.approx((4 / columns, 2 / rows))
        assert (drawn.width, drawn.height) == pytest.approx((6 / columns, 4 / rows))
