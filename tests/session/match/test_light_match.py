"""One light against its solo of before, on a matt surface of bumps whose shading is worked out here (Lambert)."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from session.match.laid_picture import LaidPicture
from session.match.light_match import LightAlone, alone, compare_light
from session.set.setup import PlacedLight

SHAPE = (480, 720)
LIGHTS = (
    PlacedLight("key", -2.0, 500.0, 50.0, 40.0),
    PlacedLight("fill", -2.0, 500.0, -60.0, 35.0),
    PlacedLight("rim", -2.0, 500.0, 170.0, 50.0),
)


def under(light: PlacedLight, ev: float = 0.0, red: float = 1.0) -> LaidPicture:
    """The surface under parallel light from the light's direction; slopes up to 15°, no shadows."""
    chance = np.random.default_rng(2)
    slopes = [np.kron(chance.normal(0, 0.1, (20, 30)), np.ones((24, 24))) for _ in range(2)]
    albedo = np.kron(chance.uniform(0.2, 0.5, (20, 30)), np.ones((24, 24)))
    around, up = math.radians(light.azimuth_deg or 0), math.radians(light.elevation_deg or 0)
    left, front = math.sin(around) * math.cos(up), math.cos(around) * math.cos(up)
    facing = (left * slopes[0] + front * slopes[1] + math.sin(up)) / np.hypot(1, np.hypot(*slopes))
    light_on = (albedo * np.maximum(facing, 0) * 2.0**ev).astype(np.float32)
    channels = np.stack([light_on * np.float32(red), light_on, light_on])
    return LaidPicture(channels, np.ones(SHAPE, bool))


THEN = {light.name: under(light) for light in LIGHTS}


def key_alone(now: LaidPicture, then: dict[str, LaidPicture] | None = None) -> LightAlone:
    lights = [replace(one, distance_mm=None) for one in LIGHTS]
    return alone("key", then or THEN, None, now, None, lights, 48.0, 90.0)


def test_the_same_light_is_as_it_was() -> None:
    found = key_alone(under(LIGHTS[0]))
    assert (found.level_ev, found.place.elsewhere) == (0.0, False) and found.tint.difference == pytest.approx(
        0, abs=0.01
    )


def test_power_is_told_in_stops() -> None:
    found = key_alone(under(LIGHTS[0], ev=-0.7))
    assert found.level_ev == pytest.approx(-0.7, abs=0.01) and not found.place.elsewhere


@pytest.mark.parametrize(("clockwise", "higher"), [(12.0, 0.0), (-9.0, 0.0), (0.0, 8.0), (6.0, -7.0)])
def test_where_a_light_went_is_told_from_three_solos(clockwise: float, higher: float) -> None:
    """On a matt surface without shadows the sum of three is exact."""
    moved = replace(LIGHTS[0], azimuth_deg=50.0 + clockwise, elevation_deg=40.0 + higher)
    found = key_alone(under(moved))
    assert found.place.elsewhere
    assert (found.place.clockwise_deg, found.place.higher_deg) == pytest.approx((clockwise, higher), abs=1.0)


def test_where_it_went_is_not_guessed_with_its_own_solo_alone() -> None:
    moved = under(replace(LIGHTS[0], azimuth_deg=75.0))
    found = key_alone(moved, {"key": THEN["key"]})
    assert found.place.elsewhere and found.place.clockwise_deg is None


def test_a_light_that_does_not_fire_and_one_too_dark_to_tell() -> None:
    assert key_alone(under(LIGHTS[0], ev=-12.0)).absent
    dark = {"key": under(LIGHTS[0], ev=-12.0)}
    assert key_alone(under(LIGHTS[0]), dark).level_ev is None


def lit(light: float) -> LaidPicture:
    return LaidPicture(np.full((3, *SHAPE), light, np.float32), np.ones(SHAPE, bool))


@pytest.mark.parametrize(("then", "now", "due"), [(True, False, True), (False, True, False), (True, True, False)])
def test_ambient_is_taken_off_both_solos_or_neither(then: bool, now: bool, due: bool) -> None:
    """A light of 0.04 that is as it was, in ambient of 0.01: whichever ambient frames there are, it is as it was."""
    both, ambient = lit(0.05), lit(0.01)
    found = alone("rim", {"rim": both}, ambient if then else None, both, ambient if now else None, (), 48.0, 90.0)
    assert (found.level_ev, found.ambient_due) == (pytest.approx(0.0, abs=1e-6), due)


