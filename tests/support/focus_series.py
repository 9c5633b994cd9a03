"""Focus series of random pieces on the simulated table, with the truth of every place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mock_camera.body.encode import encode_jpeg
from mock_camera.scene.optics import FocusedLens, focus_at, transfer
from mock_camera.table.world import Shot, World

PIXELS = (768, 512)
SENSOR_MM = 24.0
FOCAL_LENGTH_MM = 100.0
LIMIT_PX = 1.0
CLUMSY_MM = 0.1
"""How far off a hand leaves a rail, standard deviation."""

RUN_UP_STEPS = 60
"""Every place is come to from the near side over so many steps of the drive: twice its play."""

SMALL_OPENING = 16.0


@dataclass
class SeriesTable:
    """A piece on the table, to be shot plane by plane.

    shown  with the truth of the table as it lies, nothing moved yet: mm behind the region's plane, (height, width)
    """

    world: World
    magnification: float
    f_number: float
    by_rail: bool
    shown_mm: NDArray[np.floating]
    chance: np.random.Generator
    shots: int = 0
    driven_steps: int = 0

    @property
    def effective_f_number(self) -> float:
        """As the mock camera's own optics have it."""
        return focus_at(self.focused_lens, self.f_number, 0.0).effective_f_number

    @property
    def focused_lens(self) -> FocusedLens:
        """The mock camera's own, with the region in focus."""
        return FocusedLens(self.magnification, FOCAL_LENGTH_MM)

    @property
    def pitch_mm(self) -> float:
        return SENSOR_MM / PIXELS[0]

    def expose(self, path: Path, plane_mm: float) -> float:
        """Focus on a plane, mm behind the region's, release; returns where the plane of focus truly was."""
        if self.by_rail:
            plane_mm += CLUMSY_MM * float(self.chance.normal())
            now_mm = float(self.world.do("move_camera")["away_mm"])  # type: ignore[arg-type]
            self.world.do("move_camera", away_mm=-plane_mm - now_mm)
        else:
            self.world.do("turn_focus", to_mm=plane_mm)
        return self.release(path, plane_mm)

    def expose_by_drive(self, path: Path, plane_mm: float, wrong_by: float) -> float:
        """Drive to a plane from the near side, with a step of the drive that is taken to be `wrong_by` too small.

        Returns where the plane of focus truly was.
        """
        state = self.world.state()
        wanted = round(plane_mm / (float(state["step_mm"]) / (1 + wrong_by)))  # type: ignore[arg-type]
        self.world.drive_focus(wanted - RUN_UP_STEPS - self.driven_steps)
        self.world.drive_focus(RUN_UP_STEPS)
        self.driven_steps = wanted
        return self.release(path, float(self.world.state()["focus_mm"]))  # type: ignore[arg-type]

    def small_opening(self, path: Path, plane_mm: float) -> None:
        """A picture at f/16 as the table lies, the ring at a plane, lit as before; the table is left as it was."""
        before_mm, f_number = float(self.world.state()["focus_mm"]), self.f_number  # type: ignore[arg-type]
        power_ev = float(self.world.do("light", name="key")["power_ev"])  # type: ignore[arg-type]
        self.f_number, wanted_ev = SMALL_OPENING, power_ev + 2 * math.log2(SMALL_OPENING / f_number)
        iso = 100 * 2 ** max(0, math.ceil(wanted_ev))
        self.world.do("light", name="key", power_ev=wanted_ev - math.log2(iso / 100))
        self.world.do("turn_focus", to_mm=plane_mm)
        self.release(path, plane_mm, iso)
        self.world.do("turn_focus", to_mm=before_mm)
        self.world.do("light", name="key", power_ev=power_ev)
        self.f_number = f_number

    def release(self, path: Path, plane_mm: float, iso: int = 100) -> float:
        """Release as the table stands; returns `plane_mm`."""
        self.shots += 1
        shot = Shot(1 / 200, self.f_number, iso, datetime(2026, 11, 2, 9, tzinfo=UTC), self.shots)
        picture = self.world.expose(shot, 100.0 * self.shots)
        path.write_bytes(encode_jpeg(picture, shot))
        return plane_mm

    def scale_at(self, plane_mm: float) -> float:
        """Size of the picture of the region's plane with the focus on a plane, against the table as it lies."""
        lens = self.focused_lens
        if self.by_rail:
            return lens.pupil_distance_mm / (lens.pupil_distance_mm - plane_mm)
        return focus_at(lens, self.f_number, plane_mm).scale

    def total_blur_px(self, defocus_mm: NDArray[np.floating]) -> NDArray[np.float64]:
        """Radius of the disc that has the half contrast of the true blur, diffraction and all, px."""
        reach = float(np.abs(defocus_mm).max())
        tried = np.linspace(0, reach, 80)
        return np.asarray(np.interp(np.abs(defocus_mm), tried, [self._blur_px(away) for away in tried]))

    def _blur_px(self, away_mm: float) -> float:
        focus = focus_at(self.focused_lens, self.f_number, 0.0)
        cycles = np.linspace(1e-3, 0.999, 1500) / (0.55e-3 * focus.effective_f_number)
        passed = transfer(cycles, focus.blur_circle_mm(away_mm), focus.effective_f_number)
        half = float(cycles[int(np.argmax(passed < 0.5))])
        return 0.7050848 / half / 2 / self.pitch_mm  # a disc's contrast is a half at 0.705 / diameter


def random_table(seed: int, *, by_rail: bool | None = None, piece: str | None = None) -> SeriesTable:
    """A piece that leans and lies anyhow, a ratio and an opening at which it is deeper than the depth of field."""
    chance = np.random.default_rng(seed)
    drawn = str(chance.choice(["type", "label", "bridge"]))
    name = piece or drawn
    world = World(seed=seed, pixels=PIXELS, piece=name)
    ratio = float(chance.uniform(0.8, 1.3))
    world.do("arrangement", magnification=ratio, focal_length_mm=FOCAL_LENGTH_MM)
    tilt_deg, raised_deg = float(chance.uniform(4, 12)), float(chance.uniform(0, 360))
    if name != "bridge":  # of so many layers that each leaning frame would take a minute
        world.do("lean", tilt_deg=tilt_deg, raised_deg=raised_deg)
    world.do(
        "shift_piece",
        right_mm=float(chance.uniform(-1, 1)),
        down_mm=float(chance.uniform(-1, 1)),
        turn_deg=float(chance.uniform(-10, 10)),
    )
    f_number = float(chance.choice([2.8, 4.0, 5.6]))
    wider_ev = 2 * math.log2(f_number / 11) + 2 * math.log2((1 + ratio) / 2)  # as a fresh set is lit for f/11 at 1:1
    world.do("light", name="key", power_ev=-2 + wider_ev)
    world.do("ambient", ev=-6)
    either = bool(chance.integers(2))
    rail = either if by_rail is None else by_rail
    return SeriesTable(world, ratio, f_number, rail, world.away_map(), chance)
