"""Is the region as sharp as in the reference: blur as a disc radius in full-size pixels, and as mm on the piece.

The verdict is `sharp` up to the view's blur limit, `soft` above it, `missed` above `MISSED_AT_LIMITS` limits,
and `unjudged` when there is no reference, or when detail, light or scale can't show the limit. A gross miss shows
where the limit doesn't: then a few times the limit is tried, which finds a miss but never calls a region sharp.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from session.checks.focus.map import place_text, sharpest_place
from session.checks.focus.miss_side import MissSide, miss_side
from session.checks.focus.region import SMALLEST_PATCH_PX, RegionBlur, TileBlurs, measure
from session.checks.light.brightness import Exposure
from session.checks.material.check_limits import RELIT_EV, TOO_DARK_EV
from session.checks.material.checked_picture import Pair
from session.frame.finding import CheckId, Finding, FocusJudgement, FocusVerdict, Level, Remedy, RemedyKind
from session.optics.arrangement import EquivalentLens
from session.optics.diffraction import (
    cut_off_cycles_per_mm,
    defocus_waves,
    transfer_defocused,
    transfer_of_disc,
)
from session.set.lens_in_use import lens_in_use
from session.set.setup import MISSED_AT_LIMITS, Arrangement, Region, Revision
from session.units.numbers import mm_text

NO_REFERENCE = "no reference was given to compare it with"
"""Why the focus of a file that is judged by itself isn't; a frame of a shoot brings its own words."""

HALF_ENERGY_DISC = 0.2573
"""Frequency times radius at which a disc passes half the energy: 2·J1(x)/x = √½ at x = 1.6163; x/2π."""

COARSER_LIMITS = (2.0, 4.0)
"""Limits tried on a region with too little detail for its own, in such limits; above either a frame is missed. On four
photographs on which no benchmark counts the focus, their contrast lowered until most regions could not be judged at
1 px, no region with 1 px of blur or less was called missed by it (of 432), of those with 6 px 78 of 144, 14 otherwise.
"""

MOST_WAVES = 3.0
"""Defocus is looked for up to this many times the geometric one."""


@dataclass(frozen=True)
class Judged:
    """The judgement on a region, the blur of its parts, None for a region not measured in parts, and a miss's side."""

    focus: FocusJudgement
    tiles: TileBlurs | None = None
    side: MissSide | None = None


def judge(
    both: Pair | None,
    revision: Revision,
    exposure: Exposure,
    *,
    f_number: float | None = None,
    sensor_width_mm: float | None = None,
) -> Judged:
    """The verdict on a frame, by its pair with the reference.

    both             None without a reference
    f_number         as marked, of the frame; the set-up's when None
    sensor_width_mm  the long side of the full-size picture; without it no distance is told
    Raises UnreadablePicture when the region can't be decoded.
    """
    reason = _why_not(both, exposure)
    if both is None or reason:
        return Judged(FocusJudgement(FocusVerdict.UNJUDGED, reason=reason))
    limit_px = revision.blur_limit_px
    relit = exposure.region_scatter_ev is not None and exposure.region_scatter_ev > RELIT_EV
    found = measure(both, revision.region, limit_px, relit=relit)
    tiles = found.tiles
    if not found.tells(limit_px):
        scale, reason = found.scale, f"too little detail in the region to tell a blur radius of {limit_px:.2g} px"
        coarser = _at_coarser_limits(both, revision.region, limit_px, relit=relit)
        if coarser is None:
            return Judged(FocusJudgement(FocusVerdict.UNJUDGED, scale=scale, reason=reason), tiles)
        found, told_px = coarser
        if found.blur_px <= told_px:
            reason = f"{reason}; it is within {told_px:.2g} px"
            return Judged(FocusJudgement(FocusVerdict.UNJUDGED, scale=scale, reason=reason), tiles)
    verdict = focus_verdict_of(found.blur_px, limit_px)
    f_number = f_number or revision.settings.f_number
    pixels_across = both.frame.sensor_pixels_across
    judgement = FocusJudgement(
        verdict=verdict,
        blur_px=round(found.blur_px, 2),
        blur_px_sd=round(found.blur_px_sd, 2),
        defocus_mm=miss_mm(found.blur_px, revision.arrangement, f_number, sensor_width_mm, pixels_across),
        scale=found.scale,
        sharpest_at=None if verdict is FocusVerdict.SHARP else sharpest_place(both),
    )
    missed = verdict is not FocusVerdict.SHARP
    side = miss_side(judgement, tiles, revision, sensor_width_mm, pixels_across) if missed else None
    return Judged(judgement, tiles, side)


def focus_verdict_of(blur_px: float, limit_px: float) -> FocusVerdict:
    """The verdict on a blur by the view's limit, both radii in px."""
    if blur_px <= limit_px:
        return FocusVerdict.SHARP
    return FocusVerdict.MISSED if blur_px > MISSED_AT_LIMITS * limit_px else FocusVerdict.SOFT


