"""Forming the optical picture: each layer blurred by its own distance from the focus, laid over the lower.

A layer's light and its coverage are blurred with the same transfer function, and the layers are laid over
each other from the lowest to the highest, so a blurred edge in front lets the surface behind it through.
Blur is linear in the light, so the picture of each light is kept and only its amount changes from
frame to frame. Colour differences are formed at half the resolution, as a JPEG stores them.

A piece out of square is formed at several distances, STATION_PX of blur apart, and each pixel lies between the two
pictures that are nearest to its own distance.

Under a light a mirror shows what the pupil sees in it, so its brightness depends on the opening too.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from mock_camera.scene.arrays import Floats, Spectrum, half_size
from mock_camera.scene.grid import Crop, Grid, Pose, quick_size
from mock_camera.scene.optics import Focus, transfer, two_way_transfer
from mock_camera.scene.pieces import Piece
from mock_camera.scene.surface import Layer
from mock_camera.table.lights import FlashHead
from mock_camera.table.luma import Luma
from mock_camera.table.shading import light_layers, room_lit

TABLE = 1536  # steps of the radial frequency table from 0 to the corner of the spectrum
CORNER = 2**-0.5  # cycles per px
# along each axis of the spectrum, through glass, cycles per px; closer near 0, where the contrast is
TWO_WAY_CYCLES = 0.5 * np.linspace(0, 1, 192) ** 2
MOST_PICTURES = 6
STATION_PX = 1.0  # of the blur disc's diameter
Mix: TypeAlias = tuple[tuple[FlashHead | None, float], ...]
"""Lights and the weight of each; None is the room."""


@dataclass(frozen=True, eq=False)
class _Window:
    """A layer's part of the raster, with room around it for its blur, its transform size, its coverage."""

    layer: Layer
    crop: Crop
    size: tuple[int, int]
    radial: NDArray[np.intp]
    radial_half: NDArray[np.intp]
    cover: Spectrum | None

    @property
    def half(self) -> tuple[int, int]:
        return self.size[0] // 2, self.size[1] // 2


@dataclass(frozen=True, eq=False)
class _Blur:
    """A window's transfer functions at one focus and what its blurred coverage lets through (full, half)."""

    full: Floats
    half: Floats
    through: tuple[Floats, Floats] | None


