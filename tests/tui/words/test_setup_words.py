"""A set-up in words: what is told, what is left out, and what can't be worked out."""

from dataclasses import fields, replace
from typing import Any

import pytest

from session.set.setup import Arrangement, PlacedLight, Revision, Settings
from session.units.value_words import thing_words
from tui.words.setup_words import ALWAYS_TOLD, camera_rows, lens_words, within_tape_words

CHANGED: dict[str, Any] = {
    "lens": "invented 105 mm",
    "focal_length_mm": 105.0,
    "magnification": 2.0,
    "pupil_magnification": 0.8,
    "reversed": True,
    "extension_mm": 12.0,
    "dioptres": 4.0,
    "gap_mm": 3.0,
    "converter": 1.4,
}


def test_of_a_bare_lens_only_length_and_ratio_are_told() -> None:
    assert lens_words(Arrangement()) == ["unknown lens", "focal length 100 mm", "ratio 1:2"]


def test_every_part_of_an_arrangement_is_known_to_this_test() -> None:
    assert set(CHANGED) == {one.name for one in fields(Arrangement)}


@pytest.mark.parametrize("name", [name for name in CHANGED if name != "lens"])
def test_each_part_that_is_put_on_is_told_by_itself(name: str) -> None:
    bare, other = lens_words(Arrangement()), lens_words(replace(Arrangement(), **{name: CHANGED[name]}))
    new = [word for word in other if word not in bare]
    assert len(new) == 1
    assert len(other) == len(bare) + (name not in ALWAYS_TOLD)


def test_the_effective_aperture_stands_beside_the_marked_one() -> None:
    rows = dict(camera_rows(Revision(settings=Settings(f_number=8.0), arrangement=Arrangement(magnification=1.0))))
    assert rows["aperture here"] == "f/8 (f/16 here)"
    assert "f/8" in rows["camera"]


def test_an_aperture_set_by_hand_has_no_number_here() -> None:
    assert "aperture here" not in dict(camera_rows(Revision(settings=Settings(f_number=None))))


def test_what_cannot_be_worked_out_says_so_and_the_rest_is_told() -> None:
    impossible = Revision(arrangement=Arrangement(magnification=0.1, dioptres=10.0))
    rows = dict(camera_rows(impossible))
    assert rows["aperture here"].startswith("can't be worked out: magnification is 0.1")
    assert "lens" in rows


def test_empty_values_and_notes_are_left_out() -> None:
    names = [name for name, _ in camera_rows(Revision(notes="a note of the day"))]
    assert "notes" not in names
    assert "lens above the table" not in names
    told = dict(camera_rows(Revision(camera_height_mm=420.0, must_be_sharp="the hallmark")))
    assert told["lens above the table"] == "420 mm"
    assert told["what must be sharp"] == "the hallmark"


def test_two_places_that_no_tape_tells_apart_are_said_to_be_so() -> None:
    """Two standard deviations of both: 2·√(5.8² + 5.8²) = 16 mm."""
    old = Revision(lights=(PlacedLight("key", 0.0, 620.0, 359.0, 30.0, "", "", None, None, 5.8, 1.2, 0.8),))
    moved = old.with_light(replace(old.lights[0], distance_mm=630.0, azimuth_deg=2.0))
    far = old.with_light(replace(old.lights[0], distance_mm=650.0))
    by_eye = old.with_light(replace(old.lights[0], distance_mm=630.0, distance_sd_mm=None))
    name = "light key distance_mm"
    assert within_tape_words(name, old, moved) == " That is within what the tape tells (2 × ±8 mm)."
    assert within_tape_words("light key azimuth_deg", old, moved) == " That is within what the tape tells (2 × ±1.7°)."
    assert within_tape_words(name, old, far) == within_tape_words(name, old, by_eye) == ""
    assert within_tape_words("exposure_s", old, moved) == ""
    assert "620 mm ±6 mm  1° right ±1.2° · 30° up ±0.8°" in thing_words(old.lights[0])
