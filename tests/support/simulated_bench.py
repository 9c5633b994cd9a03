"""A set-up of camera, lens, lights and shutter, what the planner says of it, and the simulated bench it stands on."""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from mock_camera.table.imaging import ReleasedPicture
from mock_camera.table.lights import SHAPER_SIZE_MM
from mock_camera.table.world import World
from session.lighting import flash, mix
from session.lighting.source import incidence_loss_ev
from tests.support.card_in_picture import ROW_MM, TooSharpError, Values, blur_diameter_mm, sensor_light
from tests.support.still_life import shot
from tests.support.traced_lenses import SENSOR_WIDTH_MM, Put

SLOW_S = 1 / 8  # all of every flash, whatever shutter and trigger do
FOUND_SHARE = 0.03  # a search ends with the last step when the blur is as near to the stated one
MOST_PICTURES = 8
NEAR_SHARE = 0.1  # behind glass: from there on a line through the blur around it is read off


@dataclass(frozen=True)
class Head:
    """One flash: as the hands put it up and as the planner is told."""

    guide_number_m: float
    power_ev: float
    distance_mm: float
    elevation_deg: float
    azimuth_deg: float
    shaper: str
    over_glass: bool = False

    @property
    def source_size_mm(self) -> float:
        return SHAPER_SIZE_MM[self.shaper]


@dataclass(frozen=True)
class Glass:
    """A sheet before the lens, tilted across the picture unless turned."""

    thickness_mm: float
    tilt_deg: float
    refractive_index: float


@dataclass(frozen=True)
class SetUp:
    """All that is put up.

    blur_circle_mm  the blur at the sensor whose depth is asked for
    piece           in the place of the real one: a matt grey card, or a polished plate with the same squares
    rim_mm          width of the lens's front, rim_before_mm before the piece, where a polished plate shows it
    """

    kind: str
    put: Put
    pixels: tuple[int, int]
    blur_circle_mm: float
    iso: int
    lights: tuple[Head, ...]
    ambient_stops_under: float
    curtain_travel_s: float
    trigger_delay_s: float
    duration_t01_s: float
    short_s: float
    piece: str = "card"
    glass: Glass | None = None
    rim_mm: float = 0.0
    rim_before_mm: float = 1.0

    @property
    def flash_ev(self) -> float:
        """The planner's word on the flash exposure: EV against a right one, all lights together."""
        lens = self.put.planned
        right = (
            flash.f_number(
                light.guide_number_m,
                light.distance_mm,
                light.power_ev,
                self.iso,
                lens.magnification,
                lens.pupil_magnification,
                light.source_size_mm,
                incidence_loss_ev(90 - light.elevation_deg),
            )
            for light in self.lights
        )
        return mix.combined_ev([2 * math.log2(f_number / lens.f_number) for f_number in right])

    @property
    def whole_ev(self) -> float:
        """The same with the ambient light of SLOW_S."""
        return self.flash_ev + mix.ambient_gain_ev(self.ambient_stops_under)


