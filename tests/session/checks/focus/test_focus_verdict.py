"""Verdicts, sentences and distances, on photographs and the mock camera's numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from session.checks.focus import focus_verdict as focus
from session.checks.focus.map import place_text
from session.checks.focus.region import measure
from session.checks.light import brightness
from session.checks.material.checked_picture import Material, close_up_reduction, pair
from session.frame.finding import FocusJudgement, FocusVerdict
from session.optics.arrangement import bare
from session.set.lens_in_use import lens_in_use
from session.set.setup import Arrangement, Region, Revision
from tests.support.made_pictures import blurred, coded, moved, photograph, relit
from tests.support.paraxial_trace import TwoLenses

Make = Callable[..., Material]
SIZE = (720, 480)
REVISION = Revision(region=Region(0.3, 0.3, 0.4, 0.4), arrangement=Arrangement(magnification=1.0), blur_limit_px=2.0)
FAINT = 0.05
"""Contrast against the photograph's: a radius of 2 px shows in noise of two codes, of 1 px no more."""


def judged(
    material: Make, other: np.ndarray, light: np.ndarray, revision: Revision = REVISION, **options: float
) -> FocusJudgement:
    frame, reference = material(coded(other, seed=1)), material(coded(light), "reference.jpg")
    both = pair(frame, reference)
    now = brightness.measure(frame, revision.region, both)
    return focus.judge(both, revision, now, **options).focus


@pytest.mark.parametrize(
    ("blur_px", "verdict"),
    [(0.0, "sharp"), (1.0, "sharp"), (2.6, "soft"), (3.3, "soft"), (5.0, "missed"), (12.0, "missed")],
)
def test_verdict_goes_with_the_blur_against_the_limit(material: Make, blur_px: float, verdict: str) -> None:
    light = photograph("motorcycle_left.png", SIZE)
    found = judged(material, blurred(light, blur_px), light)
    assert found.verdict == verdict
    assert found.blur_px is not None
    assert abs(found.blur_px - blur_px) <= max(0.5, 0.15 * blur_px)


@pytest.mark.parametrize(
    ("blur_px", "verdict"),
    [(-0.3, "sharp"), (0.999, "sharp"), (1.001, "soft"), (1.999, "soft"), (2.001, "missed"), (30.0, "missed")],
)
@pytest.mark.parametrize("limit_px", [0.5, 1.0, 3.0])
def test_on_either_side_of_the_limit_and_of_twice_the_limit(blur_px: float, verdict: str, limit_px: float) -> None:
    assert focus.focus_verdict_of(blur_px * limit_px, limit_px) == verdict


@pytest.mark.parametrize("blur_px", [0.0, -0.3, -1.5])
def test_what_is_as_sharp_as_the_reference_or_sharper_is_off_by_no_distance(blur_px: float) -> None:
    assert focus.miss_mm(blur_px, REVISION.arrangement, 8.0, 24.0, 6000) is None


def test_a_distance_is_told_to_a_thousandth_of_a_millimetre() -> None:
    """Far out of focus geometry alone counts: diameter · N_e / m², 2 · 40 px of 4 µm at f/8 and 1:1 = 0.32 · 16.

    Diffraction's share is tried in steps of a fortieth.
    """
    found = focus.miss_mm(40.0, REVISION.arrangement, 8.0, 24.0, 6000)
    lens = lens_in_use(REVISION.arrangement, 8.0)
    assert found is not None
    assert found == pytest.approx(0.32 * 16, rel=1 / 40 + 0.001)
    assert found == round(focus.defocus_mm_of(40 * 24 / 6000, lens), 3) != round(found, 2)


def test_an_upright_picture_is_off_by_as_much_as_a_wide_one(material: Make) -> None:
    """The same sensor, turned: its pixels are as far apart."""
    light = photograph("motorcycle_left.png", SIZE)
    wide, upright = (
        judged(material, turn(blurred(light, 5.0)), turn(light), f_number=8.0, sensor_width_mm=36.0)
        for turn in (np.asarray, np.rot90)
    )
    assert wide.defocus_mm is not None and upright.defocus_mm is not None and wide.blur_px and upright.blur_px
    assert upright.defocus_mm / upright.blur_px == pytest.approx(wide.defocus_mm / wide.blur_px, rel=0.03)


