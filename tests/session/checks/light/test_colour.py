"""Colour that was put into photographs and into the mock camera's light, and what must not be seen as such."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from session.checks.light import colour, evenness
from session.checks.light.colour import Colour
from session.checks.material.check_limits import COLOUR_DE2000, MIXED_LIGHT_EV
from session.frame.finding import CheckId, Level
from session.set.setup import Region
from tests.support.made_pictures import photograph
from tests.support.mock_set import mock_set
from tests.support.tinted_pairs import changed

SIZE = (900, 600)
MIDDLE = Region(0.35, 0.35, 0.3, 0.3)


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


DE, MIXED = float(COLOUR_DE2000), float(MIXED_LIGHT_EV)


@pytest.mark.parametrize(
    ("found", "told"),
    [
        (None, []),
        (Colour(DE, 0.2, None), []),
        (Colour(DE + 0.01, 0.2, None), [CheckId.COLOUR]),
        (Colour(0.0, 0.0, MIXED), []),
        (Colour(0.0, 0.0, -MIXED - 0.01), [CheckId.MIXED_LIGHT]),
        (Colour(9.0, -0.5, 0.9), [CheckId.COLOUR, CheckId.MIXED_LIGHT]),
    ],
    ids=["not told", "just within", "just beyond", "mixed just within", "mixed just beyond", "both"],
)
def test_colour_and_mixed_light_are_told_just_beyond_their_limits(found: Colour | None, told: list[CheckId]) -> None:
    findings = colour.findings(found)
    assert [one.id for one in findings] == told
    assert all(one.level is Level.CAUTION and one.remedy is not None for one in findings)


@pytest.mark.parametrize(
    ("found", "text"),
    [
        (Colour(5.25, 0.4, None), "The region's colour is ΔE 5.2 off the reference, warmer."),
        (Colour(5.25, -0.4, None, True), "The grey patch's colour is ΔE 5.2 off the reference, cooler."),
        (Colour(0, 0, 0.75), "Mixed light? Dark parts have become warmer against light ones, by 0.75 EV."),
        (Colour(0, 0, -0.75), "Mixed light? Dark parts have become cooler against light ones, by 0.75 EV."),
    ],
)
def test_which_way_the_colour_went_is_said_in_words(found: Colour, text: str) -> None:
    assert colour.findings(found)[0].text == text
