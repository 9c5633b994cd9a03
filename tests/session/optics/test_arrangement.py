"""Tubes, close-up lens, converter, reversed and stacked lenses: against two thin lenses traced one after the other."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from session.optics.arrangement import (
    EquivalentLens,
    bare,
    equivalent_lens,
    magnification_with_extension,
    reversed_lens,
    reversed_magnification,
    stacked_lenses,
    with_close_up_lens,
    with_converter,
)
from session.units.refusals import ImpossibleNumbersError

focal_mm, numbers, ratios, pupils = st.floats(20, 300), st.floats(1.4, 32), st.floats(0.05, 3), st.floats(0.4, 2.5)
quick = settings(max_examples=50)


def image_mm(focal_length_mm: float, object_mm: float) -> float:
    """Where a thin lens images a thing so far before it: 1/v = 1/f − 1/u; the textbook's equation and no more."""
    return 1 / (1 / focal_length_mm - 1 / object_mm)


@quick
@given(f=focal_mm, m=ratios, dioptres=st.floats(0.5, 10), gap=st.floats(0, 40))
def test_a_close_up_lens_images_the_piece_to_where_the_lens_is_focused(
    f: float, m: float, dioptres: float, gap: float
) -> None:
    assume(f * (1 + 1 / m) - gap > 1)
    lens = with_close_up_lens(bare(f, 8, m), dioptres, gap)
    added_mm, piece_mm = 1000 / dioptres, lens.subject_distance_mm
    assume(abs(piece_mm - added_mm) > 1e-3)
    seen_mm = image_mm(added_mm, piece_mm)  # negative: a virtual image behind the piece, as the lens sees it
    assert gap - seen_mm == pytest.approx(f * (1 + 1 / m), rel=1e-6), "that is where the lens is focused"
    assert lens.magnification == pytest.approx(m * -seen_mm / piece_mm, rel=1e-6)
    assert lens.effective_f_number == bare(f, 8, m).effective_f_number, "nothing behind the close-up lens has moved"


@quick
@given(f=focal_mm, n=numbers, m=st.floats(0, 3), p=pupils, k=st.floats(1, 3))
def test_a_converter_leaves_the_distance_and_scales_ratio_and_f_number(
    f: float, n: float, m: float, p: float, k: float
) -> None:
    plain = bare(f, n, m, p)
    longer = with_converter(plain, k)
    assert longer.magnification == pytest.approx(k * m) and longer.effective_f_number == pytest.approx(
        k * plain.effective_f_number
    )
    if m > 0:
        assert longer.subject_distance_mm == pytest.approx(plain.subject_distance_mm)


@quick
@given(f=focal_mm, n=numbers, m=ratios, p=pupils)
def test_a_lens_turned_round_and_its_pupil_ratio_turned_over_is_the_lens_again(
    f: float, n: float, m: float, p: float
) -> None:
    """Turned, the pupils change places: P becomes 1/P, and the f-number at infinity N/P."""
    turned, straight = reversed_lens(f, n, m, p), bare(f, n / p, m, 1 / p)
    assert turned.effective_f_number == pytest.approx(straight.effective_f_number)
    assert turned.entrance_pupil_distance_mm == pytest.approx(straight.entrance_pupil_distance_mm)
    assert turned.f_number == pytest.approx(n / p)
    assert turned.pupil_magnification == pytest.approx(1 / p)


@quick
@given(f=focal_mm, n=numbers, m=ratios, p=pupils)
def test_at_equal_pupils_it_makes_no_difference_which_way_round_a_lens_stands(
    f: float, n: float, m: float, p: float
) -> None:
    assert reversed_lens(f, n, m) == bare(f, n, m)
    assert bare(f, n, m, p).f_number == pytest.approx(n) and bare(f, n, m, p).pupil_magnification == pytest.approx(p)


def test_at_infinity_distances_are_infinite_and_the_f_number_is_the_marked_one() -> None:
    lens = bare(100, 4, 0)
    assert math.isinf(lens.subject_distance_mm) and math.isinf(lens.entrance_pupil_distance_mm)
    assert (lens.f_number, lens.effective_f_number) == (4, 4)


