"""How the light on the set compares with that of before: by ninths, in colour, and light by light from their solos.

The frame is laid onto the reference first, so that the piece's own tones drop out. A solo, ambient taken off, is
compared with the solo of before block by block: the level of the blocks says how much light there is, their shading
where it comes from (`light_place`). Power and distance make the same picture, unless the light stands close.

EV > 0: brighter now. Colours are those of a grey, told by red and blue beside green.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from session.checks.light.colour_difference import ciede2000, lab_of_linear
from session.match.even_ninths import Ninths
from session.match.laid_picture import FEWEST_BLOCKS, LEAST_LIGHT, LaidPicture, Light, blocks_of, whole_blocks
from session.match.light_place import LightPlace, Solos, where_it_stands
from session.picture.linear_light import ev_between, luminance_of
from session.set.setup import PlacedLight
from session.units.surfaces import MID_GREY

ABSENT_EV = -3.0
"""A light that gives so much less than before does not fire: nobody turns a flash down by 3 stops unawares. Chosen."""


@dataclass(frozen=True)
class Tint:
    """How the colour of a grey differs from that of before.

    difference  ΔE2000 of the picture's grey, at equal luminance
    warmer_ev   red to blue, EV; + = redder
    greener_ev  green to the mean of red and blue, EV
    """

    difference: float = 0.0
    warmer_ev: float = 0.0
    greener_ev: float = 0.0


NO_TINT, NOT_MOVED = Tint(), LightPlace(0.0)


@dataclass(frozen=True)
class LightCompared:
    """The whole picture against the reference.

    ninths_ev   (3, 3) EV by ninths of the reference; NaN where nothing can be compared
    then, now   (3, 3) luminance of these, linear; () where it isn't known
    """

    ninths_ev: Ninths
    tint: Tint
    then: Ninths = ()
    now: Ninths = ()

    @property
    def known_ev(self) -> tuple[float, ...]:
        """The ninths that can be compared, row by row, EV."""
        return tuple(ev for row in self.ninths_ev for ev in row if not math.isnan(ev))


@dataclass(frozen=True)
class LightAlone:
    """A light's solo of now against its solo of before.

    level_ev      how much more light it gives; None where too little of it shows
    place         where it stands against its old place
    tint          its colour against that of before
    framed        the pictures lie on each other well enough for the shading to be compared
    ninths        (3, 3) its luminance now by ninths of the reference, linear; () where it isn't known
    ambient_due   ambient alone was shot then and not now: it is in both solos, and part of what is told
    as_ambient    ambient alone is as bright as this light's solo: the light is off, or was on in that frame too
    """

    level_ev: float | None
    place: LightPlace = NOT_MOVED
    tint: Tint = NO_TINT
    ambient_due: bool = False
    framed: bool = True
    ninths: Ninths = ()
    as_ambient: bool = False

    @property
    def absent(self) -> bool:
        return self.level_ev is not None and self.level_ev < ABSENT_EV


def compare_light(then: LaidPicture, now: LaidPicture) -> LightCompared:
    """The whole of a picture against the reference, both laid onto each other."""
    both = then.counted & now.counted
    before, after = _ninths(then.channels, both), _ninths(now.channels, both)
    shares = _ninths(np.ones_like(then.channels), both, whole=True)
    ninths_ev = tuple(
        tuple(ev_between(a, b) if share > 1 / 4 else math.nan for a, b, share in zip(*row, strict=True))
        for row in zip(after, before, shares, strict=True)
    )
    blocks_then, blocks_now = blocks_of(then.channels, both), blocks_of(now.channels, both)
    usable = whole_blocks(both) & (blocks_then.min(0) > LEAST_LIGHT) & (blocks_now.min(0) > LEAST_LIGHT)
    return LightCompared(ninths_ev, _tint(blocks_then, blocks_now, usable), before, after)


def _ninths(channels: Light, counted: NDArray[np.bool_], *, whole: bool = False) -> Ninths:
    """(3, 3) mean luminance over the pixels of each ninth that count, or over all of its pixels; 0 where none count."""
    light = luminance_of(channels)
    height, width = light.shape
    rows = []
    for top, bottom in pairwise(np.linspace(0, height, 4).astype(int)):
        row = []
        for left, right in pairwise(np.linspace(0, width, 4).astype(int)):
            here = counted[top:bottom, left:right]
            total = float(light[top:bottom, left:right][here].sum(dtype=np.float64))
            row.append(total / (here.size if whole else max(int(here.sum()), 1)))
        rows.append(tuple(row))
    return tuple(rows)


def alone(
    name: str,
    then: Mapping[str, LaidPicture],
    ambient_then: LaidPicture | None,
    now: LaidPicture,
    ambient_now: LaidPicture | None,
    lights: Sequence[PlacedLight],
    field_mm: float,
    view_down_deg: float | None,
    *,
    framed: bool = True,
    asked_mm: float | None = None,
) -> LightAlone:
    """One light's solo of now against those of before.

    then    the solos of before, by the lights' names; at least that of `name`
    ambient_then, ambient_now   are taken off only where both are there: off one solo alone they would be told as light
    lights  as recorded, with their directions and distances
    field_mm   width of the piece that the pictures show
    view_down_deg   how far the camera looks down; None where nobody recorded it
    asked_mm   distance at which a substitute wants the light; None for that of then
    framed     False for a frame too far from the reference's place for shadows and relief to lie on theirs
    """
    ambient_due = ambient_then is not None and ambient_now is None
    if ambient_then is None or ambient_now is None:
        ambient_then = ambient_now = None
    own = then[name].counted & now.counted
    solos = Solos(then, now, ambient_then, ambient_now)
    before, after = blocks_of(solos.light_then(name), own), blocks_of(solos.light_now, own)
    usable = whole_blocks(own) & (before.min(0) > LEAST_LIGHT)
    if usable.sum() < FEWEST_BLOCKS:
        return LightAlone(None)
    grey_then, grey_now = luminance_of(before), np.maximum(luminance_of(after), LEAST_LIGHT / 64)
    change = np.where(usable, np.log(grey_now / np.maximum(grey_then, LEAST_LIGHT / 64)), np.nan).astype(np.float64)
    level_ev = float(np.nanmedian(change)) / math.log(2)
    if level_ev < ABSENT_EV:
        shown = np.where(usable, luminance_of(blocks_of(now.channels, own)), np.nan)
        is_lit = float(np.nanmedian(shown / np.maximum(grey_then, LEAST_LIGHT / 64))) > 2**ABSENT_EV
        return LightAlone(level_ev, ambient_due=ambient_due, as_ambient=is_lit)
    place = where_it_stands(name, solos, lights, change, field_mm, view_down_deg, asked_mm) if framed else NOT_MOVED
    tint = _tint(before, after, usable & (after.min(0) > LEAST_LIGHT))
    return LightAlone(level_ev, place, tint, ambient_due, framed, _ninths(solos.light_now, own))


def _tint(then: Light, now: Light, usable: NDArray[np.bool_]) -> Tint:
    """The colour of a middle grey by the median of the usable blocks; NO_TINT for fewer than FEWEST_BLOCKS of them."""
    if usable.sum() < FEWEST_BLOCKS:
        return NO_TINT
    ratios = np.log2(now[:, usable] / then[:, usable])
    red, blue = (float(np.median(ratios[n] - ratios[1])) for n in (0, 2))
    grey, tinted = np.full(3, MID_GREY), MID_GREY * np.exp2([red, 0.0, blue])
    tinted *= MID_GREY / float(luminance_of(tinted.astype(np.float32)[:, None, None])[0, 0])
    return Tint(ciede2000(lab_of_linear(grey), lab_of_linear(tinted)), red - blue, -(red + blue) / 2)