@pytest.mark.parametrize(("region_ev", "judges"), [(-3.99, True), (-4.01, False)])
def test_four_stops_darker_is_too_dark_to_judge(material: Make, region_ev: float, judges: bool) -> None:
    light = photograph("motorcycle_left.png", SIZE)
    both = pair(material(coded(light, seed=1)), material(coded(light), "reference.jpg"))
    now = brightness.Exposure(region_ev, region_ev, 0.0, 0, 0, 0, 0, 0)
    found = focus.judge(both, REVISION, now).focus
    assert (found.verdict is FocusVerdict.SHARP) is judges
    assert judges or found.reason == "the region is 4.0 EV darker than the reference"


def test_moved_turned_and_relit_piece_stays_sharp_and_a_miss_on_it_is_seen(material: Make) -> None:
    light = 0.6 * photograph("motorcycle_left.png", SIZE)
    changed = relit(moved(light, 19.0, -13.0, 1.0), 0.5, across_ev=1.0)
    assert judged(material, changed, light).verdict is FocusVerdict.SHARP
    missed = judged(material, relit(moved(blurred(light, 5.0), 19.0, -13.0, 1.0), 0.5, across_ev=1.0), light)
    assert missed.verdict is FocusVerdict.MISSED


def test_tight_limit_is_measured_at_a_finer_scale_than_a_wide_one(material: Make) -> None:
    assert [close_up_reduction(1.0, limit) for limit in (0.5, 1.0, 1.9, 2.0, 4.5, 100.0)] == [1, 1, 1, 2, 4, 8]
    assert close_up_reduction(0.5, 4.0) == 2  # a preview of half the size has half the pixels to spare
    light = photograph("motorcycle_left.png", SIZE)
    tight = Revision(region=REVISION.region, blur_limit_px=0.8)
    found = judged(material, blurred(light, 1.2), light, tight)
    assert (found.scale, found.verdict) == (1.0, FocusVerdict.SOFT)


def test_region_without_detail_is_unjudged_with_the_reason(material: Make) -> None:
    light = photograph("motorcycle_left.png", SIZE)
    light[120:360, 180:540] = 0.3
    found = judged(material, light, light)
    assert found.verdict is FocusVerdict.UNJUDGED
    assert found.reason == "too little detail in the region to tell a blur radius of 2 px"


@pytest.mark.parametrize(("blur_px", "verdict"), [(0.0, "unjudged"), (1.0, "unjudged"), (6.0, "missed")])
def test_gross_miss_shows_where_detail_is_too_faint_for_the_limit(material: Make, blur_px: float, verdict: str) -> None:
    light = photograph("motorcycle_left.png", SIZE)
    faint = 0.3 + FAINT * (light - light.mean())
    found = judged(material, blurred(faint, blur_px), faint, replace(REVISION, blur_limit_px=1.0))
    assert found.verdict == verdict
    if verdict == "unjudged":
        assert found.blur_px is None
        assert found.reason == "too little detail in the region to tell a blur radius of 1 px; it is within 2 px"


@pytest.mark.parametrize(("blur_px", "within"), [(0.0, "; it is within 2 px"), (3.0, "")])
def test_four_times_the_limit_is_tried_where_twice_doesnt_show(material: Make, blur_px: float, within: str) -> None:
    light = photograph("motorcycle_left.png", SIZE)
    faint = 0.3 + FAINT * (light - light.mean())
    found = judged(material, blurred(faint, blur_px), faint, replace(REVISION, blur_limit_px=0.5))
    assert found.verdict == ("unjudged" if within else "missed")
    if within:
        assert found.reason == f"too little detail in the region to tell a blur radius of 0.5 px{within}"
    else:
        assert found.blur_px == pytest.approx(blur_px, abs=0.5)


