"""Unevenness and colour that were put into photographs and into the mock camera's light, and what they must not see."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from session.checks.light import colour, evenness
from session.checks.material.checked_picture import Material, Pair, gather, pair
from session.frame.finding import Finding, Level
from session.set.setup import Region
from tests.support.made_pictures import Light, coded, jpeg_bytes, photograph, relit
from tests.support.mock_set import mock_set

SIZE = (900, 600)
MIDDLE = Region(0.35, 0.35, 0.3, 0.3)


def material(folder: Path, light: Light, tint: tuple[float, float, float] | Light = (1.0, 1.0, 1.0)) -> Material:
    """Linear light (height, width) in a tint, as a JPEG file opened by the checks."""
    rgb = light[..., None] * np.asarray(tint)
    path = folder / f"{len(list(folder.iterdir()))}.jpg"
    path.write_bytes(jpeg_bytes(coded(rgb, noise_codes=1.5, seed=len(path.name)), quality=92, subsampling=0))
    return gather(str(path))


def changed(folder: Path, before: Light, after: Light, tint: tuple[float, float, float] | Light = (1, 1, 1)) -> Pair:
    return pair(material(folder, after, tint), material(folder, before))


def even(both: Pair) -> tuple[evenness.Evenness, tuple[Finding, ...]]:
    found = evenness.against_reference(both)
    assert found is not None
    return found, evenness.findings(found)


@pytest.mark.parametrize(("across_ev", "down_ev"), [(1.2, 0.0), (-0.8, 0.3), (0.2, 0.9)])
def test_fall_off_to_a_side_is_measured_in_ev(tmp_path: Path, across_ev: float, down_ev: float) -> None:
    picture = photograph("coffee.png", SIZE) * 0.4
    found, said = even(changed(tmp_path, picture, relit(picture, -0.2, across_ev, down_ev)))
    assert (found.across_ev, found.down_ev) == pytest.approx((across_ev, down_ev), abs=0.1)
    assert said[0].level is Level.CAUTION
    side = ("left" if across_ev > 0 else "right") if abs(across_ev) > abs(down_ev) else "top"
    assert f"falls off to the {side}" in said[0].text


def test_dark_centre_of_a_ring_light_is_measured_in_ev(tmp_path: Path) -> None:
    """A Gaussian hole of 1.2 EV: with radii up to 0.4 half sides against beyond 0.75, half a stop or more is left."""
    picture = photograph("coins.png", SIZE) * 0.5
    rows, columns = np.mgrid[-1 : 1 : SIZE[1] * 1j, -1 : 1 : SIZE[0] * 1j]
    hole = 1.2 * np.exp(-(rows**2 + columns**2) / (2 * 0.4**2))
    found, said = even(changed(tmp_path, picture, picture * 2.0**-hole))
    inner = np.hypot(rows, columns) < 0.4
    expected = -float(np.median(hole[inner]) - np.median(hole[np.hypot(rows, columns) > 0.75]))
    assert found.centre_ev == pytest.approx(expected, abs=0.2)
    assert "centre is" in said[0].text
    assert "darker" in said[0].text


def test_hot_spot_is_told_with_its_place(tmp_path: Path) -> None:
    picture = photograph("brick.png", SIZE) * 0.1
    rows, columns = np.mgrid[: SIZE[1], : SIZE[0]]
    spot = 2.5 * np.exp(-((rows - 150) ** 2 + (columns - 700) ** 2) / (2 * 60.0**2))
    found, said = even(changed(tmp_path, picture, picture * 2.0**spot))
    assert found.hot_spot_at == pytest.approx((700 / 900, 150 / 600), abs=0.1)
    assert "hot spot" in said[0].text


def test_plain_surface_shows_its_unevenness_without_a_reference_as_a_note(tmp_path: Path) -> None:
    card = relit(np.full((SIZE[1], SIZE[0]), 0.18), 0.0, 1.0)
    found = evenness.alone(material(tmp_path, card))
    assert found is not None
    assert found.across_ev == pytest.approx(1.0, abs=0.05)
    assert [finding.level for finding in evenness.findings(found)] == [Level.NOTE]


@pytest.mark.parametrize("name", ["coffee.png", "coins.png", "brick.png", "camera.png"])
def test_picture_of_things_claims_no_unevenness_without_a_reference(tmp_path: Path, name: str) -> None:
    assert evenness.alone(material(tmp_path, photograph(name, SIZE))) is None


def test_colour_of_a_grey_patch_is_what_the_standard_formula_says(tmp_path: Path) -> None:
    """Linear grey 0.18 against red +10 % and blue −10 %, brought to the same luminance: worked out by scikit-image."""
    from skimage.color import deltaE_ciede2000, rgb2lab

    tint = np.array([1.1, 1.0, 0.9])
    weights = np.array([0.2126, 0.7152, 0.0722])
    level = np.full((SIZE[1], SIZE[0]), 0.18)
    found = colour.measure(changed(tmp_path, level, level, tuple(tint)), MIDDLE)
    codes = [1.055 * value ** (1 / 2.4) - 0.055 for value in (np.full(3, 0.18), 0.18 * tint / float(weights @ tint))]
    expected = float(deltaE_ciede2000(rgb2lab(codes[0][None, None]), rgb2lab(codes[1][None, None]))[0, 0])
    assert found is not None
    assert found.difference == pytest.approx(expected, abs=0.3)
    assert found.warmer_ev == pytest.approx(math.log2(1.1 / 0.9), abs=0.02)
    assert "warmer" in colour.findings(found)[0].text


@pytest.mark.parametrize("ev", [-1.0, 1.0])
def test_brightness_alone_is_no_change_of_colour(tmp_path: Path, ev: float) -> None:
    picture = photograph("coffee.png", SIZE) * 0.4
    found = colour.measure(changed(tmp_path, picture, picture * 2**ev), MIDDLE)
    assert found is not None
    assert found.difference < 1.0
    assert colour.findings(found) == ()


def test_lamp_light_in_the_shadows_is_suspected_as_mixed_light(tmp_path: Path) -> None:
    """A lamp 1.65 EV warmer than the flash, red to blue, adds 0.04 everywhere: most in the shadows."""
    rows = np.linspace(0.08, 0.5, SIZE[1])[:, None] * np.ones((1, SIZE[0]))
    lit = rows * (0.8 + 0.2 * photograph("brick.png", SIZE))
    lamp = 0.04 * np.array([1.77, 1.0, 1 / 1.77]) / lit[..., None]
    warmer = np.log2((1 + lamp[..., 0]) / (1 + lamp[..., 2]))
    low, high = np.quantile(lit, (1 / 3, 2 / 3))
    found = colour.measure(changed(tmp_path, lit, lit, 1 + lamp), MIDDLE)
    assert found is not None
    expected = np.median(warmer[lit <= low]) - np.median(warmer[lit >= high])
    assert found.shadows_ev == pytest.approx(expected, abs=0.05)
    assert any("Mixed light?" in finding.text for finding in colour.findings(found))


@pytest.mark.parametrize("piece", ["bridge", "type"])
def test_same_set_untouched_relit_or_moved_a_little_gives_no_caution(tmp_path: Path, piece: str) -> None:
    made = mock_set(tmp_path, 311, piece)
    reference = made.frame()
    acts: tuple[dict[str, Any], ...] = (
        {},
        {"azimuth_deg": 55.0, "elevation_deg": 40.0},
        {"azimuth_deg": 45.0, "elevation_deg": 45.0, "power_ev": -3.0},
    )
    for act in acts:
        made.light(**act)
        both = made.against(reference)
        assert evenness.findings(evenness.against_reference(both)) == ()
        assert colour.findings(colour.measure(both, made.region)) == ()


def test_tinted_light_of_the_mock_camera_is_a_change_of_colour(tmp_path: Path) -> None:
    made = mock_set(tmp_path, 312)
    reference = made.frame()
    made.light(red=0.88, blue=1.12)
    found = colour.measure(made.against(reference), made.region)
    assert found is not None
    assert found.warmer_ev == pytest.approx(math.log2(0.88 / 1.12), abs=0.05)
    assert "cooler" in colour.findings(found)[0].text


PATCH = Region(0.04, 0.76, 0.15, 0.2)


def with_card(light: np.ndarray, grey: float) -> np.ndarray:
    """A picture with a grey card of that linear tone laid over the patch."""
    out = light.copy()
    out[round(0.74 * SIZE[1]) : round(0.98 * SIZE[1]), round(0.02 * SIZE[0]) : round(0.21 * SIZE[0])] = grey
    return out


def test_grey_patch_tells_the_light_where_the_piece_itself_changed_its_colour(tmp_path: Path) -> None:
    """The middle turns redder, as another piece would be; the card in the corner stays grey, and so the light is."""
    picture = with_card(photograph("coffee.png", SIZE) * 0.4, 0.18)
    tint = np.ones((SIZE[1], SIZE[0], 3))
    tint[SIZE[1] // 4 : 3 * SIZE[1] // 4, SIZE[0] // 4 : 3 * SIZE[0] // 4] = (1.3, 1.0, 0.8)
    both = changed(tmp_path, picture, picture, tint)
    of_region, of_patch = colour.measure(both, MIDDLE), colour.measure(both, MIDDLE, PATCH)
    assert of_region is not None and of_region.difference > 3.0 and not of_region.on_patch
    assert of_patch is not None and of_patch.difference < 1.0 and of_patch.on_patch


def test_tinted_light_on_the_grey_patch_is_said_of_the_patch(tmp_path: Path) -> None:
    picture = with_card(photograph("coffee.png", SIZE) * 0.4, 0.18)
    found = colour.measure(changed(tmp_path, picture, picture, (1.2, 1.0, 0.8)), MIDDLE, PATCH)
    assert found is not None and found.on_patch
    assert found.warmer_ev == pytest.approx(math.log2(1.2 / 0.8), abs=0.03)
    assert colour.findings(found)[0].text.startswith("The grey patch's colour is")


@pytest.mark.parametrize("tones", [(0.18, None), (None, 0.18)], ids=["taken away", "put in"])
def test_card_that_only_one_picture_shows_is_not_held_against_what_lay_under_it(
    tmp_path: Path, tones: tuple[float | None, float | None]
) -> None:
    ground = np.full((SIZE[1], SIZE[0]), 0.05) * (0.8 + 0.4 * photograph("brick.png", SIZE))
    before, now = (with_card(ground, grey) if grey else ground for grey in tones)
    found = colour.measure(changed(tmp_path, before, now), MIDDLE, PATCH)
    assert found is not None and not found.on_patch


@pytest.mark.parametrize("grey", [0.0002, 1.2], ids=["too dark", "burnt out"])
def test_patch_that_shows_no_colour_leaves_it_to_the_region(tmp_path: Path, grey: float) -> None:
    picture = with_card(photograph("coffee.png", SIZE) * 0.4, grey)
    found = colour.measure(changed(tmp_path, picture, picture), MIDDLE, PATCH)
    assert found is not None and not found.on_patch
