"""The ambient light under the set-up's exposure, from a frame with the lights off, in EV against the flash.

The light of both frames is summed over the blocks that the reference shows well, linear. Of the reference, which
holds flash and room together, the room's part is taken off; what f-number, ISO or exposure time differ by, by Exif,
is allowed for. A camera's tone curve over sRGB makes deep shadows darker than they are, so that a value far under is
a guess within a stop; a value that the file can't tell from none is given as a bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from session.checks.light.brightness import BLOCK_PX, BRIGHTEST_CODE, DARKEST_CODE
from session.checks.material.checked_picture import Material
from session.checks.material.settings import difference_ev, flash_light_ev
from session.frame.finding import CheckId, Finding, Level
from session.picture.linear_light import LINEAR, ONE_CODE, block_means

RECTIFIED = 1 / math.sqrt(math.pi - 1)
"""Mean of Gaussian noise about black whose negative half is cut off, over what is then its standard deviation:
(2π)^-½ / (½ − 1/2π)^½. Worked out: 0.683."""

SURE_AT = 3.0
"""Light is told from noise above this many times what noise alone makes of black. Chosen: the noise then adds under
a fifth of a stop."""

LIGHTS_ON_SHARE = 0.7
"""The frame as bright as this share of the reference: the lights fired, or the room outshines them. A room half a
stop under the flash makes 0.41 of their sum. Chosen."""

FEWEST_BLOCKS = 20


@dataclass(frozen=True)
class MeasuredAmbient:
    """The ambient light.

    ev        against the flash exposure, < 0 under it; None when it could not be measured, `reason` says why
    at_least  it lies that far under or farther: the file can't tell it from no light
    """

    ev: float | None
    at_least: bool = False
    reason: str = ""


def measure(frame: Material, reference: Material) -> MeasuredAmbient:
    """The ambient light in a frame with the lights off, against the flash in the reference."""
    if frame.light.shape != reference.light.shape:
        return MeasuredAmbient(None, reason="the reference has another size")
    room, lit = (block_means(one.light, BLOCK_PX, BLOCK_PX) for one in (frame, reference))
    shown = (lit > LINEAR[DARKEST_CODE]) & (lit < LINEAR[BRIGHTEST_CODE])
    if shown.sum() < FEWEST_BLOCKS:
        return MeasuredAmbient(None, reason="the reference is too dark or too bright to measure against")
    amount, together = (float(light[shown].mean(dtype=np.float64)) for light in (room, lit))
    flash_ev = flash_light_ev(frame.exif, reference.exif)
    times = (frame.exif.exposure_s, reference.exif.exposure_s)
    room_ev = flash_ev + (difference_ev("exposure_s", *times) if times[0] and times[1] else 0.0)  # type: ignore[arg-type]
    before = amount * 2**-room_ev  # what the room gave to the reference
    if before > LIGHTS_ON_SHARE * together:
        return MeasuredAmbient(None, reason="it is about as bright as the reference, so a light seems to have fired")
    flash = (together - before) * 2**flash_ev
    floor = noise_floor(frame)
    if amount > SURE_AT * floor:
        return MeasuredAmbient(math.log2(amount / flash))
    return MeasuredAmbient(math.log2(max(amount, floor) / flash), at_least=True)


def noise_floor(frame: Material) -> float:
    """Mean light that noise alone makes of black in this file, at least half of code 1; linear.

    Noise is read from neighbouring pixels of the overview and taken back to the file's own pixels, of which one of
    the overview is a mean.
    """
    apart = np.diff(frame.light, axis=1) ** 2
    sigma = math.sqrt(float(np.median(block_means(apart, BLOCK_PX, BLOCK_PX))) / 2)
    return max(ONE_CODE / 2, RECTIFIED * sigma / frame.overview.scale)


def findings(room: MeasuredAmbient) -> tuple[Finding, ...]:
    """The measured ambient light as one note."""
    return (Finding(CheckId.AMBIENT_LIGHT, Level.NOTE, sentence(room), room.ev and round(room.ev, 2), None, "EV"),)


def sentence(room: MeasuredAmbient) -> str:
    """`The ambient light is 6.2 EV under the flash.`, or why it isn't known."""
    if room.ev is None:
        return f"The ambient light was not measured: {room.reason}."
    size = f"{'at least ' if room.at_least else ''}{abs(room.ev):.1f} EV"
    return f"The ambient light is {size} {'under' if room.ev < 0 else 'above'} the flash."
