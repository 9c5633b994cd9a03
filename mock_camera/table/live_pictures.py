"""Live view: the picture by continuous light (modelling lamps and room), small, quick, moving.

The lens stands at its widest aperture. Brightness is set automatically from the mean of the frame's light,
without the flicker, which therefore shows. The picture for a focus and view is kept; a frame made from it costs
only displacement, noise and JPEG. An enlarged view is drawn for its own finer pixels.
"""

from __future__ import annotations

import io
from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from mock_camera.scene.grid import frame_grid
from mock_camera.table.hand import NEAR, SKIN, veil
from mock_camera.table.imaging import FULL_WELL, READ_NOISE, srgb
from mock_camera.table.raster import Mix, Raster
from mock_camera.table.shake import displacement_mm
from mock_camera.table.tabletop import MODELLING_CANDELA, Tabletop

LIVE_EXPOSURE_S = 1 / 60
TARGET = 0.20  # linear mean that the automatic brightness aims at
BRIGHTEST_ISO = 25_600  # in the dark the picture stays dark beyond this
QUALITY = 82
MOST_PICTURES, MOST_RASTERS = 4, 2
SHEET_RIM = 256
REACH_MM = 0.65  # at the sensor: margin for the blur of the widest aperture, also in an enlarged view


@dataclass(frozen=True)
class View:
    """The part of a sensor of `pixels` (of pitch_mm) that is shown, and its size in px.

    zoom    1 = the frame's full width; centre as shares of the frame
    """

    pixels: tuple[int, int]
    pitch_mm: float
    size: tuple[int, int]
    zoom: float
    centre: tuple[float, float]

    @property
    def shown_pitch_mm(self) -> float:
        """Sensor mm for one px of the view."""
        return self.pitch_mm * self.pixels[0] / self.size[0] / self.zoom

    @property
    def offset_mm(self) -> tuple[float, float]:
        """Centre of the view from the sensor's centre, mm."""
        x, y = ((c - 0.5) * n * self.pitch_mm for c, n in zip(self.centre, self.pixels, strict=True))
        return x, y


@dataclass(frozen=True, eq=False)
class _Still:
    """A view at one focus and light, with the raster's margin: picture, noise deviation x 16 (h, w), geometry."""

    picture: Image.Image
    noise: NDArray[np.int16]
    raster: Raster
    zoom: float


class LivePictures:
    """Keeps rasters by view and finished pictures by focus and light."""

    def __init__(self, seed: int) -> None:
        self._seed = seed
        self._rasters: dict[Hashable, Raster] = {}
        self._stills: dict[Hashable, _Still] = {}
        self._sheet: NDArray[np.int16] | None = None
        self._frame = 0

    def frame(self, bench: Tabletop, view: View, now_s: float) -> bytes:
        """JPEG bytes of the frame at `now_s` seconds; its noise depends on the seed and the number of frames so far."""
        still = self._still(bench, view)
        shown = _cut(still, view, *displacement_mm(bench.touches, np.array([now_s + LIVE_EXPOSURE_S / 2])))
        if bench.hand_reach > 0:
            shown = _cover(shown, bench)
        if bench.room.flicker_depth > 0:
            shown = shown.point(_brightness_codes(bench.room.swing(now_s, LIVE_EXPOSURE_S)))
        codes = np.asarray(shown).astype(np.int16)
        grid = still.raster.grid
        y, x = grid.margin_y, grid.margin_x
        level = still.noise[y : y + view.size[1], x : x + view.size[0]]
        codes += (self._noise(view.size) * level >> 9)[..., None]
        np.clip(codes, 0, 255, out=codes)
        out = io.BytesIO()
        Image.fromarray(codes.astype(np.uint8)).save(out, "JPEG", quality=QUALITY)
        return out.getvalue()

    def _still(self, bench: Tabletop, view: View) -> _Still:
        raster = self._raster(bench, view)
        lights = tuple(light for light in bench.lights.values() if light.on)
        key = (
            view,
            raster.pose,
            raster.piece.name,
            bench.focus_mm,
            bench.glass,
            lights,
            bench.room.lux,
            bench.modelling_ev,
        )
        if key not in self._stills:
            _make_room(self._stills, MOST_PICTURES)
            self._stills[key] = _form(bench, raster)
        return self._stills[key]

    def _raster(self, bench: Tabletop, view: View) -> Raster:
        pose = bench.drawn_pose()
        key = (view, pose, bench.piece.name)
        if key not in self._rasters:
            _make_room(self._rasters, MOST_RASTERS)
            width, height = (n + n % 2 for n in view.size)
            grid = frame_grid(width, height, view.shown_pitch_mm, view.offset_mm, reach_mm=REACH_MM)
            self._rasters[key] = Raster(grid, pose, bench.piece, self._seed)
        raster = self._rasters[key]
        raster.keep_only(bench.lights.values())
        return raster

    def _noise(self, size: tuple[int, int]) -> NDArray[np.int16]:
        """A window of a fixed sheet of noise (deviation 32), at a place that changes with each frame."""
        width, height = size
        sheet = self._sheet
        if sheet is None or sheet.shape[1] < width + SHEET_RIM or sheet.shape[0] < height + SHEET_RIM:
            chance = np.random.default_rng([self._seed, 77])
            drawn = chance.standard_normal((height + SHEET_RIM, width + SHEET_RIM), dtype=np.float32)
            sheet = self._sheet = np.clip(np.rint(drawn * 32), -120, 120).astype(np.int16)
        self._frame += 1
        left, top = np.random.default_rng([self._seed, self._frame]).integers(0, SHEET_RIM, 2)
        return sheet[top : top + height, left : left + width]


