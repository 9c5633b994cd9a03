"""Forming the optical picture: each layer blurred by its own distance from the focus, laid over the lower.

A layer's light and its coverage are blurred with the same transfer function, and the layers are laid over
each other from the lowest to the highest, so a blurred edge in front lets the surface behind it through.
Blur is linear in the light, so the picture of each light is kept and only its amount changes from
frame to frame. Colour differences are formed at half the resolution, as a JPEG stores them.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from mock_camera.grid import Crop, Grid, Pose, quick_size
from mock_camera.lights import Light
from mock_camera.optics import Focus, transfer
from mock_camera.scene import Piece
from mock_camera.shading import lit, room_lit
from mock_camera.shake import Smear
from mock_camera.surface import Layer

Floats = NDArray[np.float32]
Spectrum = NDArray[np.complex64]

TABLE = 1536  # steps of the radial frequency table from 0 to the corner of the spectrum
CORNER = 2**-0.5  # cycles per px


@dataclass(frozen=True)
class Luma:
    """A picture as luma (h, w) = (R + 2 G + B) / 4 and the differences R - luma, B - luma at half size."""

    luma: Floats
    red: Floats
    blue: Floats

    def rgb(self) -> Floats:
        """(h, w, 3) linear; the differences are enlarged bilinearly."""
        h, w = self.luma.shape
        red, blue = _doubled(self.red, w, h), _doubled(self.blue, w, h)
        out = np.empty((h, w, 3), np.float32)
        np.add(self.luma, red, out=out[..., 0])
        np.add(self.luma, blue, out=out[..., 2])
        red += blue
        red *= np.float32(-0.5)
        np.add(self.luma, red, out=out[..., 1])
        return out


def _key(light: Light | None) -> Hashable:
    return light.geometry if light else "room"


def _doubled(half: Floats, width: int, height: int) -> Floats:
    return np.array(Image.fromarray(half).resize((width, height), Image.Resampling.BILINEAR))


def _halved(full: Floats) -> Floats:
    mean: Floats = (full[::2, ::2] + full[1::2, ::2] + full[::2, 1::2] + full[1::2, 1::2]) * np.float32(0.25)
    return mean


@dataclass
class _Window:
    """A layer's part of the raster, with room around it for its blur, and its transform sizes."""

    layer: Layer
    crop: Crop
    size: tuple[int, int]
    radial: NDArray[np.intp]
    radial_half: NDArray[np.intp]
    cover: Spectrum | None
    transfer_full: Floats | None = None
    transfer_half: Floats | None = None
    covered: Floats | None = None


