"""The wish: what it refuses, what follows from it, and what is kept of it."""

import math
from dataclasses import asdict
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.plan.wish import LEAST_DEPTH_MM, WantedLight, Wish

BLUR: dict[str, Any] = {"blur_radius_on_piece_mm": 0.015}


def test_what_nobody_says_is_what_the_command_tells_as_its_defaults() -> None:
    """As `stillset plan view --help` writes them; the angles and the margin are common practice."""
    wish = Wish(28, 28, **BLUR)
    assert (wish.fill, wish.clear_in_front_mm, wish.light_angle_deg, wish.plate_angle_deg) == (0.8, 20.0, 45.0, 45.0)
    assert (wish.iso, wish.tilt_deg, wish.overlap, wish.wavelength_um) == (100.0, 1.0, 0.25, 0.55)
    assert (wish.relief_mm, wish.surface, wish.lights, wish.plate) == (0.0, "matt", (), "")


@pytest.mark.parametrize(
    ("text", "light"),
    [
        ("fill", WantedLight("fill")),
        ("  fill  ", WantedLight("fill")),
        ("fill=-2", WantedLight("fill", -2.0)),
        ("rim=-1@120", WantedLight("rim", -1.0, 120.0)),
        ("rim@120", WantedLight("rim", None, 120.0)),
        ("rim = -1 @ 120 ", WantedLight("rim", -1.0, 120.0)),
        ("rim=@120", WantedLight("rim", None, 120.0)),
        ("two words=0", WantedLight("two words", 0.0)),
    ],
)
def test_a_light_is_written_by_name_level_and_angle(text: str, light: WantedLight) -> None:
    assert WantedLight.parse(text) == light


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", r"a light is written like fill, fill=-2 or rim=-1@120, not ''"),
        ("   ", r"a light is written like fill, fill=-2 or rim=-1@120, not '   '"),
        ("=-2", r"a light is written like fill, fill=-2 or rim=-1@120, not '=-2'"),
        ("@120", r"a light is written like fill, fill=-2 or rim=-1@120, not '@120'"),
        ("a=b", r"not 'b'\."),
        ("a=1=2", r"not '1=2'\."),
        ("a@b", r"from_axis_deg is a number in °, not 'b'\."),
    ],
)
def test_what_is_no_light_is_refused_with_what_was_typed(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        WantedLight.parse(text)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"piece_width_mm": 0.0}, r"piece_width_mm is 0 mm"),
        ({"relief_mm": -1.0}, r"relief_mm is -1 mm"),
        ({"fill": 1.01}, r"fill is 1\.01, but must be from 0\.01 to 1"),
        ({"depth_needed_mm": math.nan}, r"depth_needed_mm is not a number: give it"),
        ({"delivered_pixels": math.inf}, r"delivered_pixels is inf"),
        ({"blur_radius_on_piece_mm": 0.0}, r"blur_radius_on_piece_mm is 0 mm, but must be from 0\.0001"),
        ({"most_frames": 0}, r"most_frames is 0"),
        ({"surface": "velvet"}, r"surface is 'velvet', but must be one of matt, satin, mirror\."),
        ({"lights": ("=1",)}, r"a light is written like fill"),
        ({"relief_mm": 2.0, "depth_needed_mm": 3.0}, r"depth_needed_mm is 3 mm, but the piece is only 2 mm deep\."),
        ({"blur_radius_on_piece_mm": None}, r"blur_radius_on_piece_mm is missing: give it in mm, or delivered_pixels"),
    ],
)
def test_a_number_that_cannot_be_meant_is_refused(change: dict[str, Any], said: str) -> None:
    fields: dict[str, Any] = {"piece_width_mm": 28.0, "piece_height_mm": 28.0, **BLUR, **change}
    with pytest.raises(ValueError, match=said):
        Wish(**fields)


