"""What a file is by its name: the standard library's own table of types is asked the same."""

from __future__ import annotations

import mimetypes

import pytest

from session.units.file_kinds import FORMATS, JPEG_START, PICTURES, SOI, FileKind, is_jpeg_name


@pytest.mark.parametrize("suffix", sorted(mimetypes.MimeTypes().types_map[True]))
def test_a_name_is_a_jpegs_when_its_registered_type_is(suffix: str) -> None:
    """`.jpe` and `.jfif` are registered too, but no camera writes them."""
    registered = mimetypes.MimeTypes().types_map[True][suffix] == "image/jpeg"
    assert is_jpeg_name(f"STIL0001{suffix}") == (registered and suffix not in (".jpe", ".jfif", ".pjpg"))


@pytest.mark.parametrize("name", ["STIL0001.JPG", "/card/DCIM/a.Jpeg", "two.dots.jpg"])
def test_case_and_folders_do_not_count(name: str) -> None:
    assert is_jpeg_name(name)


@pytest.mark.parametrize("name", ["", "jpg", ".jpg", "a.jpg.part", "a.jpgx", "a.dng"])
def test_what_is_none(name: str) -> None:
    assert not is_jpeg_name(name)


def test_every_format_has_a_picture_and_the_best_to_look_at_comes_first() -> None:
    assert PICTURES == (FileKind.JPEG, FileKind.RAW)
    assert all(set(kinds) <= set(PICTURES) and kinds for kinds in FORMATS.values())
    assert {name: len(kinds) for name, kinds in FORMATS.items()} == {"jpeg": 1, "raw": 1, "raw+jpeg": 2}


def test_the_start_of_an_image_is_that_of_the_standard() -> None:
    """ITU-T T.81 table B.1: SOI is FF D8; each marker begins with FF."""
    assert bytes([0xFF, 0xD8]) == SOI and JPEG_START == SOI + b"\xff"
