"""The shutter's shadow: found on any side, measured to a percent, told from what looks like one."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from session.checks.band import band_verdict as band
from session.checks.band.against_reference import LEAST_LIGHT
from session.checks.band.fit import fit_edge
from session.checks.band.shadow import SIDES, Band
from session.checks.material.check_limits import BAND_LOG_ODDS
from session.checks.material.checked_picture import Material, pair
from session.set.setup import Region
from tests.support.made_pictures import blurred, coded, moved, photograph, relit, shadowed

Make = Callable[..., Material]
SIZE = (768, 512)
NAMES = ("coffee.png", "camera.png", "astronaut.png")


def compared(material: Make, light: np.ndarray, reference: np.ndarray, **options: object) -> Band | None:
    frame = material(coded(light, seed=1), **options)
    return band.find(frame, pair(frame, material(coded(reference), "reference.jpg")), 1 / 500)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize(("share", "ev"), [(0.03, 1.0), (0.05, 5.0), (0.33, 6.0), (0.85, 5.0)])
def test_hard_shadow_is_found_with_its_share(material: Make, side: str, share: float, ev: float) -> None:
    light = photograph("coffee.png", SIZE)
    found = compared(material, shadowed(light, side, share, ev), light)
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
    found = compared(material, shadowed(light, "bottom", 0.3, 5.5, softness), light)
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
    assert compared(material, other, light) is None


@pytest.mark.parametrize("side", SIDES)
def test_narrow_shadow_before_a_nearly_black_ground_is_found(material: Make, side: str) -> None:
    """The piece in the middle fifth; the ground loses half its light and is still just told from black."""
    light = np.full((SIZE[1], SIZE[0]), 1.1 * float(LEAST_LIGHT))
    light[205:307, 307:461] = photograph("coffee.png", (154, 102))
    found = compared(material, shadowed(light, side, 0.03, 1.0), light)
    assert found is not None
    assert found.side == side
    assert found.share == pytest.approx(0.03, abs=0.01)


def test_shadow_on_a_moved_and_relit_piece_is_found(material: Make) -> None:
    light = photograph("coffee.png", SIZE)
    other = shadowed(relit(moved(light, 14.0, -11.0), -0.4, across_ev=1.0), "bottom", 0.2, 5.0, 0.02)
    found = compared(material, other, light)
    assert found is not None
    assert (found.side, found.share) == ("bottom", pytest.approx(0.2, abs=0.01))


def test_missing_flash_all_over_is_no_band(material: Make) -> None:
    light = photograph("coffee.png", SIZE)
    assert compared(material, relit(light, -6.0), light) is None


@pytest.mark.parametrize("side", SIDES)
def test_side_that_ambient_light_reaches_less_is_no_band_when_the_flash_is_missing_all_over(
    material: Make, side: str
) -> None:
    """As wood beside metal is, which takes the colour of the lamps otherwise."""
    light = photograph("coffee.png", SIZE)
    assert compared(material, shadowed(relit(light, -5.0), side, 0.12, 1.5), light) is None
    assert compared(material, shadowed(light, side, 0.12, 1.5), light) is not None


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


def test_exposure_time_well_within_the_kits_sync_excludes_a_band_without_reference(material: Make) -> None:
    strokes = np.repeat(np.random.default_rng(3).uniform(0.1, 0.6, 96), 8)[None] * np.ones((512, 1))
    shaded = material(coded(shadowed(strokes, "bottom", 0.3, 5.0, 0.02), seed=1))
    found = {exposure_s: band.find(shaded, None, exposure_s, 1 / 200) for exposure_s in (1 / 250, 1 / 160, 1 / 125)}
    assert [one is not None for one in found.values()] == [True, True, False]


def test_band_told_without_reference_says_its_doubt() -> None:
    (finding,) = band.findings(Band("bottom", 0.1, 0.1, 3.0, by_itself=True))
    assert finding.text.startswith("A dark band along the bottom, if it isn't a dark part of the set: 10 % of the ")


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
    found = compared(material, shadowed(moved(light, 0.0, down_px), side, 0.03, 2.0), light)
    assert found is not None and found.side == side
    assert found.share == pytest.approx(0.03, abs=0.01)


@pytest.mark.parametrize("side", SIDES)
def test_narrow_shadow_under_a_light_that_falls_towards_it_keeps_its_share(material: Make, side: str) -> None:
    """A gradient of 1 EV towards the side is not counted into the shadow."""
    light = photograph("coffee.png", SIZE)
    gradient = {"bottom": (0, -1), "top": (0, 1), "right": (-1, 0), "left": (1, 0)}[side]
    found = compared(material, shadowed(relit(light, -0.2, *gradient), side, 0.03, 1.0), light)
    assert found is not None and found.side == side
    assert (found.share, found.lost_share) == (pytest.approx(0.03, abs=0.01), pytest.approx(0.03, abs=0.01))
    assert found.ev == pytest.approx(1.0, abs=0.2)


@pytest.mark.parametrize(("name", "other"), [("coffee.png", "camera.png"), ("camera.png", "astronaut.png")])
def test_reference_of_another_piece_makes_no_shadow(material: Make, name: str, other: str) -> None:
    table = photograph(name, SIZE)
    table[360:] = 0.1 * photograph("rocket.jpg", SIZE)[360:]
    assert compared(material, table, photograph(other, SIZE)) is None


def test_deep_shadow_that_leaves_too_little_to_register_the_whole_is_found(material: Make) -> None:
    """A soft picture of which the right two thirds are black: only the lit part tells that it shows the same."""
    light = photograph("color.png", (1187, 1187))[320:832, 192:960]
    other = shadowed(relit(moved(light, 12.0, -6.0), -0.8), "right", 0.7, 6.0, 0.06)
    both = pair(material(coded(other, seed=1)), material(coded(light), "reference.jpg"))
    assert not both.shift.found
    found = band.find(both.frame, both, 1 / 500)
    assert found is not None and found.side == "right"
    assert found.share == pytest.approx(0.7, abs=0.01)


def burnt_out_above() -> np.ndarray:
    """A background two stops beyond white down to the middle, a piece below."""
    light = 0.5 * photograph("coffee.png", SIZE)
    light[:256] = 4.0
    return light


def test_shadow_on_a_burnt_out_background_is_found(material: Make) -> None:
    light = burnt_out_above()
    found = compared(material, shadowed(light, "top", 0.1, 4.0), light)
    assert found is not None
    assert (found.side, found.share) == ("top", pytest.approx(0.1, abs=0.01))


def test_darker_frame_whose_background_stays_burnt_out_is_no_shadow(material: Make) -> None:
    """White stays white while the piece below gets darker by a stop and a half, all along a level line."""
    light = burnt_out_above()
    assert compared(material, relit(light, -1.5), light) is None


@pytest.mark.parametrize(("begin", "soft_rows", "ev"), [(470.0, 0.0, 1.0), (350.25, 12.0, 5.0), (100.5, 30.0, 2.0)])
def test_fit_gives_back_the_edge_that_rows_were_made_with(begin: float, soft_rows: float, ev: float) -> None:
    rows = np.arange(500.0)
    into_lit = begin - rows
    lost = np.exp(-np.maximum(into_lit, 0) / soft_rows) if soft_rows else np.clip(0.5 - into_lit, 0, 1)
    profile = 0.3 - 0.001 * rows + np.log2(1 - (1 - 2.0**-ev) * lost)
    edge = fit_edge(profile, np.ones(500, bool), int(begin) + 1, int(3 * soft_rows), 500)
    assert edge is not None
    assert edge.begin == pytest.approx(begin, abs=1.0)
    # where half is lost, to half a percent of the rows
    assert edge.begin - edge.soft_rows * np.log(2) == pytest.approx(begin - soft_rows * np.log(2), abs=2.5)
    assert edge.ev == pytest.approx(ev, abs=0.15)
    assert edge.log_odds > BAND_LOG_ODDS


def test_light_that_changes_along_a_parabola_is_told_from_an_edge() -> None:
    """Cos⁴-like falling off by 2 EV over the last rows."""
    rows = np.arange(500.0)
    profile = -2.0 * (np.maximum(rows - 300, 0) / 200) ** 2
    edge = fit_edge(profile, np.ones(500, bool), 460, 40, 500)
    assert edge is None or edge.log_odds < BAND_LOG_ODDS
