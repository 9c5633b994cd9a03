"""Lines of text on a surface, from Pillow's own scalable font, so that nothing has to be installed."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from mock_camera.scene.arrays import Floats
from mock_camera.scene.surface import Part, Surface

MASTER_PX = 256  # height of the capitals in the letter picture; smaller ones are averaged from it
RIM_PX = 16
CAPITAL_SHARE = 0.72  # height of the font's capitals against its size; only to choose the size


def lettering(
    s: Surface, text: str, centre_mm: tuple[float, float], capital_mm: float, *, mirrored: bool = False
) -> tuple[Part, Floats]:
    """Coverage of a line of capitals centred on a point of the piece, and the part of the surface it is for.

    centre_mm, capital_mm  the point and the capitals' height, mm
    Returns the coverage as a share, 0 to 1, (rows, columns) of that part.
    """
    master = letter_picture(text, mirrored)
    density = (master.height - 2 * RIM_PX) / capital_mm
    half_mm = master.width / density / 2, master.height / density / 2
    # about two samples of the letter picture to a pixel, which are averaged
    fewer = max(1, int(density * s.px_mm / 2))
    picture, density = reduce_letter(text, mirrored, fewer), density / fewer
    middle = master.width / fewer / 2, master.height / fewer / 2
    part = s.part(*centre_mm, *half_mm)
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
        density * ox + middle[0],
        density * right[1] / 2,
        density * down[1] / 2,
        density * oy + middle[1],
    )
    moved = picture.transform((2 * w, 2 * h), Image.Transform.AFFINE, place, Image.Resampling.BICUBIC)
    return part, np.asarray(moved.reduce(2), np.float32) / 255


@lru_cache(maxsize=128)
def reduce_letter(text: str, mirrored: bool, fewer: int) -> Image.Image:
    """The letter picture with `fewer` x `fewer` px averaged to one; its place and shape stay the same."""
    picture = letter_picture(text, mirrored)
    return picture.reduce(fewer) if fewer > 1 else picture


@lru_cache(maxsize=64)
def letter_picture(text: str, mirrored: bool) -> Image.Image:
    """White letters on black; what is drawn fills it but for a rim."""
    font = ImageFont.load_default(size=MASTER_PX / CAPITAL_SHARE)
    left, top, right, bottom = font.getbbox(text)
    rough = Image.new("L", (math.ceil(right - left) + 2 * RIM_PX, math.ceil(bottom - top) + 2 * RIM_PX))
    ImageDraw.Draw(rough).text((RIM_PX - left, RIM_PX - top), text, fill=255, font=font)
    box = rough.getbbox() or (0, 0, 1, 1)
    picture = Image.new("L", (box[2] - box[0] + 2 * RIM_PX, box[3] - box[1] + 2 * RIM_PX))
    picture.paste(rough.crop(box), (RIM_PX, RIM_PX))
    return picture.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if mirrored else picture
