"""Flash heads with power, charge and burning time, and the ambient light.

All light is counted in lux seconds on a surface that faces the source. A surface of reflectance 1 comes
out at full scale (linear 1.0) when H = 250 N_e^2 / S, so that a card of 18 % lies at 0.18: the constant
C = 250 of an incident-light meter (ISO 2720). A flash of guide number GN at a distance d gives that
exposure at N_e = GN / d (ISO 1230), hence H = 2.5 (GN / d)^2 at any ISO. Only these relations are
physical; the heads' own numbers are invented.

Directions: azimuth 0 degrees = from the lower edge of the picture (the photographer's side), clockwise
seen from above, so 90 = from the left; elevation 0 = along the table, 90 = straight down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

METER_CONSTANT = 250.0  # lux s, ISO 2720, flat receptor
FULL_RISE = math.log(10)  # t0.1 of an exponential pulse is ln(10) of its time constant
LEAST_SHARE = 1 / 64  # of the energy asked for: below it the tube doesn't strike; invented
# width of the source that a shaper makes, mm; invented sizes, the guide number holds with the shaper on
SHAPER_SIZE_MM = {
    "bare": 60.0,
    "tube": 25.0,
    "snoot": 35.0,
    "grid": 60.0,
    "reflector": 180.0,
    "diffuser": 300.0,
    "umbrella": 800.0,
    "softbox": 600.0,
}


@dataclass(frozen=True)
class FlashHead:
    """A flash head on its stand.

    power_ev          0 = full, -2 = quarter
    guide_number_m    ISO 100, metres, full power, as shaped
    recycling_time_s   after a full flash; less power charges in proportion
    duration_t01_s    time above 10 % of the peak
    red, blue         its colour: red and blue light relative to green, 1 = the camera's white
    fires             its trigger works
    on                its switch; off also puts out the modelling light
    over_glass        comes down the optical axis, thrown back by the glass before the lens; its distance is that of
                      the bent way, its angles don't count
    """

    name: str
    power_ev: float = -2.0
    distance_mm: float = 600.0
    azimuth_deg: float = 45.0
    elevation_deg: float = 45.0
    guide_number_m: float = 32.0
    recycling_time_s: float = 1.6
    duration_t01_s: float = 0.0005
    shaper: str = "bare"
    red: float = 1.0
    blue: float = 1.0
    fires: bool = True
    on: bool = True
    over_glass: bool = False

    @property
    def source_size_mm(self) -> float:
        """Diameter of the surface that shines, mm, by the shaper."""
        return SHAPER_SIZE_MM[self.shaper]

    @property
    def tint(self) -> tuple[float, float, float]:
        """Red, green and blue of the light, as factors of white."""
        return self.red, 1.0, self.blue

    @property
    def direction(self) -> tuple[float, float, float]:
        """Unit vector from the piece to the light: right, down, towards the camera."""
        if self.over_glass:
            return 0.0, 0.0, 1.0
        a, e = math.radians(self.azimuth_deg), math.radians(self.elevation_deg)
        return -math.sin(a) * math.cos(e), math.cos(a) * math.cos(e), math.sin(e)

    @property
    def geometry(self) -> tuple[float, float, float, str, bool]:
        """Distance in mm, angles in °, shaper, over glass: all that decides the shading but the amount of light."""
        return self.distance_mm, self.azimuth_deg, self.elevation_deg, self.shaper, self.over_glass

    def lux_seconds(self, share_of_full: float) -> float:
        """Light in lux seconds on a surface at the piece that faces the head, for a flash of that share of full energy.

        A source of radius R is short of the inverse square law by d^2 / (d^2 + R^2) (disc source on its axis).
        """
        distance2_m2 = (self.distance_mm / 1000) ** 2 + (self.source_size_mm / 2000) ** 2
        return METER_CONSTANT / 100 * self.guide_number_m**2 * share_of_full / distance2_m2


@dataclass(frozen=True)
class Charge:
    """Energy in a head's capacitor as a share of full, at a time; it fills at a constant rate."""

    share: float
    at_s: float

    def share_at(self, now_s: float, light: FlashHead) -> float:
        """The share of full energy that the head can give at `now_s`: filled since, at most the power that is set."""
        filled = self.share + max(0.0, now_s - self.at_s) / light.recycling_time_s
        return float(min(filled, 2.0**light.power_ev))


def pulse_share(light: FlashHead, since_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of the flash given off `since_s` seconds after it began, in the same shape; 0 before.

    Sudden rise, exponential tail.
    """
    tau_s = light.duration_t01_s / FULL_RISE
    return 1 - np.exp(-np.maximum(since_s, 0.0) / tau_s)


@dataclass(frozen=True)
class AmbientLight:
    """Continuous light: illuminance on the piece, with the mains flicker of lamps.

    flicker_depth  0..1, share of the mean by which it swings, at flicker_hz (twice the mains frequency)
    tint           red, green, blue relative to the flash; the default is a little warm
    """

    lux: float
    flicker_hz: float = 100.0
    flicker_depth: float = 0.0
    tint: tuple[float, float, float] = (1.12, 1.0, 0.80)

    def lux_seconds(self, start_s: NDArray[np.float64], length_s: float) -> NDArray[np.float64]:
        """Light gathered from `start_s` for `length_s`, both s, lux seconds in the shape of `start_s`.

        The integral of lux (1 + depth cos(2 pi f t)).
        """
        if self.flicker_depth == 0:
            return np.full(np.shape(start_s), self.lux * length_s)
        omega = 2 * math.pi * self.flicker_hz
        swing = (np.sin(omega * (start_s + length_s)) - np.sin(omega * start_s)) / omega
        return self.lux * (length_s + self.flicker_depth * swing)

    def swing(self, now_s: float, length_s: float) -> float:
        """Light gathered from `now_s` for `length_s`, both s, as a factor of its mean."""
        if self.lux <= 0:
            return 1.0
        return float(self.lux_seconds(np.array([now_s]), length_s)[0] / (self.lux * length_s))
