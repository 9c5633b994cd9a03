"""Where a light went, told before posts whose cast shadows are traced here: a place is dark where, along the way to the
light, a post stands higher than the ray."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from session.match.laid_picture import LaidPicture
from session.match.light_match import LightAlone, alone
from session.match.light_place import LightPlace, Solos, where_it_stands
from session.set.setup import PlacedLight

SHAPE, MM_PER_PX, POST_MM = (480, 720), 0.1, 2.0
KEY, FILL = PlacedLight("key", -2.0, None, 50.0, 40.0), PlacedLight("fill", -2.0, None, -60.0, 35.0)


def posts() -> np.ndarray:
    """(height, width) mm: posts of 2 mm on a level table."""
    chance, heights = np.random.default_rng(4), np.zeros(SHAPE)
    for top, left in zip(chance.integers(0, 440, 60), chance.integers(0, 680, 60), strict=True):
        heights[top : top + 25, left : left + 25] = POST_MM
    return heights


def under(light: PlacedLight, ev: float = 0.0) -> LaidPicture:
    """The posts under parallel light: level faces get sin e, and a twentieth by way of the room where it is dark."""
    heights = posts()
    around, up = math.radians(light.azimuth_deg or 0), math.radians(light.elevation_deg or 0)
    towards = (
        -math.sin(around),
        math.cos(around),
    )  # right and down in the picture, for a light to the left and before it
    dark = np.zeros(SHAPE, bool)
    for step in range(1, math.ceil(POST_MM / math.tan(up) / MM_PER_PX) + 1):
        right, down = (round(step * one) for one in towards)
        between = np.roll(heights, (-down, -right), (0, 1))
        dark |= between > heights + step * MM_PER_PX * math.tan(up)
    lit = 0.3 * math.sin(up) * np.where(dark, 0.05, 1.0) * 2.0**ev
    return LaidPicture(np.stack([lit.astype(np.float32)] * 3), np.ones(SHAPE, bool))


THEN = {"key": under(KEY), "fill": under(FILL)}


def found(now: LaidPicture, view_down_deg: float | None = 90.0) -> LightAlone:
    return alone("key", THEN, None, now, None, (KEY, FILL), 72.0, view_down_deg)


@pytest.mark.parametrize(("higher", "told"), [(8.0, 8.0), (-8.0, -8.0), (15.0, 10.0)])
def test_shadows_that_all_shrink_or_grow_tell_a_light_higher_or_lower(higher: float, told: float) -> None:
    """No more than 10° at once."""
    place = found(under(replace(KEY, elevation_deg=40.0 + higher))).place
    assert (place.clockwise_deg, place.turned) == (0.0, True)
    assert place.higher_deg == pytest.approx(told, abs=0.5)


def test_where_the_power_too_is_wrong_shadows_tell_the_way_and_not_how_far() -> None:
    place = found(under(replace(KEY, elevation_deg=48.0), ev=-0.5)).place
    assert place.higher_deg == pytest.approx(5.0) and place.clockwise_deg == 0.0


@pytest.mark.parametrize("clockwise", [12.0, -12.0])
def test_of_shadows_that_only_moved_no_way_is_told_by_two_lights(clockwise: float) -> None:
    place = found(under(replace(KEY, azimuth_deg=50.0 + clockwise))).place
    assert place.turned and (place.clockwise_deg, place.higher_deg) == (None, None)


def test_power_moves_no_shadow_and_a_camera_that_looks_aside_is_told_no_height() -> None:
    weaker = found(under(KEY, ev=-0.7))
    assert not weaker.place.elsewhere and weaker.level_ev == pytest.approx(-0.7, abs=0.01)
    higher = under(replace(KEY, elevation_deg=48.0))
    for down_deg in (45.0, None):
        place = found(higher, down_deg).place
        assert place.turned and place.higher_deg is None


def by_falloff(azimuth_deg: float, elevation_deg: float, unsure: float) -> LightPlace:
    """The place told of a key at 450 mm that went there, by ln E rising 3·l / d for each mm towards the light.

    unsure  gloss of its own in each of 4 by 6 parts of the picture, ln of light
    """
    light = replace(KEY, distance_mm=450.0)
    right_mm, down_mm = (24 * MM_PER_PX * at for at in np.meshgrid(np.arange(30), np.arange(20)))
    was, now = (
        np.array([-math.sin(around), math.cos(around)]) * math.cos(up)
        for around, up in np.radians([(50.0, 40.0), (azimuth_deg, elevation_deg)])
    )
    slope = 3 * (now - was) / 450.0
    level = math.log(math.sin(math.radians(elevation_deg)) / math.sin(math.radians(40.0)))
    gloss = np.kron(np.random.default_rng(3).normal(0, unsure, (4, 6)), np.ones((5, 5)))
    change = level + slope[0] * (right_mm - right_mm.mean()) + slope[1] * (down_mm - down_mm.mean()) + gloss
    seen = LaidPicture(np.ones((3, *SHAPE), np.float32), np.ones(SHAPE, bool))
    return where_it_stands("key", Solos({"key": seen}, seen, None, None), (light,), change, 72.0, 90.0)


@pytest.mark.parametrize(("unsure", "told"), [(0.0, (10.0, 12.5)), (0.012, (2.0, 8.0))])
def test_a_turn_that_the_falloff_tells_unsurely_is_told_for_the_less(unsure: float, told: tuple[float, float]) -> None:
    place = by_falloff(62.0, 40.0, unsure)
    assert place.clockwise_deg is not None and told[0] <= place.clockwise_deg <= told[1]


def test_a_height_told_unsurely_shrinks_more_than_a_turn_around_since_heights_are_set_nearer() -> None:
    sure, unsure = by_falloff(50.0, 50.0, 0.0), by_falloff(50.0, 50.0, 0.008)
    assert sure.higher_deg == pytest.approx(10.0, abs=1.0)
    around = by_falloff(64.0, 40.0, 0.008).clockwise_deg
    assert unsure.higher_deg is not None and around is not None
    assert 0 < unsure.higher_deg / 10.0 < around / 14.0 < 1


def test_of_an_unsure_turn_no_more_than_ten_degrees_is_asked_for_at_once() -> None:
    assert by_falloff(80.0, 40.0, 0.02).clockwise_deg == 10.0
    assert by_falloff(80.0, 40.0, 0.0).clockwise_deg == pytest.approx(30.0, abs=2.0)


@pytest.mark.parametrize("asked_mm", [300.0, 450.0, 900.0])
def test_a_light_at_the_distance_that_a_substitute_asks_for_stands_where_it_is_wanted(asked_mm: float) -> None:
    """ln E rises by 3·l / d for each mm towards the light, as bright by its power; 10° higher is told from there."""
    light = replace(KEY, distance_mm=600.0)
    right_mm, down_mm = (24 * MM_PER_PX * at for at in np.meshgrid(np.arange(30), np.arange(20)))

    def told(elevation_deg: float) -> LightPlace:
        way = np.array([-math.sin(math.radians(50.0)), math.cos(math.radians(50.0))])
        along_then, along_now = (way * math.cos(math.radians(up)) for up in (40.0, elevation_deg))
        slope = 3 * (along_now / asked_mm - along_then / 600.0)
        level = math.log(math.sin(math.radians(elevation_deg)) / math.sin(math.radians(40.0)))
        change = level + slope[0] * (right_mm - right_mm.mean()) + slope[1] * (down_mm - down_mm.mean())
        seen = LaidPicture(np.ones((3, *SHAPE), np.float32), np.ones(SHAPE, bool))
        solos = Solos({"key": seen}, seen, None, None)
        return where_it_stands("key", solos, (light,), change, 72.0, 90.0, asked_mm)

    assert not told(40.0).elsewhere
    assert told(50.0).higher_deg == pytest.approx(10.0, abs=1.0)


@pytest.mark.parametrize(("clockwise", "unsure"), [(70.0, 0.0), (70.0, 0.016), (70.0, 0.02), (55.0, 0.012)])
def test_a_falloff_that_tells_more_than_any_lights_turn_is_told_as_none_however_unsure(
    clockwise: float, unsure: float
) -> None:
    place = by_falloff(50.0 + clockwise, 40.0, unsure)
    assert place.clockwise_deg is None and place.turned
