"""What a picture of the grey card shows by itself: ratio, blur, brightness, dark rows.

Known beforehand is only what a photographer knows: the card's print (squares of 1.5 mm, 5 degrees off the axes, on a
lattice of 4 mm, centres at 2, 6, 10 … mm from its middle, 4 % and 60 % by turns on 18 %), the sensor's width, and that
the camera was moved down by 2 mm, so that a row of squares runs through the middle of the frame. Where the squares
lie, how large they are and how soft is measured.

Pictures here are linear, (height, width) float64, 1 = full scale, row 0 at the top; x runs to the right, y down, in px.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

from mock_camera.scene.grey_card import LATTICE_MM, SLANT_DEG, SQUARE_MM
from mock_camera.table.imaging import BLACK_LEVEL, SENSOR_BITS, ReleasedPicture

Values = NDArray[np.float64]

ROW_MM = LATTICE_MM / 2  # from the card's middle down to the middle of a row of squares

# half contrast of a disc: 2 J1(x)/x = 1/2, x = pi · diameter · frequency; Goodman, Fourier Optics, from memory
DISC_HALF = float(optimize.brentq(lambda x: 2 * special.j1(x) / x - 0.5, 1.0, 3.0)) / math.pi

STEP_PX = 0.25  # of the edge profile: four samples a pixel, as in the slanted-edge method of ISO 12233


class TooSharpError(ValueError):
    """An edge is sharper than the pixels can tell."""


@dataclass(frozen=True)
class Row:
    """The row of squares through the middle of the frame.

    pitch_px   from a square's centre to the next one's
    light_px   centres of the light squares that lie wholly in the frame, x in px (n,)
    ground     brightness of the bare card around it
    """

    pitch_px: float
    light_px: Values
    ground: float

    @property
    def mm_px(self) -> float:
        """px for 1 mm on the card."""
        return self.pitch_px / LATTICE_MM


def sensor_light(picture: ReleasedPicture) -> Values:
    """Light on every pixel of the sensor; right only where the light is white, as the card is."""
    return (picture.mosaic.astype(np.float64) - BLACK_LEVEL) / ((1 << SENSOR_BITS) - 1 - BLACK_LEVEL)


def square_row(light: Values) -> Row:
    """Finds the squares of the middle row by where their left and right edges cross half their contrast."""
    profile, ground = _profile(light)
    found = []
    for sign in (1, -1):
        found += [(centre, sign) for centre in _marks(sign * (profile - ground))]
    found.sort()
    if len(found) < 2:
        raise ValueError(f"{len(found)} squares are in the frame, but a ratio takes two.")
    centres = np.array([centre for centre, _ in found])
    rough = float(np.median(np.diff(centres)))
    number = np.rint((centres - centres[0]) / rough)
    pitch, first = np.polyfit(number, centres, 1)
    light_px = np.array([first + pitch * n for n, (_, sign) in zip(number, found, strict=True) if sign > 0])
    return Row(float(pitch), light_px, ground)


def magnification(light: Values, sensor_width_mm: float) -> float:
    """Image over card, from the row's lattice."""
    return float(square_row(light).mm_px * sensor_width_mm / light.shape[1])


def grey(light: Values) -> float:
    """Brightness of the bare 18 % card in the middle of the frame, between two squares."""
    reach = max(2, round(0.5 * square_row(light).mm_px))
    row, column = light.shape[0] // 2, light.shape[1] // 2
    return float(light[row - reach : row + reach, column - reach : column + reach].mean())


def blur_diameter_mm(light: Values, sensor_width_mm: float) -> float:
    """Blur at the sensor, mm: the disc that has the same frequency of half contrast as the squares' edges.

    Slanted-edge method as in ISO 12233 (from memory): all pixels along the left and right edges of the light squares
    make one profile in quarter pixels; the transform of its slope is the contrast, freed of what the pixel itself and
    the quarter steps average away.
    """
    position, profile = _edge(light, square_row(light))
    slope = np.diff(profile)
    middle = (position[1:] + position[:-1]) / 2

    def contrast(cycles_px: float) -> float:
        turned = abs(np.sum(slope * np.exp(-2j * np.pi * cycles_px * middle))) / abs(slope.sum())
        return float(turned / (np.sinc(cycles_px) * np.sinc(cycles_px * STEP_PX) ** 2))

    tried = np.linspace(0.002, 0.5, 250)
    below = [contrast(float(cycles)) < 0.5 for cycles in tried]
    if not any(below):
        raise TooSharpError("the edge is sharper than two pixels can tell.")
    first = int(np.argmax(below))
    half = optimize.brentq(lambda c: contrast(c) - 0.5, float(tried[first - 1]), float(tried[first]))
    return float(DISC_HALF / half * sensor_width_mm / light.shape[1])


