"""The bench in front of the mock camera: a still life, its lights, the lens over it.

    world = World(seed=1)
    picture = world.expose(Shot(1 / 200, 11, 100, taken_at, number=1), now_s=10.0)

`expose` fires the lights that are on and work, by their charge at that moment. `now_s` is one clock for
exposures, live frames and hands: the vibration after a touch and the charge of the flash depend on it.
The same seed and the same calls give the same bytes.

The sensor is 24 mm wide (24 x 16 mm at 3:2), pixel pitch = 24 mm / pixels across. The magnification holds
in the plane of the region. What hands can do is listed in hands.py.

Keys of `Picture.truth` (and most of them in `state()`):
    blur_px             radius of the geometric blur disc in the region's plane, px
    blur_circle_mm      its diameter at the sensor
    airy_px             radius of the diffraction pattern's first dark ring, px
    defocus_mm          plane of focus from the region's plane, + = behind it (away from the camera)
    magnification       image / subject in the region's plane, as the picture shows it
    effective_f_number
    dark_share          share of the height that the second curtain covers before the flash (0 without flash)
    flash_ev            flash light against the same lights at full charge for their power; None: no flash
    fired               {light: bool}; light_ev {light: EV of each against its power}
    exposure_ev         incident light against a correct exposure of a level 18 % card
    ambient_ev          room against flash in this exposure; None without flash
    shake_px            extent of the picture's movement while exposed, px
    shake_shift_px      [right, down] mean displacement by vibration, px
    shift_px            [right, down] of the region against where it lay as the set started, px
    turn_deg            of the picture against the start, clockwise
    region              [x, y, w, h] px of the region in this picture
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from mock_camera.bench import Bench, fresh_bench
from mock_camera.grid import framed, places_down
from mock_camera.hands import do
from mock_camera.imaging import Picture, develop
from mock_camera.lights import LEAST_SHARE, Charge, Light
from mock_camera.live import LiveView, View
from mock_camera.luma import Luma
from mock_camera.optics import Focus
from mock_camera.raster import Raster
from mock_camera.shake import Smear, flash_smear, steady_smear

STILL_PX = 0.01  # vibration below this isn't drawn


@dataclass(frozen=True)
class Shot:
    """Camera settings of one exposure; `number` seeds its noise."""

    exposure_s: float
    f_number: float
    iso: int
    taken_at: datetime
    number: int


class World:
    """A bench with one piece, and the camera's optics over it."""

    def __init__(self, *, seed: int = 1, pixels: tuple[int, int] = (1536, 1024), piece: str = "bridge") -> None:
        width, height = pixels
        if width % 4 or height % 4 or width < 64 or height < 64:
            raise ValueError(f"{width}x{height} px: both must be multiples of 4 and at least 64.")
        self._seed = seed
        self._pixels = (width, height)
        self._bench = fresh_bench(piece, width)
        self._raster: Raster | None = None
        self._live = LiveView(seed)
        self._latest_s = 0.0

    def expose(self, shot: Shot, now_s: float) -> Picture:
        """Opens the shutter at `now_s` and fires what fires."""
        self._latest_s = now_s
        bench = self._bench
        focus = bench.focus(shot.f_number)
        raster = self._sharp_raster()
        per_lux_s = bench.linear_per_lux_second(shot.iso, focus.effective_f_number)
        flash_at_s = now_s + bench.shutter.flash_at_s
        zoom = focus.scale / raster.pose.scale
        down = places_down(raster.grid, zoom)
        light = Luma.dark(raster.grid.full_width, raster.grid.full_height)
        fired: dict[str, bool] = {}
        light_ev: dict[str, float] = {}
        smears: list[Smear] = []
        given = full = 0.0
        for head in bench.lights.values():
            share = self._fire(head, flash_at_s)
            fired[head.name] = share > 0
            asked = 2.0**head.power_ev
            if not head.on:
                continue
            level = max(head.direction[2], 0.0)
            full += head.lux_seconds(asked) * level
            if share <= 0:
                continue
            light_ev[head.name] = math.log2(share / asked)
            given += head.lux_seconds(share) * level
            smear = flash_smear(bench.touches, flash_at_s, head.duration_t01_s, bench.pitch_mm)
            smears.append(smear)
            rows = bench.shutter.flash_rows(head, shot.exposure_s, down) * head.lux_seconds(share)
            light.add(_moved(raster.picture(((head, 1.0),), focus), smear), rows * per_lux_s)
        room_rows = bench.shutter.room_rows(bench.room, shot.exposure_s, down, now_s)
        room_smear = steady_smear(bench.touches, now_s, shot.exposure_s, bench.pitch_mm)
        if bench.room.lux > 0:
            room = raster.picture(((None, 1.0),), focus).tinted(bench.room.tint)
            light.add(_moved(room, room_smear), room_rows * per_lux_s)
        room_lux_s = float(room_rows.mean())
        chance = np.random.default_rng([self._seed, shot.number])
        truth = self._geometry(focus)
        seen = smears[0] if smears else room_smear
        truth |= {
            "dark_share": bench.shutter.dark_share(shot.exposure_s) if smears else 0.0,
            "flash_ev": math.log2(given / full) if given > 0 else None,
            "fired": fired,
            "light_ev": light_ev,
            "exposure_ev": _ev((given + room_lux_s) * per_lux_s),
            "ambient_ev": _ev(room_lux_s / given) if given > 0 else None,
            "shake_px": max(s.length_px for s in (smears or [room_smear])),
            "shake_shift_px": [round(v, 4) for v in seen.mean_px],
        }
        rgb, mosaic = develop(light.framed(raster.grid, zoom), shot.iso, chance)
        return Picture(rgb, mosaic, truth)

    def live_frame(
        self,
        shot: Shot,
        now_s: float,
        *,
        size: tuple[int, int] = (1024, 680),
        zoom: float = 1.0,
        centre: tuple[float, float] = (0.5, 0.5),
    ) -> bytes:
        """A JPEG of what the sensor sees by continuous light, `size` px; `centre` as shares of the frame."""
        self._latest_s = now_s
        del shot  # live view works with its own aperture and brightness
        view = View(self._pixels, self._bench.pitch_mm, size, zoom, centre)
        return self._live.frame(self._bench, view, now_s)

    def drive_focus(self, steps: int) -> bool:
        """Moves the focus by motor, + = away from the camera; False when the ring came to a stop."""
        return self._bench.turn_focus_to(self._bench.focus_mm + self._bench.drive.moved_mm(steps))

    def do(self, name: str, /, **values: object) -> dict[str, object]:
        """What hands do, see hands.py. `now_s` may be given; else the time last seen holds.

        Raises ValueError with one plain sentence for a name or value that isn't known.
        """
        return do(self._bench, name, {"now_s": self._latest_s, **values})

    def state(self) -> dict[str, object]:
        """The true state of the bench."""
        bench = self._bench
        focus = bench.focus(bench.arrangement.widest_f_number)
        near, far = bench.focus_stops_mm()
        return {
            "piece": bench.piece.name,
            "pixels": list(self._pixels),
            "pixel_pitch_mm": bench.pitch_mm,
            "sensor_mm": [bench.pitch_mm * n for n in self._pixels],
            "focal_length_mm": bench.arrangement.focal_length_mm,
            "pupil_magnification": bench.arrangement.pupil_magnification,
            "widest_f_number": bench.arrangement.widest_f_number,
            "region_height_mm": bench.piece.region_height_mm,
            "relief_mm": bench.piece.relief_mm,
            "focus_stops_mm": [near, far],
            "step_mm": bench.drive.step_mm,
            "backlash_steps": bench.drive.backlash_steps,
            "ambient_lux": bench.room.lux,
            "curtain_travel_s": bench.shutter.curtain_travel_s,
            "trigger_delay_s": bench.shutter.trigger_delay_s,
            "lights": {light.name: _described(light) for light in bench.lights.values()},
            **self._geometry(focus),
        }

    def _fire(self, head: Light, at_s: float) -> float:
        """Share of full energy that a head gives off; 0 when it doesn't fire. Empties it."""
        if not (head.on and head.fires):
            return 0.0
        share = self._bench.charge(head, at_s)
        if share < LEAST_SHARE * 2.0**head.power_ev:
            return 0.0
        self._bench.charges[head.name] = Charge(0.0, at_s)
        return share

    def _sharp_raster(self) -> Raster:
        pose = self._bench.drawn_pose()
        raster = self._raster
        if raster is None or raster.pose != pose or raster.piece != self._bench.piece:
            grid = framed(*self._pixels, self._bench.pitch_mm)
            raster = Raster(grid, pose, self._bench.piece, self._seed)
        raster.keep_only(self._bench.lights.values())
        self._raster = raster
        return raster

    def _geometry(self, focus: Focus) -> dict[str, object]:
        bench = self._bench
        pose = bench.pose(focus.scale)
        blur_mm = focus.blur_circle_mm(bench.away_mm)
        return {
            "blur_px": blur_mm / bench.pitch_mm / 2,
            "blur_circle_mm": blur_mm,
            "airy_px": focus.airy_radius_mm / bench.pitch_mm,
            "defocus_mm": bench.focus_mm - bench.away_mm,
            "focus_mm": bench.focus_mm,
            "focal_length_mm": bench.arrangement.focal_length_mm,
            "orientation": bench.orientation,
            "pixel_pitch_mm": bench.pitch_mm,
            "effective_f_number": focus.effective_f_number,
            "magnification": pose.magnification(bench.piece.region_height_mm),
            "turn_deg": bench.placement.turn_deg - bench.camera.turn_deg,
            **_region(bench, focus, self._pixels),
        }


