"""Letters on a surface: as high as asked, centred, mirrored on request, with the same ink however fine they are."""

import numpy as np
import pytest

from mock_camera.scene.arrays import Floats
from mock_camera.scene.grid import Crop, Placement, Pose, frame_grid
from mock_camera.scene.lettering import MASTER_PX, RIM_PX, letter_picture, lettering, reduce_letter
from mock_camera.scene.optics import FocusedLens
from mock_camera.scene.surface import Surface


def surface(width: int = 384, turn_deg: float = 0.0, height_mm: float = 0.0) -> Surface:
    grid = frame_grid(width, width * 2 // 3, 24 / width)
    pose = Pose(FocusedLens(), Placement(turn_deg=turn_deg), Placement(), 0.0)
    return Surface(grid, pose, Crop(0, 0, grid.full_width, grid.full_height), height_mm)


def drawn(
    s: Surface, text: str, at: tuple[float, float] = (0.0, 0.0), capital: float = 4.0, *, mirrored: bool = False
) -> Floats:
    part, cover = lettering(s, text, at, capital, mirrored=mirrored)
    whole = s.blank()
    whole[part] = cover
    return whole


def ink_mm2(s: Surface, cover: Floats) -> float:
    return float(cover.sum()) * s.px_mm**2


def box_mm(s: Surface, cover: Floats) -> tuple[float, float, float, float]:
    """Least and greatest x, least and greatest y of what is at least half covered."""
    inked = cover > 0.5
    return float(s.x[inked].min()), float(s.x[inked].max()), float(s.y[inked].min()), float(s.y[inked].max())


@pytest.mark.parametrize("capital_mm", [1.5, 3.0, 6.0])
def test_capitals_are_as_high_as_asked_and_stand_around_their_centre(capital_mm: float) -> None:
    s = surface()
    left, right, top, bottom = box_mm(s, drawn(s, "HE", (1.0, -0.5), capital_mm))
    assert bottom - top == pytest.approx(capital_mm, abs=2.5 * s.px_mm)
    assert (top + bottom) / 2 == pytest.approx(-0.5, abs=1.5 * s.px_mm)
    assert (left + right) / 2 == pytest.approx(1.0, abs=1.5 * s.px_mm)


def test_ink_is_the_same_at_any_turn_and_fineness() -> None:
    amounts = [ink_mm2(s, drawn(s, "AB")) for s in (surface(384), surface(768), surface(384, 30.0), surface(384, 90.0))]
    assert amounts == pytest.approx([amounts[0]] * 4, rel=0.03)


def test_twice_as_high_letters_have_four_times_the_ink() -> None:
    s = surface()
    small, large = (ink_mm2(s, drawn(s, "R", capital=mm)) for mm in (2.0, 4.0))
    assert large == pytest.approx(4 * small, rel=0.04)


def test_mirrored_letters_are_the_mirror_image() -> None:
    s = surface()
    plain, mirrored = drawn(s, "F"), drawn(s, "F", mirrored=True)
    assert np.abs(plain - mirrored[:, ::-1]).max() < 0.05
    assert np.abs(plain - mirrored).max() > 0.5


def test_what_lies_beyond_the_picture_is_cut_off_or_nothing() -> None:
    s = surface()
    edge = float(s.x.max())
    assert 0 < ink_mm2(s, drawn(s, "H", (edge, 0.0))) < ink_mm2(s, drawn(s, "H"))
    part, cover = lettering(s, "H", (1000.0, 1000.0), 4.0)
    assert cover.size == 0
    assert s.x[part].shape == cover.shape


@pytest.mark.parametrize("text", ["A", "Wide words", "§", " "])
def test_the_letter_picture_has_a_black_rim_and_fills_the_rest(text: str) -> None:
    codes = np.asarray(letter_picture(text, False))
    rim = codes.copy()
    rim[RIM_PX:-RIM_PX, RIM_PX:-RIM_PX] = 0
    assert rim.max() == 0
    inner = codes[RIM_PX:-RIM_PX, RIM_PX:-RIM_PX]
    if text.strip():
        assert all(side.max() > 0 for side in (inner[0], inner[-1], inner[:, 0], inner[:, -1]))
        assert inner.max() == 255
    if text == "A":
        assert inner.shape[0] == pytest.approx(MASTER_PX, rel=0.05)


@pytest.mark.parametrize("fewer", [1, 2, 7])
def test_averaged_down_a_letter_keeps_its_mean(fewer: int) -> None:
    whole = np.asarray(letter_picture("B", False), float)
    small = np.asarray(reduce_letter("B", False, fewer), float)
    assert small.shape == tuple(-(-side // fewer) for side in whole.shape)
    assert small.sum() * fewer**2 == pytest.approx(whole.sum(), rel=0.02)


def test_letters_too_small_for_the_pixels_are_a_grey_or_nothing() -> None:
    s = surface(48)
    cover = drawn(s, "A", capital=0.1)
    assert cover.max() < 0.6
    assert cover.min() >= 0
