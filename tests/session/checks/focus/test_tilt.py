"""The tilt of a flat piece: parabolas made by hand, and frames of the simulated camera with its own perspective."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from mock_camera.body.encode import encode_jpeg
from mock_camera.table.world import World
from session.checks.focus import tilt
from session.checks.focus.region import TileBlurs, measure
from session.checks.focus.tilt import TUKEY, Tilt, blur_slope
from session.checks.judge.all_checks import judge
from session.checks.judge.examined import Examined
from session.checks.material.checked_picture import Pair, gather, pair
from session.frame.finding import CheckId, Level
from session.frame.ports import Assignment
from session.set.setup import Arrangement, Region, Revision, Settings
from tests.support.still_life import shot

PIXELS, F_NUMBER = (768, 512), 4.0
REVISION = Revision(
    region=Region(0.08, 0.1, 0.84, 0.8),
    arrangement=Arrangement(magnification=1.0),
    settings=Settings(f_number=F_NUMBER),
)


def tiles(growth: float, direction_deg: float, *, line_px: float = 0.0, sd_px: float = 0.3, seed: int = 1) -> TileBlurs:
    """A field of 9 by 6 tiles, 100 px apart, whose blur grows by so much from a line, with chance of that deviation."""
    places = np.array([(100.0 * x, 100.0 * y) for x in range(9) for y in range(6)])
    angle = math.radians(direction_deg)
    across = (places - places.mean(axis=0)) @ (math.cos(angle), math.sin(angle)) - line_px
    off = np.random.default_rng(seed).normal(0, sd_px, len(places))
    return TileBlurs(places, growth * np.abs(across) + off, np.full(len(places), sd_px))


@pytest.mark.parametrize(("growth", "direction_deg", "line_px"), [(0.01, 0, 0), (0.006, 70, 120), (0.008, 135, -200)])
def test_growth_and_direction_of_a_lean_are_found_among_chance(growth, direction_deg, line_px):
    found = blur_slope(tiles(growth, direction_deg, line_px=line_px))
    assert found is not None
    assert found.growth == pytest.approx(growth, abs=3 * found.growth_sd)
    assert found.growth == pytest.approx(growth, rel=0.15)
    told_deg = math.degrees(math.atan2(*found.direction[::-1])) % 180
    assert abs((told_deg - direction_deg + 90) % 180 - 90) <= 10
    angle = math.radians(direction_deg)
    places = tiles(growth, direction_deg).centres_px
    across = (places - places.mean(axis=0)) @ (math.cos(angle), math.sin(angle))
    farthest = np.abs(across - line_px).max()
    assert found.ends_px == pytest.approx((farthest, np.ptp(across)), rel=0.15)


def test_a_lean_without_chance_is_as_sure_as_the_tiles_deviations_make_a_parabola():
    """numpy's own polynomial fit, each place weighed by 1/sd: that of r² is 2·r·sd, of r below sd as if r were sd."""
    field = tiles(0.01, 0, line_px=30.0, sd_px=0.0)
    told = blur_slope(replace(field, sd_px=np.full(54, 0.3)))
    across = field.centres_px[:, 0] - field.centres_px[:, 0].mean()
    sd = 2 * np.maximum(field.radius_px, 0.3) * 0.3
    (curve, slope, _), covariance = np.polyfit(across, field.radius_px**2, 2, w=1 / sd, cov="unscaled")
    assert told is not None
    assert told.growth == pytest.approx(math.sqrt(curve)) == pytest.approx(0.01)
    assert told.growth_sd == pytest.approx(math.sqrt(covariance[0, 0]) / (2 * 0.01), rel=1e-6)
    assert told.ends_px == pytest.approx((400 + slope / -2 / curve, 800))
    assert told.ends_px == pytest.approx((430, 800))


@pytest.mark.parametrize("direction_deg", range(0, 180, 5))
def test_each_of_the_directions_that_are_tried_is_told_to_the_degree(direction_deg):
    told = blur_slope(replace(tiles(0.01, direction_deg, sd_px=0.0), sd_px=np.full(54, 0.3)))
    assert told is not None
    assert math.degrees(math.atan2(*told.direction[::-1])) == pytest.approx(direction_deg, abs=1e-6)
    assert told.growth == pytest.approx(0.01)


