"""Has the colour changed: ΔE2000 of a grey patch or of the region against the reference, and signs of mixed light.

Brightness is another check's: the frame's colour is brought to the reference's luminance first, so that ΔE2000
tells hue and chroma alone. The change is the median over small blocks of the ratios red to green and blue to
green, laid on the reference's mean colour: a highlight that wandered doesn't count.

The grey patch is looked at where the set-up has one and both pictures show it. A card that was put in or taken away
between the two is told by its brightness, which changes otherwise than the picture's; then the region is looked at.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.light.brightness import BLOCK_PX, BRIGHTEST_CODE, DARKEST_CODE, FEWEST_BLOCKS
from session.checks.light.cells import FEWEST_CELLS
from session.checks.light.colour_difference import ciede2000, lab_of_linear
from session.checks.material.check_limits import COLOUR_DE2000, EVENNESS_EV, MIXED_LIGHT_EV
from session.checks.material.checked_picture import Pair
from session.frame.finding import CheckId, Finding, Level, Remedy, RemedyKind
from session.picture.linear_light import LINEAR, LUMINANCE, block_means
from session.set.setup import Region

Blocks = NDArray[np.float32]

WEIGHTS = np.array(LUMINANCE, np.float32)
DARK = np.float32(1e-6)
"""Kept above nothing before a logarithm is taken; blocks as dark as this are compared nowhere."""


@dataclass(frozen=True)
class Colour:
    """Change of colour since the reference.

    difference      ΔE2000 of the place at equal luminance
    warmer_ev       red to blue there, EV; + = redder
    shadows_ev      change of red to blue in the darkest third of the picture against the brightest third, EV;
                    None when too little can be compared
    on_patch        the place is the grey patch, else the region
    """

    difference: float
    warmer_ev: float
    shadows_ev: float | None
    on_patch: bool = False


def measure(both: Pair, region: Region, grey_patch: Region | None = None) -> Colour | None:
    """Colour of the grey patch, else of the region, against the reference; None when neither can be told."""
    if not both.same_size:
        return None
    frame, reference, start = _blocks(both)
    usable = _usable(frame) & _usable(reference)
    ratios = np.log2(np.maximum(frame, DARK)) - np.log2(np.maximum(reference, DARK))
    level, level_before = frame @ WEIGHTS, reference @ WEIGHTS
    brighter = np.log2(np.maximum(level, DARK)) - np.log2(np.maximum(level_before, DARK))
    inside = _inside(both, grey_patch, start, usable) if grey_patch else np.zeros_like(usable)
    on_patch = inside.sum() >= FEWEST_BLOCKS and not _shows_another_thing(brighter, inside, usable)
    if not on_patch:
        inside = _inside(both, region, start, usable)
    if inside.sum() < FEWEST_BLOCKS:
        return None
    red, blue = (float(np.median((ratios[..., n] - ratios[..., 1])[inside])) for n in (0, 2))
    before = reference[inside].mean(axis=0, dtype=np.float64)
    now = before * np.exp2([red, 0.0, blue])
    now *= (before @ LUMINANCE) / (now @ LUMINANCE)
    return Colour(
        difference=ciede2000(lab_of_linear(before), lab_of_linear(now)),
        warmer_ev=red - blue,
        shadows_ev=_shadows_ev(ratios[..., 0] - ratios[..., 2], level_before, usable),
        on_patch=bool(on_patch),
    )


def findings(colour: Colour | None) -> tuple[Finding, ...]:
    """Colour that wandered, and light of two colours."""
    if colour is None:
        return ()
    found = []
    if colour.difference > COLOUR_DE2000:
        word = "warmer" if colour.warmer_ev > 0 else "cooler"
        place = "grey patch" if colour.on_patch else "region"
        text = f"The {place}'s colour is ΔE {colour.difference:.1f} off the reference, {word}."
        remedy = Remedy(RemedyKind.BY_HAND, "look at the white balance, power, and the ambient light")
        limit = float(COLOUR_DE2000)
        found.append(Finding(CheckId.COLOUR, Level.CAUTION, text, round(colour.difference, 2), limit, "ΔE2000", remedy))
    if colour.shadows_ev is not None and abs(colour.shadows_ev) > MIXED_LIGHT_EV:
        word = "warmer" if colour.shadows_ev > 0 else "cooler"
        text = f"Mixed light? Dark parts have become {word} against light ones, by {abs(colour.shadows_ev):.2f} EV."
        remedy = Remedy(RemedyKind.BY_HAND, "look at lamps and windows; measure the ambient light")
        limit = float(MIXED_LIGHT_EV)
        found.append(
            Finding(CheckId.MIXED_LIGHT, Level.CAUTION, text, round(colour.shadows_ev, 3), limit, "EV", remedy)
        )
    return tuple(found)


def _blocks(both: Pair) -> tuple[Blocks, Blocks, tuple[int, int]]:
    """Block means (rows, columns, 3) of linear RGB where both show the same, and (top, left) in the reference, px."""
    times = both.reference.overview.scale / both.reference.small_scale
    right, down = (round(s * times) if both.shift.found else 0 for s in (both.shift.right_px, both.shift.down_px))
    height, width = both.frame.light.shape
    right, down = max(-width // 2, min(width // 2, right)), max(-height // 2, min(height // 2, down))
    ours = both.frame.channels[:, max(0, down) : height + min(0, down), max(0, right) : width + min(0, right)]
    theirs = both.reference.channels[:, max(0, -down) : height - max(0, down), max(0, -right) : width - max(0, right)]
    before = both.reference.remember("colour", (right, down), lambda: _means(theirs))
    return _means(ours), before, (max(0, -down), max(0, -right))


def _means(channels: NDArray[np.float32]) -> Blocks:
    return np.stack([block_means(channel, BLOCK_PX, BLOCK_PX) for channel in channels], axis=-1)


def _inside(both: Pair, where: Region, start: tuple[int, int], usable: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The usable blocks in a rectangle of the reference; `start` is (top, left) of the first block, px."""
    rows, columns = both.reference.region_of_overview(where)
    inside = np.zeros_like(usable)
    inside[_in_blocks(rows, start[0]), _in_blocks(columns, start[1])] = True
    found: NDArray[np.bool_] = inside & usable
    return found


