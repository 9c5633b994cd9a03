"""Rules about what the lens can do: depth, diffraction, aperture by hand.

They speak only where the set-up and the kit know enough: a depth that somebody asked for, a body with its pixels.
What may blur is the set-up's blur limit, a radius in pixels. Depth and frames are counted by wave optics with the
planner's own function, `sharp_series`.

Diffraction alone is cautioned above the larger of two circles: the one that the view allows, and the customary one of
the sensor's format, a 1500th of its diagonal, below which nobody sees it in the whole picture. The view's alone
would not do: it says what a frame may show above its reference, which diffraction blurs alike, and at a pixel's radius
every close-up is beyond it, so that the caution would stand always and be read by nobody.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId
from session.optics.aperture import combined_blur_mm
from session.optics.arrangement import EquivalentLens
from session.optics.circle import RADII, blur_circle_from_diagonal_mm, blur_circle_from_limit_mm
from session.optics.framing import pixel_pitch_um
from session.optics.sharpness import SharpSeries, sharp_series
from session.optics.steps import EndlessSeriesError, FocusSteps
from session.rules.situation import Situation
from session.set.lens_in_use import astigmatism_in_use_mm, lens_in_use, usable_f_numbers
from session.set.setup import Confirmation
from session.units.marked_values import f_numbers_between
from session.units.numbers import f_text, mm_text
from session.units.quantities import require

LEAST_DEPTH_MM = 1e-3
"""A depth that any frame covers, for asking what one frame does. Chosen."""


def depth(situation: Situation) -> tuple[Finding, ...]:
    """The depth of field at the effective aperture doesn't cover the depth that the view needs."""
    needed_mm, lens, circle_mm = situation.revision.depth_needed_mm, _lens(situation), _circle_mm(situation)
    if needed_mm is None or lens is None or circle_mm is None:
        return ()
    here = f"{f_text(_f_number(situation))} ({f_text(lens.effective_f_number)} here)"
    covers = _covering_series(situation, needed_mm, lens, circle_mm)
    if covers is None:
        text = f"The view needs {mm_text(needed_mm)} sharp: no focus series covers that at {here}."
        remedy = Remedy(RemedyKind.BY_HAND, "ask for less depth, or go farther away")
        return (Finding(RuleId.DEPTH, Level.CAUTION, text, None, needed_mm, "mm", remedy),)
    if covers.never_sharp:
        return (_never_sharp(situation, needed_mm, covers, circle_mm, here),)
    if covers.steps.frames == 1:
        return ()
    text = (
        f"Sharp over {mm_text(covers.depth_mm)} at {here}, the view needs {mm_text(needed_mm)}: "
        f"{covers.steps.frames} frames cover it."
    )
    remedy = _stopped_down(situation, needed_mm, circle_mm) or _in_steps(covers.steps)
    return (Finding(RuleId.DEPTH, Level.CAUTION, text, covers.depth_mm, needed_mm, "mm", remedy),)


def depth_here(situation: Situation) -> SharpSeries | None:
    """What one frame makes sharp at the effective aperture, as the depth rule counts it; None for an unknown body.

    Raises ValueError when the parts of the lens don't go together.
    """
    lens, circle_mm = _lens(situation), _circle_mm(situation)
    if lens is None or circle_mm is None:
        return None
    return _covering_series(situation, LEAST_DEPTH_MM, lens, circle_mm)


def diffraction(situation: Situation) -> tuple[Finding, ...]:
    """Diffraction alone blurs more than the set-up allows, and more than the whole picture hides."""
    lens, circle_mm, body = _lens(situation), _circle_mm(situation), situation.body
    if lens is None or circle_mm is None or body is None:
        return ()
    hidden_mm = blur_circle_from_diagonal_mm(body.sensor_width_mm, body.sensor_height_mm)
    limit_mm = max(circle_mm, hidden_mm)
    blur_mm = combined_blur_mm(0.0, lens.effective_f_number)
    if blur_mm <= limit_mm:
        return ()
    radius_px, limit_px = (one_mm / RADII * body.pixels_across / body.sensor_width_mm for one_mm in (blur_mm, limit_mm))
    why = "are allowed" if circle_mm >= hidden_mm else "the whole picture hides"
    text = (
        f"Diffraction at {f_text(_f_number(situation))} ({f_text(lens.effective_f_number)} here) blurs to a radius of "
        f"{radius_px:.1f} px, {limit_px:.1f} px {why}."
    )
    # Blur by diffraction goes with the f-number.
    remedy = _smallest_good_stop(situation, lens, circle_mm, _f_number(situation) * limit_mm / blur_mm)
    return (Finding(RuleId.DIFFRACTION, Level.CAUTION, text, radius_px, limit_px, "px", remedy),)