def row_shares(light: Values, whole: Values) -> Values:
    """Brightness of each row against the same row of a picture that all of the flash has lit (height,)."""
    shares: Values = light.mean(axis=1) / whole.mean(axis=1)
    return shares


def _profile(light: Values) -> tuple[Values, float]:
    """Mean of the rows through the middle of the squares (width,), and the brightness of the bare card."""
    height = light.shape[0]
    # the bare card is what most of the frame shows; a first guess, then only its neighbourhood
    band = light[height // 2 - 2 : height // 2 + 2].mean(axis=0)
    ground = _commonest(band)
    for _ in range(2):
        marks = _marks(band - ground, widths=True)
        if not marks:
            raise ValueError("no square is in the frame.")
        reach = max(2, round(0.25 * float(np.median(marks))))
        band = light[height // 2 - reach : height // 2 + reach].mean(axis=0)
        ground = _commonest(band)
    return band, ground


def _commonest(values: Values) -> float:
    """The value around which most samples lie: the shortest interval that holds a third of them."""
    ordered = np.sort(values)
    held = max(2, len(ordered) // 3)
    spans = ordered[held - 1 :] - ordered[: len(ordered) - held + 1]
    start = int(np.argmin(spans))
    return float(ordered[start : start + held].mean())


def _marks(rise: Values, *, widths: bool = False) -> list[float]:
    """Middles (or widths) of the stretches that stand above half of the highest rise, whole in the frame."""
    smooth = np.convolve(rise, np.ones(5) / 5, "same")
    half = float(np.quantile(smooth, 0.995)) / 2
    above = np.flatnonzero(np.diff((smooth > half).astype(np.int8)))
    if len(above) and smooth[above[0]] > half:  # the first stretch is cut by the frame's left side
        above = above[1:]
    places = above + (half - smooth[above]) / (smooth[above + 1] - smooth[above])
    pairs = [(float(a), float(b)) for a, b in zip(places[0::2], places[1::2], strict=False)]
    longest = max((b - a for a, b in pairs), default=0.0)
    pairs = [(a, b) for a, b in pairs if b - a > 0.6 * longest]
    return [b - a if widths else (a + b) / 2 for a, b in pairs]


def _edge(light: Values, row: Row) -> tuple[Values, Values]:
    """Position across the edge in px, rising outwards to inwards, and the mean brightness there, in even steps."""
    height, width = light.shape
    half = SQUARE_MM / 2 * row.mm_px
    c, s = math.cos(math.radians(SLANT_DEG)), math.sin(math.radians(SLANT_DEG))
    reach = math.ceil(1.9 * half)
    steps = math.floor(0.93 * half / STEP_PX)
    total, count = np.zeros(2 * steps), np.zeros(2 * steps)
    y = np.arange(height)[:, None] - (height - 1) / 2
    for centre in row.light_px:
        left, right = max(0, round(centre) - reach), min(width, round(centre) + reach + 1)
        x = np.arange(left, right)[None, :] - centre
        along = np.abs(c * y - s * x) < 0.6 * half
        for side in (1, -1):
            across = side * (c * x + s * y) + half
            bins = np.floor(across / STEP_PX).astype(int) + steps
            used = along & (bins >= 0) & (bins < 2 * steps)
            total += np.bincount(bins[used], light[:, left:right][used], 2 * steps)
            count += np.bincount(bins[used], minlength=2 * steps)
    filled = count > 0
    position = np.arange(0.5 - steps, steps, dtype=np.float64) * STEP_PX
    return position, np.interp(position, position[filled], total[filled] / count[filled])
