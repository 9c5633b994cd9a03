"""Piece, ground and shadow found on simulated pictures and drawn ones; no limit was found on these seeds."""

from __future__ import annotations

import math
import random
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter

from mock_camera.table.world import World
from session.checks.material.checked_picture import gather
from session.checks.standard.piece_on_ground import PieceOnGround, find
from session.set.client_standard import ShadowSide
from tests.support.made_pictures import to_codes
from tests.support.still_life import shot

SIZE = (768, 512)


def seen(picture: np.ndarray | Image.Image, folder: Path) -> PieceOnGround:
    path = folder / "picture.jpg"
    image = picture if isinstance(picture, Image.Image) else Image.fromarray(picture)
    image.save(path, quality=92)
    return find(gather(str(path)))


@pytest.mark.parametrize("seed", range(4101, 4105))
def test_a_movement_on_cloth_is_found_with_its_shadow_opposite_the_light(seed: int, tmp_path: Path) -> None:
    """The plate is a disc of 28 mm; the sensor is 24 × 16 mm (mock_camera.scene.bridge, mock_camera.table.world)."""
    chance = random.Random(seed)
    world = World(seed=seed, pixels=SIZE, piece="bridge")
    magnification, azimuth_deg = chance.uniform(0.16, 0.34), chance.uniform(0, 360)
    world.do("arrangement", magnification=magnification)
    for name in world.state()["lights"]:  # type: ignore[attr-defined]
        world.do("remove_light", name=name)
    world.do(
        "light",
        name="key",
        azimuth_deg=azimuth_deg,
        elevation_deg=chance.uniform(25, 50),
        distance_mm=500,
        shaper="tube",
    )
    found = seen(world.expose(shot(), 10.0).rgb, tmp_path)
    assert found.outline is not None and found.ground_ev is not None, found.reason
    wide = found.outline.right_percent - found.outline.left_percent
    high = found.outline.bottom_percent - found.outline.top_percent
    assert wide == pytest.approx(28 * magnification / 24 * 100, abs=2.5)
    assert high == pytest.approx(28 * magnification / 16 * 100, abs=4)
    right, down = -math.sin(math.radians(azimuth_deg + 180)), math.cos(math.radians(azimuth_deg + 180))
    towards = {ShadowSide.RIGHT: right, ShadowSide.LEFT: -right, ShadowSide.BELOW: down, ShadowSide.ABOVE: -down}
    for side in found.shadow_sides:
        assert towards[side] > 0, (side, azimuth_deg)


def drawn(
    *, ground: float, piece: tuple[float, float, float], box: tuple[int, int, int, int], shadow: int
) -> Image.Image:
    """A box-shaped piece on a ground whose light falls off by 0.6 EV from left to right, with a soft shadow.

    ground, piece  linear light; shadow: how far it lies to the right of the piece, px
    """
    width, height = SIZE
    mask = Image.new("L", SIZE)
    mask.paste(255, (box[0] + shadow, box[1], box[2] + shadow, box[3]))
    soft = np.asarray(mask.filter(ImageFilter.GaussianBlur(9)), np.float64)[..., None] / 255
    across = np.linspace(0.3, -0.3, width)[None, :, None]
    light = ground * 2**across * np.ones((height, width, 3)) * (1 - 0.7 * soft)
    light[box[1] : box[3], box[0] : box[2]] = piece
    noise = np.random.default_rng(box[0]).normal(0, 1.2, light.shape)
    return Image.fromarray(np.clip(np.rint(to_codes(light) + noise), 0, 255).astype(np.uint8))


@pytest.mark.parametrize(
    ("ground", "piece"), [(0.72, (0.5, 0.3, 0.05)), (0.05, (0.4, 0.4, 0.42)), (0.18, (0.6, 0.6, 0.6))]
)
def test_ground_outline_and_shadow_of_a_drawn_piece_are_measured(
    ground: float, piece: tuple[float, float, float], tmp_path: Path
) -> None:
    found = seen(drawn(ground=ground, piece=piece, box=(231, 140, 463, 402), shadow=46), tmp_path)
    assert found.outline is not None, found.reason
    told = (found.outline.left_percent, found.outline.top_percent, found.outline.right_percent)
    assert told == pytest.approx((231 / 7.68, 140 / 5.12, 463 / 7.68), abs=1.2)
    assert found.outline.bottom_percent == pytest.approx(402 / 5.12, abs=1.6)
    assert found.ground_ev == pytest.approx(math.log2(ground / 0.18), abs=0.15)
    assert found.shadow_sides == (ShadowSide.RIGHT,)


def test_a_dark_grey_piece_is_found_though_its_shadow_cant_be_told(tmp_path: Path) -> None:
    found = seen(drawn(ground=0.72, piece=(0.02, 0.02, 0.02), box=(231, 140, 463, 402), shadow=0), tmp_path)
    assert found.outline is not None and found.shadow_sides == ()
    assert found.outline.left_percent == pytest.approx(231 / 7.68, abs=4)


@pytest.mark.parametrize("piece", ["type", "card"])
@pytest.mark.parametrize("magnification", [0.27, 0.55])
def test_what_fills_the_picture_has_no_outline_and_says_why(piece: str, magnification: float, tmp_path: Path) -> None:
    world = World(seed=4120, pixels=SIZE, piece=piece)
    world.do("arrangement", magnification=magnification)
    found = seen(world.expose(shot(), 10.0).rgb, tmp_path)
    assert found.outline is None and found.shadow_sides == () and found.reason


def test_bare_ground_has_no_piece(tmp_path: Path) -> None:
    found = seen(drawn(ground=0.3, piece=(0.3, 0.3, 0.3), box=(0, 0, 0, 0), shadow=0), tmp_path)
    assert (found.outline, found.reason) == (None, "nothing stands out from the ground")
    assert found.ground_ev == pytest.approx(math.log2(0.3 / 0.18), abs=0.1)
