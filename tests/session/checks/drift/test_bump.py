"""A bumped camera told from a moved piece on the simulated camera, by what shows around the piece.

The simulated piece takes its table along; a piece that moved alone is put together from two frames, the piece of the
one on the table of the other. Seeds 501 to 503 were looked at while this was made; here run others.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from mock_camera.table.world import World
from session.checks.drift.drift_verdict import WhatMoved, findings, measure
from session.checks.material.check_limits import BUMP_PX
from session.checks.material.checked_picture import gather, pair
from session.frame.finding import Level
from session.set.setup import DEFAULT_BLUR_LIMIT_PX, Region, Revision
from tests.support.mock_set import SIZE, MockSet
from tui.words.check_lines import check_line

RATIO = 0.35
MM_PER_PX = 24.0 / SIZE[0] / RATIO
PIECE = (0.478, 0.562, 0.205)
"""Middle and radius of the round piece at that ratio, in shares of width, height and width."""

Moved = tuple[float, float, float]


@pytest.fixture(params=[601, 602, 603])
def made(request: pytest.FixtureRequest, tmp_path: Path) -> MockSet:
    world = World(seed=request.param, pixels=SIZE, piece="bridge")
    world.do("arrangement", magnification=RATIO)
    told: Any = world.state()["region"]
    x, y, w, h = told
    return MockSet(tmp_path, world, Region(x / SIZE[0], y / SIZE[1], w / SIZE[0], h / SIZE[1]))


def laid_over(reference: Path, shifted: Path, right_px: float, down_px: float) -> Path:
    """The piece of the one picture on the table of the other."""
    table, piece = (np.asarray(Image.open(path), np.float32) for path in (reference, shifted))
    rows, columns = np.mgrid[: SIZE[1], : SIZE[0]]
    away = np.hypot(columns - PIECE[0] * SIZE[0] - right_px, rows - PIECE[1] * SIZE[1] - down_px)
    cover = np.clip(PIECE[2] * SIZE[0] - away, 0, 1)[..., None].astype(np.float32)
    mixed = (cover * piece + (1 - cover) * table).round().astype(np.uint8)
    path = shifted.with_name("moved.jpg")
    Image.fromarray(mixed).save(path, quality=92)
    return path


def test_a_bump_of_five_pixels_is_the_camera_s_and_one_of_one_is_not_told(made: MockSet) -> None:
    reference = made.frame()
    for right_px, down_px, told in ((1.0, 0.0, False), (3.0, -4.0, True), (0.0, 12.0, True)):
        made.world.do("move_camera", right_mm=right_px * MM_PER_PX, down_mm=down_px * MM_PER_PX)
        found = measure(made.against(reference), made.region)
        made.world.do("move_camera", right_mm=-right_px * MM_PER_PX, down_mm=-down_px * MM_PER_PX)
        assert found is not None and found.rim is not None
        assert found.rim.corner_px == pytest.approx(np.hypot(right_px, down_px), abs=0.5)
        said = findings(found, Revision(region=made.region), MM_PER_PX)
        assert [finding.level for finding in said] == ([Level.CAUTION] if told else [])
        if told:
            assert check_line(said[0]) == "CAMERA MOVED" and said[0].limit == BUMP_PX


def test_a_piece_that_moved_alone_is_no_bump(made: MockSet) -> None:
    first = made.path()
    reference = gather(str(first), SIZE[0])
    for right_px, down_px in ((6.0, 0.0), (-20.0, 9.0), (45.0, 0.0)):
        made.world.do("shift_piece", right_mm=right_px * MM_PER_PX, down_mm=down_px * MM_PER_PX)
        frame = laid_over(first, made.path(), right_px, down_px)
        made.world.do("shift_piece", right_mm=-right_px * MM_PER_PX, down_mm=-down_px * MM_PER_PX)
        found = measure(pair(gather(str(frame), SIZE[0]), reference), made.region)
        assert found is not None
        assert not (found.rim and found.rim.bumped)
        said = findings(found, Revision(region=made.region), MM_PER_PX)
        assert "CAMERA MOVED" not in {check_line(finding) for finding in said}
        if abs(right_px) > 40:
            assert found.moved is WhatMoved.PIECE and check_line(said[0]) == "PIECE MOVED"


def test_refocusing_relighting_and_releasing_again_are_no_bump(made: MockSet) -> None:
    reference = made.frame()
    for do, values in (
        ("touch", {"strength_um": 0.0}),
        ("turn_focus", {"mm": 1.0}),
        ("light", {"name": "key", "azimuth_deg": 75.0, "elevation_deg": 35.0}),
        ("light", {"name": "key", "power_ev": -4.0}),
    ):
        made.world.do(do, **values)
        found = measure(made.against(reference), made.region)
        assert found is None or not (found.rim and found.rim.bumped), do


def test_while_a_set_is_built_again_a_difference_is_a_task(made: MockSet) -> None:
    reference = made.frame()
    made.world.do("move_camera", right_mm=8.0 * MM_PER_PX)
    found = measure(made.against(reference), made.region)
    assert found is not None
    (said,) = findings(found, Revision(region=made.region), MM_PER_PX, building=True)
    # the camera went 8 px · 0.0446 mm = 0.36 mm to the right, and goes back to the left
    assert said.text == "Move the camera 0.4 mm left."
    assert check_line(said) == "CAMERA 0.4 mm LEFT"


@pytest.mark.parametrize("piece", ["bridge", "type"])
@pytest.mark.parametrize("depths", [-2.0, 1.0, 3.0])
def test_refocusing_changes_the_size_as_the_optics_predict_and_is_no_bump(
    tmp_path: Path, piece: str, depths: float
) -> None:
    """The ring turned by depths of field at 1:1 and f/11: a size that changes about the middle shifts nothing.

    A thin lens of 100 mm whose sensor side moves: m' = f / (f/m + δ), and by pupils of one size all of the picture goes
    by (1 + m') / (1 + m). The depth is 2·N·(1 + m)·c/m², c twice the blur limit. Handbook forms.
    """
    world = World(seed=604, pixels=SIZE, piece=piece)
    told: Any = world.state()["region"]
    x, y, w, h = told
    made = MockSet(tmp_path, world, Region(x / SIZE[0], y / SIZE[1], w / SIZE[0], h / SIZE[1]))
    reference = made.frame()
    away_mm = depths * 2 * 22 * 2 * DEFAULT_BLUR_LIMIT_PX * 24.0 / SIZE[0]
    world.do("turn_focus", to_mm=away_mm)
    found = measure(made.against(reference), made.region)
    assert found is not None and found.rim is not None
    assert found.scale == pytest.approx((1 + 100 / (100 + away_mm)) / 2, abs=5e-4)
    assert not found.rim.bumped and found.rim.corner_px < BUMP_PX / 2
    assert {check_line(one) for one in findings(found, Revision(region=made.region), 24.0 / SIZE[0])} == {
        "SIZE CHANGED"
    }