def aperture_by_hand(situation: Situation) -> tuple[Finding, ...]:
    """The camera can't set the aperture, as the lens is reversed or on plain tubes: asks whether it is set by hand."""
    words = _no_electronic_aperture(situation)
    if not words or Confirmation.APERTURE_BY_HAND in situation.revision.confirmed:
        return ()
    wanted = situation.revision.settings.f_number
    stop = f"set {f_text(wanted)} by hand" if wanted else "set the aperture by hand"
    arrangement = situation.revision.arrangement
    moving = arrangement.reversed or arrangement.extension_mm > 0
    text = f"{words}: {stop}{'; focus by moving the camera, not by the ring' if moving else ''}."
    return (
        Finding(
            RuleId.APERTURE_BY_HAND, Level.STOP, text, None, None, "", Remedy(RemedyKind.CONFIRM, "yes, it is set")
        ),
    )


def _no_electronic_aperture(situation: Situation) -> str:
    """Why the camera can't set the aperture; "" when it can or nobody knows."""
    arrangement = situation.revision.arrangement
    if arrangement.reversed:
        return "The lens is reversed"
    if arrangement.extension_mm and not _passed_on(situation, arrangement.extension_mm):
        return "The lens stands on plain tubes"
    lens = situation.kit.lens_for(arrangement.lens)
    return "" if lens is None or lens.electronic_aperture else "The lens has a ring for its aperture"


def _passed_on(situation: Situation, extension_mm: float) -> bool:
    """Whether tubes of the kit that pass the aperture on come to that length."""
    lengths = [tube.extension_mm for tube in situation.kit.tube if tube.electronic_aperture]
    sums = (sum(some) for count in range(1, len(lengths) + 1) for some in combinations(lengths, count))
    return any(abs(length - extension_mm) < 0.5 for length in sums)


def _f_number(situation: Situation) -> float:
    """The f-number on the camera, else in the set-up; 0 when neither tells."""
    told = situation.reading.value("f_number")
    return float(told) if isinstance(told, int | float) and told else situation.revision.settings.f_number or 0.0


def _lens(situation: Situation) -> EquivalentLens | None:
    """The lens in use; None without aperture or ratio. Raises ValueError when the parts don't go together."""
    number = _f_number(situation)
    if not number or not situation.revision.arrangement.magnification:
        return None
    lens = lens_in_use(situation.revision.arrangement, number)
    require(effective_f_number=lens.effective_f_number)
    return lens


def _circle_mm(situation: Situation) -> float | None:
    """The blur circle on the sensor that the set-up's blur limit comes to; None for an unknown body.

    Raises ValueError when it can't be meant.
    """
    body = situation.body
    if body is None:
        return None
    pitch_um = pixel_pitch_um(body.sensor_width_mm, body.pixels_across)
    circle_mm = blur_circle_from_limit_mm(situation.revision.blur_limit_px, pitch_um)
    require(blur_circle_mm=circle_mm)
    return circle_mm


def _covering_series(
    situation: Situation, needed_mm: float, lens: EquivalentLens, circle_mm: float
) -> SharpSeries | None:
    """The depth in a single frame and the series; None where no series covers the depth needed. Raises ValueError."""
    try:
        return sharp_series(
            needed_mm,
            lens.effective_f_number,
            lens.magnification,
            circle_mm / lens.magnification,
            astigmatism_mm=astigmatism_in_use_mm(situation.revision, situation.kit),
        )
    except EndlessSeriesError:
        return None


