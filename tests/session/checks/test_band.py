"""The shutter's shadow: found on any side, measured to a percent, told from what looks like one."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from made_pictures import blurred, coded, moved, photograph, relit, shadowed

from session.checks import band
from session.checks.material import Material, pair
from session.checks.shadow import SIDES, Band
from session.setup import Region

Make = Callable[..., Material]
SIZE = (768, 512)
NAMES = ("coffee.png", "camera.png", "astronaut.png")


def held_against(material: Make, light: np.ndarray, reference: np.ndarray, **options: object) -> Band | None:
    frame = material(coded(light, seed=1), **options)
    return band.find(frame, pair(frame, material(coded(reference), "reference.jpg")), 1 / 500)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize(("share", "ev"), [(0.03, 1.0), (0.05, 5.0), (0.33, 6.0), (0.85, 5.0)])
def test_hard_shadow_is_found_with_its_share(material: Make, side: str, share: float, ev: float) -> None:
    light = photograph("coffee.png", SIZE)
    found = held_against(material, shadowed(light, side, share, ev), light)
    assert found is not None
    assert found.side == side
    assert found.share == pytest.approx(share, abs=0.01)
    assert found.lost_share == pytest.approx(share, abs=0.01)
    if share > 0.03:
        assert found.ev == pytest.approx(ev, abs=0.5)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("softness", [0.02, 0.06, 0.12])
def test_soft_edge_of_a_long_flash_ends_where_the_flash_didnt_reach(material: Make, name: str, softness: float) -> None:
    """Light grows as 1 − exp(−y/y₀) from the row that the curtain had covered when the flash fired; half of it is
    reached y₀·ln 2 further (two-curtain model, derived)."""
    light = photograph(name, SIZE)
    found = held_against(material, shadowed(light, "bottom", 0.3, 5.5, softness), light)
    assert found is not None
    assert found.share == pytest.approx(0.3, abs=0.01)
    assert found.lost_share == pytest.approx(0.3 + softness * np.log(2), abs=0.015)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    "change",
    ["nothing", "gradient", "brighter", "darker", "moved", "soft", "stripes", "table edge", "light from below"],
)
def test_what_is_no_shadow_is_not_flagged(material: Make, name: str, change: str) -> None:
    light = 0.6 * photograph(name, SIZE)
    if change == "stripes":
        light = light * np.where(np.arange(512) % 64 < 32, 1.0, 0.2)[:, None]
    if change == "table edge":
        light[360:] *= 0.03
    other = {
        "gradient": lambda: relit(light, across_ev=1.5, down_ev=-2.0),
        "brighter": lambda: relit(light, 0.7),
        "darker": lambda: relit(light, -3.0),
        "moved": lambda: moved(light, 22.0, -18.0, 1.0),
        "soft": lambda: blurred(light, 6.0),
        "table edge": lambda: moved(light, 3.0, 7.0),
        "light from below": lambda: relit(light, -0.5, down_ev=3.0),
    }.get(change, lambda: light)()
    assert held_against(material, other, light) is None


def test_shadow_on_a_moved_and_relit_piece_is_found(material: Make) -> None:
    light = photograph("coffee.png", SIZE)
    other = shadowed(relit(moved(light, 14.0, -11.0), -0.4, across_ev=1.0), "bottom", 0.2, 5.0, 0.02)
    found = held_against(material, other, light)
    assert found is not None
    assert (found.side, found.share) == ("bottom", pytest.approx(0.2, abs=0.01))


def test_missing_flash_all_over_is_no_band(material: Make) -> None:
    light = photograph("coffee.png", SIZE)
    assert held_against(material, relit(light, -6.0), light) is None


def alone(material: Make, light: np.ndarray, exposure_s: float | None = 1 / 500) -> Band | None:
    return band.find(material(coded(light, seed=1)), None, exposure_s)


@pytest.mark.parametrize("name", ["coffee.png", "astronaut.png", "chelsea.png", "page.png", "coins.png"])
def test_photograph_without_reference_is_not_flagged(material: Make, name: str) -> None:
    assert alone(material, photograph(name, SIZE)) is None


def test_dark_table_edge_and_gradient_background_are_not_flagged_without_reference(material: Make) -> None:
    """A white piece before a plain wall over a dark table, and a wall that goes from white to black."""
    wall = np.full((512, 768), 0.5)
    wall[330:] = 0.01
    wall[120:420, 300:460] = 0.7
    assert alone(material, wall) is None
    falling = 0.6 * 2.0 ** (-8 * np.clip((np.arange(512) - 150) / 220, 0, 1))[:, None] * np.ones((1, 768))
    assert alone(material, falling) is None


def test_level_stripes_are_not_flagged_without_reference(material: Make) -> None:
    stripes = np.where(np.arange(512) % 128 < 64, 0.5, 0.05)[:, None] * (1 + 0.4 * photograph("camera.png", SIZE))
    assert alone(material, stripes) is None


@pytest.mark.parametrize("share", [0.1, 0.43])
def test_shadow_across_a_pattern_is_found_without_reference(material: Make, share: float) -> None:
    """Upright strokes, as of lettering or type, that go on into the shadow."""
    rng = np.random.default_rng(3)
    strokes = np.repeat(rng.uniform(0.1, 0.6, 96), 8)[None] * np.ones((512, 1))
    strokes *= np.exp(0.1 * rng.standard_normal((512, 768)))
    found = alone(material, shadowed(strokes, "bottom", share, 5.0, 0.02))
    assert found is not None
    assert (found.side, found.share) == ("bottom", pytest.approx(share, abs=0.015))


def test_exposure_time_that_any_shutter_syncs_excludes_a_band_without_reference(material: Make) -> None:
    strokes = np.repeat(np.random.default_rng(3).uniform(0.1, 0.6, 96), 8)[None] * np.ones((512, 1))
    shaded = shadowed(strokes, "bottom", 0.3, 5.0, 0.02)
    assert alone(material, shaded, 1 / 500) is not None
    assert alone(material, shaded, 1 / 30) is None


def test_finding_gives_share_side_and_remedy() -> None:
    (finding,) = band.findings(Band("bottom", 0.433, 0.483, 6.0))
    assert (finding.id, finding.value, finding.unit) == ("band", 0.433, "share of the frame")
    assert (
        finding.text == "A dark band along the bottom: 43 % of the frame without flash, 48 % lost half of it or more."
    )
    assert finding.remedy is not None


def test_band_over_the_region_is_known() -> None:
    region = Region(0.3, 0.4, 0.4, 0.2)
    assert band.covers(Band("bottom", 0.3, 0.45, 6.0), region)
    assert not band.covers(Band("bottom", 0.3, 0.35, 6.0), region)
    assert band.covers(Band("left", 0.3, 0.35, 6.0), region)
    assert not band.covers(Band("top", 0.3, 0.35, 6.0), region)


@pytest.mark.parametrize(("side", "down_px"), [("top", 13.0), ("bottom", -13.0)])
def test_narrow_shadow_on_rows_that_the_reference_does_not_show_is_found(
    material: Make, side: str, down_px: float
) -> None:
    """3 % of 512 rows are 15; the picture moved by 13, so that the reference shows two of them."""
    light = photograph("coffee.png", SIZE)
    found = held_against(material, shadowed(moved(light, 0.0, down_px), side, 0.03, 2.0), light)
    assert found is not None and found.side == side
    assert found.share == pytest.approx(0.03, abs=0.01)