def test_no_dioptres_leave_the_very_same_lens() -> None:
    lens = bare(100, 4, 0.5)
    assert with_close_up_lens(lens, 0.0, 25.0) is lens


@quick
@given(
    f=focal_mm,
    n=numbers,
    m=st.floats(0.5, 5),
    p=pupils,
    k=st.sampled_from([1.0, 1.4, 2.0]),
    dioptres=st.sampled_from([0.0, 2.0, 5.0]),
    gap=st.floats(0, 20),
    turned=st.booleans(),
)
def test_whatever_is_added_the_whole_has_the_ratio_that_was_asked_for(
    f: float, n: float, m: float, p: float, k: float, dioptres: float, gap: float, turned: bool
) -> None:
    assume(f * dioptres / 1000 < m / k)
    whole = equivalent_lens(f, n, m, p, converter=k, dioptres=dioptres, gap_mm=gap, lens_reversed=turned)
    assert isinstance(whole, EquivalentLens)
    assert whole.magnification == pytest.approx(m, rel=1e-9)


def test_added_parts_that_exceed_the_ratio_are_refused_with_both_numbers() -> None:
    with pytest.raises(ImpossibleNumbersError) as refused:
        equivalent_lens(100, 8, 0.4, dioptres=5)
    said = "magnification is 0.4, but the added lenses alone give 0.5 with the lens at infinity."
    assert str(refused.value) == said
    assert equivalent_lens(100, 8, 0.5, dioptres=5).magnification == pytest.approx(0.5), (
        "just as much is allowed: at infinity"
    )


def test_a_close_up_lens_too_far_before_the_lens_forms_no_image() -> None:
    """10 dioptres have 100 mm: at f = 50 focused at infinity the lens may stand 150 mm before it, and no more."""
    with pytest.raises(ImpossibleNumbersError, match=r"must stand closer than 150 mm\.$"):
        with_close_up_lens(bare(50, 8, 0), 10, 150)
    assert with_close_up_lens(bare(50, 8, 0), 10, 149).magnification > 0
    with pytest.raises(ImpossibleNumbersError, match=r"gap_mm is 400 mm, but a 10 dioptre lens must stand closer than"):
        equivalent_lens(50, 8, 1.0, dioptres=10, gap_mm=400)


@quick
@given(rear=st.floats(100, 300), front=st.floats(20, 90), rear_n=st.floats(2, 16), front_n=st.floats(2, 16))
def test_stacked_lenses_have_the_ratio_of_their_lengths_and_the_narrower_beam(
    rear: float, front: float, rear_n: float, front_n: float
) -> None:
    pair = stacked_lenses(rear, rear_n, front, front_n)
    assert pair.magnification == pytest.approx(rear / front)
    beam_mm = min(rear / rear_n, front / front_n)
    assert pair.effective_f_number == pytest.approx(rear / beam_mm), "the image-side cone is the rear length over it"


@quick
@given(f=focal_mm, m=st.floats(0, 2), more=st.floats(0, 200))
def test_tubes_add_their_length_in_focal_lengths(f: float, m: float, more: float) -> None:
    assert f * (1 + magnification_with_extension(f, m, more)) == pytest.approx(f * (1 + m) + more)


@quick
@given(f=focal_mm, m=st.floats(0.01, 5))
def test_the_ratio_of_a_reversed_lens_and_its_image_distance_are_one_from_the_other(f: float, m: float) -> None:
    assert reversed_magnification(f, f * (1 + m)) == pytest.approx(m)


def test_a_sensor_nearer_than_the_focal_length_is_refused() -> None:
    said = "image_distance_mm is 50 mm, but must be longer than the focal length of 50 mm."
    with pytest.raises(ImpossibleNumbersError) as refused:
        reversed_magnification(50, 50)
    assert str(refused.value) == said
    assert reversed_magnification(50, 50.01) == pytest.approx(0.0002)