def _never_sharp(situation: Situation, needed_mm: float, covers: SharpSeries, circle_mm: float, here: str) -> Finding:
    """That diffraction, or the glass, leaves nothing as sharp as allowed, and the opening that does, if one does."""
    text = f"{'The glass' if covers.by_plate else 'Diffraction'} at {here} leaves nothing sharp enough"
    if covers.steps.frames > 1:
        text += f"; as well as it goes, {covers.steps.frames} frames cover it"
    remedy = Remedy(RemedyKind.BY_HAND, "allow more blur, go farther away, or take thinner glass")
    if covers.by_diffraction:
        remedy = _wider_stop(situation, needed_mm, circle_mm) or replace(
            remedy, text="allow more blur, or go farther away"
        )
    elif (smaller := _stopped_down(situation, needed_mm, circle_mm)) is not None:
        remedy = smaller
    return Finding(RuleId.DEPTH, Level.CAUTION, f"{text}.", 0.0, needed_mm, "mm", remedy)


def _wider_stop(situation: Situation, needed_mm: float, circle_mm: float) -> Remedy | None:
    """The smallest marked opening at which a plane is sharp, and the frames that it takes; None without one."""
    lens = situation.kit.lens_for(situation.revision.arrangement.lens)
    now = _f_number(situation)
    for number in reversed(usable_f_numbers(lens)) if lens else ():
        covers = None
        if number < now:
            there = lens_in_use(situation.revision.arrangement, number)
            covers = _covering_series(situation, needed_mm, there, circle_mm)
        if covers is not None and not covers.never_sharp:
            frames = covers.steps.frames
            series = "" if frames == 1 else f": {frames} frames, {mm_text(covers.steps.step_mm)} apart"
            return Remedy(RemedyKind.BY_HAND, f"allow more blur, or set {f_text(number)}{series}")
    return None


def _in_steps(steps: FocusSteps) -> Remedy:
    return Remedy(RemedyKind.BY_HAND, f"take {steps.frames} frames, {mm_text(steps.step_mm)} apart")


def _stopped_down(situation: Situation, needed_mm: float, circle_mm: float) -> Remedy | None:
    """The widest marked stop that covers the depth and keeps diffraction within the circle; None without one.

    Nor where a flash would have to give more than its full power for it.
    """
    lens = situation.kit.lens_for(situation.revision.arrangement.lens)
    now = _f_number(situation)
    for number in f_numbers_between(now, lens.smallest_f_number) if lens else ():
        if not _flashes_can_follow(situation, 2 * math.log2(number / now)):
            return None
        there = lens_in_use(situation.revision.arrangement, number)
        covers = _covering_series(situation, needed_mm, there, circle_mm)
        if covers is None or covers.by_diffraction:
            return None
        if covers.steps.frames == 1 and not covers.by_plate:
            return _set_f_number(situation, number)
    return None


def _flashes_can_follow(situation: Situation, more_ev: float) -> bool:
    """Whether every flash can give so many EV more than the set-up has it at."""
    powers = (placed.power_ev for placed in situation.revision.lights if placed.name in situation.flashes)
    return all(power_ev + more_ev <= 0 for power_ev in powers)


def _smallest_good_stop(situation: Situation, lens_here: EquivalentLens, circle_mm: float, at_most: float) -> Remedy:
    """The smallest marked stop whose diffraction is within the limit, where the lens is sharp there.

    Where the depth that the view needs takes more frames then, that is the hands' choice, not a key's.
    """
    lens = situation.kit.lens_for(situation.revision.arrangement.lens)
    offered = usable_f_numbers(lens) if lens else f_numbers_between(1.0, at_most)
    fitting = [number for number in offered if number <= at_most]
    if not fitting:
        return Remedy(RemedyKind.BY_HAND, "go farther away, or allow more blur")
    number, needed_mm = fitting[-1], situation.revision.depth_needed_mm
    if needed_mm is not None:
        here = _covering_series(situation, needed_mm, lens_here, circle_mm)
        there = _covering_series(situation, needed_mm, lens_in_use(situation.revision.arrangement, number), circle_mm)
        if here and there and there.steps.frames > here.steps.frames:
            return Remedy(RemedyKind.BY_HAND, f"allow more blur, or set {f_text(number)}: {there.steps.frames} frames")
    return _set_f_number(situation, number)


def _set_f_number(situation: Situation, number: float) -> Remedy:
    kind = RemedyKind.SET_CAMERA if situation.can_set("f_number", number) else RemedyKind.BY_HAND
    return Remedy(kind, f"set {f_text(number)}", {"f_number": number})
