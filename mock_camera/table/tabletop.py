"""Everything on the table that a hand can change, as values, from which the world forms its pictures."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from mock_camera.scene.glass import GlassSheet
from mock_camera.scene.grid import SQUARE, Lean, Placement, Pose
from mock_camera.scene.optics import Focus, FocusedLens, focus_at
from mock_camera.scene.pieces import PIECES, Piece
from mock_camera.table.curtains import Shutter
from mock_camera.table.lights import LEAST_SHARE, METER_CONSTANT, AmbientLight, Charge, FlashHead
from mock_camera.table.shake import Touch
from mock_camera.table.values import RefusedValueError

SENSOR_WIDTH_MM = 24.0
AMBIENT_EV = -6.0  # the room under the flash at 1/200 s, as the set starts
SYNC_TIME_S = 1 / 200
MODELLING_CANDELA = 250.0  # a modelling lamp of about 150 W; invented
BREATHING_STEP = 0.04  # relative size; well inside the rasters' margin
STEP_MM = 0.01  # of the plane of focus on the piece, for one step of the focus drive


@dataclass
class FocusDrive:
    """The lens's focus motor: size of a step, slack in its gears, and where in the slack it stands."""

    step_mm: float = STEP_MM
    backlash_steps: int = 0
    slack_steps: int = 0

    def moved_mm(self, steps: int) -> float:
        """Way, mm, of the plane of focus for so many motor steps (+ = away), once the slack is taken up."""
        wanted = self.slack_steps + steps
        taken = min(max(wanted, 0), self.backlash_steps)
        effective = wanted - taken
        self.slack_steps = taken
        return effective * self.step_mm


def _key() -> dict[str, FlashHead]:
    return {"key": FlashHead("key")}


@dataclass
class Tabletop:
    """Camera, piece, lights and room. Distances as in grid.py, lights.py and optics.py."""

    piece: Piece
    pitch_mm: float
    arrangement: FocusedLens = field(default_factory=FocusedLens)
    placement: Placement = field(default_factory=Placement)
    camera: Placement = field(default_factory=Placement)
    glass: GlassSheet | None = None
    lean: Lean = SQUARE
    away_mm: float = 0.0
    focus_mm: float = 0.0
    lights: dict[str, FlashHead] = field(default_factory=_key)
    charges: dict[str, Charge] = field(default_factory=dict)
    room: AmbientLight = field(default_factory=lambda: AmbientLight(0.0))
    modelling_ev: float = 0.0
    shutter: Shutter = field(default_factory=Shutter)
    drive: FocusDrive = field(default_factory=FocusDrive)
    touches: list[Touch] = field(default_factory=list)
    orientation: int = 1
    sharpening: float = 0.0
    denoising: float = 0.0
    hand_reach: float = 0.0
    hand_side: str = "right"

    def focus(self, f_number: float) -> Focus:
        """The plane of focus and its blur at an f-number."""
        return focus_at(self.arrangement, f_number, self.focus_mm, self.glass)

    def pose(self, scale: float = 1.0) -> Pose:
        """Where camera and piece stand.

        scale  the share of the size change by focusing for which the layers are drawn afresh
        """
        height_mm = self.piece.region_height_mm
        return Pose(self.arrangement, self.placement, self.camera, height_mm, self.away_mm, scale, self.lean)

    def drawn_pose(self) -> Pose:
        """The pose for which layers are drawn: the size change by focusing in steps of BREATHING_STEP.

        What is left of it is done on the finished picture.
        """
        scale = self.focus(self.arrangement.widest_f_number).scale
        return self.pose(math.exp(round(math.log(scale) / BREATHING_STEP) * BREATHING_STEP))

    def focus_stops_mm(self) -> tuple[float, float]:
        """Nearest and farthest plane that the ring reaches, mm from the region's plane as set up."""
        front_mm = self.arrangement.focal_length_mm / self.arrangement.magnification
        return -min(15.0, 0.2 * front_mm), min(40.0, 0.6 * front_mm)

    def turn_focus_to(self, focus_mm: float) -> bool:
        """Turn the ring to a plane, mm from the region's; False when the ring comes to a stop on the way."""
        near, far = self.focus_stops_mm()
        self.focus_mm = min(max(focus_mm, near), far)
        return near <= focus_mm <= far

    def charge(self, light: FlashHead, now_s: float) -> float:
        """Share of full energy that a head can give at `now_s` seconds."""
        held = self.charges.get(light.name)
        return 2.0**light.power_ev if held is None else held.share_at(now_s, light)

    def fire(self, light: FlashHead, at_s: float) -> float:
        """Share of full energy that a head gives off at `at_s` seconds; 0 when it doesn't fire.

        Its capacitor is then empty.
        """
        share = self.charge(light, at_s) if light.on and light.fires else 0.0
        if share < LEAST_SHARE * 2.0**light.power_ev:
            return 0.0
        self.charges[light.name] = Charge(0.0, at_s)
        return share

    def flash_lux_seconds(self) -> float:
        """All working lights at the power set, on the level of the table."""
        return sum(
            light.lux_seconds(2.0**light.power_ev) * self.way_share(light) * max(light.direction[2], 0.0)
            for light in self.lights.values()
            if light.on and light.fires
        )

    def way_share(self, light: FlashHead) -> float:
        """Share of a light that reaches the piece; 0 for a light that comes over glass while no glass stands there."""
        if not light.over_glass:
            return 1.0
        return sum(self.glass.reflectance()) / 2 if self.glass else 0.0

    def room_for(self, ev: float, exposure_s: float = SYNC_TIME_S) -> float:
        """Illuminance in lux that lies `ev` from the flash exposure at an exposure time in s.

        Without any working flash the anchor is the exposure of a fresh set: the key light as it comes.
        """
        flash = self.flash_lux_seconds() or FlashHead("key").lux_seconds(0.25) * FlashHead("key").direction[2]
        return float(flash * 2.0**ev / exposure_s)

    def linear_per_lux_second(self, iso: int, effective_f_number: float) -> float:
        """Linear value of a surface of reflectance 1 for one lux second: S / (250 N_e^2), less what glass keeps."""
        kept = sum(self.glass.transmittance()) / 2 if self.glass else 1.0
        return iso * kept / (METER_CONSTANT * effective_f_number**2)


def fresh_bench(piece: str, pixels_wide: int) -> Tabletop:
    """The set as it starts: one key light, the room six stops under it, the region in focus."""
    if piece not in PIECES:
        raise RefusedValueError(f"No piece is called {piece!r}: there are {', '.join(PIECES)}.")
    bench = Tabletop(PIECES[piece], SENSOR_WIDTH_MM / pixels_wide)
    bench.room = AmbientLight(bench.room_for(AMBIENT_EV))
    return bench