def test_a_warmer_light_is_told_by_the_colour_of_grey() -> None:
    found = key_alone(under(LIGHTS[0], red=1.1))
    assert found.tint.warmer_ev == pytest.approx(math.log2(1.1), abs=0.01) and found.tint.difference > 2


def test_all_together_is_told_by_ninths_where_both_may_be_counted() -> None:
    then, now = under(LIGHTS[0]), under(LIGHTS[0], ev=0.3)
    now.counted[:160, :240] = False
    found = compare_light(then, now)
    assert math.isnan(found.ninths_ev[0][0]) and len(found.known_ev) == 8
    assert found.known_ev == pytest.approx([0.3] * 8, abs=1e-3)


def near(light: PlacedLight, ev: float = 0.0, view_down_deg: float = 90.0) -> LaidPicture:
    """A level surface, 48 mm wide, under a point near it: E ~ cos / r², from the light's place in mm.

    Seen from the front, what lies one below the other in the picture lies farther apart on the surface.
    """
    height, width = SHAPE
    far, around, up = (
        light.distance_mm or 0,
        math.radians(light.azimuth_deg or 0),
        math.radians(light.elevation_deg or 0),
    )
    at = (-far * math.sin(around) * math.cos(up), far * math.cos(around) * math.cos(up), far * math.sin(up))
    y, x = (np.mgrid[:height, :width] + 0.5 - np.array([height / 2, width / 2])[:, None, None]) * 48.0 / width
    y = y / math.sin(math.radians(view_down_deg))
    away = (at[0] - x) ** 2 + (at[1] - y) ** 2 + at[2] ** 2
    on = (at[2] * away**-1.5 * 0.3 * 500**2 * 2.0**ev).astype(np.float32)
    return LaidPicture(np.stack([on] * 3), np.ones(SHAPE, bool))


@pytest.mark.parametrize(
    ("changes", "ev", "expected"),
    [
        ({"azimuth_deg": 62.0}, 0.0, (12.0, 0.0, None)),
        ({"azimuth_deg": 38.0}, 0.5, (-12.0, 0.0, None)),
        ({"elevation_deg": 48.0}, 0.0, (0.0, 8.0, None)),
        ({"distance_mm": 580.0}, 0.0, (0.0, 0.0, 80.0)),
        ({}, -0.8, (None, None, None)),
    ],
)
def test_where_a_near_light_went_is_told_by_its_falloff_alone(
    changes: dict[str, float], ev: float, expected: tuple[float | None, ...]
) -> None:
    old = LIGHTS[0]
    now = near(replace(old, **changes), ev)  # type: ignore[arg-type]
    found = alone("key", {"key": near(old)}, None, now, None, (old,), 48.0, 90.0)
    told = (found.place.clockwise_deg, found.place.higher_deg, found.place.farther_mm)
    for one, wanted in zip(told, expected, strict=True):
        assert one == wanted if wanted is None else one == pytest.approx(wanted, rel=0.15, abs=1.0)
    assert found.place.elsewhere is bool(changes)


@pytest.mark.parametrize("view_down_deg", [None, 20.0, 45.0, 90.0])
def test_the_falloff_tells_no_way_to_a_camera_that_does_not_look_straight_down(view_down_deg: float | None) -> None:
    old = LIGHTS[0]
    now = near(replace(old, azimuth_deg=62.0), view_down_deg=view_down_deg or 90.0)
    then = {"key": near(old, view_down_deg=view_down_deg or 90.0)}
    found = alone("key", then, None, now, None, (old,), 48.0, view_down_deg)
    same = alone("key", then, None, then["key"], None, (old,), 48.0, view_down_deg)
    assert found.place.elsewhere and not same.place.elsewhere
    if view_down_deg == 90.0:
        assert found.place.clockwise_deg == pytest.approx(12.0, abs=1.0) and not found.place.no_way
        return
    assert (found.place.clockwise_deg, found.place.higher_deg, found.place.farther_mm) == (None, None, None)
    assert ("looks down by" in found.place.no_way) is (view_down_deg is not None)


def test_at_the_least_angle_the_way_is_told_still() -> None:
    old, now = LIGHTS[0], replace(LIGHTS[0], azimuth_deg=62.0)
    pictures = [near(one, view_down_deg=75.0) for one in (old, now, replace(old, distance_mm=580.0))]
    around, farther = (alone("key", {"key": pictures[0]}, None, one, None, (old,), 48.0, 75.0) for one in pictures[1:])
    assert around.place.clockwise_deg == pytest.approx(12.0, abs=1.0) and around.place.higher_deg == pytest.approx(
        0.0, abs=1.0
    )
    assert farther.place.farther_mm == pytest.approx(80.0, rel=0.15)