def test_preview_of_an_eighth_cannot_show_two_pixels(material: Make) -> None:
    """At 1/8 a radius of 2 px is a quarter pixel: nothing is claimed."""
    light = photograph("motorcycle_left.png", SIZE)
    revision = Revision(region=REVISION.region, blur_limit_px=0.25)
    assert judged(material, light, light, revision).verdict is FocusVerdict.UNJUDGED


def test_another_piece_and_another_size_are_unjudged(material: Make) -> None:
    one, other = photograph("motorcycle_left.png", SIZE), photograph("coffee.png", SIZE)
    assert "doesn't look like the reference" in judged(material, other, one).reason
    assert "another size" in judged(material, photograph("motorcycle_left.png", (600, 400)), one).reason


def test_file_without_a_reference_says_so() -> None:
    now = brightness.Exposure(None, None, 0, 0, 0, 0, 0, 0)
    found = focus.judge(None, REVISION, now).focus
    assert (found.verdict, found.reason) == (FocusVerdict.UNJUDGED, focus.NO_REFERENCE)
    (finding,) = focus.findings(found, 2.0)
    assert (finding.id, finding.level) == ("focus", "note")


def test_region_with_two_heights_loses_one_while_the_other_gains(material: Make) -> None:
    """As many tiles gain as lose: on the whole nothing changed, yet half of the region is missed."""
    light = photograph("motorcycle_left.png", SIZE)
    checks = (np.add.outer(np.arange(480) // 80, np.arange(720) // 80) % 2).astype(bool)
    near_sharp = np.where(checks, light, blurred(light, 3.5))
    far_sharp = np.where(checks, blurred(light, 3.5), light)
    found = judged(material, far_sharp, near_sharp)
    assert found.verdict in (FocusVerdict.SOFT, FocusVerdict.MISSED)
    both = pair(material(coded(far_sharp, seed=1)), material(coded(near_sharp), "reference.jpg"))
    for scatter_ev, told in ((0.109, True), (0.111, False)):  # moved shadows look like it
        now = brightness.Exposure(0.0, 0.0, scatter_ev, 0, 0, 0, 0, 0)
        assert (focus.judge(both, REVISION, now).focus.verdict is not FocusVerdict.SHARP) is told


def test_gained_place_is_where_the_focus_went(material: Make) -> None:
    light = photograph("motorcycle_left.png", SIZE)
    reference, other = light.copy(), blurred(light, 5.0)
    corner = (slice(300, 480), slice(540, 720))
    reference[corner], other[corner] = blurred(light, 5.0)[corner], light[corner]
    found = judged(material, other, reference)
    assert found.verdict is FocusVerdict.MISSED
    assert found.sharpest_at is not None
    assert (found.sharpest_at[0] > 0.7, found.sharpest_at[1] > 0.6) == (True, True)
    assert place_text(found.sharpest_at) == "at the lower right"


def test_near_focus_diffraction_makes_the_same_disc_mean_more_distance() -> None:
    """A disc of 0.5 waves looks smaller than geometry draws it: mean-square blur with and without diffraction."""
    lens = bare(100.0, 11.0, 0.5)
    radius_mm = 0.0086
    geometric_mm = 2 * radius_mm * lens.effective_f_number / 0.25
    assert 1.1 * geometric_mm < focus.defocus_mm_of(radius_mm, lens) < 2 * geometric_mm


TELEPHOTO = TwoLenses(60, -80, 25, 20)
"""f = 106.67 mm, P = 0.627: pupils far from the principal planes."""

NORMAL = Arrangement("telephoto", TELEPHOTO.focal_length_mm, 1.0, TELEPHOTO.pupil_magnification)


def with_converter(factor: float) -> tuple[Arrangement, TwoLenses, float, float]:
    """A thin 100 mm lens at 0.8 of life size before a converter of −50 mm; its stop and where the sensor lies."""
    image_behind_mm = 50 * (1 - 1 / factor)  # that of the lens, behind the converter, which throws it farther
    system = TwoLenses(100, -50, 180 - image_behind_mm, 0)
    return Arrangement("", 100.0, 0.8 * factor, converter=factor), system, 100 / 16, factor * image_behind_mm


MISSED = {
    "bare": (NORMAL, TELEPHOTO, TELEPHOTO.stop_radius_mm(8), TELEPHOTO.distances_mm(1.0)[1]),
    "reversed": (
        replace(NORMAL, magnification=2.0, reversed=True),
        TELEPHOTO.reversed(),
        TELEPHOTO.stop_radius_mm(8),
        TELEPHOTO.reversed().distances_mm(2.0)[1],
    ),
    "close-up lens": (
        Arrangement("", 100.0, 0.5 + (100 + 0.5 * 60) * 0.004, dioptres=4.0, gap_mm=40.0),
        TwoLenses(250, 100, 40, 40),
        100 / 16,
        150.0,
    ),
    "1.4 converter": with_converter(1.4),
    "2 converter": with_converter(2.0),
}
"""A lens at f/8 as it is told in the set-up; the same glass as two thin lenses, its stop, and its sensor, mm."""


@pytest.mark.parametrize("miss_mm", [3.0, 6.0])
@pytest.mark.parametrize("name", MISSED)
def test_distance_of_a_miss_is_that_of_a_ray_through_the_edge_of_the_stop(name: str, miss_mm: float) -> None:
    """An axial point so far behind the piece, traced to the sensor: its disc told back as the distance."""
    arrangement, system, stop_radius_mm, sensor_mm = MISSED[name]
    (a, _), (c, d) = system.matrix
    traced_ratio = float(-a - sensor_mm * c)
    piece_mm = float((-1 / traced_ratio - d) / c)
    assert traced_ratio == pytest.approx(arrangement.magnification, rel=1e-6)
    height_mm = abs(float(system.marginal_ray(piece_mm + miss_mm, sensor_mm, stop_radius_mm)[0]))
    told = focus.miss_mm(height_mm / 0.006, arrangement, 8.0, 24.0, 4000)
    # 6 %: the close-up form leaves out how far the pupil is, and wave optics adds a little to the disc
    assert told == pytest.approx(miss_mm, rel=0.06)


def test_distance_is_told_only_when_the_sensor_is_known(material: Make) -> None:
    light = photograph("motorcycle_left.png", SIZE)
    assert judged(material, blurred(light, 5.0), light, f_number=11.0).defocus_mm is None
    told = judged(material, blurred(light, 5.0), light, f_number=11.0, sensor_width_mm=24.0)
    geometric_mm = 2 * 5.0 * 24 / 720 * 22
    assert told.defocus_mm == pytest.approx(geometric_mm, rel=0.15)


def test_sentence_gives_blur_limit_distance_and_place() -> None:
    found = FocusJudgement(FocusVerdict.MISSED, 5.06, 0.1, 0.81, 0.5, (0.9, 0.9))
    (finding,) = focus.findings(found, 2.0)
    assert finding.text == (
        "Blur radius 5.1 px in the region against a limit of 2.0 px: about 0.8 mm off. Sharper at the lower right."
    )
    assert (finding.value, finding.limit, finding.unit) == (5.06, 2.0, "px")
    assert finding.remedy is not None
    assert finding.remedy.text == "refocus in live view"
    assert focus.findings(FocusJudgement(FocusVerdict.SHARP, 0.3), 2.0) == ()


def test_blur_and_its_uncertainty_are_told_to_a_hundredth_of_a_pixel(material: Make) -> None:
    light, tight = photograph("motorcycle_left.png", SIZE), replace(REVISION, blur_limit_px=1.0)
    both = pair(material(coded(blurred(light, 1.4), seed=1)), material(coded(light), "reference.jpg"))
    measured = measure(both, REVISION.region, 1.0)
    found = focus.judge(both, tight, brightness.measure(both.frame, REVISION.region, both)).focus
    assert (found.blur_px, found.blur_px_sd) == (round(measured.blur_px, 2), round(measured.blur_px_sd, 2))
    assert found.blur_px_sd != round(measured.blur_px_sd, 1)
