"""How far a hand has come, by the live picture's size: on the simulated table, whose own optics say the truth."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import UTC, datetime

import numpy as np
import pytest
from PIL import Image

from mock_camera.table.world import Shot, World
from session.optics.arrangement import bare
from session.series.live_way import LiveWay, live_way
from session.series.plane_frame import PlaneFrame, live_plane_frame

PIXELS = (768, 512)
SHOT = Shot(1 / 200, 2.8, 100, datetime(2026, 11, 2, 9, tzinfo=UTC), 1)


class Table:
    """A flat label at a ratio, seen in live view."""

    def __init__(self, magnification: float) -> None:
        self.world = World(seed=5, pixels=PIXELS, piece="label")
        self.world.do("arrangement", magnification=magnification, focal_length_mm=100.0)
        self.world.do("ambient", ev=-3)
        self.lens = bare(100, 2.8, magnification)
        self._looks = 0

    def look(self) -> PlaneFrame:
        self._looks += 1
        seen = Image.open(io.BytesIO(self.world.live_frame(SHOT, 10.0 + self._looks, size=PIXELS))).convert("L")
        return live_plane_frame(np.asarray(seen), 6000)


@pytest.fixture(scope="module")
def life_size() -> Iterator[tuple[Table, PlaneFrame]]:
    table = Table(1.0)
    yield table, table.look()


@pytest.mark.parametrize("forward_mm", [0.6, -0.4])
def test_a_rail_is_told_within_a_tenth_of_a_millimetre(life_size: tuple[Table, PlaneFrame], forward_mm: float) -> None:
    table, before = life_size
    table.world.do("move_camera", away_mm=-forward_mm)
    found = live_way(before, table.look(), table.lens, by_rail=True)
    table.world.do("move_camera", away_mm=forward_mm)
    assert found is not None
    assert found.moved_mm == pytest.approx(forward_mm, abs=0.1)
    assert abs(found.moved_mm - forward_mm) < 3 * found.sd_mm


def test_where_the_size_hardly_changes_it_cant_tell() -> None:
    table = Table(0.2)
    before = table.look()
    table.world.do("move_camera", away_mm=-0.05)
    found = live_way(before, table.look(), table.lens, by_rail=True)
    assert found is None or not found.tells(0.05)


def test_there_is_within_a_tenth_of_the_way_and_never_by_doubt_alone() -> None:
    found = LiveWay(0.82, 0.03, 0.0, 0.0, 0.1)
    assert found.tells(0.88) and found.is_there(0.88) and not found.is_there(1.0) and not found.tells(0.1)
    unsure = LiveWay(0.67, 0.22, 0.0, 0.0, 0.1)
    assert not unsure.tells(0.88) and not unsure.is_there(0.88)


def test_a_shift_that_the_way_makes_by_itself_is_taken_off_with_its_doubt() -> None:
    off = LiveWay(1.0, 0.2, 3.0, 1.0, 0.3).without(2.0, 0.0)
    assert (off.right_px, off.down_px, off.shift_sd_px) == (1.0, 1.0, pytest.approx(0.5))