class Bench:
    """A set-up on the simulated bench. Pictures are taken so far apart that every flash is charged.

    well_lit  one flash straight above gives a right exposure at ISO 100, whatever the set-up's lights would give:
              for what has nothing to do with light, so that noise doesn't hide it
    f_number  another one than the set-up's
    """

    def __init__(self, set_up: SetUp, *, well_lit: bool = False, f_number: float | None = None) -> None:
        self.set_up = set_up
        self.away_mm = 0.0
        self.f_number = f_number or set_up.put.traced.f_number
        self.iso = 100 if well_lit else set_up.iso
        self._taken = 0
        self.world = World(pixels=set_up.pixels, piece=set_up.piece)
        lens = set_up.put.traced
        self.world.do(
            "arrangement",
            magnification=lens.magnification,
            focal_length_mm=lens.focal_length_mm,
            pupil_magnification=lens.pupil_magnification,
            rim_mm=0.0 if well_lit else set_up.rim_mm,
            rim_before_mm=set_up.rim_before_mm,
        )
        if set_up.glass:
            self.world.do("glass", **vars(set_up.glass))
        self.world.do("move_camera", down_mm=ROW_MM)
        self.world.do("ambient", lux=0)
        self.world.do("body", curtain_travel_s=set_up.curtain_travel_s, trigger_delay_s=set_up.trigger_delay_s)
        if well_lit:
            self._light_well()
            return
        self.world.do("remove_light", name="key")
        for number, light in enumerate(set_up.lights):
            self.world.do("light", name=f"light {number}", duration_t01_s=set_up.duration_t01_s, **vars(light))

    def _light_well(self) -> None:
        lens = self.set_up.put.traced
        effective = self.f_number * (1 + lens.magnification / lens.pupil_magnification)
        place: dict[str, object] = {"power_ev": 0, "elevation_deg": 90}
        if self.set_up.piece == "mirror":  # shows a surface of 0.3 m radius at 0.9 of white: 0.6 of it full scale
            guide_number_m = 0.3 * 0.9 * effective
            self.world.do(
                "light", name="key", guide_number_m=guide_number_m, distance_mm=300, shaper="softbox", **place
            )
            return
        # a metre away: the guide number is the f-number
        self.world.do("light", name="key", guide_number_m=effective, distance_mm=1000, shaper="tube", **place)

    def picture(self, exposure_s: float = SLOW_S) -> ReleasedPicture:
        self._taken += 1
        return self.world.expose(shot(exposure_s, self.f_number, self.iso, self._taken), 1000.0 * self._taken)

    def light(self, exposure_s: float = SLOW_S) -> Values:
        """Light on the sensor in a new picture (height, width)."""
        return sensor_light(self.picture(exposure_s))

    def move_back_to(self, away_mm: float) -> None:
        """The camera on its rail, the focus ring untouched: + = back from where the card is in focus."""
        self.world.do("move_camera", away_mm=away_mm - self.away_mm)
        self.away_mm = away_mm

    def blur_mm(self, away_mm: float) -> float:
        """Blur at the sensor there, mm; through glass the greater of both, with the glass tilted this way and that."""
        self.move_back_to(away_mm)
        if not self.set_up.glass:
            return blur_diameter_mm(self.light(), SENSOR_WIDTH_MM)
        blurs = []
        for leans in ("across", "down"):
            self.world.do("glass", leans=leans)
            with suppress(TooSharpError):
                blurs.append(blur_diameter_mm(self.light(), SENSOR_WIDTH_MM))
        return max(blurs)

    def depth_limit_mm(self, *, start_mm: float, shots: int = 1) -> float:
        """How far the card may lie from where it is in focus until its edges show the stated blur, mm, positive.

        start_mm  a first try, negative towards the card; from there on only the pictures count
        shots     taken alike and averaged, against noise
        Raises ValueError when it isn't found in MOST_PICTURES.
        """
        tries: list[tuple[float, float]] = []
        away_mm = start_mm
        for _ in range(MOST_PICTURES):
            self.move_back_to(away_mm)
            light = sum((self.light() for _ in range(shots - 1)), self.light()) / shots
            blur_mm = blur_diameter_mm(light, SENSOR_WIDTH_MM)
            tries.append((math.log(abs(away_mm)), math.log(blur_mm / self.set_up.blur_circle_mm)))
            power = 1.0
            if len(tries) > 1:
                (x0, y0), (x1, y1) = tries[-2:]
                power = min(max((y1 - y0) / (x1 - x0), 0.3), 3.0)
            away_mm *= math.exp(min(max(-tries[-1][1] / power, -0.7), 0.7))
            if abs(tries[-1][1]) < FOUND_SHARE:
                return abs(away_mm)
        raise ValueError(f"no depth limit found in {MOST_PICTURES} pictures of {self.set_up.put.words}")

    def depth_limit_through_glass_mm(self, *, start_mm: float) -> float:
        """The same through glass, where blur grows little with distance, since two planes of focus lie aside.

        Raises ValueError when it isn't found in MOST_PICTURES.
        """
        away_mm = start_mm
        for _ in range(MOST_PICTURES):
            off = math.log(self.blur_mm(away_mm) / self.set_up.blur_circle_mm)
            if abs(off) < NEAR_SHARE:
                break
            away_mm *= math.exp(min(max(-off, -0.7), 0.7))
        else:
            raise ValueError(f"no depth limit found in {MOST_PICTURES} pictures of {self.set_up.put.words}")
        tried_mm = [away_mm * share for share in (0.8, 1.0, 1.2)]
        slope, start = np.polyfit(tried_mm, [self.blur_mm(one) for one in tried_mm], 1)
        return float(abs((self.set_up.blur_circle_mm - start) / slope))
