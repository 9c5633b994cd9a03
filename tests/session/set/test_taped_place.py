"""Places by tape: things are put anywhere as vectors, measured between points, and must be found again."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from session.set.setup import Revision
from session.set.taped_place import TAPE_SD_MM, TapeMeasures, tape_sd_mm, taped_place

REVISION = Revision(working_distance_mm=300, view_down_deg=30)
STEEP = Revision(working_distance_mm=300, view_down_deg=86)
STRAIGHT_DOWN = Revision(working_distance_mm=300, view_down_deg=90)
LENS = 300 * np.array([0.0, math.cos(math.radians(30)), math.sin(math.radians(30))])
"""Right of the piece, toward the camera, up; mm."""


def measured(thing: np.ndarray, errors: np.ndarray | None = None) -> TapeMeasures:
    """By a tape between points: to the piece, to the lens, up, sideways."""
    true = np.array([np.linalg.norm(thing), np.linalg.norm(thing - LENS), thing[2], abs(thing[0])])
    to_piece, to_lens, up, sideways = true + (0 if errors is None else errors)
    return TapeMeasures(float(to_piece), float(to_lens), float(up), bool(thing[0] < 0), float(sideways))


@given(right=st.floats(-900, 900), ahead=st.floats(-900, 900), up=st.floats(0, 900))
def test_a_thing_is_found_where_it_was_measured(right: float, ahead: float, up: float) -> None:
    assume(abs(right) > 150)
    found = taped_place(measured(np.array([right, ahead, up])), REVISION)
    azimuth, elevation = np.radians([found.azimuth_deg, found.elevation_deg])
    level = np.array([-np.sin(azimuth), np.cos(azimuth)]) * np.cos(elevation)
    assert found.distance_mm * np.array([*level, np.sin(elevation)]) == pytest.approx([right, ahead, up], abs=1e-3)
    assert found.fits and found.misfit_mm == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize("thing", [(-400.0, 200.0, 300.0), (350.0, -300.0, 250.0), (-150.0, 500.0, 100.0)])
def test_the_uncertainty_is_that_of_many_measurements(thing: tuple[float, float, float]) -> None:
    """2,000 measurements with errors drawn for each tape measure, against the one that is told to first order."""
    chance = np.random.default_rng(5)
    told = taped_place(measured(np.array(thing)), REVISION)
    places = [taped_place(measured(np.array(thing), chance.normal(0, TAPE_SD_MM, 4)), REVISION) for _ in range(2000)]
    assert np.std([place.azimuth_deg for place in places]) == pytest.approx(told.side_sd_deg, rel=0.15)
    assert np.std([place.elevation_deg for place in places]) == pytest.approx(told.height_sd_deg, rel=0.15)
    assert np.std([place.distance_mm for place in places]) == pytest.approx(told.distance_sd_mm, rel=0.15)
    assert np.std([place.misfit_mm or 0.0 for place in places]) == pytest.approx(told.misfit_sd_mm, rel=0.15)
    assert 0.99 <= np.mean([place.fits for place in places]) < 1.0


def test_a_measure_too_many_that_contradicts_the_others_is_told() -> None:
    right = measured(np.array([-400.0, 200.0, 300.0]))
    found = taped_place(TapeMeasures(right.to_piece_mm, right.to_lens_mm, right.up_mm, True, 500.0), REVISION)
    assert not found.fits and found.misfit_mm == pytest.approx(100)


@pytest.mark.parametrize(
    ("measures", "revision", "sentence"),
    [
        (TapeMeasures(620, 540, 700, True), REVISION, "700 mm up can't be 620 mm from"),
        (TapeMeasures(620, 1500, 300, True), REVISION, "is 320 mm to 816 mm from the lens, not 1500 mm"),
        (TapeMeasures(620, 540, 300, True), Revision(), "where the camera stands isn't known"),
        (TapeMeasures(620, 540, 300, True), Revision(working_distance_mm=300), "where the camera stands isn't known"),
        (TapeMeasures(620, 543, 300, True), STRAIGHT_DOWN, "looks straight down is as far from every side: type side"),
        (TapeMeasures(620, 535, 300, True), STEEP, "tell the side only to ±25°: type side and height"),
    ],
)
def test_what_can_not_be_is_refused_in_a_sentence(measures: TapeMeasures, revision: Revision, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        taped_place(measures, revision)


def test_the_camera_s_height_serves_where_nobody_said_how_far_it_looks_down() -> None:
    by_height = Revision(working_distance_mm=300, camera_height_mm=150)
    measures = measured(np.array([-400.0, 200.0, 300.0]))
    assert taped_place(measures, by_height).azimuth_deg == pytest.approx(
        taped_place(measures, REVISION).azimuth_deg, abs=1e-6
    )


def test_right_above_the_piece_there_is_no_side_to_tell() -> None:
    found = taped_place(TapeMeasures(620, 540, 620, True), REVISION)
    assert (found.distance_mm, found.azimuth_deg, found.elevation_deg) == (620, 0.0, 90.0)


def test_a_tape_that_is_read_to_centimetres_is_less_sure_than_one_read_to_millimetres() -> None:
    """Evenly within a step: 5 mm and 10/√12 mm together 5.8 mm."""
    assert tape_sd_mm(620, 540, 300) == pytest.approx(5.77, abs=0.01)
    assert tape_sd_mm(623, 540, 300) == pytest.approx(5.01, abs=0.01)
