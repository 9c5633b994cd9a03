"""What the kit can be put together to: ratios and room against published values and a ray trace of two lenses."""

import math
from dataclasses import replace

import numpy as np
import pytest

from session.plan.arrangements import Build, build_like, builds
from session.plan.kit_search import rank_plans
from session.plan.mounting import focus_farther, mount_build
from session.plan.report import remarks
from session.plan.wish import Wish
from session.set.kit import Converter, ExtensionTube, Kit, Lens, ReversingRing, SupplementaryLens
from session.set.lens_in_use import lens_in_use
from tests.support.paraxial_trace import TwoLenses, refract, travel
from tests.support.plan_kits import BODY, FULL_KIT, LENSES, unit_focusing

TUBE_25 = ExtensionTube(name="25", extension_mm=25)
TRACED = TwoLenses(60, -80, 25, 20)
"""A telephoto pair: f = 106.67 mm, P = 0.627, pupils far from the principal planes."""


def traced_lens(trace: TwoLenses) -> tuple[Lens, float]:
    """That lens as the kit tells of it, mount at its last glass; and the flange distance for infinity."""
    focal = trace.focal_length_mm
    (a, _), (_, d) = trace.matrix
    gap = trace.gap_mm - focal * (1 - d) - focal * (1 - a)  # front to rear principal plane
    lens = Lens(
        name="traced", focal_length_mm=focal, pupil_magnification=trace.pupil_magnification, principal_gap_mm=gap,
        front_to_pupil_mm=trace.entrance_pupil_behind_first_mm, length_mm=trace.gap_mm,
    )  # fmt: skip
    return lens, focal * a


def test_where_the_kit_tells_only_a_lens_s_length_its_pupil_lies_where_the_traced_lens_has_it():
    lens, flange_mm = traced_lens(TRACED)
    assert lens.principal_gap_mm != 0 and lens.pupil_magnification != 1
    body = BODY.model_copy(update={"flange_distance_mm": flange_mm})
    plain = lens.model_copy(update={"front_to_pupil_mm": None})
    assert Build(body, plain).front_to_pupil_mm() == pytest.approx(TRACED.entrance_pupil_behind_first_mm)


# m0, E or D added, ratio: published forms m0 + E/f, m0 + f(1 + m0)·D/1000, k·m0 (any optics text; derived).
@pytest.mark.parametrize(
    ("lens", "added", "own", "ratio"),
    [
        (unit_focusing("50", 50, 0.15), {"tubes": (TUBE_25,)}, 0.15, 0.65),
        (unit_focusing("50", 50, 0.15), {"tubes": (TUBE_25,)}, 0, 0.5),
        # marked 100 mm, life size at a track of 300 mm: 75 mm are left, so 25 mm give 1.3333 and not 1.25
        (Lens(name="in", focal_length_mm=100, closest_magnification=1, track_mm=300), {"tubes": (TUBE_25,)}, 1, 4 / 3),
        (unit_focusing("100", 100, 0.25), {"supplementary": SupplementaryLens(name="+4", dioptres=4)}, 0, 0.4),
        (unit_focusing("100", 100, 0.5), {"converter": Converter(name="2", factor=2)}, 0.5, 1.0),
    ],
)
def test_ratio_of_what_is_added(lens, added, own, ratio):
    assert Build(BODY, lens, **added).ratio(own) == pytest.approx(ratio, rel=1e-4)


def test_a_lens_by_its_length_leaves_the_room_that_its_track_tells():
    # T = 400 mm at life size; flange 44, lens 120 mm long at infinity and 100 mm further out here: 136 mm are left
    lens = Lens(name="100", focal_length_mm=100, closest_magnification=1, track_mm=400, length_mm=120)
    found = mount_build(Build(BODY, lens), 1.0)
    assert found.working_distance_mm == pytest.approx(136)
    assert found.track_mm == pytest.approx(400)


def test_the_makers_working_distance_holds_at_the_closest_focus():
    # T = 300, flange 44, lens 120 mm as extended: 136 mm
    lens = Lens(name="in", focal_length_mm=100, closest_magnification=1, track_mm=300, closest_working_distance_mm=136)
    found = mount_build(Build(BODY, lens), 1.0)
    assert found.working_distance_mm == pytest.approx(136)
    assert found.focal_length_mm == pytest.approx(75)
    assert found.track_mm == pytest.approx(300)