@pytest.mark.parametrize("seed", range(40))
def test_chance_and_relief_focused_elsewhere_make_no_lean(seed):
    assert blur_slope(tiles(0.0, 0, seed=seed)) is None
    places, chance = tiles(0, 0).centres_px, np.random.default_rng([9, seed])
    # a wedge of relief: blur² changes in proportion to the height, from sharper to blurrier; and heights of any kind
    wedge = 0.01 * places[:, 0] - 4 + chance.normal(0, 0.3, len(places))
    steps = chance.choice([-3.0, 0.0, 3.0], len(places)) + chance.normal(0, 0.3, len(places))
    for squared in (wedge, steps):
        radius = np.sign(squared) * np.sqrt(np.abs(squared))
        assert blur_slope(TileBlurs(places, radius, np.full(len(places), 0.3))) is None


def test_too_few_tiles_or_tiles_that_tell_nothing_make_no_lean():
    whole = tiles(0.01, 0)
    few = TileBlurs(whole.centres_px[:8], whole.radius_px[:8], whole.sd_px[:8])
    assert blur_slope(few) is None
    assert blur_slope(replace(whole, sd_px=np.full(54, math.inf))) is None
    in_a_row = replace(whole, centres_px=whole.centres_px * (0, 0))
    assert blur_slope(in_a_row) is None


def frames(folder: Path, piece: str, tilt_deg: float, raised_deg: float, focus_mm: float = 0.0) -> Pair:
    """A frame of the piece as it leans, and the reference of it square."""
    world = World(seed=41, pixels=PIXELS, piece=piece)
    world.do("light", name="key", power_ev=-5.4)

    def taken(number: int):
        one = shot(f_number=F_NUMBER, number=number)
        path = folder / f"{number}.jpg"
        path.write_bytes(encode_jpeg(world.expose(one, 100.0 * number), one))
        return gather(str(path), PIXELS[0])

    reference = taken(1)
    world.do("lean", tilt_deg=tilt_deg, raised_deg=raised_deg)
    world.do("turn_focus", mm=focus_mm)
    return pair(taken(2), reference)


def told(both: Pair, revision: Revision = REVISION, sensor_width_mm: float | None = 24.0) -> Tilt | None:
    tiles = measure(both, revision.region, revision.blur_limit_px).tiles
    return tilt.measure(both, tiles, revision, sensor_width_mm=sensor_width_mm)


