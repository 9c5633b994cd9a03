"""A two-curtain shutter, row by row of the upright picture.

Both curtains cross the frame at the same constant speed in `curtain_travel_s`; the second starts one
exposure time after the first. They travel downwards on the sensor, where the picture stands on its head,
so the bottom row of the upright picture is opened, and covered, first: a flash that comes too late for the
exposure time leaves a dark band along the bottom. The contact closes when the first curtain has crossed;
the trigger adds its delay.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mock_camera.table.lights import AmbientLight, FlashHead, pulse_share

Rows = NDArray[np.float64]


@dataclass(frozen=True)
class Shutter:
    """curtain_travel_s: time of a curtain across the frame; trigger_delay_s: contact closed to flash begins."""

    curtain_travel_s: float = 0.003
    trigger_delay_s: float = 0.0003

    @property
    def flash_at_s(self) -> float:
        """Time from the first curtain's start to the flash, s."""
        return self.curtain_travel_s + self.trigger_delay_s

    def opened_s(self, down: Rows) -> Rows:
        """When the first curtain bares the places `down` the picture (0 top, 1 bottom), s after it starts."""
        return self.curtain_travel_s * (1 - down)

    def flash_rows(self, light: FlashHead, exposure_s: float, down: Rows) -> Rows:
        """Share of a light's flash that each place down the picture receives, 0 to 1, (rows,) as `down`.

        exposure_s  exposure time, s
        """
        opened = self.opened_s(down)
        shut = pulse_share(light, opened + exposure_s - self.flash_at_s)
        return shut - pulse_share(light, opened - self.flash_at_s)

    def room_rows(self, room: AmbientLight, exposure_s: float, down: Rows, now_s: float) -> Rows:
        """Lux seconds of continuous light at each place down the picture, (rows,) as `down`.

        exposure_s, now_s  exposure time and time of the release, s
        """
        return room.lux_seconds(now_s + self.opened_s(down), exposure_s)

    def dark_share(self, exposure_s: float) -> float:
        """Share of the frame's height that is covered before the flash begins, at an exposure time in s."""
        if self.curtain_travel_s <= 0:
            return float(exposure_s <= self.trigger_delay_s)
        return min(1.0, max(0.0, (self.flash_at_s - exposure_s) / self.curtain_travel_s))
