"""The bench in front of the mock camera: a still life, its lights, the lens over it.

    world = World(seed=1)
    picture = world.expose(Shot(1 / 200, 11, 100, taken_at, number=1), now_s=10.0)

`expose` fires the lights that are on and work, by their charge at that moment. `now_s` is one clock for
exposures, live frames and hands: the vibration after a touch and the charge of the flash depend on it.
The same seed and the same calls give the same bytes.

The sensor is 24 mm wide (24 x 16 mm at 3:2), pixel pitch = 24 mm / pixels across. The magnification holds
in the plane of the region. What hands can do is listed in hands.py.

Keys of `ReleasedPicture.truth` (and most of them in `state()`):
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

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from mock_camera.scene.arrays import Floats
from mock_camera.scene.grid import frame_grid, sensor_places_mm
from mock_camera.scene.pieces import height_map
from mock_camera.table.hands import do
from mock_camera.table.imaging import ReleasedPicture, develop, process
from mock_camera.table.live_pictures import LivePictures, View
from mock_camera.table.raster import Raster
from mock_camera.table.shutter_opening import expose
from mock_camera.table.tabletop import fresh_bench
from mock_camera.table.truth import geometry, table
from mock_camera.table.values import RefusedValueError


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
        if width % 2 or height % 2 or width < 64 or height < 64:
            raise RefusedValueError(f"{width}x{height} pixels: both must be even and at least 64.")
        self._seed = seed
        self._pixels = (width, height)
        self._bench = fresh_bench(piece, width)
        self._raster: Raster | None = None
        self._live = LivePictures(seed)
        self._latest_s = 0.0

    def expose(self, shot: Shot, now_s: float) -> ReleasedPicture:
        """Opens the shutter at `now_s` and fires what fires."""
        self._latest_s = now_s
        bench = self._bench
        focus = bench.focus(shot.f_number)
        raster = self._sharp_raster()
        light, found = expose(bench, raster, focus, shot.exposure_s, shot.iso, now_s)
        chance = np.random.default_rng([self._seed, shot.number])
        rgb, mosaic = develop(light, shot.iso, chance)
        truth = {**geometry(bench, focus, self._pixels), **found}
        return ReleasedPicture(process(rgb, bench.sharpening, bench.denoising), mosaic, truth)

    def live_frame(
        self,
        shot: Shot,
        now_s: float,
        *,
        size: tuple[int, int] = (1024, 680),
        zoom: float = 1.0,
        centre: tuple[float, float] = (0.5, 0.5),
    ) -> bytes:
        """A JPEG of what the sensor sees by continuous light at `now_s` seconds.

        size    (width, height) of the JPEG, px
        centre  of the view, as shares of the frame
        """
        self._latest_s = now_s
        del shot  # live view works with its own aperture and brightness
        view = View(self._pixels, self._bench.pitch_mm, size, zoom, centre)
        return self._live.frame(self._bench, view, now_s)

    def drive_focus(self, steps: int) -> bool:
        """Moves the focus by motor, + = away from the camera; False when the ring came to a stop."""
        return self._bench.turn_focus_to(self._bench.focus_mm + self._bench.drive.moved_mm(steps))

    def do(self, name: str, /, **values: object) -> dict[str, object]:
        """Do an act of hands, see hands.py. Without `now_s` the time last seen holds.

        Raises ValueError with one plain sentence for a name or value that isn't known.
        """
        return do(self._bench, name, {"now_s": self._latest_s, **values})

    def state(self) -> dict[str, object]:
        """The true state of the bench."""
        bench = self._bench
        focus = bench.focus(bench.arrangement.widest_f_number)
        return {**table(bench, self._pixels), **geometry(bench, focus, self._pixels)}

    def height_map(self) -> Floats:
        """Height on the piece in mm that each pixel of a frame shows (height, width), as drawn for this pose."""
        raster = self._sharp_raster()
        heights = height_map(raster.layers, raster.grid)
        y, x = raster.grid.margin_y, raster.grid.margin_x
        return heights[y : y + raster.grid.height, x : x + raster.grid.width]

    def away_map(self) -> Floats:
        """How far what each pixel of a frame shows lies behind the region's plane as set up, mm, (height, width).

        Heights, lean and the camera's own move counted in; for the size at which the layers were drawn.
        """
        bench, pose = self._bench, self._bench.drawn_pose()
        across, along = np.meshgrid(*sensor_places_mm(frame_grid(*self._pixels, bench.pitch_mm)))
        x, y = pose.to_piece(across.astype(np.float32), along.astype(np.float32), pose.reference_height_mm)
        (up_x, up_y), rise = pose.lean.uphill, pose.lean.rise
        heights: Floats = self.height_map() + rise * (x * up_x + y * up_y)
        return pose.away_mm - (heights - pose.reference_height_mm)

    def _sharp_raster(self) -> Raster:
        pose = self._bench.drawn_pose()
        raster = self._raster
        if raster is None or raster.pose != pose or raster.piece != self._bench.piece:
            grid = frame_grid(*self._pixels, self._bench.pitch_mm)
            raster = Raster(grid, pose, self._bench.piece, self._seed)
        raster.keep_only(self._bench.lights.values())
        self._raster = raster
        return raster
