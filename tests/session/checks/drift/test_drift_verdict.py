"""Shift, turn and scale against what was done to photographs by scipy, and what moved: all, or the piece alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy import ndimage

from session.checks.drift.drift_verdict import Drift, WhatMoved, findings, measure
from session.checks.material.checked_picture import gather, pair
from session.frame.finding import Level
from session.set.setup import Region, Revision
from tests.support.made_pictures import Light, coded, jpeg_bytes, moved, photograph, relit

SIZE = (900, 600)
MIDDLE = Region(0.35, 0.35, 0.3, 0.3)
PieceSet = tuple[Light, Light, Light]


def drift_of(folder: Path, reference: Light, frame: Light) -> Drift | None:
    """Both pictures with noise through JPEG files, as the checks get them."""
    materials = []
    for name, light in (("reference", reference), ("frame", frame)):
        path = folder / f"{name}.jpg"
        path.write_bytes(jpeg_bytes(coded(light, noise_codes=2.0, seed=len(name)), quality=90))
        materials.append(gather(str(path)))
    return measure(pair(materials[1], materials[0]), MIDDLE)


@pytest.mark.parametrize("name", ["coffee.png", "coins.png", "astronaut.png"])
@pytest.mark.parametrize(
    ("right", "down", "turn_deg", "ev", "across_ev"),
    [
        (0.0, 0.0, 0.0, 0.0, 0.0),
        (3.3, -2.6, 0.2, 1.0, 0.0),
        (-38.0, 17.5, 1.4, -1.0, 1.0),
        (45.0, -30.0, -3.0, 0.5, 0.0),
    ],
)
def test_shift_to_5_percent_and_turn_to_3_degrees_are_found_to_a_tenth_of_a_pixel(
    tmp_path: Path, name: str, right: float, down: float, turn_deg: float, ev: float, across_ev: float
) -> None:
    picture = photograph(name, SIZE) * 0.5
    found = drift_of(tmp_path, picture, relit(moved(picture, right, down, turn_deg), ev, across_ev))
    assert found is not None
    assert (found.right_px, found.down_px) == pytest.approx((right, down), abs=0.1)
    # 0.02° and 0.0003 move the corners of the picture, 540 px from its middle, by under 0.2 px
    assert found.rotation_deg == pytest.approx(turn_deg, abs=0.02)
    assert found.scale == pytest.approx(1.0, abs=3e-4)


def test_scale_is_found_with_its_sign(tmp_path: Path) -> None:
    """Enlarged about the middle by 1.5 % by scipy."""
    picture = photograph("coffee.png", SIZE)
    centre = (np.array(picture.shape) - 1) / 2
    grown = ndimage.affine_transform(
        picture, np.eye(2) / 1.015, offset=centre - centre / 1.015, order=3, mode="reflect"
    )
    found = drift_of(tmp_path, picture, grown)
    assert found is not None
    assert found.scale == pytest.approx(1.015, abs=3e-4)
    said = findings(found, Revision())
    assert [finding.level for finding in said] == [Level.NOTE]
    assert "1.5 % larger" in said[0].text


@pytest.fixture
def piece_on_table() -> Callable[[float, float, float], Light]:
    """A round piece (a photograph) on a table (another), laid a little to the right, down and turned."""
    table, piece = photograph("brick.png", SIZE), photograph("coffee.png", SIZE)
    rows, columns = np.mgrid[: SIZE[1], : SIZE[0]]
    mask = (np.hypot(rows - SIZE[1] / 2, columns - SIZE[0] / 2) < 190).astype(float)

    def laid(right: float = 0.0, down: float = 0.0, turn_deg: float = 0.0, kind: str = "coffee.png") -> Light:
        top = moved(piece if kind == "coffee.png" else photograph(kind, SIZE), right, down, turn_deg)
        cover = np.clip(moved(mask, right, down, turn_deg), 0, 1)
        return cover * top + (1 - cover) * table

    return laid


def test_piece_that_moved_alone_is_told_from_a_bumped_tripod(tmp_path: Path, piece_on_table) -> None:
    found = drift_of(tmp_path, piece_on_table(), piece_on_table(14.0, -9.0, 0.5))
    assert found is not None
    assert found.moved is WhatMoved.PIECE
    assert (found.right_px, found.down_px) == pytest.approx((14.0, -9.0), abs=0.5)
    said = findings(found, Revision(), mm_per_px=0.01)
    assert said[0].text.startswith("The piece moved: 14 px (0.1 mm) right, 9 px (0.09 mm) up")


def test_bumped_tripod_moves_piece_and_table(tmp_path: Path, piece_on_table) -> None:
    found = drift_of(tmp_path, piece_on_table(), moved(piece_on_table(), 26.0, 9.0, 0.5))
    assert found is not None
    assert found.moved is WhatMoved.WHOLE
    said = findings(found, Revision())
    assert said[0].level is Level.CAUTION
    assert "bumped" in said[0].text


def test_another_piece_on_the_same_table_is_a_changed_piece(tmp_path: Path, piece_on_table) -> None:
    found = drift_of(tmp_path, piece_on_table(), piece_on_table(kind="coins.png"))
    assert found is not None
    assert found.moved is WhatMoved.CHANGED
    assert [finding.level for finding in findings(found, Revision())] == [Level.NOTE]


def test_piece_before_an_empty_background_is_camera_or_piece(tmp_path: Path) -> None:
    picture = np.full((SIZE[1], SIZE[0]), 0.4)
    picture[200:400, 300:600] = photograph("coffee.png", SIZE)[200:400, 300:600]
    found = drift_of(tmp_path, picture, moved(picture, 11.0, 4.0))
    assert found is not None
    assert found.moved is WhatMoved.UNKNOWN
    assert (found.right_px, found.down_px) == pytest.approx((11.0, 4.0), abs=0.5)


def test_nothing_is_said_of_a_frame_like_its_reference_however_it_is_lit(tmp_path: Path) -> None:
    picture = photograph("coffee.png", SIZE) * 0.5
    for light in (picture, relit(picture, 1.0), relit(picture, -1.0), relit(picture, 0.0, 2.0, -1.0)):
        found = drift_of(tmp_path, picture, light)
        assert found is not None
        assert findings(found, Revision()) == ()


@pytest.mark.parametrize("other", ["empty", "another picture", "another size"])
def test_pictures_without_anything_in_common_give_no_drift(tmp_path: Path, other: str) -> None:
    picture = photograph("coffee.png", SIZE)
    frame = {
        "empty": np.full_like(picture, 0.3),
        "another picture": photograph("coins.png", SIZE),
        "another size": photograph("coffee.png", (1200, 800)),
    }[other]
    assert drift_of(tmp_path, picture, frame) is None
    assert findings(None, Revision()) == ()
