"""Pictures of the set: upright, of a size that is kept, with nothing of what the phone wrote into them."""

from __future__ import annotations

import io
from pathlib import Path

import exifread
import numpy as np
import pytest
from PIL import Image

from session.picture.preview import UnreadablePicture
from session.picture.set_picture import LONGEST_PX, set_picture

ORIENTATION, GPS_IFD, MAKER, LATITUDE_REF, LATITUDE = 0x0112, 0x8825, 0x010F, 1, 2
"""Tags of Exif 2.32."""


def phone_picture(path: Path, size: tuple[int, int] = (4000, 3000), turn: int = 6) -> Path:
    """Dark at the stored picture's left; with a place, a maker, a comment and a turn."""
    ramp = np.linspace(20, 235, size[0], dtype=np.uint8)[None, :, None]
    image = Image.fromarray(np.broadcast_to(ramp, (size[1], size[0], 3)).copy())
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKER] = turn, "Invented Phones"
    exif.get_ifd(GPS_IFD).update({LATITUDE_REF: "N", LATITUDE: (52.0, 31.0, 12.0)})
    image.save(path, "JPEG", exif=exif, comment=b"of somebody's kitchen", dpi=(72, 72))
    return path


def test_the_place_and_all_else_that_was_written_into_it_is_gone_by_another_reader(tmp_path: Path) -> None:
    path = phone_picture(tmp_path / "phone.jpg")
    with path.open("rb") as file:
        before = exifread.process_file(file)
    assert "GPS GPSLatitude" in before and "Image Make" in before
    stored = set_picture(path)
    assert exifread.process_file(io.BytesIO(stored)) == {}
    for words in (b"Exif", b"Invented Phones", b"kitchen", b"http://ns.adobe.com"):
        assert words not in stored


def test_it_is_upright_and_as_large_as_is_kept(tmp_path: Path) -> None:
    """Turn 6: the stored picture's left edge is the upright one's top (Exif 2.32, tag 0112)."""
    with Image.open(io.BytesIO(set_picture(phone_picture(tmp_path / "phone.jpg")))) as image:
        assert image.size == (LONGEST_PX * 3 // 4, LONGEST_PX)
        column = np.asarray(image.convert("L"))[:, image.width // 2].astype(int)
    assert column[5] < 40 and column[-5] > 200


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_pictures_of_other_kinds_are_taken_too(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "screen"
    Image.new("RGB", (300, 200), (200, 30, 30)).save(path, kind)
    with Image.open(io.BytesIO(set_picture(path))) as image:
        assert (image.format, image.size) == ("JPEG", (300, 200))


@pytest.mark.parametrize(
    ("content", "clause"),
    [
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "is a HEIC picture, which can't be read here; have the phone save"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0", "is no picture of a kind that can be read"),
        (b"", "is empty"),
        (b"<svg onload=alert(1)>", "is no picture of a kind that can be read"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "is"),
        (b"\xff\xd8\xff\xc0\0\x0b\x08\xff\xff\xff\xff\x01\x01\x11\0", "says it has 65535 × 65535 pixels; not opened"),
    ],
    ids=["HEIC", "film", "empty", "SVG", "cut short", "far too many pixels"],
)
def test_what_is_no_picture_is_refused_with_a_clause(tmp_path: Path, content: bytes, clause: str) -> None:
    path = tmp_path / "thing"
    path.write_bytes(content)
    with pytest.raises(UnreadablePicture, match=clause):
        set_picture(path)


def test_a_folder_and_a_file_that_is_gone_are_refused(tmp_path: Path) -> None:
    for path, clause in ((tmp_path, "it is no file but"), (tmp_path / "gone", "can't be read: No such file")):
        with pytest.raises(UnreadablePicture, match=clause):
            set_picture(path)
