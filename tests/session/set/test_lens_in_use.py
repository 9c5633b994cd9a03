"""The lens of a set-up: which stops are usable, which pupils count, which glass bends the focus."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.optics.arrangement import bare, reversed_lens
from session.optics.closeup import effective_f_number
from session.set.kit import Kit, Lens, LensDrive, Plate
from session.set.lens_in_use import (
    astigmatism_in_use_mm,
    drive_in_use,
    lens_in_use,
    plate_astigmatism_mm,
    pupil_in_use,
    usable_f_numbers,
    without_stale_confirmation,
)
from session.set.setup import Arrangement, Confirmation, PassiveItem, Revision, Settings
from session.units.refusals import ImpossibleNumbersError

GLASS = Plate(name="sheet", thickness_mm=2.0)
quick = settings(max_examples=40)


def lens(**more: object) -> Lens:
    return Lens.model_validate({"name": "100", "focal_length_mm": 100.0} | more)


@pytest.mark.parametrize(
    ("widest", "smallest", "sharp_from", "first", "last"),
    [
        (2.8, 22.0, None, 5.6, 22.0),
        (2.8, 22.0, 8.0, 8.0, 22.0),
        (4.0, 32.0, 2.8, 4.0, 32.0),  # sharp from wider than it opens: from the widest on
        (16.0, 22.0, None, 22.0, 22.0),  # two stops under the widest is beyond the smallest
    ],
)
def test_stops_are_usable_from_where_the_lens_is_sharp_to_its_smallest_opening(
    widest: float, smallest: float, sharp_from: float | None, first: float, last: float
) -> None:
    stops = usable_f_numbers(lens(widest_f_number=widest, smallest_f_number=smallest, sharp_from_f_number=sharp_from))
    assert (stops[0], stops[-1]) == (first, last)
    assert list(stops) == sorted(set(stops))


def test_a_lens_whose_numbers_contradict_has_no_usable_stop() -> None:
    assert usable_f_numbers(lens(widest_f_number=8.0, smallest_f_number=4.0, sharp_from_f_number=8.0)) == ()


@quick
@given(st.floats(0.4, 2.5), st.floats(0.3, 2))
def test_what_a_lens_lets_through_close_up_tells_its_pupils(pupil: float, closest: float) -> None:
    through = effective_f_number(2.8, closest, pupil)
    measured = lens(closest_magnification=closest, closest_effective_f_number=through, pupil_magnification=1.0)
    assert pupil_in_use(measured) == pytest.approx(pupil)


def test_without_a_measurement_the_kits_own_pupil_counts() -> None:
    assert pupil_in_use(lens(pupil_magnification=0.7)) == 0.7
    assert pupil_in_use(lens(pupil_magnification=0.7, closest_effective_f_number=5.6)) == 0.7, "no ratio to it"


def test_a_lens_that_loses_no_light_close_up_contradicts_itself() -> None:
    with pytest.raises(ImpossibleNumbersError, match=r"is 2\.8, but must be more than the marked one"):
        pupil_in_use(lens(closest_magnification=1.0, closest_effective_f_number=2.8))


def test_the_arrangement_of_a_set_up_is_the_lens_that_optics_has() -> None:
    assert lens_in_use(Arrangement(focal_length_mm=60, magnification=0.8), 8.0) == bare(60, 8.0, 0.8)
    turned = Arrangement(focal_length_mm=28, magnification=2.0, pupil_magnification=1.6, reversed=True)
    assert lens_in_use(turned, 5.6) == reversed_lens(28, 5.6, 2.0, 1.6)


def test_glass_bends_the_focus_by_its_thickness_and_unknown_glass_is_not_counted() -> None:
    kit = Kit(plate=(GLASS, Plate(name="thin", thickness_mm=1.0)))
    one = Revision(passive=(PassiveItem("plate", "sheet"),))
    both = replace(one, passive=(*one.passive, PassiveItem("plate", "thin"), PassiveItem("flag", "sheet")))
    assert astigmatism_in_use_mm(one, kit) == pytest.approx(plate_astigmatism_mm(GLASS))
    assert plate_astigmatism_mm(GLASS) > 0
    assert astigmatism_in_use_mm(both, kit) == pytest.approx(1.5 * astigmatism_in_use_mm(one, kit))
    assert astigmatism_in_use_mm(Revision(passive=(PassiveItem("plate", "borrowed"),)), kit) == 0


def test_square_on_glass_does_nothing_and_more_tilt_does_more() -> None:
    tilts = [plate_astigmatism_mm(GLASS, angle) for angle in (0.0, 15.0, 30.0, 45.0, 60.0)]
    assert tilts[0] == pytest.approx(0, abs=1e-12) and tilts == sorted(tilts)


BY_HAND = Revision(settings=Settings(f_number=None), confirmed=(Confirmation.APERTURE_BY_HAND, Confirmation.STABILISER))


@pytest.mark.parametrize(
    "change",
    [{"settings": Settings(f_number=8.0)}, {"arrangement": Arrangement(lens="another")}],
    ids=["another aperture", "another lens"],
)
def test_a_word_for_an_aperture_by_hand_falls_with_the_aperture_or_the_lens(change: dict[str, object]) -> None:
    wanted = replace(BY_HAND, **change)  # type: ignore[arg-type]
    assert without_stale_confirmation(wanted, BY_HAND).confirmed == (Confirmation.STABILISER,)


def test_any_other_change_leaves_the_word_standing() -> None:
    for wanted in (replace(BY_HAND, notes="x"), replace(BY_HAND, settings=Settings(1 / 60, None)), BY_HAND):
        assert without_stale_confirmation(wanted, BY_HAND) is wanted
    bare_word = replace(BY_HAND, confirmed=(Confirmation.STABILISER,))
    assert without_stale_confirmation(replace(bare_word, settings=Settings(f_number=8)), bare_word).confirmed


def measured(magnification: float, steps_per_mm: float, **more: object) -> LensDrive:
    values = {"name": f"{magnification}", "lens": "100", "magnification": magnification, "steps_per_mm": steps_per_mm}
    return LensDrive.model_validate({"steps_per_mm_sd": steps_per_mm / 20, "play_steps": 30} | values | more)


def test_the_drive_measured_nearest_to_the_ratio_counts_by_the_ratios_square() -> None:
    """A step moves the lens by x, the plane of focus by x over the ratio's square (longitudinal magnification)."""
    kit = Kit(drive=(measured(0.5, 25.0), measured(1.0, 100.0), measured(1.0, 70.0, converter=1.4, name="other")))
    found = drive_in_use(Arrangement("100", 100.0, 1.05), kit)
    assert found is not None and found.play_steps == 30
    assert (found.steps_per_mm, found.steps_per_mm_sd) == (pytest.approx(110.25), pytest.approx(110.25 / 20))
    converted = drive_in_use(Arrangement("100", 140.0, 1.0, converter=1.4), kit)
    assert converted is not None and converted.steps_per_mm == 70.0


@pytest.mark.parametrize(
    "arrangement",
    [
        Arrangement("100", 100.0, 1.2),
        Arrangement("90", 100.0, 1.0),
        Arrangement("100", 100.0, 1.0, extension_mm=25.0),
        Arrangement("100", 100.0, 1.0, reversed=True),
    ],
    ids=["another ratio", "another lens", "tubes", "reversed"],
)
def test_a_drive_measured_otherwise_isnt_taken(arrangement: Arrangement) -> None:
    assert drive_in_use(arrangement, Kit(drive=(measured(1.0, 100.0),))) is None