def findings(focus: FocusJudgement, limit_px: float, side: MissSide | None = None) -> tuple[Finding, ...]:
    """One finding unless the region is sharp; the limit is a radius in px; side: of the miss, where it is known."""
    if focus.verdict is FocusVerdict.SHARP:
        return ()
    if focus.blur_px is None:
        return (Finding(CheckId.FOCUS, Level.NOTE, f"Focus not judged: {focus.reason}.", limit=limit_px, unit="px"),)
    distance, mend = f": about {mm_text(focus.defocus_mm)} off" if focus.defocus_mm else "", "refocus in live view"
    if side and focus.defocus_mm:
        distance, mend = f": {side.words(focus.defocus_mm)}", side.remedy(focus.defocus_mm)
    text = f"Blur radius {focus.blur_px:.1f} px in the region against a limit of {limit_px:.1f} px{distance}."
    if focus.sharpest_at:
        text += f" Sharper {place_text(focus.sharpest_at)}."
    remedy = Remedy(RemedyKind.BY_HAND, mend)
    return (Finding(CheckId.FOCUS, Level.CAUTION, text, focus.blur_px, limit_px, "px", remedy),)


def defocus_mm_of(blur_radius_mm: float, lens: EquivalentLens) -> float:
    """How far out of focus, in mm, a point on the piece lies whose blur looks like a disc of this radius on the sensor.

    blur_radius_mm  radius of the disc on the sensor, mm
    Near focus diffraction spreads the light anyway, so that more defocus than geometry says is needed to look
    like a given disc. The disc is taken for the defocus that passes as much, relative to the lens in focus, at
    the frequency where the disc passes half the energy, or at half the cut-off if that is lower (wave optics).
    Far out of focus both agree. Close-up form: distance = diameter · N_e / m².
    """
    diameter_mm, cut_off = 2 * blur_radius_mm, cut_off_cycles_per_mm(lens.effective_f_number)
    frequency = min(HALF_ENERGY_DISC / blur_radius_mm, cut_off / 2)
    wanted = float(transfer_of_disc(diameter_mm * frequency))
    geometric = defocus_waves(diameter_mm, lens.effective_f_number)
    waves = geometric * np.linspace(1, MOST_WAVES, 81)
    passed = np.array([float(transfer_defocused(frequency / cut_off, wave)) for wave in waves])
    below = np.flatnonzero(passed <= wanted * float(transfer_defocused(frequency / cut_off, 0.0)))
    stretch = float(waves[below[0]]) / geometric if len(below) else 1.0
    return diameter_mm * stretch * lens.effective_f_number / lens.magnification**2


def miss_mm(
    blur_px: float,
    arrangement: Arrangement,
    f_number: float | None,
    sensor_width_mm: float | None,
    pixels_across: float,
) -> float | None:
    """How far off on the piece a frame is focused, mm, by its blur; None when the optics aren't known or it is sharp.

    blur_px   radius, in pixels of which `pixels_across` lie along the sensor's long side, `sensor_width_mm`
    f_number  as marked on the lens
    """
    if not sensor_width_mm or not f_number or blur_px <= 0 or arrangement.magnification <= 0:
        return None
    try:
        lens = lens_in_use(arrangement, f_number)
    except ValueError:  # an arrangement that can't be; the rules tell it before the release
        return None
    return round(defocus_mm_of(blur_px * sensor_width_mm / pixels_across, lens), 3)


def _why_not(both: Pair | None, exposure: Exposure) -> str:
    """Why the focus can't be judged, "" when it can."""
    if both is None:
        return NO_REFERENCE
    why_not = _why_not_these_files(both)
    if why_not:
        return why_not
    if exposure.region_ev is not None and exposure.region_ev < -float(TOO_DARK_EV):
        return f"the region is {-exposure.region_ev:.1f} EV darker than the reference"
    if not both.shift.found:
        return "it doesn't look like the reference: another piece, or moved too far"
    return ""


def _why_not_these_files(both: Pair) -> str:
    """Why two files can't be compared finely, "" when they can."""
    if both.reference.source.is_stored_preview:
        return "of the reference only the stored preview is there"
    if both.frame.source.is_stored_preview:
        return "of the frame only the stored preview is there"
    if both.frame.source.stored_size != both.reference.source.stored_size:
        return "the picture has another size than the reference"
    if not both.same_size:
        return "the picture is turned against the reference, upright against wide"
    return ""


def _at_coarser_limits(both: Pair, region: Region, limit_px: float, *, relit: bool) -> tuple[RegionBlur, float] | None:
    """The region at the least of the coarser limits that can be told in it, and that limit, px; None for none.

    Where it is smaller than a patch at the coarser scale, what surrounds it would answer for it, and nothing is told.
    """
    box, px_per_pixel = both.reference.region_box(region), both.reference.px_per_pixel
    side_px = min(box.width, box.height) * px_per_pixel
    for times in COARSER_LIMITS:
        found = measure(both, region, times * limit_px, relit=relit)
        if side_px * found.scale >= SMALLEST_PATCH_PX and found.tells(times * limit_px):
            return found, times * limit_px
    return None
