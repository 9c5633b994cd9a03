"""Exif values as photographers set them, written by Pillow; and damaged ones."""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from mock_camera.body.encode import encode_jpeg, encode_raw
from mock_camera.table.world import Shot, World
from session.picture.exif import Exif, read_exif


def with_exif(path: Path, tags: Mapping[int, object], main: Mapping[int, object] | None = None) -> Path:
    exif = Image.Exif()
    exif.update(main or {})
    exif.get_ifd(0x8769).update(tags)
    Image.new("RGB", (16, 16)).save(path, "JPEG", exif=exif)
    return path


def test_exposure_time_f_number_iso_and_orientation_are_read(tmp_path: Path) -> None:
    """Tags and types: CIPA DC-008 (Exif)."""
    tags = {0x829A: IFDRational(1, 200), 0x829D: IFDRational(11, 1), 0x8827: 100, 0x920A: IFDRational(100, 1)}
    exif = read_exif(with_exif(tmp_path / "a.jpg", tags, {0x112: 8}))
    assert exif.exposure_s == pytest.approx(0.005)
    assert (exif.f_number, exif.iso, exif.focal_length_mm, exif.orientation) == (11.0, 100, 100.0, 8)


@pytest.mark.parametrize(
    ("fraction", "offset", "wanted"),
    [
        ("", "", datetime(2026, 11, 2, 9, 8, 7)),
        ("5", "+01:00", datetime(2026, 11, 2, 9, 8, 7, 500_000, timezone(timedelta(hours=1)))),
        ("05", "-03:30", datetime(2026, 11, 2, 9, 8, 7, 50_000, timezone(-timedelta(hours=3, minutes=30)))),
    ],
)
def test_time_has_its_fraction_and_its_zone(tmp_path: Path, fraction: str, offset: str, wanted: datetime) -> None:
    """SubSecTimeOriginal "5" is half a second, "05" a twentieth: digits of the fraction (value from memory)."""
    tags = {0x9003: "2026:11:02 09:08:07", 0x9291: fraction, 0x9011: offset}
    assert read_exif(with_exif(tmp_path / "a.jpg", {t: v for t, v in tags.items() if v})).taken_at == wanted


def test_iso_beyond_two_bytes_is_in_the_longer_field(tmp_path: Path) -> None:
    assert read_exif(with_exif(tmp_path / "a.jpg", {0x8827: 65535, 0x8830: 3, 0x8833: 102_400})).iso == 102_400


def test_zero_f_number_of_a_lens_without_contacts_means_unknown(tmp_path: Path) -> None:
    tags = {0x829D: IFDRational(0, 1), 0x829A: IFDRational(0, 1)}
    exif = read_exif(with_exif(tmp_path / "a.jpg", tags))
    assert (exif.f_number, exif.exposure_s) == (None, None)


@pytest.mark.parametrize(("code", "fired"), [(0x00, False), (0x10, False), (0x01, True), (0x1F, True), (0x5D, True)])
def test_flash_bit_is_told_apart_from_the_mode(tmp_path: Path, code: int, fired: bool) -> None:
    """Bit 0 of the Flash tag: JEITA CP-3451, page 36."""
    assert read_exif(with_exif(tmp_path / "a.jpg", {0x9209: code})).flash_fired is fired


def test_jpeg_and_raw_of_one_frame_say_the_same(tmp_path: Path) -> None:
    shot = Shot(exposure_s=1 / 160, f_number=5.6, iso=400, taken_at=datetime(2026, 11, 2, 9, tzinfo=UTC), number=1)
    picture = World(seed=5, pixels=(384, 256)).expose(shot, 100.0)
    jpeg, raw = tmp_path / "a.jpg", tmp_path / "a.raw"
    jpeg.write_bytes(encode_jpeg(picture, shot))
    raw.write_bytes(encode_raw(picture, shot))
    assert read_exif(jpeg) == read_exif(raw)
    assert read_exif(raw).exposure_s == pytest.approx(1 / 160)
    assert read_exif(raw).taken_at == shot.taken_at


def test_file_without_exif_or_without_anything_gives_nothing(tmp_path: Path) -> None:
    plain = tmp_path / "plain.jpg"
    Image.new("RGB", (16, 16)).save(plain)
    empty = tmp_path / "empty.jpg"
    empty.write_bytes(b"")
    assert read_exif(plain) == read_exif(empty) == read_exif(tmp_path / "none.jpg") == Exif()


def test_damaged_exif_never_raises_and_never_gives_nonsense(tmp_path: Path) -> None:
    out = io.BytesIO()
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({0x829A: IFDRational(1, 200), 0x829D: IFDRational(11, 1), 0x8827: 100})
    Image.new("RGB", (16, 16)).save(out, "JPEG", exif=exif)
    good, rng, path = out.getvalue(), np.random.default_rng(2), tmp_path / "a.jpg"
    for _ in range(150):
        data = bytearray(good)
        for _ in range(int(rng.integers(1, 8))):
            data[int(rng.integers(20, 160))] = int(rng.integers(0, 256))
        path.write_bytes(bytes(data))
        found = read_exif(path)
        assert found.exposure_s is None or 0 < found.exposure_s <= 86_400
        assert found.f_number is None or 0 < found.f_number <= 1000
        assert found.iso is None or found.iso > 0
