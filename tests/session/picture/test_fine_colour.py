"""Colour finer than whole codes, against colours that were known before the file was coded."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from session.picture.fine_colour import TIMES, decode_with_fine_colour
from session.picture.linear_light import LINEAR, light_of_codes
from session.picture.preview import decode, open_picture
from tests.support.made_pictures import jpeg_bytes

FLAT = np.array([62.10, 59.45, 57.34])
"""Codes of a dark, slightly tinted piece: luma 60, and colour differences of -1.5 and +1.5."""


FINEST = 3 / 8 / 2 + 1 / TIMES / 2
"""Half the step of a block's mean in such a file, 3 for its eightfold (T.81 table K.2, at quality 92), and half of what
the decoder rounds to."""


def differences(rgb: np.ndarray) -> np.ndarray:
    """Cb and Cr of red, green and blue, without the middle code: ITU-T T.871."""
    luma = 0.299 * rgb[0] + 0.587 * rgb[1] + 0.114 * rgb[2]
    return np.array([(rgb[2] - luma) / 1.772, (rgb[0] - luma) / 1.402])


def flat_picture(codes: np.ndarray = FLAT) -> np.ndarray:
    """A flat picture with a sensor's noise, which makes its means hold parts of a code."""
    noise = np.random.default_rng(5).normal(0, 1.0, (256, 384, 3))
    return np.rint(codes + noise).clip(0, 255).astype(np.uint8)


@pytest.mark.parametrize("kind", [{}, {"subsampling": 0}, {"progressive": True}])
@pytest.mark.parametrize("reduce", [1, 2])
def test_a_flat_tint_is_read_to_a_part_of_a_code(tmp_path: Path, kind: dict[str, Any], reduce: int) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes(flat_picture(), quality=92, **kind))
    source = open_picture(tmp_path / "a.jpg")
    picture, codes = decode_with_fine_colour(source, reduce=reduce)
    plain = decode(source, reduce=reduce, colour=True)
    assert picture.scale == plain.scale and picture.pixels.shape == plain.pixels.shape
    assert np.abs(picture.pixels.astype(int) - plain.pixels).max() <= 1, "the same picture as by the decoder's colours"
    off, plainly_off = (one.mean(axis=(1, 2)) - FLAT for one in (codes, np.moveaxis(plain.pixels, 2, 0)))
    assert np.abs(differences(off)).max() <= FINEST < np.abs(differences(plainly_off)).max()


def test_strong_colours_and_pictures_of_other_kinds_are_as_the_decoder_has_them(tmp_path: Path) -> None:
    bands = np.zeros((64, 384, 3), np.uint8)
    for n, colour in enumerate([(255, 0, 0), (0, 0, 255), (0, 255, 0), (255, 255, 0), (128, 128, 128), (250, 20, 130)]):
        bands[:, 64 * n : 64 * n + 64] = colour
    kinds = {"a.jpg": jpeg_bytes(bands), "a.png": None, "grey.jpg": jpeg_bytes(bands[..., 0])}
    for name, saved in kinds.items():
        path = tmp_path / name
        path.write_bytes(saved) if saved else Image.fromarray(bands).save(path)
        source = open_picture(path)
        _, codes = decode_with_fine_colour(source, reduce=1)
        assert np.abs(np.moveaxis(codes, 0, 2) - decode(source, colour=True).pixels).max() <= 3, name


@pytest.mark.parametrize("reduce", [1, 2])
def test_a_jpeg_of_red_green_and_blue_of_grey_or_of_four_inks_is_read(tmp_path: Path, reduce: int) -> None:
    bands = np.repeat(np.arange(0, 240, 16, dtype=np.uint8), 16)
    colours = np.broadcast_to(np.stack([bands, bands[::-1], bands // 2], axis=1), (48, 240, 3))
    for n, mode in enumerate(("RGB", "L", "CMYK")):
        path = tmp_path / f"{n}.jpg"
        Image.fromarray(np.ascontiguousarray(colours)).convert(mode).save(path, quality=95, keep_rgb=True)
        source = open_picture(path)
        assert source.header and not source.header.has_luma
        picture, codes = decode_with_fine_colour(source, reduce=reduce)
        assert np.array_equal(picture.pixels, decode(source, reduce=reduce, colour=True).pixels)
        assert np.array_equal(np.moveaxis(codes, 0, 2), picture.pixels)
        if mode == "RGB" and reduce == 1:
            assert np.abs(picture.pixels.astype(int) - colours).mean() < 3


def test_light_between_two_codes_lies_between_theirs() -> None:
    """0.18 lies at code 117.6 by IEC 61966-2-1."""
    assert np.array_equal(light_of_codes(np.arange(256, dtype=np.float32)), LINEAR)
    assert light_of_codes(np.array([117.6], np.float32))[0] == pytest.approx(0.18, abs=2e-4)