def test_as_deep_as_the_piece_may_be_asked_for_and_of_a_flat_one_anything() -> None:
    assert Wish(28, 28, 2.0, depth_needed_mm=2.0, **BLUR).depth_mm == 2.0
    assert Wish(28, 28, 0.0, depth_needed_mm=3.0, **BLUR).depth_mm == 3.0


@settings(max_examples=25)
@given(st.floats(1, 500), st.floats(1, 500), st.floats(0, 100), st.floats(0, 5))
def test_depth_covers_relief_and_slant_and_is_never_none(
    width: float, height: float, relief: float, tilt: float
) -> None:
    depth = Wish(width, height, relief, tilt_deg=tilt, **BLUR).depth_mm
    slant = max(width, height) * math.sin(math.radians(tilt)) / math.cos(math.radians(tilt))
    assert depth >= LEAST_DEPTH_MM
    assert depth == pytest.approx(max(relief, slant, LEAST_DEPTH_MM))


def test_the_blur_that_two_delivered_pixels_show_is_a_pixels_radius_on_the_piece() -> None:
    wish = Wish(80, 20, delivered_pixels=2000, fill=0.8)  # 100 mm over 2000 pixels: 0.05 mm each
    assert wish.framed_width_mm == 100
    assert wish.blur_circle_mm == pytest.approx(2 * 0.05)
    assert wish.blur_radius_mm == pytest.approx(0.05)


def test_blur_that_was_given_goes_before_the_pixels() -> None:
    assert Wish(80, 20, delivered_pixels=2000, blur_radius_on_piece_mm=0.2).blur_radius_mm == 0.2


@pytest.mark.parametrize(
    ("relief", "depth", "frames", "in_front"),
    [(6.0, None, 1, 3.0), (6.0, None, 2, 6.0), (6.0, 2.0, 1, 5.0), (6.0, 2.0, 9, 6.0), (0.0, None, 1, 0.0)],
)
def test_the_piece_rises_before_the_plane_of_focus_by_what_nobody_asked_to_be_sharp(
    relief: float, depth: float | None, frames: int, in_front: float
) -> None:
    wish = Wish(6, 6, relief, depth, tilt_deg=0.0, **BLUR)
    assert wish.in_front_mm(frames) == pytest.approx(in_front)


@settings(max_examples=25)
@given(
    st.floats(1, 500),
    st.floats(0, 100),
    st.lists(st.sampled_from(["key", "fill=-2", "rim=-1@120"]), max_size=3),
    st.sampled_from(["matt", "satin", "mirror"]),
)
def test_a_wish_that_was_kept_is_the_same_wish(width: float, relief: float, lights: list[str], surface: Any) -> None:
    wish = Wish(width, 20.0, relief, lights=tuple(lights), surface=surface, **BLUR)
    kept = asdict(wish) | {"lights": lights}  # as JSON gives it back: a list
    assert Wish.from_fields(kept) == wish


def test_words_of_another_version_are_left_out_and_a_lack_is_told() -> None:
    fields = {"piece_width_mm": 28.0, "piece_height_mm": 28.0, **BLUR, "mood": "soft"}
    assert Wish.from_fields(fields) == Wish(28.0, 28.0, **BLUR)
    with pytest.raises(ValueError, match=r"the wish that was kept lacks a number, or has a word for one: .*28"):
        Wish.from_fields({"piece_width_mm": 28.0, **BLUR})
    with pytest.raises(ValueError, match=r"the wish that was kept lacks a number, or has a word for one"):
        Wish.from_fields({**fields, "relief_mm": "deep"})


def test_the_key_is_the_light_named_first() -> None:
    names = [light.name for light in Wish(28, 28, lights=("a=0", "b@90"), **BLUR).wanted_lights]
    assert names == ["a", "b"]


def test_a_hand_with_a_brush_has_its_room_before_the_lens() -> None:
    assert Wish(10, 10, **BLUR).clear_in_front_mm == 20