@pytest.mark.parametrize("extension_mm", [20, 50, 106])
def test_room_ratio_and_track_of_a_traced_lens_on_tubes(extension_mm):
    lens, flange_mm = traced_lens(TRACED)
    body = BODY.model_copy(update={"flange_distance_mm": flange_mm})
    tube = ExtensionTube(name="tube", extension_mm=extension_mm)
    found = mount_build(Build(body, lens, tubes=(tube,)), 1.0)
    before_mm, behind_mm = TRACED.distances_mm(found.magnification)
    assert behind_mm == pytest.approx(flange_mm + extension_mm)
    assert found.working_distance_mm == pytest.approx(before_mm)
    assert found.track_mm == pytest.approx(before_mm + TRACED.gap_mm + behind_mm)


@pytest.mark.parametrize("extension_mm", [130, 160])
def test_room_ratio_and_track_of_a_traced_lens_reversed(extension_mm):
    lens, flange_mm = traced_lens(TRACED)
    body = BODY.model_copy(update={"flange_distance_mm": flange_mm})
    ring = ReversingRing(name="ring", extension_mm=extension_mm)
    found = mount_build(Build(body, lens, ring=ring), 1.0)
    before_mm, behind_mm = TRACED.reversed().distances_mm(found.magnification)
    assert behind_mm == pytest.approx(flange_mm + extension_mm)
    assert found.working_distance_mm == pytest.approx(before_mm)
    assert found.track_mm == pytest.approx(before_mm + TRACED.gap_mm + behind_mm)


def test_a_reversed_lens_costs_what_a_marginal_ray_says():
    # published trap: N(1/P + m), not N(1 + m/P) nor N(1 + mP)
    lens, flange_mm = traced_lens(TRACED)
    body = BODY.model_copy(update={"flange_distance_mm": flange_mm})
    found = mount_build(Build(body, lens, ring=ReversingRing(name="ring", extension_mm=150)), 1.0)
    back = TRACED.reversed()
    before_mm, behind_mm = back.distances_mm(found.magnification)
    _, slope = back.marginal_ray(before_mm, behind_mm, TRACED.stop_radius_mm(8))
    assert 8 * found.lens.effective_f_number == pytest.approx(abs(1 / (2 * slope)))


def with_close_up_lens_before(trace: TwoLenses, dioptres: float) -> np.ndarray:
    """Ray matrix of that system with a thin close-up lens in contact with its first glass."""
    return trace.matrix @ refract(1000 / dioptres)


@pytest.mark.parametrize(("own", "dioptres"), [(0.0, 4.0), (0.5, 4.0), (1.0, 4.0), (0.5, 2.0), (1.0, 10.0)])
@pytest.mark.parametrize("trace", [TRACED, TRACED.reversed(), TwoLenses(90, 220, 30, 10)], ids=["a", "b", "c"])
def test_ratio_room_and_light_with_a_close_up_lens_on_the_rim_are_those_of_a_ray_trace(trace, own, dioptres):
    lens, flange_mm = traced_lens(trace)
    lens = lens.model_copy(update={"closest_magnification": 1.0})
    body = BODY.model_copy(update={"flange_distance_mm": flange_mm})
    build = Build(body, lens, supplementary=SupplementaryLens(name="added", dioptres=dioptres))
    ratio = build.ratio(own)
    assert ratio is not None
    found = mount_build(build, ratio)
    _, behind_mm = trace.distances_mm(own) if own else (0, flange_mm)
    whole = with_close_up_lens_before(trace, dioptres)
    (a, _), (c, d) = whole
    ratio = float(-a - behind_mm * c)
    before_mm = float((-1 / ratio - d) / c)
    assert found.own_ratio == pytest.approx(own, abs=1e-6)
    assert found.magnification == pytest.approx(ratio, rel=1e-6)
    assert found.working_distance_mm == pytest.approx(before_mm, rel=1e-6)
    assert found.track_mm == pytest.approx(before_mm + trace.gap_mm + behind_mm, rel=1e-6)
    # the marginal ray from the piece through the stop's edge, at f/8 as marked on the lens
    to_stop = trace.before_stop @ refract(1000 / dioptres) @ travel(before_mm)
    slope = trace.stop_radius_mm(8) / to_stop[0, 1]
    _, slope_at_sensor = travel(behind_mm) @ whole @ travel(before_mm) @ np.array([0.0, slope])
    assert 8 * found.lens.effective_f_number == pytest.approx(abs(1 / (2 * slope_at_sensor)), rel=1e-6)


