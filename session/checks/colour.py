"""Has the colour changed: ΔE2000 of a grey patch or of the region against the reference, and signs of mixed light.

Brightness is another check's: the frame's colour is brought to the reference's luminance first, so that ΔE2000
tells hue and chroma alone. The change is the median over small blocks of the ratios red to green and blue to
green, laid on the reference's mean colour: a highlight that wandered doesn't count.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from session.checks.cells import FEWEST_CELLS
from session.checks.colour_difference import ciede2000, lab_of_linear
from session.checks.exposure import BLOCK_PX, BRIGHTEST_CODE, DARKEST_CODE, FEWEST_BLOCKS
from session.checks.light import LINEAR, LUMINANCE, block_means
from session.checks.limits import COLOUR_DE2000, MIXED_LIGHT_EV
from session.checks.material import Pair
from session.finding import Finding, Level, Remedy, RemedyKind
from session.setup import Region

Blocks = NDArray[np.float32]


@dataclass(frozen=True)
class Colour:
    """Change of colour since the reference.

    difference      ΔE2000 of the patch at equal luminance
    warmer_ev       red to blue of the patch, EV; + = redder
    shadows_ev      change of red to blue in the darkest third of the picture against the brightest third, EV;
                    None when too little can be compared
    """

    difference: float
    warmer_ev: float
    shadows_ev: float | None


def measure(both: Pair, patch: Region) -> Colour | None:
    """Colour of a patch (the region, or where a grey card lay) against the reference; None when it can't be told."""
    if not both.same_size:
        return None
    frame, reference, place = _blocks(both)
    usable = _usable(frame) & _usable(reference)
    top, left = place
    rows, columns = both.reference.region_of_overview(patch)
    inside = np.zeros_like(usable)
    inside[_in_blocks(rows, top), _in_blocks(columns, left)] = True
    inside &= usable
    if inside.sum() < FEWEST_BLOCKS:
        return None
    ratios = np.log2(frame) - np.log2(reference)
    red, blue = (float(np.median((ratios[..., n] - ratios[..., 1])[inside])) for n in (0, 2))
    before = reference[inside].mean(axis=0, dtype=np.float64)
    now = before * np.exp2([red, 0.0, blue])
    now *= (before @ LUMINANCE) / (now @ LUMINANCE)
    return Colour(
        difference=ciede2000(lab_of_linear(before), lab_of_linear(now)),
        warmer_ev=red - blue,
        shadows_ev=_shadows_ev(ratios[..., 0] - ratios[..., 2], reference @ np.array(LUMINANCE, np.float32), usable),
    )


def findings(colour: Colour | None) -> tuple[Finding, ...]:
    """Colour that wandered, and light of two colours."""
    if colour is None:
        return ()
    found = []
    if colour.difference > COLOUR_DE2000:
        word = "warmer" if colour.warmer_ev > 0 else "cooler"
        text = f"The region's colour is ΔE {colour.difference:.1f} off the reference, {word}."
        remedy = Remedy(RemedyKind.BY_HAND, "look at the white balance, power, and the room's light")
        limit = float(COLOUR_DE2000)
        found.append(Finding("colour", Level.CAUTION, text, round(colour.difference, 2), limit, "ΔE2000", remedy))
    if colour.shadows_ev is not None and abs(colour.shadows_ev) > MIXED_LIGHT_EV:
        word = "warmer" if colour.shadows_ev > 0 else "cooler"
        text = f"Mixed light? Dark parts have become {word} against light ones, by {abs(colour.shadows_ev):.2f} EV."
        remedy = Remedy(RemedyKind.BY_HAND, "look at lamps and windows; measure the room's light")
        limit = float(MIXED_LIGHT_EV)
        found.append(Finding("mixed light", Level.CAUTION, text, round(colour.shadows_ev, 3), limit, "EV", remedy))
    return tuple(found)


def _blocks(both: Pair) -> tuple[Blocks, Blocks, tuple[int, int]]:
    """Block means (rows, columns, 3) of linear RGB where both show the same, and (top, left) in the reference, px."""
    times = both.reference.overview.scale / both.reference.small_scale
    right, down = (round(s * times) if both.shift.found else 0 for s in (both.shift.right_px, both.shift.down_px))
    height, width = both.frame.light.shape
    right, down = max(-width // 2, min(width // 2, right)), max(-height // 2, min(height // 2, down))
    ours = both.frame.overview.pixels[max(0, down) : height + min(0, down), max(0, right) : width + min(0, right)]
    theirs = both.reference.overview.pixels[
        max(0, -down) : height - max(0, down), max(0, -right) : width - max(0, right)
    ]
    return _means(ours), _means(theirs), (max(0, -down), max(0, -right))


def _means(codes: NDArray[np.uint8]) -> Blocks:
    channels = [block_means(LINEAR[codes[..., n]], BLOCK_PX, BLOCK_PX) for n in range(3)]
    return np.stack(channels, axis=-1)


def _usable(blocks: Blocks) -> NDArray[np.bool_]:
    """Neither so dark that a code is a tenth of a stop, nor near white in any channel."""
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