class Raster:
    """A piece in one pose, sampled once. Keeps spectra by light and blurred pictures by focus."""

    def __init__(self, grid: Grid, pose: Pose, piece: Piece, seed: int) -> None:
        self.grid = grid
        self.pose = pose
        self.piece = piece
        self.layers = piece.draw(grid, pose, seed)
        self._windows = [_window(grid, layer, number == 0) for number, layer in enumerate(self.layers)]
        self._spectra: dict[Hashable, list[tuple[Spectrum, Spectrum, Spectrum]]] = {}
        self._pictures: dict[Hashable, Luma] = {}
        self._mix: Mix = ()
        self._mix_spectra: list[tuple[Spectrum, Spectrum, Spectrum]] = []
        self._focus: Focus | None = None
        self._stations: list[tuple[list[_Blur], Floats | None]] = []

    def picture(self, mix: Mix, focus: Focus) -> Luma:
        """The raster with its margin under a mix of lights, weighted.

        None stands for the room's even light. Linear, per unit of light; at the size for which the layers
        were drawn (pose.scale). Kept for this focus; don't change it in place.
        """
        if focus != self._focus:
            self._focus = focus
            self._pictures.clear()
            if any(layer.mirrors for layer in self.layers):
                self._spectra.clear()
                self._mix = ()
            self._stations = self._stations_at(focus)
        key = tuple((_key(light), weight) for light, weight in mix)
        if key not in self._pictures:
            if len(self._pictures) >= MOST_PICTURES:
                del self._pictures[next(iter(self._pictures))]
            self._pictures[key] = self._form_at_stations(self._spectra_of(mix, focus))
        return self._pictures[key]

    def keep_only(self, lights: Iterable[FlashHead]) -> None:
        """Forget the spectra of lights that aren't among these."""
        kept = {_key(light) for light in lights} | {_key(None)}
        self._spectra = {key: value for key, value in self._spectra.items() if key in kept}

    def _stations_at(self, focus: Focus) -> list[tuple[list[_Blur], Floats | None]]:
        """Blurs at each distance that the piece is formed at, and the share of each pixel (h, w); None for all."""
        if not self.pose.lean.tilt_deg:
            return [(self._blurs_at(focus, 0.0), None)]
        grid = self.grid
        across, along = np.meshgrid(
            *(np.array([grid.sensor_mm(at, at)[axis] for at in range(count)])
              for axis, count in enumerate((grid.full_width, grid.full_height)))
        )  # fmt: skip
        x, y = self.pose.to_piece(across, along, self.pose.reference_height_mm)
        (up_x, up_y), rise = self.pose.lean.uphill, self.pose.lean.rise
        nearer_mm = (rise * (x * up_x + y * up_y)).astype(np.float32)
        lowest, highest = float(nearer_mm.min()), float(nearer_mm.max())
        blurs_mm = [focus.blur_circle_mm(self.pose.away_mm - end_mm) for end_mm in (lowest, highest)]
        count = 2 + math.ceil(sum(blurs_mm) / grid.pitch_mm / STATION_PX)
        step_mm = (highest - lowest) / (count - 1)
        return [
            (
                self._blurs_at(focus, lowest + number * step_mm),
                np.clip(1 - np.abs(nearer_mm - np.float32(lowest + number * step_mm)) / np.float32(step_mm), 0, 1),
            )
            for number in range(count)
        ]

    def _blurs_at(self, focus: Focus, nearer_mm: float) -> list[_Blur]:
        frequency, two_way = np.linspace(0, CORNER, TABLE) / self.grid.pitch_mm, TWO_WAY_CYCLES / self.grid.pitch_mm
        tables: dict[tuple[float, float], Floats] = {}
        widest_mm = 2 * (_room(self.grid) - 4) * self.grid.pitch_mm
        effective = focus.effective_f_number
        blurs = []
        for window in self._windows:
            spreads_mm = focus.spreads_mm(self.pose.away_of(window.layer.height_mm + nearer_mm))
            across_mm, down_mm = (min(max(spread_mm, -widest_mm), widest_mm) for spread_mm in spreads_mm)
            spot, is_round = (across_mm, down_mm), across_mm == down_mm
            if spot not in tables:
                tables[spot] = (
                    transfer(frequency, abs(across_mm), effective)
                    if is_round
                    else two_way_transfer(two_way, two_way, spot, effective)
                )
            table = tables[spot]
            if is_round:
                full, half = table[window.radial], table[window.radial_half]
            else:
                full, half = _read_off(table, window.size, 1.0), _read_off(table, window.half, 0.5)
            through = None
            if window.cover is not None:
                covered = np.fft.irfft2(window.cover * full, window.size)
                clear = 1 - covered[: window.crop.height, : window.crop.width]
                through = clear, half_size(clear)
            blurs.append(_Blur(full, half, through))
        return blurs

    def _light_spectra(self, light: FlashHead | None, focus: Focus) -> list[tuple[Spectrum, Spectrum, Spectrum]]:
        key = _key(light)
        if key not in self._spectra:
            factors = light_layers(self.layers, self.grid, self.pose, light, focus) if light else room_lit(self.layers)
            self._spectra[key] = [
                _transform(window, factor) for window, factor in zip(self._windows, factors, strict=True)
            ]
        return self._spectra[key]

    def _spectra_of(self, mix: Mix, focus: Focus) -> list[tuple[Spectrum, Spectrum, Spectrum]]:
        parts = [self._light_spectra(light, focus) for light, _ in mix]
        if len(mix) == 1 and mix[0][1] == 1:
            return parts[0]
        if mix != self._mix:
            weights = [np.float32(weight) for _, weight in mix]
            self._mix = mix
            self._mix_spectra = [
                (_weigh(weights, a), _weigh(weights, b), _weigh(weights, c))
                for a, b, c in (zip(*window, strict=True) for window in zip(*parts, strict=True))
            ]
        return self._mix_spectra

    def _form_at_stations(self, spectra: list[tuple[Spectrum, Spectrum, Spectrum]]) -> Luma:
        """The picture of blurred layers, each pixel at its own distance."""
        out = Luma.dark(self.grid.full_width, self.grid.full_height)
        for blurs, share in self._stations:
            formed = self._form(spectra, blurs)
            if share is None:
                return formed
            small = half_size(share)
            out.luma[...] += share * formed.luma
            out.red[...] += small * formed.red
            out.blue[...] += small * formed.blue
        return out

    def _form(self, spectra: list[tuple[Spectrum, Spectrum, Spectrum]], blurs: list[_Blur]) -> Luma:
        """The picture of blurred layers, the higher over the lower."""
        grid = self.grid
        out = Luma.dark(grid.full_width, grid.full_height)
        for window, blur, (luma, red, blue) in zip(self._windows, blurs, spectra, strict=True):
            c = window.crop
            places = out.window(c.left, c.top, c.width, c.height)
            if blur.through is not None:
                places.luma[...] *= blur.through[0]
                places.red[...] *= blur.through[1]
                places.blue[...] *= blur.through[1]
            places.luma[...] += np.fft.irfft2(luma * blur.full, window.size)[: c.height, : c.width]
            h, w = c.height // 2, c.width // 2
            places.red[...] += np.fft.irfft2(red * blur.half, window.half)[:h, :w]
            places.blue[...] += np.fft.irfft2(blue * blur.half, window.half)[:h, :w]
        return out


