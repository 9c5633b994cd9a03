"""A build focused to a ratio, against thin-lens arithmetic by hand; and focused farther away for room."""

import math
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.plan.arrangements import Build, builds
from session.plan.mounting import LEAST_RATIO, Mounted, focus_farther, mount_build
from session.plan.wish import NoPlanError
from session.set.kit import ExtensionTube, KitLacksError, Lens, ReversingRing
from tests.support.plan_kits import BODY, FULL_KIT, LENSES, unit_focusing

CLOSE_UP = unit_focusing("100 thin", 100, 1.0)  # moves as a whole, pupils of one size, planes that touch
PLAIN = Build(BODY, CLOSE_UP)
EVERY_BUILD = [build for build in builds(FULL_KIT) if build.ring is None]


@settings(max_examples=25)
@given(st.floats(LEAST_RATIO, 1.0))
def test_a_thin_lens_stands_where_the_lens_equation_puts_it(ratio: float) -> None:
    mounted = mount_build(PLAIN, ratio)
    object_mm, image_mm = 100 * (1 + 1 / ratio), 100 * (1 + ratio)
    assert 1 / object_mm + 1 / image_mm == pytest.approx(1 / 100)
    assert mounted.magnification == pytest.approx(ratio)
    assert mounted.track_mm == pytest.approx(object_mm + image_mm)
    # 0.9·100 + 20 mm long, so the rim is 110 + 44 − 100 = 54 mm before the principal plane at infinity, and stays there
    assert mounted.working_distance_mm == pytest.approx(object_mm - 54)


@pytest.mark.parametrize("ratio", [1.0001, 2.0, 50.0])
def test_beyond_its_reach_it_stops_at_the_closest(ratio: float) -> None:
    assert mount_build(PLAIN, ratio).magnification == pytest.approx(1.0)


def test_a_tube_adds_its_length_over_the_focal_length_to_the_ratio() -> None:
    tube = ExtensionTube(name="50", extension_mm=50)
    assert mount_build(Build(BODY, CLOSE_UP, tubes=(tube,)), 9.0).magnification == pytest.approx(1.5)
    assert mount_build(Build(BODY, CLOSE_UP, tubes=(tube,)), 0.1).magnification == pytest.approx(0.5)  # never less


@settings(max_examples=25)
@given(st.sampled_from(EVERY_BUILD), st.floats(0.02, 3.0))
def test_room_grows_smaller_as_the_picture_grows_larger(build: Build, ratio: float) -> None:
    try:
        small, large = mount_build(build, ratio), mount_build(build, ratio * 1.2)
    except ValueError:
        return
    if small.working_distance_mm is not None and large.working_distance_mm is not None:
        assert large.working_distance_mm <= small.working_distance_mm
    assert small.magnification <= large.magnification * (1 + 1e-9)


def test_every_build_of_the_kit_shows_what_it_says_it_does() -> None:
    compared = 0
    for build, wanted in product(EVERY_BUILD, (0.1, 0.5, 1.0)):
        try:
            mounted = mount_build(build, wanted)
        except ValueError:
            continue
        compared += 1
        assert build.ratio(mounted.own_ratio) == pytest.approx(mounted.magnification)
        assert mounted.lens.magnification == pytest.approx(mounted.magnification, rel=1e-6)
        assert 0 <= mounted.own_ratio <= build.lens.closest_magnification
    assert compared > 300


@settings(max_examples=25)
@given(st.floats(0.1, 1.0), st.floats(1.0, 1.5))
def test_moved_back_leaves_just_the_room_that_was_asked(ratio: float, times: float) -> None:
    near = mount_build(PLAIN, ratio)
    assert near.working_distance_mm is not None
    room_mm = near.working_distance_mm * times
    back = focus_farther(near, room_mm)
    assert back is not None
    assert back.working_distance_mm is not None
    assert back.working_distance_mm == pytest.approx(room_mm, rel=1e-6)
    assert back.working_distance_mm >= room_mm or back.working_distance_mm == pytest.approx(room_mm, rel=1e-9)
    assert back.magnification <= near.magnification


def test_what_cannot_go_so_far_back_is_not_moved() -> None:
    tubes = Build(BODY, CLOSE_UP, tubes=(ExtensionTube(name="50", extension_mm=50),))
    near = mount_build(tubes, 1.0)
    farthest = mount_build(tubes, 0.0)
    assert farthest.working_distance_mm is not None
    assert focus_farther(near, farthest.working_distance_mm + 1) is None
    assert focus_farther(near, farthest.working_distance_mm - 1) is not None
    assert focus_farther(mount_build(PLAIN, 1.0), 100 * (1 + 1.2 / LEAST_RATIO)) is None  # no close-up picture any more


@pytest.mark.parametrize("room_mm", [0.0, 10.0])
def test_where_the_room_is_not_known_nothing_is_moved(room_mm: float) -> None:
    lens = Lens(name="bare", focal_length_mm=100, closest_magnification=1)
    near = mount_build(Build(BODY.model_copy(update={"flange_distance_mm": None}), lens), 1.0)
    assert (near.working_distance_mm, near.track_mm) == (None, None)
    assert focus_farther(near, room_mm) is None


def test_no_close_up_picture_is_refused_in_a_sentence() -> None:
    far = Lens(name="far", focal_length_mm=50)
    with pytest.raises(NoPlanError, match=r"it forms no close-up picture: closest_magnification isn't known\."):
        mount_build(Build(BODY, far), 0.5)
    ring = ReversingRing(name="ring", extension_mm=5)
    long = unit_focusing("long", 400, 0.2)
    with pytest.raises(NoPlanError, match=r"it forms no close-up picture: the lens is too long to be reversed"):
        mount_build(Build(BODY, long, ring=ring), 0.5)
    with pytest.raises(KitLacksError, match=r"the kit lacks flange_distance_mm of full, or where 50 looks out from\."):
        mount_build(Build(BODY.model_copy(update={"flange_distance_mm": None}), LENSES[2], ring=ring), 0.5)


@pytest.mark.parametrize("focal_mm", [24.0, 35.0, 50.0])
def test_a_reversed_lens_has_one_ratio_and_more_the_shorter_it_is(focal_mm: float) -> None:
    def reversed_of(length_mm: float) -> Mounted:
        ring = ReversingRing(name="ring", extension_mm=5)
        return mount_build(Build(BODY, unit_focusing("any", length_mm, 0.2), ring=ring), 0.1)

    mounted = reversed_of(focal_mm)
    assert mounted.arrangement.reversed
    assert mounted.magnification == reversed_of(focal_mm).magnification > reversed_of(focal_mm + 5).magnification
    assert mounted.working_distance_mm is not None
    assert math.isfinite(mounted.working_distance_mm)
