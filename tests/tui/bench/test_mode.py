"""A draft that waits to be kept: escape, the mouse and the program's end leave everything as it was."""

from __future__ import annotations

from typing import cast
from unittest.mock import Mock

import pytest

from session.set.setup import Region
from tui.bench.mode import BenchPort, Draft


@pytest.fixture
def bench() -> Mock:
    return Mock(spec=BenchPort)


def test_escape_ends_the_mode_and_gives_the_controller_nothing(bench: Mock) -> None:
    Draft(cast(BenchPort, bench)).act_cancel("escape")
    bench.begin.assert_called_once_with(None)
    bench.post.assert_not_called()


def test_a_draft_without_a_region_shows_the_set_ups_own_and_takes_none_of_the_mouse(bench: Mock) -> None:
    draft = Draft(cast(BenchPort, bench))
    draft.drag(Region(0.1, 0.1, 0.2, 0.2))
    draft.let_go()
    assert draft.region() is None
    bench.post.assert_not_called()
    bench.begin.assert_not_called()
