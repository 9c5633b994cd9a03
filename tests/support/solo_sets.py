"""A set of several lights of the mock camera, with a switch for each: frames of a series of solos as files."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from session.match.light_sum import LightSum, light_sum
from session.match.solo_picture import SoloPicture, read_solo_picture
from session.set.setup import PlacedLight
from tests.support.mock_set import SENSOR_MM, SIZE, MockSet, mock_set

SHAPERS = ("bare", "tube", "snoot", "grid", "reflector", "diffuser")
POWER_EV = -4.0
UNDER_EV = -0.15
"""All together against a right exposure: little is clipped."""


@dataclass
class SoloSet:
    """The set; `power_ev` is what each light is set to."""

    made: MockSet
    names: tuple[str, ...]
    magnification: float
    power_ev: dict[str, float]

    def path(self, *on: str) -> Path:
        """A frame with these lights on and all others off."""
        for name in self.names:
            self.made.light(name, on=name in on, power_ev=self.power_ev[name])
        return self.made.path()

    def picture(self, *on: str) -> SoloPicture:
        return read_solo_picture(str(self.path(*on)))

    def together(self) -> SoloPicture:
        return self.picture(*self.names)

    def solos(self) -> dict[str, SoloPicture]:
        return {name: self.picture(name) for name in self.names}

    def move_piece(self, px: float, towards_deg: float) -> None:
        """Shift the piece by so many pixels of the frame."""
        mm = px * SENSOR_MM[0] / SIZE[0] / self.magnification
        turn = math.radians(towards_deg)
        self.made.world.do("shift_piece", right_mm=mm * math.cos(turn), down_mm=mm * math.sin(turn))


@dataclass
class ShotSolos:
    """All lights together, each alone, and ambient alone, of a set that can be shot again."""

    set: SoloSet
    together: SoloPicture
    solos: dict[str, SoloPicture]
    ambient: SoloPicture

    def sum(self, together: SoloPicture | None = None, **changed: SoloPicture) -> LightSum:
        return light_sum(together or self.together, self.solos | changed, self.ambient)


def solo_set(folder: Path, seed: int, count: int | None = None) -> SoloSet:
    """Two or three lights anywhere, with any shaper and a tint, as strong as one another up to a quarter.

    Together they give UNDER_EV on a level surface (ISO 2720, ISO 1230); the room is 4 to 7 stops under them.
    """
    chance = np.random.default_rng(seed)
    made = mock_set(folder, seed, ["bridge", "type", "label"][seed % 3])
    magnification = float(chance.choice([1.0, 0.7, 0.5]))
    made.world.do("arrangement", magnification=magnification)
    made.world.do("remove_light", name="key")
    names = ("key", "fill", "rim")[: count or int(chance.choice([2, 2, 3]))]
    shares = 2.0 ** chance.uniform(-2, 0, len(names))
    for name, share in zip(names, shares / shares.sum(), strict=True):
        place = PlacedLight(
            name,
            POWER_EV,
            float(chance.uniform(250, 750)),
            float(chance.uniform(-180, 180)),
            float(chance.uniform(20, 65)),
        )
        made.put_up(place)
        reach_m, facing = float(place.distance_mm or 0) / 1000, math.sin(math.radians(place.elevation_deg or 0))
        exposure = 11 * (1 + magnification) * reach_m * math.sqrt(share / facing) * 2 ** (UNDER_EV - POWER_EV / 2)
        red, blue = (float(chance.uniform(0.9, 1.1)) for _ in range(2))
        made.light(name, guide_number_m=exposure, shaper=str(chance.choice(SHAPERS)), red=red, blue=blue)
    made.world.do("ambient", ev=float(chance.uniform(-7, -4)))
    return SoloSet(made, names, magnification, dict.fromkeys(names, POWER_EV))
