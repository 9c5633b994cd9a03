"""An opening of the shutter: the lights that fire, the light that each row gathers, the true values of the picture."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mock_camera.scene.grid import places_down
from mock_camera.scene.optics import Focus
from mock_camera.table.hand import veil
from mock_camera.table.luma import Luma
from mock_camera.table.raster import Raster
from mock_camera.table.shake import Smear, flash_smear, steady_smear
from mock_camera.table.tabletop import Tabletop

STILL_PX = 0.01  # vibration below this isn't drawn


@dataclass
class Gathered:
    """Light so far: the picture, lux seconds of flash (and of the same lights fully charged), who fired."""

    light: Luma
    level: NDArray[np.float64]
    flash_lux_s: float = 0.0
    full_lux_s: float = 0.0
    fired: dict[str, bool] = field(default_factory=dict)
    light_ev: dict[str, float] = field(default_factory=dict)
    smears: list[Smear] = field(default_factory=list)

    def add(self, picture: Luma, smear: Smear, rows: NDArray[np.float64], incidence: float) -> None:
        """A source's picture times its amount on each row, (rows,); `incidence` is its share on the level table."""
        right, down = smear.mean_px
        still = max(abs(right), abs(down), smear.deviation_px) <= STILL_PX
        self.light.add(picture if still else picture.smear(smear), rows)
        self.level += rows * incidence


def expose(
    bench: Tabletop, raster: Raster, focus: Focus, exposure_s: float, iso: int, now_s: float
) -> tuple[Luma, dict[str, object]]:
    """The linear frame of an exposure that begins at `now_s`, and the truth about its light.

    Fires the lights that are on and work, and empties them.
    """
    zoom = focus.scale / raster.pose.scale
    down = places_down(raster.grid, zoom)
    per_lux_s = bench.linear_per_lux_second(iso, focus.effective_f_number)
    got = Gathered(Luma.dark(raster.grid.full_width, raster.grid.full_height), np.zeros(len(down)))
    flash_at_s = now_s + bench.shutter.flash_at_s
    for head in bench.lights.values():
        share, asked = bench.fire(head, flash_at_s), 2.0**head.power_ev
        lux_s, incidence = head.lux_seconds(1.0) * bench.way_share(head), max(head.direction[2], 0.0)
        got.fired[head.name] = share > 0
        got.full_lux_s += lux_s * asked * incidence if head.on else 0.0
        if share > 0:
            got.light_ev[head.name] = math.log2(share / asked)
            got.flash_lux_s += lux_s * share * incidence
            got.smears.append(flash_smear(bench.touches, flash_at_s, head.duration_t01_s, bench.pitch_mm))
            rows = bench.shutter.flash_rows(head, exposure_s, down) * lux_s * share * per_lux_s
            picture = raster.picture(((head, 1.0),), focus).tint(head.tint)
            got.add(picture, got.smears[-1], rows, incidence)
    room_rows = bench.shutter.room_rows(bench.room, exposure_s, down, now_s)
    room_lux_s = float(room_rows.mean())
    steady = steady_smear(bench.touches, now_s, exposure_s, bench.pitch_mm)
    if room_lux_s > 0:
        room = raster.picture(((None, 1.0),), focus).tint(bench.room.tint)
        got.add(room, steady, room_rows * per_lux_s, 1.0)
    if bench.hand_reach > 0:
        grid = raster.grid
        got.light.cover(veil(grid.full_width, grid.full_height, bench.hand_reach, bench.hand_side), got.level)
    smears = got.smears or [steady]
    return got.light.crop(raster.grid, zoom), {
        "dark_share": bench.shutter.dark_share(exposure_s) if got.smears else 0.0,
        "flash_ev": math.log2(got.flash_lux_s / got.full_lux_s) if got.flash_lux_s > 0 else None,
        "fired": got.fired,
        "light_ev": got.light_ev,
        "exposure_ev": _ev((got.flash_lux_s + room_lux_s) * per_lux_s),
        "ambient_ev": _ev(room_lux_s / got.flash_lux_s) if got.flash_lux_s > 0 else None,
        "shake_px": max(smear.length_px for smear in smears),
        "shake_shift_px": [round(v, 4) for v in smears[0].mean_px],
    }


def _ev(ratio: float) -> float:
    return math.log2(max(ratio, 2.0**-30))