class Raster:
    """One sampling of one pose of one piece. Keeps spectra by light and blurred pictures by focus."""

    def __init__(self, grid: Grid, pose: Pose, piece: Piece, seed: int) -> None:
        self.grid = grid
        self.pose = pose
        self.piece = piece
        self.layers = piece.draw(grid, pose, seed)
        self._windows = [self._window(number, layer) for number, layer in enumerate(self.layers)]
        self._spectra: dict[Hashable, list[tuple[Spectrum, Spectrum, Spectrum]]] = {}
        self._wholes: dict[Hashable, Luma] = {}
        self._frames: dict[Hashable, Luma] = {}
        self._focus: Focus | None = None

    def _window(self, number: int, layer: Layer) -> _Window:
        grid = self.grid
        room = max(grid.margin_x, 24) // 2 * 2 if number else 0
        left, top = max(0, layer.crop.left - room), max(0, layer.crop.top - room)
        right = min(grid.full_width, layer.crop.left + layer.crop.width + room)
        bottom = min(grid.full_height, layer.crop.top + layer.crop.height + room)
        crop = Crop(left, top, (right - left) // 2 * 2, (bottom - top) // 2 * 2)
        size = (quick_size(crop.height), quick_size(crop.width))
        window = _Window(layer, crop, size, _radial(size, 1.0), _radial((size[0] // 2, size[1] // 2), 0.5), None)
        if number:
            window.cover = np.fft.rfft2(self._padded(window, layer.alpha), size)
        return window

    def _padded(self, window: _Window, values: Floats) -> Floats:
        out = np.zeros(window.size, np.float32)
        top, left = window.layer.crop.top - window.crop.top, window.layer.crop.left - window.crop.left
        h, w = min(values.shape[0], window.size[0] - top), min(values.shape[1], window.size[1] - left)
        out[top : top + h, left : left + w] = values[:h, :w]
        return out

    def picture(self, light: Light | None, focus: Focus, smear: Smear | None = None) -> Luma:
        """The frame (without margin) under one light, or under the room's even light for None.

        Linear, per unit of light. `smear` moves and blurs the whole picture.
        """
        whole = self.whole(light, focus)
        if smear is not None:
            return self._framed(self._smeared(whole, smear), focus)
        key = _key(light)
        if key not in self._frames:
            self._frames[key] = self._framed(whole, focus)
        return self._frames[key]

    def whole(self, light: Light | None, focus: Focus) -> Luma:
        """The same with its margin, at the size for which the layers were drawn."""
        if focus != self._focus:
            self._wholes.clear()
            self._frames.clear()
            self._set_focus(focus)
        key = _key(light)
        if key not in self._wholes:
            self._wholes[key] = self._form(light)
        return self._wholes[key]

    def keep_only(self, lights: list[Light]) -> None:
        """Forget what was formed for lights that stand there no more."""
        kept = {_key(light) for light in lights} | {_key(None)}
        for store in (self._spectra, self._wholes, self._frames):
            for key in [k for k in store if k not in kept]:
                del store[key]

    def _set_focus(self, focus: Focus) -> None:
        self._focus = focus
        frequency = np.linspace(0, CORNER, TABLE) / self.grid.pitch_mm
        tables: dict[float, Floats] = {}
        for window in self._windows:
            blur_mm = focus.blur_circle_mm(self.pose.away_of(window.layer.height_mm))
            if blur_mm not in tables:
                tables[blur_mm] = transfer(frequency, blur_mm, focus.effective_f_number)
            window.transfer_full = tables[blur_mm][window.radial]
            window.transfer_half = tables[blur_mm][window.radial_half]
            if window.cover is not None:
                covered = np.fft.irfft2(window.cover * window.transfer_full, window.size)
                window.covered = covered[: window.crop.height, : window.crop.width]

    def _spectra_of(self, light: Light | None) -> list[tuple[Spectrum, Spectrum, Spectrum]]:
        key = _key(light)
        if key not in self._spectra:
            pictures = lit(self.layers, self.grid, self.pose, light) if light else room_lit(self.layers)
            self._spectra[key] = [
                self._transformed(window, rgb) for window, rgb in zip(self._windows, pictures, strict=True)
            ]
        return self._spectra[key]

    def _transformed(self, window: _Window, rgb: Floats) -> tuple[Spectrum, Spectrum, Spectrum]:
        red, blue = rgb[..., 0], rgb[..., 2]
        luma = (red + 2 * rgb[..., 1] + blue) * np.float32(0.25)
        alpha = window.layer.alpha
        full = self._padded(window, luma * alpha)
        differences = [_halved(self._padded(window, (part - luma) * alpha)) for part in (red, blue)]
        return np.fft.rfft2(full), np.fft.rfft2(differences[0]), np.fft.rfft2(differences[1])

    def _form(self, light: Light | None) -> Luma:
        """Raster with margin under one light at the focus that is set."""
        grid = self.grid
        luma = np.zeros((grid.full_height, grid.full_width), np.float32)
        red = np.zeros((grid.full_height // 2, grid.full_width // 2), np.float32)
        blue = np.zeros_like(red)
        for window, spectra in zip(self._windows, self._spectra_of(light), strict=True):
            c, size = window.crop, window.size
            half = (size[0] // 2, size[1] // 2)
            parts = [
                np.fft.irfft2(spectra[0] * window.transfer_full, size)[: c.height, : c.width],
                np.fft.irfft2(spectra[1] * window.transfer_half, half)[: c.height // 2, : c.width // 2],
                np.fft.irfft2(spectra[2] * window.transfer_half, half)[: c.height // 2, : c.width // 2],
            ]
            places = [
                luma[c.top : c.top + c.height, c.left : c.left + c.width],
                red[c.top // 2 : (c.top + c.height) // 2, c.left // 2 : (c.left + c.width) // 2],
                blue[c.top // 2 : (c.top + c.height) // 2, c.left // 2 : (c.left + c.width) // 2],
            ]
            if window.covered is not None:
                through = 1 - window.covered
                through_half = _halved(through)
                for place, veil in zip(places, (through, through_half, through_half), strict=True):
                    place *= veil
            for place, part in zip(places, parts, strict=True):
                place += part
        return Luma(luma, red, blue)

    def _smeared(self, whole: Luma, smear: Smear) -> Luma:
        h, w = whole.luma.shape
        half = Smear(smear.right_px / 2, smear.down_px / 2, smear.weight)
        parts = [
            np.fft.irfft2(np.fft.rfft2(part) * by.transfer(*part.shape), part.shape)
            for part, by in ((whole.luma, smear), (whole.red, half), (whole.blue, half))
        ]
        return Luma(*parts)

    def _framed(self, whole: Luma, focus: Focus) -> Luma:
        """Cut to the frame, and enlarged by the little that focusing changes the picture's size."""
        grid = self.grid
        zoom = focus.scale / self.pose.scale
        if abs(zoom - 1) < 1e-7:
            y, x = grid.margin_y, grid.margin_x
            luma = whole.luma[y : y + grid.height, x : x + grid.width]
            y, x = y // 2, x // 2
            h, w = grid.height // 2, grid.width // 2
            return Luma(luma, whole.red[y : y + h, x : x + w], whole.blue[y : y + h, x : x + w])
        # about the optical axis, which a raster beside the centre doesn't contain
        centre_x, centre_y = grid.pixel(0.0, 0.0)
        centre_x, centre_y = centre_x + 0.5, centre_y + 0.5
        left = centre_x + (grid.margin_x - centre_x) / zoom
        top = centre_y + (grid.margin_y - centre_y) / zoom
        box = (left, top, left + grid.width / zoom, top + grid.height / zoom)
        return Luma(
            _cut(whole.luma, box, (grid.width, grid.height)),
            _cut(whole.red, tuple(v / 2 for v in box), (grid.width // 2, grid.height // 2)),
            _cut(whole.blue, tuple(v / 2 for v in box), (grid.width // 2, grid.height // 2)),
        )


def _cut(values: Floats, box: tuple[float, ...], size: tuple[int, int]) -> Floats:
    height, width = values.shape
    inside = (max(box[0], 0.0), max(box[1], 0.0), min(box[2], float(width)), min(box[3], float(height)))
    return np.array(Image.fromarray(values).resize(size, Image.Resampling.LANCZOS, box=inside))


def _radial(size: tuple[int, int], finest: float) -> NDArray[np.intp]:
    """Index into the radial table for the half plane of a transform; `finest` 0.5 for half resolution."""
    down = np.fft.fftfreq(size[0])[:, None].astype(np.float32)
    right = np.fft.rfftfreq(size[1])[None, :].astype(np.float32)
    radius = np.hypot(down, right) * np.float32(finest)
    return np.rint(radius * np.float32((TABLE - 1) / CORNER)).astype(np.intp)
