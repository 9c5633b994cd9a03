"""Hands at the simulated bench before live view: turning the focus ring past the best, with all that disturbs.

Everything is drawn from the seed: piece, ratio, lens, light, region, noise by dim lamps, flicker of ±0.3 EV, shakes of
the stand, a hand that comes into the picture. The best focus lies away from where the ring stands at the start of
the simulation, since the simulated picture isn't resampled just there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mock_camera.table.hand import veil
from mock_camera.table.world import World
from session.set.setup import Region
from tests.support.still_life import shot

FRAME_S = 1 / 15
WORKING_F_NUMBER = 11.0
SENSOR_MM = (24.0, 16.0)
PIXELS = (1536, 1024)
FLICKER_DEPTH = 0.23
"""±23 % of light: +0.30 and −0.38 EV."""

ROOM_LUX = (30.0, 300.0)
MODELLING_EV = (-5.0, 0.0)
VEIL_PX, HIDES = 200, 0.05
SIDES = ("left", "right", "top", "bottom")


@dataclass(frozen=True)
class Moment:
    """One live frame and what was true: focus from the best one, depths of field, + behind it; whether a hand hides
    part of the region."""

    jpeg: bytes
    at_s: float
    off_depths: float
    hidden: bool


@dataclass
class LiveBench:
    """A world with its best focus, its region and its depth of field at the working aperture."""

    world: World
    best_mm: float
    depth_mm: float
    region: Region
    chance: np.random.Generator
    now_s: float = 1.0

    def turn_to(self, off_depths: float) -> None:
        self.world.do("turn_focus", to_mm=self.best_mm + off_depths * self.depth_mm)

    @property
    def off_depths(self) -> float:
        return float(self.world.do("look", now_s=self.now_s)["defocus_mm"]) / self.depth_mm  # type: ignore[arg-type]

    def frame(self) -> bytes:
        return self.world.live_frame(shot(), self.now_s)


def depth_mm(magnification: float, f_number: float = WORKING_F_NUMBER, pupil_magnification: float = 1.0) -> float:
    """2·N_e·c/m², c = diagonal / 1500. Handbook form (references: close-up depth of field)."""
    circle_mm = float(np.hypot(*SENSOR_MM)) / 1500
    return 2 * f_number * (1 + magnification / pupil_magnification) * circle_mm / magnification**2


def live_bench(seed: int, pieces: tuple[str, ...] = ("bridge", "bridge", "card")) -> LiveBench:
    """A bench of that seed, with flicker on."""
    chance = np.random.default_rng([seed, 31])
    world = World(seed=seed, pixels=PIXELS, piece=pieces[seed % len(pieces)])
    magnification = float(chance.uniform(0.6, 1.2))
    world.do("arrangement", magnification=magnification, widest_f_number=float(chance.choice([2.8, 4.0])))
    world.do(
        "light", name="key", azimuth_deg=float(chance.uniform(0, 360)), elevation_deg=float(chance.uniform(30, 70))
    )
    world.do("modelling", ev=float(chance.uniform(*MODELLING_EV)))
    lux = float(np.exp(chance.uniform(*np.log(ROOM_LUX))))
    world.do("ambient", lux=lux, flicker_hz=float(chance.uniform(0.2, 3.0)), flicker_depth=FLICKER_DEPTH)
    best_mm = float(chance.uniform(0.05, 0.4)) * float(chance.choice([-1, 1]))
    world.do("move_camera", away_mm=best_mm)
    world.do("turn_focus", to_mm=best_mm)
    return LiveBench(world, best_mm, depth_mm(magnification), _region(world, chance), chance)


def _region(world: World, chance: np.random.Generator) -> Region:
    """Part of what lies in the plane of best focus."""
    left, top, width, height = (float(v) for v in world.state()["region"])  # type: ignore[attr-defined]
    piece = world.state()["piece"]
    wide = width * float(chance.uniform(0.4, 0.9) if piece == "card" else chance.uniform(0.15, 0.4))
    high = height * float(chance.uniform(0.4, 0.9))
    x, y = left + float(chance.uniform(0, width - wide)), top + float(chance.uniform(0, height - high))
    return Region(x / PIXELS[0], y / PIXELS[1], wide / PIXELS[0], high / PIXELS[1])


def turning_past(bench: LiveBench) -> Iterator[Moment]:
    """The ring is turned from one side past the best focus at the speed of a hand, resting now and then.

    From 0.7 to 1.5 depths before the best to 0.5 to 1 behind it, by 0.02 to 0.06 depths a frame. While a hand hides the
    region the ring rests: nobody focuses on what can't be seen.
    """
    chance, side = bench.chance, float(bench.chance.choice([-1, 1]))
    at, end = -side * float(chance.uniform(0.7, 1.5)), side * float(chance.uniform(0.5, 1.0))
    hand = _hand(bench)
    resting = 5
    while True:
        if chance.random() < 0.04:
            shake(bench)
        hidden = next(hand)
        bench.turn_to(at)
        yield Moment(bench.frame(), bench.now_s, at, hidden)
        bench.now_s += FRAME_S * float(chance.uniform(0.8, 1.2))
        if resting or hidden:
            resting = max(0, resting - 1)
        elif (end - at) * side <= 0:
            return
        else:
            at += side * float(chance.uniform(0.02, 0.06))
            resting = int(chance.integers(5, 15)) if chance.random() < 0.03 else 0
            resting = 10 if (end - at) * side <= 0 else resting


def resting_short(bench: LiveBench) -> Iterator[Moment]:
    """The ring is turned up to 0.1 to 0.4 depths before the best, and the photographer looks at it for five seconds."""
    chance, side = bench.chance, float(bench.chance.choice([-1, 1]))
    end = -side * float(chance.uniform(0.1, 0.4))
    turning = np.arange(-side * float(chance.uniform(0.8, 1.5)), end, side * float(chance.uniform(0.02, 0.06)))
    hand = _hand(bench)
    for at in [*turning, *[end] * 75]:
        if chance.random() < 0.04:
            shake(bench)
        hidden = next(hand)
        bench.turn_to(float(at))
        yield Moment(bench.frame(), bench.now_s, float(at), hidden)
        bench.now_s += FRAME_S * float(chance.uniform(0.8, 1.2))


def shake(bench: LiveBench) -> None:
    """The stand is knocked a little."""
    chance = bench.chance
    bench.world.do(
        "touch",
        strength_um=float(chance.uniform(2, 25)),
        frequency_hz=float(chance.uniform(4, 20)),
        damping_ratio=float(chance.uniform(0.01, 0.06)),
        direction_deg=float(chance.uniform(0, 360)),
        now_s=bench.now_s,
    )


def _hand(bench: LiveBench) -> Iterator[bool]:
    """Moves a hand in and out at a random time, in most benches; tells whether it hides part of the region."""
    chance, world, region = bench.chance, bench.world, bench.region
    begin = int(chance.integers(8, 50)) if chance.random() < 0.7 else 10**9
    reach, side = float(chance.uniform(0.2, 0.9)), str(chance.choice(SIDES))
    way, stay = int(chance.integers(1, 8)), int(chance.integers(5, 30))
    reaches = [*np.linspace(0, reach, way + 1)[1:], *[reach] * stay, *np.linspace(reach, 0, way + 1)[1:]]
    number = 0
    while True:
        hidden = False
        if begin <= number < begin + len(reaches):
            reached = float(reaches[number - begin])
            world.do("hand", reach=reached, side=side)
            left, top, right, bottom = region.in_pixels(VEIL_PX, VEIL_PX)
            hidden = reached > 0 and float(veil(VEIL_PX, VEIL_PX, reached, side)[top:bottom, left:right].max()) > HIDES
        yield hidden
        number += 1
