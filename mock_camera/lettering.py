"""Lines of text on a surface, from Pillow's own scalable font, so that nothing has to be installed."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from mock_camera.arrays import Floats
from mock_camera.surface import Part, Surface

RIM_PX = 8
CAPITAL_SHARE = 0.72  # height of the font's capitals against its size; only to choose the size


def lettering(
    s: Surface, text: str, centre_mm: tuple[float, float], capital_mm: float, *, mirrored: bool = False
) -> tuple[Part, Floats]:
    """Coverage of a line of capitals centred on a point of the piece, and the part of the surface it is for."""
    # at least two samples of the letter picture to a pixel, which are averaged
    density = min(2.0 / s.px_mm, 160.0 / capital_mm)
    picture = letter_picture(text, max(8, round(capital_mm * density)), mirrored)
    density = (picture.height - 2 * RIM_PX) / capital_mm
    part = s.part(*centre_mm, picture.width / density / 2, picture.height / density / 2)
    x, y = s.x[part], s.y[part]
    h, w = x.shape
    if h < 2 or w < 2:
        return part, np.zeros((h, w), np.float32)
    ox, oy = float(x[0, 0]) - centre_mm[0], float(y[0, 0]) - centre_mm[1]
    right = (float(x[0, -1] - x[0, 0]) / (w - 1), float(y[0, -1] - y[0, 0]) / (w - 1))
    down = (float(x[-1, 0] - x[0, 0]) / (h - 1), float(y[-1, 0] - y[0, 0]) / (h - 1))
    ox, oy = ox - (right[0] + down[0]) / 2, oy - (right[1] + down[1]) / 2
    place = (
        density * right[0] / 2,
        density * down[0] / 2,
        density * ox + picture.width / 2,
        density * right[1] / 2,
        density * down[1] / 2,
        density * oy + picture.height / 2,
    )
    moved = picture.transform((2 * w, 2 * h), Image.Transform.AFFINE, place, Image.Resampling.BICUBIC)
    return part, np.asarray(moved.reduce(2), np.float32) / 255


@lru_cache(maxsize=128)
def letter_picture(text: str, capital_px: int, mirrored: bool) -> Image.Image:
    """White letters on black; what is drawn fills it but for a rim."""
    font = ImageFont.load_default(size=capital_px / CAPITAL_SHARE)
    left, top, right, bottom = font.getbbox(text)
    rough = Image.new("L", (math.ceil(right - left) + 2 * RIM_PX, math.ceil(bottom - top) + 2 * RIM_PX))
    ImageDraw.Draw(rough).text((RIM_PX - left, RIM_PX - top), text, fill=255, font=font)
    box = rough.getbbox() or (0, 0, 1, 1)
    picture = Image.new("L", (box[2] - box[0] + 2 * RIM_PX, box[3] - box[1] + 2 * RIM_PX))
    picture.paste(rough.crop(box), (RIM_PX, RIM_PX))
    return picture.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if mirrored else picture
