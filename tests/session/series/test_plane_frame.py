"""Detail of a frame: free of light, less by blur, nothing but noise where there is nothing."""

import io

import numpy as np
import pytest
from PIL import Image, ImageFilter

from session.picture.preview import UnreadablePicture, open_picture
from session.series.plane_frame import BLOCK_PX, ROWS_AT_ONCE, SCALES, read_plane_frame, reduction_for

CHANCE = np.random.default_rng(5)
PATTERN = np.asarray(
    Image.fromarray((127 + 60 * CHANCE.standard_normal((320, 384)).clip(-2, 2)).astype(np.uint8)).filter(
        ImageFilter.GaussianBlur(1)
    )
)


def frame(tmp_path, codes, blur_limit_px=0.5):
    path = tmp_path / "frame.png"
    Image.fromarray(codes).convert("RGB").save(path)
    return read_plane_frame(str(path), blur_limit_px, keep_colours=False)


def test_a_flat_noisy_picture_has_no_detail_beyond_its_noise(tmp_path):
    codes = (128 + 3 * CHANCE.standard_normal((320, 384))).round().astype(np.uint8)
    found = frame(tmp_path, codes)
    assert found.detail.shape == (SCALES, 320 // BLOCK_PX, 384 // BLOCK_PX)
    assert found.detail.mean(axis=(1, 2)) == pytest.approx(found.noise.mean(axis=(1, 2)), rel=0.15)


def test_light_drops_out(tmp_path):
    # half the code with nothing added to the mean is the same contrast; 16 codes are added, which costs a little
    bright, dark = frame(tmp_path, PATTERN), frame(tmp_path, (PATTERN // 2).astype(np.uint8))
    share = np.median(dark.detail / bright.detail, axis=(1, 2))
    expected = ((127 + 16) / 2 / (127 / 2 + 16)) ** 2
    assert share == pytest.approx([expected] * SCALES, rel=0.1)


def test_blur_takes_most_from_the_finest_scale(tmp_path):
    soft = np.asarray(Image.fromarray(PATTERN).filter(ImageFilter.GaussianBlur(1.5)))
    left = np.median(frame(tmp_path, soft).detail, axis=(1, 2)) / np.median(
        frame(tmp_path, PATTERN).detail, axis=(1, 2)
    )
    assert left[0] < left[1] < left[2] < 1


def test_strips_leave_no_seam(tmp_path):
    assert PATTERN.shape[0] > ROWS_AT_ONCE
    turned = frame(tmp_path, np.ascontiguousarray(PATTERN[::-1])).detail[:, ::-1]
    assert frame(tmp_path, PATTERN).detail == pytest.approx(turned, rel=1e-4)


def test_burnt_blocks_are_known(tmp_path):
    codes = PATTERN.copy()
    codes[:BLOCK_PX, :BLOCK_PX] = 255
    burnt = frame(tmp_path, codes).burnt
    assert burnt[0, 0] == 1
    assert burnt[10:, 10:].max() < 0.2


@pytest.mark.parametrize(("limit_px", "reduce"), [(0.3, 1), (0.5, 1), (1.0, 2), (2.1, 4), (9.0, 8)])
def test_the_larger_the_blur_that_may_show_the_smaller_the_picture_measured(tmp_path, limit_px, reduce):
    path = tmp_path / "f.jpg"
    Image.fromarray(PATTERN).save(path)
    assert reduction_for(open_picture(path), limit_px) == reduce


def test_grey_and_colour_of_one_decode_are_those_of_two(tmp_path):
    big = Image.fromarray(np.kron(PATTERN, np.ones((18, 18), np.uint8))).convert("RGB")
    data = io.BytesIO()
    big.save(data, "JPEG", quality=92)
    (tmp_path / "big.jpg").write_bytes(data.getvalue())
    found = read_plane_frame(str(tmp_path / "big.jpg"), 1.0, keep_colours=True)
    assert found.measured_px == (384 * 9, 320 * 9)
    assert found.reduced == 2
    assert 1400 <= max(found.colours.shape) <= 2800


def test_what_is_no_picture_is_told(tmp_path):
    (tmp_path / "no.jpg").write_bytes(b"nothing")
    with pytest.raises(UnreadablePicture):
        read_plane_frame(str(tmp_path / "no.jpg"), 1.0, keep_colours=True)
