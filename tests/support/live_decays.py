"""A support that rings down before live view, and what the instruments make of it; truth is the bench's own.

Frames come unevenly, as a screen asks for them, and the time noted for each is off a little, as over a cable.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mock_camera.table.world import World
from session.frame.finding import Level
from session.live.instruments import Instruments
from session.optics.ring_down import RingDown, UnclearSwingError
from session.rules import Situation
from session.rules.stillness_rules import hold_off, still_limit_px
from session.set.kit import Kit
from session.set.setup import Confirmation, Revision
from tests.support.still_life import shot

PIXELS = (6000, 4000)
RATE_PER_S = 15.0
UNEVEN = (0.05, 0.25)
LATE_S, LATE_SD_S = 0.03, (0.0, 0.003)
"""From taking to noting a frame; guessed."""

QUIET_S, ASKED_AFTER_S = 1.5, (0.15, 1.0)
WATCHED_S = 6.0
"""Of the decay, for its frequency and damping."""

REVISION = Revision(confirmed=(Confirmation.BY_STILLNESS,))
LIMIT_PX = still_limit_px(REVISION)


@dataclass(frozen=True)
class Support:
    """Drawn: frequency and damping of a touch, half swing just after it in px of the sensor."""

    frequency_hz: float
    damping_ratio: float
    swing_px: float


@dataclass(frozen=True)
class Decay:
    """What came of one touch.

    released_after_s  from the touch; None: given up after the longest wait
    left_px           true half swing at the release, sensor px
    left_at_timer_px  the same at the set-up's hold-off after the touch
    ring_down         None: can't tell
    """

    seed: int
    support: Support
    released_after_s: float | None
    left_px: float
    left_at_timer_px: float
    ring_down: RingDown | None

    @property
    def too_early(self) -> bool:
        return self.released_after_s is not None and self.left_px > LIMIT_PX

    @property
    def right_frequency(self) -> bool:
        return self.ring_down is not None and abs(self.ring_down.frequency_hz / self.support.frequency_hz - 1) <= 0.05

    @property
    def right_damping(self) -> bool:
        return self.ring_down is not None and abs(self.ring_down.damping_ratio / self.support.damping_ratio - 1) <= 0.2


def any_support(chance: np.random.Generator) -> Support:
    """2 to 40 Hz, 0.5 to 10 % of critical damping."""
    return Support(_drawn(chance, 2, 40), _drawn(chance, 0.005, 0.1), _drawn(chance, 3, 40))


def stiff_support(chance: np.random.Generator) -> Support:
    """A heavy copy stand: 15 to 40 Hz, 3 to 10 %. Common practice, no source."""
    return Support(_drawn(chance, 15, 40), _drawn(chance, 0.03, 0.1), _drawn(chance, 3, 40))


def decay(seed: int, support: Support, chance: np.random.Generator) -> Decay:
    """Touch, ask for a release a little later, and let frames come until it is released and the decay was watched."""
    world = World(seed=seed, pixels=PIXELS, piece=("bridge", "type")[seed % 2])
    instruments = Instruments()
    uneven, late_sd_s = float(chance.uniform(*UNEVEN)), float(chance.uniform(*LATE_SD_S))
    touched_s = QUIET_S + float(chance.uniform(0, 0.1))
    asked_s = touched_s + float(chance.uniform(*ASKED_AFTER_S))
    now_s, touched, released_s = 0.0, False, None
    instruments.begin(now_s)
    while True:
        now_s += float(chance.uniform(1 - uneven, 1 + uneven)) / RATE_PER_S
        if not touched and now_s > touched_s:
            _touch(world, support, touched_s, float(chance.uniform(0, 360)))
            touched = True
        noted_s = now_s + LATE_S + float(chance.normal(0, late_sd_s))
        jpeg = world.live_frame(shot(), now_s)
        reading = instruments.see(jpeg, noted_s, REVISION.region, pixels_across=PIXELS[0], limit_px=LIMIT_PX)
        if released_s is None and noted_s > asked_s:
            situation = Situation(REVISION, Kit(), now_s=noted_s, asked_s=asked_s, moves=reading.moves)
            said = [finding for finding in hold_off(situation) if finding.level is Level.STOP or finding.remedy]
            if any(finding.level is Level.STOP for finding in said):
                break
            released_s = noted_s if not said else None
        if released_s is not None and now_s > touched_s + WATCHED_S:
            break
    return Decay(
        seed,
        support,
        None if released_s is None else released_s - touched_s,
        0.0 if released_s is None else _left_px(world, released_s),
        _left_px(world, touched_s + REVISION.hold_off_s),
        _told(instruments),
    )


def _touch(world: World, support: Support, at_s: float, direction_deg: float) -> None:
    pitch_um = 24_000 / PIXELS[0]
    world.do(
        "touch",
        strength_um=support.swing_px * pitch_um,
        frequency_hz=support.frequency_hz,
        damping_ratio=support.damping_ratio,
        direction_deg=direction_deg,
        now_s=at_s,
    )


def _told(instruments: Instruments) -> RingDown | None:
    try:
        return instruments.ring_down()
    except UnclearSwingError:
        return None


def _left_px(world: World, at_s: float) -> float:
    return float(world.do("look", now_s=at_s)["shake_left_px"])  # type: ignore[arg-type]


def _drawn(chance: np.random.Generator, least: float, most: float) -> float:
    """Evenly on a logarithmic scale."""
    return float(np.exp(chance.uniform(np.log(least), np.log(most))))