def _shows_another_thing(brighter: Blocks, inside: NDArray[np.bool_], usable: NDArray[np.bool_]) -> bool:
    """Whether the patch's brightness changed otherwise than that of the rest, so that it shows something else."""
    rest = usable & ~inside
    if rest.sum() < FEWEST_BLOCKS:
        return False
    return bool(abs(np.median(brighter[inside]) - np.median(brighter[rest])) > EVENNESS_EV)


def _usable(blocks: Blocks) -> NDArray[np.bool_]:
    """Pixels that are neither so dark that a code is a tenth of a stop, nor near white in any channel."""
    dark, bright = LINEAR[DARKEST_CODE], LINEAR[BRIGHTEST_CODE]
    usable: NDArray[np.bool_] = (blocks.min(axis=-1) > dark) & (blocks.max(axis=-1) < bright)
    return usable


def _in_blocks(part: slice, start: int) -> slice:
    """Rows or columns of the overview as blocks, those that lie wholly inside; at least one."""
    first = max(0, -(-(part.start - start) // BLOCK_PX))
    return slice(first, max(first + 1, (part.stop - start) // BLOCK_PX))


def _shadows_ev(warmer: Blocks, level: Blocks, usable: NDArray[np.bool_]) -> float | None:
    """Median change of red to blue in the darkest third of the usable blocks against the brightest third."""
    if usable.sum() < FEWEST_CELLS * FEWEST_BLOCKS:
        return None
    values, levels = warmer[usable], level[usable]
    low, high = np.quantile(levels, (1 / 3, 2 / 3))
    return float(np.median(values[levels <= low]) - np.median(values[levels >= high]))