def test_the_set_up_of_a_plan_keeps_how_far_before_the_lens_its_close_up_lens_stands():
    lens, flange_mm = traced_lens(TRACED)
    build = Build(
        BODY.model_copy(update={"flange_distance_mm": flange_mm}),
        lens.model_copy(update={"closest_magnification": 1.0}),
        supplementary=SupplementaryLens(name="+4", dioptres=4),
    )
    found = mount_build(build, 1.0)
    kept = lens_in_use(found.arrangement, 8.0)
    _, (c, d) = TRACED.matrix
    rim_to_plane_mm = (d - 1) / c  # of the lens by itself, from its first glass
    assert found.arrangement.gap_mm == pytest.approx(rim_to_plane_mm)
    assert kept.effective_f_number == pytest.approx(8 * found.lens.effective_f_number)


def test_where_the_kit_does_not_tell_the_rim_a_close_up_lens_counts_as_touching_and_that_is_said():
    blind = Lens(name="blind", focal_length_mm=100, closest_magnification=0.25)
    kit = Kit(body=(BODY,), lens=(blind,), supplementary=(SupplementaryLens(name="+4", dioptres=4),))
    plans = rank_plans(kit, Wish(50, 50, 1, blur_radius_on_piece_mm=0.03)).plans
    (plan,) = [plan for plan in plans if plan.build.supplementary]
    assert any("+4 counts as touching" in said for said in remarks(plan))


INSIDE = Lens(
    name="inside", focal_length_mm=60, closest_magnification=1, track_mm=185, closest_working_distance_mm=48,
    widest_f_number=2.8, smallest_f_number=32,
)  # fmt: skip


@pytest.mark.parametrize("effective", [4.5, 5.0, 5.6])
def test_light_of_a_lens_that_focuses_inside_is_what_was_measured_at_its_closest_focus(effective):
    told = INSIDE.model_copy(update={"closest_effective_f_number": effective})
    build = Build(BODY, told)
    assert 2.8 * mount_build(build, 1.0).lens.effective_f_number == pytest.approx(effective)
    kept = lens_in_use(mount_build(build, 1.0).arrangement, 11.0)
    assert kept.effective_f_number == pytest.approx(11 * effective / 2.8)
    assert mount_build(build, 0.01).lens.effective_f_number == pytest.approx(1, abs=0.02)
    assert build.unknown_light_ev(1.0) == 0


def test_up_to_three_quarters_of_a_stop_are_unknown_where_nobody_measured_it():
    # Two lenses that move apart: 60 mm at infinity and 46.25 at life size, 185 mm = 4f' from piece to sensor. A pupil
    # that stays 60/N wide lets in (60/46.25)^2 as much as one that shrinks with the length.
    build = Build(BODY, INSIDE)
    assert build.unknown_light_ev(1.0) == pytest.approx(math.log2((60 / 46.25) ** 2)) == pytest.approx(0.75, abs=0.005)
    assert Build(BODY, unit_focusing("60", 60, 1.0)).unknown_light_ev(1.0) == pytest.approx(0)
    plans = rank_plans(Kit(body=(BODY,), lens=(INSIDE,)), Wish(30, 20, 1, blur_radius_on_piece_mm=0.03)).plans
    assert any("inside focuses inside: it may let through up to 0." in said for said in remarks(plans[0]))


def test_a_close_up_lens_brings_the_piece_to_its_focal_length():
    build = Build(BODY, unit_focusing("100", 100, 0.25), supplementary=SupplementaryLens(name="+4", dioptres=4))
    assert mount_build(build, 0.4).working_distance_mm == pytest.approx(250)
    assert mount_build(build, 0.75).working_distance_mm < 250


@pytest.mark.parametrize("wanted", [0.05, 0.3, 0.7, 3.0])
def test_a_build_comes_as_near_to_the_wanted_ratio_as_it_can(wanted):
    for build in builds(FULL_KIT, "full"):
        if build.ring and build.ratio(0) < 0.01:
            continue
        found = mount_build(build, wanted)
        low, high = build.ratio(0), build.ratio(0 if build.ring else build.lens.closest_magnification)
        assert found.magnification == pytest.approx(min(max(wanted, low), high), rel=1e-6)


def test_moved_back_leaves_just_the_room_asked_for():
    build = Build(BODY, unit_focusing("60", 60, 1.0))
    near = mount_build(build, 1.0)
    back = focus_farther(near, 150)
    assert near.working_distance_mm < 150
    assert back.working_distance_mm == pytest.approx(150, rel=1e-6)
    assert back.magnification < near.magnification
    assert focus_farther(mount_build(Build(BODY, build.lens, tubes=(TUBE_25,)), 0.1), 500) is None  # a tube has an end


