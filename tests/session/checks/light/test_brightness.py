"""Brightness against the reference in stops, and clipping."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scipy import ndimage

from session.checks.light import brightness
from session.checks.material.check_limits import EXPOSURE_EV
from session.checks.material.checked_picture import Material, Pair, gather, pair
from session.frame.finding import Level
from session.picture.registration import Shift
from session.set.setup import Region
from tests.support.made_pictures import coded, moved, photograph, relit, to_codes, to_linear

Make = Callable[..., Material]
MIDDLE = Region(0.3, 0.3, 0.4, 0.4)


def against(material: Make, light: np.ndarray, reference: np.ndarray) -> brightness.Exposure:
    frame, before = material(coded(light, seed=1)), material(coded(reference), "reference.jpg")
    return brightness.measure(frame, MIDDLE, pair(frame, before))


@pytest.mark.parametrize("ev", [-3.0, -1.0, -1 / 3, 0.0, 1 / 3, 1.0])
@pytest.mark.parametrize("name", ["coffee.png", "camera.png"])
def test_known_change_of_light_is_measured_in_stops(material: Make, name: str, ev: float) -> None:
    """Light scaled by 2^EV before sRGB coding (IEC 61966-2-1)."""
    light = 0.4 * photograph(name, (720, 480))
    found = against(material, relit(light, ev), light)
    assert found.region_ev == pytest.approx(ev, abs=0.05)
    assert found.whole_ev == pytest.approx(ev, abs=0.05)


def test_moved_piece_keeps_its_brightness(material: Make) -> None:
    light = 0.5 * photograph("coffee.png", (720, 480))
    found = against(material, moved(relit(light, 0.4), 17.0, -12.0), light)
    assert found.region_ev == pytest.approx(0.4, abs=0.05)


def test_region_and_whole_are_told_apart(material: Make) -> None:
    light = 0.4 * photograph("coffee.png", (720, 480))
    changed = light.copy()
    changed[144:336, 216:504] *= 0.5
    found = against(material, changed, light)
    assert found.region_ev == pytest.approx(-1.0, abs=0.05)
    assert found.whole_ev == pytest.approx(0.0, abs=0.05)


def test_wandering_highlight_doesnt_move_the_measure(material: Make) -> None:
    light = 0.3 * photograph("coffee.png", (720, 480))
    changed = light.copy()
    changed[200:240, 300:380] = 1.0
    assert against(material, changed, light).region_ev == pytest.approx(0.0, abs=0.05)


def test_overexposed_frame_is_at_least_as_bright_as_clipping_shows(material: Make) -> None:
    """With half the blocks clipped the median is only bounded from below; it must not fall back to zero."""
    light = 0.6 * photograph("coffee.png", (720, 480))
    found = against(material, relit(light, 3.0), light)
    assert found.region_ev is not None
    assert found.region_ev > 1.0


def test_finding_says_region_first_and_how_much() -> None:
    now = brightness.Exposure(-0.61, -0.6, 0, 0, 0, 0, 0, 0)
    (finding,) = brightness.findings(now)
    assert (finding.id, finding.level, finding.value) == ("exposure", Level.CAUTION, -0.61)
    assert finding.text == "The region is 0.6 EV darker than the reference."
    (whole,) = brightness.findings(brightness.Exposure(0.1, 0.6, 0, 0, 0, 0, 0, 0))
    assert (whole.level, whole.text) == (Level.NOTE, "The picture as a whole is 0.6 EV brighter than the reference.")
    assert brightness.findings(brightness.Exposure(0.2, -0.2, 0, 0, 0, 0, 0, 0)) == ()


def test_burnt_surface_is_flagged_and_specular_points_are_not(material: Make) -> None:
    light = np.full((480, 720), 0.2)
    points, surface = light.copy(), light.copy()
    points[::24, ::24] = 1.0
    surface[200:260, 300:420] = 1.0
    sparkling = brightness.measure(material(coded(points)), MIDDLE)
    burnt = brightness.measure(material(coded(surface)), MIDDLE)
    assert sparkling.whole_surface_share == 0
    assert brightness.findings(sparkling) == ()
    assert burnt.region_clipped_share == pytest.approx(60 * 120 / (192 * 288), rel=0.05)
    (finding,) = brightness.findings(burnt)
    assert finding.id == "clipping"


def test_what_the_reference_has_burnt_too_is_no_finding(material: Make) -> None:
    light = np.full((480, 720), 0.2)
    light[200:260, 300:420] = 1.0
    burnt = brightness.measure(material(coded(light)), MIDDLE)
    assert brightness.findings(burnt, burnt) == ()


def test_clipped_pixels_are_split_into_surfaces_and_speculars_to_the_pixel(tmp_path: Path) -> None:
    """One burnt patch of 60 × 40 px and forty highlights of 3 × 3 px; scipy's binary opening gives the same patch."""
    codes = np.full((400, 600, 3), 90, np.uint8)
    codes[100:140, 200:260] = 255
    for at in range(40):
        row, column = 20 + 12 * (at // 10), 40 + 50 * (at % 10)
        row += 200
        codes[row : row + 3, column : column + 3] = 255
    path = tmp_path / "clipped.png"
    Image.fromarray(codes).save(path)
    found = brightness.measure(gather(str(path)), Region(0.0, 0.0, 1.0, 1.0))
    opened = ndimage.binary_opening(codes[..., 0] >= 253, np.ones((5, 5)))
    assert found.whole_surface_share == pytest.approx(float(opened.mean())) == pytest.approx(60 * 40 / 240_000)
    assert found.whole_specular_share == pytest.approx(40 * 9 / 240_000)


@pytest.mark.parametrize(
    ("now", "before", "told"), [(0.004, 0.0, 0), (0.006, 0.0, 1), (0.104, 0.1, 0), (0.106, 0.1, 1)]
)
def test_half_a_percent_more_burnt_than_the_reference_is_told(now: float, before: float, told: int) -> None:
    exposure = brightness.Exposure(0.0, 0.0, 0.0, now, now, 0, 0, 0)
    reference = brightness.Exposure(0.0, 0.0, 0.0, before, before, 0, 0, 0)
    found = brightness.findings(exposure, reference)
    assert all(finding.limit == pytest.approx(before + 0.005) for finding in found)
    assert bool(found) is bool(told)


def test_speculars_are_what_is_clipped_beside_the_surfaces() -> None:
    found = brightness.Exposure(None, None, None, 0.3, 0.125, 0.5, 0.25, 0.0)
    assert (found.region_specular_share, found.whole_specular_share) == (pytest.approx(0.175), 0.25)


@pytest.mark.parametrize(("side_px", "is_surface"), [(4, False), (5, True)])
@pytest.mark.parametrize("channel", [0, 1, 2])
def test_a_patch_of_five_pixels_in_any_one_colour_is_a_surface_and_a_smaller_one_isnt(
    tmp_path: Path, side_px: int, channel: int, is_surface: bool
) -> None:
    codes = np.full((256, 384, 3), 90, np.uint8)
    codes[20 : 20 + side_px, 30 : 30 + side_px, channel] = 255
    found = brightness.measure(gather(str(saved_png(tmp_path, codes))), Region())
    assert found.whole_clipped_share == pytest.approx(side_px**2 / codes[..., 0].size)
    assert bool(found.whole_surface_share) is is_surface


def saved_png(folder: Path, codes: np.ndarray, name: str = "frame.png") -> Path:
    Image.fromarray(codes).save(folder / name)
    return folder / name


@pytest.mark.parametrize(("code", "counts"), [(20, False), (21, True), (234, True), (235, False)])
def test_blocks_are_compared_between_the_darkest_and_the_brightest_code(
    tmp_path: Path, code: int, counts: bool
) -> None:
    """Most of the picture, of that code in the reference, is another in the frame; the rest stays as it was."""
    before, now = (np.full((256, 384, 3), 100, np.uint8) for _ in range(2))
    before[:, :256] = code
    now[:, :256] = 60
    frame, reference = (
        gather(str(saved_png(tmp_path, codes, name))) for codes, name in ((now, "now.png"), (before, "before.png"))
    )
    found = brightness.measure(frame, Region(), Pair(frame, reference, Shift(0.0, 0.0, 0.0)))
    assert found.whole_ev is not None
    assert (abs(found.whole_ev) > 1) is counts


@pytest.mark.parametrize(("right_px", "down_px"), [(0, 0), (40, 24), (-40, 24), (40, -24), (-48, -32)])
def test_the_region_is_compared_where_it_lies_in_the_frame_however_far_the_content_moved(
    tmp_path: Path, right_px: int, down_px: int
) -> None:
    """A frame whose light falls evenly to the right and down against an even reference: the median of the blocks of
    any rectangle is the change at its middle."""
    down, right = np.mgrid[:256, :384]
    change_ev = 0.5 - (down + 0.5) / 256 - (right + 0.5) / 384
    now = to_codes(np.repeat((to_linear(np.array([100.0]))[0] * 2.0**change_ev)[..., None], 3, axis=2))
    content = np.full((256, 384, 3), 100, np.uint8)
    frame, reference = (
        gather(str(saved_png(tmp_path, np.rint(codes).astype(np.uint8), name)))
        for codes, name in ((now, "now.png"), (content, "before.png"))
    )
    scale = reference.small_scale / reference.overview.scale
    both = Pair(frame, reference, Shift(right_px * scale, down_px * scale, 1.0))
    for left, top, width, height in ((0.25, 0.25, 0.5, 0.5), (0.375, 0.5, 0.25, 0.125), (0.5, 0.25, 0.125, 0.375)):
        found = brightness.measure(frame, Region(left, top, width, height), both)
        assert found.region_ev == pytest.approx(0.5 - (left + width / 2) - (top + height / 2), abs=0.01)
    shown_right, shown_down = (0.5 + moved_px / side_px / 2 for moved_px, side_px in ((right_px, 384), (down_px, 256)))
    assert found.whole_ev == pytest.approx(0.5 - shown_right - shown_down, abs=0.02)


LIMIT = float(EXPOSURE_EV)


@pytest.mark.parametrize(
    ("region_ev", "whole_ev", "subjects"),
    [
        (LIMIT, LIMIT, []),
        (-LIMIT, -LIMIT, []),
        (LIMIT + 0.01, 0.0, ["The region is"]),
        (-LIMIT - 0.01, 0.0, ["The region is"]),
        (0.0, LIMIT + 0.01, ["The picture as a whole is"]),
        (0.0, -LIMIT - 0.01, ["The picture as a whole is"]),
        (None, None, []),
    ],
)
def test_brightness_is_told_just_beyond_its_limit(
    region_ev: float | None, whole_ev: float | None, subjects: list[str]
) -> None:
    found = brightness.findings(brightness.Exposure(region_ev, whole_ev, 0, 0, 0, 0, 0, 0))
    assert [subject for subject in subjects if found[0].text.startswith(subject)] == subjects
    assert len(found) == len(subjects)
    for one in found:
        assert ("darker" in one.text) is (min(region_ev or 0.0, whole_ev or 0.0) < 0)


def test_what_is_burnt_beside_the_region_is_told_of_the_picture_with_or_without_a_reference() -> None:
    burnt = brightness.Exposure(None, None, None, 0.0, 0.0, 0.1, 0.1, 0.0)
    (alone,) = brightness.findings(burnt)
    assert (alone.text, alone.limit) == ("10 % of the picture is burnt out.", pytest.approx(0.005))
    (beside,) = brightness.findings(burnt, replace(burnt, whole_surface_share=0.05))
    assert beside.text == "10 % of the picture is burnt out, the reference has 5 %."
    assert beside.limit == pytest.approx(0.055)


def test_where_no_block_of_the_reference_can_be_compared_the_means_are(tmp_path: Path) -> None:
    """All of the reference under the darkest code; code 60 for 15 is 3.39 EV more light by IEC 61966-2-1."""
    frame, reference = (
        gather(str(saved_png(tmp_path, np.full((256, 384, 3), code, np.uint8), f"{code}.png"))) for code in (60, 15)
    )
    found = brightness.measure(frame, Region(), Pair(frame, reference, Shift(0.0, 0.0, 0.0)))
    assert found.whole_ev == pytest.approx(math.log2(to_linear(np.array([60.0]))[0] / to_linear(np.array([15.0]))[0]))
    assert found.region_scatter_ev == 0.0


def test_the_reference_is_named_only_where_there_is_one() -> None:
    burnt = brightness.Exposure(None, None, None, 0.1, 0.1, 0.1, 0.1, 0.0)
    (alone,), (beside,) = brightness.findings(burnt), brightness.findings(burnt, replace(burnt, region_surface_share=0))
    assert alone.text == "10 % of the region is burnt out."
    assert beside.text == "10 % of the region is burnt out, the reference has 0 %."


@pytest.mark.parametrize(("right_px", "down_px"), [(0, 0), (-9, 5), (9, -5), (280, 0), (-280, 7), (3, 200), (-3, -200)])
def test_what_both_show_is_cut_out_of_both_at_most_half_a_picture_apart(
    tmp_path: Path, right_px: int, down_px: int
) -> None:
    """The reference's content, moved: where it is still seen both cuts are alike, pixel for pixel."""
    content = np.random.default_rng(5).integers(0, 256, (256, 384)).astype(np.uint8)
    right, down = int(np.clip(right_px, -192, 192)), int(np.clip(down_px, -128, 128))
    shown = np.roll(content, (down, right), axis=(0, 1))
    frame, reference = (
        gather(str(saved_png(tmp_path, np.repeat(codes[..., None], 3, axis=2), name)))
        for codes, name in ((shown, "now.png"), (content, "before.png"))
    )
    scale = reference.small_scale / reference.overview.scale
    ours, theirs, top, left = brightness.overlap(Pair(frame, reference, Shift(right_px * scale, down_px * scale, 1.0)))
    assert ours.shape == (256 - abs(down), 384 - abs(right))
    assert (top, left) == (max(0, down), max(0, right))
    assert np.array_equal(ours, theirs)