def test_a_leaning_label_is_told_in_degrees_with_the_side_that_is_nearer(tmp_path):
    both = frames(tmp_path, "label", 6.0, 180.0)
    frame, reference = str(tmp_path / "2.jpg"), str(tmp_path / "1.jpg")
    assignment = replace(
        Assignment("f", frame, "jpeg", REVISION, {}, flash_used=False, reference_path=reference),
        sensor_width_mm=24.0,
        pixels_across=PIXELS[0],
    )
    judgement = judge(assignment)
    assert isinstance(judgement, Examined)
    found = judgement.tilt
    assert found is not None
    assert found.tilt_deg == pytest.approx(6.0, rel=0.15)
    assert found.nearer == "left"
    # over 0.84 of 24 mm, less half a tile at each end
    assert found.apart_mm == pytest.approx(24 * 0.84 * math.tan(math.radians(6.0)), rel=0.2)
    (note,) = (one for one in judgement.findings if one.id == CheckId.SQUARE)
    assert (note.level, note.value, note.limit) == (Level.NOTE, round(found.blur_px, 1), 1.0)
    assert "the left side is nearer" in note.text and note.remedy.text.startswith("move the left side ")
    assert note.remedy.text.endswith(f"{found.apart_mm:.1f} mm away from the camera, release again")
    assert told(both, sensor_width_mm=None) is None
    assert told(both, replace(REVISION, blur_limit_px=found.blur_px * 1.05)) is None
    # the same files as parts of a picture half as wide again: as far out of square, and as many of its pixels blurred
    wider = told(pair(gather(frame, PIXELS[0] * 3 // 2), gather(reference, PIXELS[0] * 3 // 2)))
    assert wider is not None
    assert (wider.nearer, wider.tilt_deg) == ("left", pytest.approx(found.tilt_deg, rel=0.02))
    assert wider.blur_px == pytest.approx(1.5 * found.blur_px, rel=0.02)
    # three times the blur, a lean of 17°, which the drawing contradicts: then no side is named
    blurs = measure(both, REVISION.region, REVISION.blur_limit_px).tiles
    assert blurs is not None
    steep = tilt.measure(both, replace(blurs, radius_px=3 * blurs.radius_px), REVISION, sensor_width_mm=24.0)
    assert steep is not None
    assert (steep.nearer, steep.tilt_deg) == ("", pytest.approx(17.5, rel=0.15))
    impossible = replace(REVISION, arrangement=Arrangement(magnification=1.0, dioptres=4.0, gap_mm=5000.0))
    assert told(both, impossible) is None


def test_a_type_tray_focused_elsewhere_is_told_of_no_tilt(tmp_path):
    assert told(frames(tmp_path, "type", 0.0, 0.0, focus_mm=0.5)) is None


def test_a_side_that_the_drawing_does_not_tell_is_not_named():
    found = Tilt(3.04, 0.2, 95.0, "", 0.81, 1.62)
    (note,) = tilt.findings(found, 1.0)
    assert (
        note.text == "Out of square by 3.0° since the reference: lower or upper is nearer, 0.8 mm over the region; "
        "which one, this frame doesn't tell."
    )
    assert tilt.findings(None, 1.0) == ()


def test_tukeys_weights_are_nearly_as_sharp_as_least_squares() -> None:
    """Efficiency (E ψ')² / E ψ² of ψ = u·(1 − (u/c)²)² for normal errors, by an integral over the density: 95 %."""
    u = np.linspace(-TUKEY, TUKEY, 20_001)
    density = np.exp(-(u**2) / 2) / math.sqrt(2 * math.pi)
    psi = u * (1 - (u / TUKEY) ** 2) ** 2
    slope = np.gradient(psi, u)
    efficiency = np.trapezoid(slope * density, u) ** 2 / np.trapezoid(psi**2 * density, u)
    assert efficiency == pytest.approx(0.95, abs=0.001)


def drawn_larger(growth: float, seed: int, odd: int = 0) -> tuple[float, float]:
    """Growth towards 30° and its deviation, told of a field of shifts that is also moved, turned, made larger, and off
    by 0.002 mm by chance; so many of its tiles are half a millimetre off."""
    chance, angle = np.random.default_rng([7, seed]), math.radians(30)
    places = np.array([(2.0 * x, 2.0 * y) for x in range(-4, 5) for y in range(-3, 4)])
    along, beside = places @ (math.cos(angle), math.sin(angle)), places @ (-math.sin(angle), math.cos(angle))
    shifts = places * (growth * along + 0.0003 * beside + 0.002)[:, None] + (0.1, -0.2)
    shifts += 0.001 * places[:, ::-1] * (-1, 1) + chance.normal(0, 0.002, places.shape)
    shifts[chance.choice(len(places), odd, replace=False)] += 0.5
    told = tilt._growth_towards(places, shifts, (math.cos(angle), math.sin(angle)))
    assert told is not None
    return told


def test_growth_of_the_drawing_is_told_with_the_deviation_that_it_really_has() -> None:
    told = np.array([drawn_larger(0.0005, seed) for seed in range(150)])
    off = told[:, 0] - 0.0005
    assert abs(off.mean()) < 4 * off.std() / math.sqrt(150)
    # a deviation out of 150 is itself uncertain by 6 %
    assert off.std() == pytest.approx(float(np.sqrt((told[:, 1] ** 2).mean())), rel=0.18)


@pytest.mark.parametrize("odd", [3, 9])
def test_tiles_that_show_something_else_do_not_move_the_growth(odd: int) -> None:
    for seed in range(10):
        growth, sd = drawn_larger(0.0005, seed, odd)
        assert abs(growth - 0.0005) < 5 * sd
        assert sd < 5e-5