def _region(bench: Bench, focus: Focus, pixels: tuple[int, int]) -> dict[str, object]:
    """Where the region lies in the picture, and how far from where it lay as the set started."""
    pose = bench.pose(focus.scale)
    left, top, width, height = bench.piece.region_mm
    level = bench.piece.region_height_mm
    grid = framed(*pixels, bench.pitch_mm)
    corners = [grid.pixel(*pose.to_sensor(left + i * width, top + j * height, level)) for i in (0, 1) for j in (0, 1)]
    xs = [x + 0.5 - grid.margin_x for x, _ in corners]
    ys = [y + 0.5 - grid.margin_y for _, y in corners]
    x0, y0 = max(0, math.floor(min(xs))), max(0, math.floor(min(ys)))
    x1, y1 = min(pixels[0], math.ceil(max(xs))), min(pixels[1], math.ceil(max(ys)))
    start = bench.arrangement.magnification / bench.pitch_mm
    middle = (left + width / 2) * start, (top + height / 2) * start
    shift = [sum(v) / 4 - n / 2 - m for v, n, m in zip((xs, ys), pixels, middle, strict=True)]
    return {"region": [x0, y0, max(0, x1 - x0), max(0, y1 - y0)], "shift_px": [round(v, 4) for v in shift]}


def _described(light: Light) -> dict[str, object]:
    return {name: value for name, value in vars(light).items() if name != "name"}


def _moved(picture: Luma, smear: Smear) -> Luma:
    right, down = smear.mean_px
    still = max(abs(right), abs(down), smear.deviation_px) <= STILL_PX
    return picture if still else picture.smeared(smear)


def _ev(ratio: float) -> float:
    return math.log2(max(ratio, 2.0**-30))
