"""Another piece or view by keys, and what a new view begins from."""

from __future__ import annotations

from dataclasses import replace
from unittest.mock import Mock

import pytest

from session.frame.finding import FocusVerdict
from session.frame.states import FrameState
from session.order.client_order import Order, OrderedPiece
from session.order.order_progress import Progress, ShotFrame, ViewProgress
from storage.reading.log_reader import LogReader
from storage.reading.views import KnownView
from tests.support.memory_log import PLACE
from tests.support.played_bench import played_bench


def known_views(*views: tuple[str, str, bool]) -> Mock:
    """A log that knows these: piece, view, whether it was begun."""
    reader = Mock(spec=LogReader)
    reader.progress.return_value = None
    reader.known_views.return_value = tuple(KnownView(*view) for view in views)
    reader.frames.return_value = ()
    return reader


async def test_another_piece_is_chosen_or_named() -> None:
    reader = known_views((PLACE.piece, PLACE.view, True), ("sort tray 2", "flat", True), ("sort tray 2", "edge", False))
    async with played_bench(reader=reader) as at:

        def here() -> tuple[str, str]:
            place = at.studio.shoot.shoot_state.place
            return place.piece, place.view

        await at.press("p", "down", "enter")
        assert here() == ("sort tray 2", "flat")
        await at.press("p", "n")
        await at.type("ring 11")
        await at.press("enter")
        await at.type(" FLAT ")
        await at.press("enter")
        assert here() == ("ring 11", "FLAT")
        await at.press("p", "down", "n")
        assert "enter alone: sort tray 2" in at.text
        await at.press("enter")
        await at.type("flat")
        await at.press("enter")
        assert here() == ("sort tray 2", "flat")


@pytest.mark.parametrize(("key", "lights"), [("y", 1), ("n", 0), ("escape", None)])
async def test_a_new_view_asks_in_one_line_whether_it_begins_from_what_stands_or_from_the_camera(
    key: str, lights: int | None
) -> None:
    async with played_bench(reader=known_views((PLACE.piece, "edge", False))) as at:
        await at.frame()
        await at.press("p", "enter")
        assert "NEW VIEW" in at.text and f"{PLACE.piece} · edge" in at.text
        assert "Begin from set-up 01.1 as it is?" in at.text
        assert at.studio.shoot.shoot_state.place.view == PLACE.view
        await at.press(key)
        assert "NEW VIEW" not in at.text
        if lights is None:
            assert (at.studio.shoot.shoot_state.place.view, at.revision.setup_number) == (PLACE.view, 1)
        else:
            assert (at.studio.shoot.shoot_state.place.view, at.revision.setup_number) == ("edge", 2)
            assert len(at.revision.lights) == lights
            assert f"{PLACE.piece}, edge: set-up 02.1" in at.flat


async def test_views_of_the_order_are_told_apart_by_what_was_shot_for_them() -> None:
    shot = ShotFrame(4, FrameState.LOGGED, None, FocusVerdict.SHARP, None, measures_light=False)
    ring = OrderedPiece("ring 4", views=("front", "top", "back"))
    frames = {"front": (replace(shot, mark="hero"),), "top": (shot,), "back": ()}
    views = tuple(ViewProgress(ring, view, found) for view, found in frames.items())
    reader = known_views(*(("ring 4", view, True) for view in frames), (PLACE.piece, PLACE.view, True))
    reader.progress.return_value = Progress(Order("job", pieces=(ring,)), views)
    async with played_bench(reader=reader) as at:
        await at.press("p")
        told = [" ".join(line.split()) for line in at.text.splitlines()]
        for words in ("hero 4 ring 4 · front", "done ring 4 · top", "to go ring 4 · back"):
            assert any(words in line for line in told), words