def _make_room(kept: dict[Hashable, Raster] | dict[Hashable, _Still], most: int) -> None:
    while len(kept) >= most:
        del kept[next(iter(kept))]


def _form(bench: Tabletop, raster: Raster) -> _Still:
    focus = bench.focus(bench.arrangement.widest_f_number)
    grid = raster.grid
    candela = MODELLING_CANDELA * 2.0**bench.modelling_ev
    lamps = [
        (light, bench.way_share(light) * candela / (light.distance_mm / 1000) ** 2)
        for light in bench.lights.values()
        if light.on
    ]
    mix: Mix = ((None, bench.room.lux), *lamps)
    total = raster.picture(mix, focus).tint(bench.room.tint).rgb()
    # lux of full scale by the automatic brightness, and the ISO that this needs
    brightest = 250 * focus.effective_f_number**2 / (LIVE_EXPOSURE_S * BRIGHTEST_ISO)
    full_lux = max(float(total.mean()) / TARGET, brightest)
    iso = 250 * focus.effective_f_number**2 / (LIVE_EXPOSURE_S * full_lux)
    # a pixel of the view gathers from as many sensor pixels as it covers
    electrons = FULL_WELL * 100 / iso * (grid.pitch_mm / bench.pitch_mm) ** 2
    total *= np.float32(1 / full_lux)
    green = np.clip(total[..., 1], 0, 1)
    deviation = np.sqrt(green * np.float32(electrons) + np.float32(READ_NOISE**2)) / np.float32(electrons)
    level = np.clip(deviation * _slope(green) * 16, 0, 250).astype(np.int16)
    return _Still(Image.fromarray(srgb(total)), level, raster, focus.scale / raster.pose.scale)


def _slope(linear: NDArray[np.float32]) -> NDArray[np.float32]:
    """sRGB codes per unit of linear light."""
    curve = 1.055 / 2.4 * np.maximum(linear, 0.0031308) ** (1 / 2.4 - 1)
    return (255 * np.where(linear <= 0.0031308, 12.92, curve)).astype(np.float32)


def _cut(still: _Still, view: View, right_mm: NDArray[np.float64], down_mm: NDArray[np.float64]) -> Image.Image:
    """The view without margin, displaced, and enlarged by what focusing changes in the picture's size."""
    grid, zoom = still.raster.grid, still.zoom
    width, height = view.size
    moved = float(right_mm[0]) / grid.pitch_mm, float(down_mm[0]) / grid.pitch_mm
    axis = grid.pixel(0.0, 0.0)
    left = axis[0] + 0.5 + (grid.margin_x - axis[0] - 0.5) / zoom - moved[0]
    top = axis[1] + 0.5 + (grid.margin_y - axis[1] - 0.5) / zoom - moved[1]
    if abs(zoom - 1) < 1e-5 and max(abs(moved[0]), abs(moved[1])) < 0.02:
        return still.picture.crop((grid.margin_x, grid.margin_y, grid.margin_x + width, grid.margin_y + height))
    left = min(max(left, 0.0), still.picture.width - width / zoom)
    top = min(max(top, 0.0), still.picture.height - height / zoom)
    box = (max(left, 0.0), max(top, 0.0), left + width / zoom, top + height / zoom)
    return still.picture.resize(view.size, Image.Resampling.BICUBIC, box=box)


def _cover(shown: Image.Image, bench: Tabletop) -> Image.Image:
    """The picture with the hand over it, as bright as a surface of the hand's reflectance."""
    cover = veil(shown.width // 8, shown.height // 8, bench.hand_reach, bench.hand_side)
    mask = Image.fromarray((cover * 255).astype(np.uint8)).resize(shown.size, Image.Resampling.BILINEAR)
    skin = srgb(np.array([SKIN], np.float32) * np.float32(NEAR))[0]
    return Image.composite(Image.new("RGB", shown.size, tuple(int(v) for v in skin)), shown, mask)


def _brightness_codes(factor: float) -> list[int]:
    """Lookup that multiplies the light behind sRGB codes, for three channels."""
    code = np.arange(256) / 255
    linear = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4) * factor
    return [int(v) for v in srgb(linear.astype(np.float32))] * 3