def test_what_the_kit_does_not_tell_stays_unknown():
    lens = Lens(name="bare", focal_length_mm=50, closest_magnification=0.2)
    found = mount_build(Build(BODY, lens), 0.1)
    assert (found.working_distance_mm, found.track_mm) == (None, None)
    nameless = BODY.model_copy(update={"flange_distance_mm": None})
    reverse = Build(nameless, unit_focusing("50", 50, 0.15), ring=ReversingRing(name="r"))
    with pytest.raises(ValueError, match="lacks flange_distance_mm"):
        mount_build(reverse, 1.0)


def test_a_lens_that_only_sees_infinity_forms_no_close_up_picture():
    with pytest.raises(ValueError, match="no close-up picture"):
        mount_build(Build(BODY, Lens(name="far", focal_length_mm=50)), 0.5)
    with pytest.raises(ValueError, match="too long to be reversed"):
        mount_build(Build(BODY, unit_focusing("180", 180, 1.0), ring=ReversingRing(name="r")), 0.5)


def test_only_what_fits_is_put_together():
    lens = unit_focusing("50", 50, 0.15, mount="a", thread_mm=52.0)
    kit = Kit(
        body=(BODY.model_copy(update={"mount": "a"}), BODY.model_copy(update={"name": "other", "mount": "b"})),
        lens=(lens,),
        tube=tuple(ExtensionTube(name=name, extension_mm=9, mount=fit) for name, fit in (("fits", "a"), ("not", "b"))),
        supplementary=tuple(
            SupplementaryLens(name=name, dioptres=2, thread_mm=mm) for name, mm in (("wide", 62), ("narrow", 49))
        ),
        converter=(Converter(name="not", factor=2, mount="b"),),
        reversing_ring=(ReversingRing(name="fits", thread_mm=52), ReversingRing(name="not", thread_mm=58)),
    )  # fmt: skip
    labels = [build.label for build in builds(kit)]
    assert labels == ["50", "50, fits", "50, wide", "50 reversed", "50 reversed, fits"]


def test_of_equally_long_stacks_the_one_of_fewest_tubes_is_kept():
    tubes = tuple(ExtensionTube(name=str(mm), extension_mm=mm) for mm in (10, 15, 25, 50))
    kit = Kit(body=(BODY,), lens=(unit_focusing("50", 50, 0.15),), tube=tubes)
    lengths = [build.extension_mm for build in builds(kit)]
    assert lengths == sorted(set(lengths), key=lengths.index)
    assert math.fsum(one == 25 for one in lengths) == 1
    assert max(lengths) == 90  # three rings at most


@pytest.mark.parametrize(
    ("added", "by_hand"),
    [
        ({}, False),
        ({"tubes": (TUBE_25,)}, True),
        ({"tubes": (ExtensionTube(name="c", extension_mm=12, electronic_aperture=True),)}, False),
        ({"ring": ReversingRing(name="r")}, True),
        ({"converter": Converter(name="k", factor=2, electronic_aperture=False)}, True),
    ],
)
def test_who_sets_the_aperture(added, by_hand):
    assert Build(BODY, unit_focusing("50", 50, 0.15), **added).aperture_by_hand is by_hand


def test_a_lens_whose_closest_ratio_is_not_known_keeps_its_marked_focal_length():
    lens = LENSES[7].model_copy(update={"closest_magnification": 0.0, "track_mm": 400.0})
    assert Build(BODY, lens).focal_length_mm(0.3) == lens.focal_length_mm


def test_the_parts_of_an_arrangement_are_found_again_in_the_kit():
    for build in builds(FULL_KIT, BODY.name, LENSES[7].name):
        try:
            arrangement = mount_build(build, 0.5).arrangement
        except ValueError:
            continue
        found = build_like(FULL_KIT, BODY.name, arrangement)
        assert found is not None
        assert (found.ring is not None) == arrangement.reversed == (build.ring is not None)
        assert found.extension_mm == pytest.approx(build.extension_mm)
        assert (found.supplementary, found.converter) == (build.supplementary, build.converter)
    assert (
        build_like(FULL_KIT, BODY.name, replace(mount_build(Build(BODY, LENSES[7]), 0.5).arrangement, dioptres=7.0))
        is None
    )
