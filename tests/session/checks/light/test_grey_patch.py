"""The grey patch in stops against a right exposure, and the patches that are no plain card."""

from pathlib import Path

import numpy as np
import pytest

from session.checks.light.grey_patch import EVEN_EV, measure
from session.checks.material.checked_picture import Material
from session.set.setup import Region
from session.units.surfaces import MID_GREY
from tests.support.made_pictures import Light
from tests.support.tinted_pairs import material

PATCH = Region(0.4, 0.4, 0.2, 0.2)
HEIGHT, WIDTH = 240, 360


def scene(folder: Path, patch: Light | float, around: float = 0.6) -> Material:
    """A light ground with the patch in its middle fifth."""
    light = np.full((HEIGHT, WIDTH), around)
    light[96:144, 144:216] = patch
    return material(folder, light)


def test_without_a_patch_nothing_is_told(tmp_path: Path) -> None:
    assert measure(scene(tmp_path, MID_GREY), None) is None


@pytest.mark.parametrize("ev", [-2.5, -1.0, -0.3, 0.0, 0.3, 1.0, 2.0])
def test_a_card_is_told_in_stops_against_the_right_exposure(tmp_path: Path, ev: float) -> None:
    found = measure(scene(tmp_path, MID_GREY * 2**ev), PATCH)
    assert found == pytest.approx(ev, abs=0.04)


def test_a_right_exposure_is_code_118(tmp_path: Path) -> None:
    light = ((118 / 255 + 0.055) / 1.055) ** 2.4  # IEC 61966-2-1
    assert measure(scene(tmp_path, light), PATCH) == pytest.approx(0.0, abs=0.04)


@pytest.mark.parametrize("light", [0.0, 0.003, 0.95, 1.0])
def test_where_the_card_is_black_or_burnt_out_its_light_is_not_told(tmp_path: Path, light: float) -> None:
    assert measure(scene(tmp_path, light), PATCH) is None


@pytest.mark.parametrize(("across_ev", "told"), [(1.4 * EVEN_EV, True), (3 * EVEN_EV, False)])
def test_a_card_lit_from_one_side_is_one_up_to_a_limit(tmp_path: Path, across_ev: float, told: bool) -> None:
    """Across an even slope the middle half of the values spans half of it."""
    slope = np.tile(MID_GREY * 2.0 ** np.linspace(-across_ev / 2, across_ev / 2, 72), (48, 1))
    found = measure(scene(tmp_path, slope), PATCH)
    assert (found is not None) == told
    if found is not None:
        assert found == pytest.approx(0.0, abs=0.05)


def test_dust_on_the_card_and_its_edge_do_not_count(tmp_path: Path) -> None:
    card = np.full((48, 72), MID_GREY)
    card[:, :6] = 0.6
    card[10:14, 30:36] = 0.02
    assert measure(scene(tmp_path, card), PATCH) == pytest.approx(0.0, abs=0.04)


def test_what_lies_around_the_patch_does_not_count(tmp_path: Path) -> None:
    dark, light = (measure(scene(tmp_path, MID_GREY, around), PATCH) for around in (0.05, 0.9))
    assert dark == pytest.approx(light, abs=0.03)
