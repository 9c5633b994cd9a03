"""A picture's codes with colour finer than whole codes.

A decoder rounds luma and both colour differences of a JPEG to whole codes. In luma noise evens that out, but colour
differences are coded so coarsely that no noise is left of them: a flat piece then is off by up to half a code all over,
which before dark tones is ΔE2000 1 (seen on the mock camera), and grows where pictures are taken from each other. The
file itself holds the means of blocks finer, since the mean of a block of 64 is coded as eight times its value (T.81
A.3.3). So the file is decoded a second time with quantisation steps TIMES as large: the colour differences then come
out TIMES as far from grey, and what the decoder rounds is a part of a code. Codes to colours: ITU-T T.871.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from session.picture.jpeg import with_coarser_steps
from session.picture.preview import Picture, Source, decode, decode_in_parts

TIMES = 4
"""Colour is read to a quarter of a code: finer than the step of a block's mean in the files of cameras, some 3/8 of a
code, and up to 32 codes from grey; farther off, where half a code is a smaller part of the colour, whole codes
must do. Chosen."""

GREY = 128


def decode_with_fine_colour(source: Source, *, reduce: int) -> tuple[Picture, NDArray[np.float32]]:
    """The whole picture, 1/`reduce` (1, 2, 4 or 8) of the size, and its codes finer than the pixels.

    The second are sRGB codes (3, height, width), 0…255, within a code of the picture's; those of the picture itself
    where the file holds no luma and colour differences.
    Raises UnreadablePicture when the data can't be decoded.
    """
    if source.header is None or not source.header.has_luma:
        plain = decode(source, reduce=reduce, colour=True)
        return plain, np.moveaxis(plain.pixels, 2, 0).astype(np.float32)
    parts = decode_in_parts(source, reduce=reduce)
    luma, differences = parts.pixels[..., 0].astype(np.float32), parts.pixels[..., 1:].astype(np.float32)
    pixels = np.moveaxis(_colours(luma, differences - GREY), 0, 2)
    whole = replace(parts, pixels=np.ascontiguousarray(np.rint(pixels).astype(np.uint8)))
    coarser = replace(source, data=with_coarser_steps(source.data, TIMES))
    fine = GREY + (decode_in_parts(coarser, reduce=reduce).pixels[..., 1:].astype(np.float32) - GREY) / TIMES
    sure = np.abs(fine - differences) <= 1  # strong colours clip, or overflow in the decoder
    return whole, _colours(luma, np.where(sure, fine, differences) - GREY)


def _colours(luma: NDArray[np.float32], differences: NDArray[np.float32]) -> NDArray[np.float32]:
    """Red, green and blue codes (3, height, width) of luma and the differences (height, width, 2). T.871 clause 7."""
    blue, red = differences[..., 0], differences[..., 1]
    colours = np.stack(
        [
            luma + np.float32(1.402) * red,
            luma - np.float32(0.344136) * blue - np.float32(0.714136) * red,
            luma + np.float32(1.772) * blue,
        ]
    )
    return np.clip(colours, 0, 255, out=colours)