def _weigh(weights: list[np.float32], spectra: tuple[Spectrum, ...]) -> Spectrum:
    total = weights[0] * spectra[0]
    for weight, spectrum in zip(weights[1:], spectra[1:], strict=True):
        total += weight * spectrum
    return total


def _key(light: FlashHead | None) -> Hashable:
    return light.geometry if light else "room"


def _room(grid: Grid) -> int:
    """Pixels around a layer for its blur: a wider blur disc is drawn only as wide as this."""
    return max(min(grid.margin_x, grid.margin_y), 24) // 4 * 4


def _window(grid: Grid, layer: Layer, lowest: bool) -> _Window:
    room = 0 if lowest else _room(grid)
    c = layer.crop
    left, top = max(0, c.left - room), max(0, c.top - room)
    right = min(grid.full_width, c.left + c.width + room)
    bottom = min(grid.full_height, c.top + c.height + room)
    crop = Crop(left, top, (right - left) // 2 * 2, (bottom - top) // 2 * 2)
    # a transform's blur leaves by one edge and comes in by the opposite one: where the raster's edge cuts
    # the layer's own room short there has to be as much behind it
    cut_x = c.left - left < room or right - (c.left + c.width) < room
    cut_y = c.top - top < room or bottom - (c.top + c.height) < room
    size = quick_size(crop.height + room * cut_y), quick_size(crop.width + room * cut_x)
    cover = None
    if not lowest:
        cover = np.fft.rfft2(_pad(layer.alpha, c.left - left, c.top - top, size))
    radial_half = _radial((size[0] // 2, size[1] // 2), 0.5)
    return _Window(layer, crop, size, _radial(size, 1.0), radial_half, cover)


def _pad(values: Floats, left: int, top: int, size: tuple[int, int]) -> Floats:
    out = np.zeros(size, np.float32)
    h, w = min(values.shape[0], size[0] - top), min(values.shape[1], size[1] - left)
    out[top : top + h, left : left + w] = values[:h, :w]
    return out


def _transform(window: _Window, factor: Floats) -> tuple[Spectrum, Spectrum, Spectrum]:
    layer = window.layer
    left, top = layer.crop.left - window.crop.left, layer.crop.top - window.crop.top
    small = half_size(factor)
    luma = np.fft.rfft2(_pad(layer.luma * factor, left, top, window.size))
    red, blue = (np.fft.rfft2(_pad(part * small, left // 2, top // 2, window.half)) for part in (layer.red, layer.blue))
    return luma, red, blue


def _radial(size: tuple[int, int], finest: float) -> NDArray[np.intp]:
    """Index into the radial table for the half plane of a transform; `finest` 0.5 for half resolution."""
    down = np.fft.fftfreq(size[0])[:, None].astype(np.float32)
    right = np.fft.rfftfreq(size[1])[None, :].astype(np.float32)
    radius = np.hypot(down, right) * np.float32(finest * (TABLE - 1) / CORNER)
    return np.rint(radius).astype(np.intp)


def _read_off(table: Floats, size: tuple[int, int], finest: float) -> Floats:
    """The half plane of a transform read off a table over TWO_WAY_CYCLES down and across, straight between them.

    finest  0.5 for half resolution
    """
    row, row_share = _between(np.abs(np.fft.fftfreq(size[0])) * finest)
    rows = table[row - 1] * (1 - row_share[:, None]) + table[row] * row_share[:, None]
    column, share = _between(np.fft.rfftfreq(size[1]) * finest)
    values: Floats = rows[:, column - 1] * (1 - share) + rows[:, column] * share
    return values


def _between(cycles: Floats) -> tuple[NDArray[np.intp], Floats]:
    """The step above each frequency, and the share of the way to it from the one below."""
    steps = TWO_WAY_CYCLES
    above = np.clip(np.searchsorted(steps, cycles), 1, len(steps) - 1)
    return above, ((cycles - steps[above - 1]) / (steps[above] - steps[above - 1])).astype(np.float32)
