"""The lens of a set-up as one equivalent lens, so that rules, screens and cards all count with the same numbers."""

from __future__ import annotations

from dataclasses import replace

from session.optics.arrangement import EquivalentLens, equivalent_lens
from session.optics.closeup import pupil_magnification_in_use
from session.optics.plate import astigmatism_mm
from session.set.kit import Kit, Lens, LensDrive, Plate
from session.set.setup import Arrangement, Confirmation, Revision
from session.units.marked_values import f_numbers_between

SHARP_STOPS_UNDER = 2.0
"""Stops under its widest from which a lens is taken as sharp. Common practice, no source."""


USUAL_PLATE_ANGLE_DEG = 45.0
"""Tilt of a plate for axial light in a set-up, which doesn't keep it. Common practice, no source."""


NEAR_RATIO = 0.1
"""Share by which the ratio may differ from the one at which a drive was measured. At the border the square that is
counted with makes a fifth, of which a lens that focuses inside may leave a part. Chosen, no source."""


def plate_astigmatism_mm(plate: Plate, angle_deg: float = USUAL_PLATE_ANGLE_DEG) -> float:
    """How far apart on the piece lines up and across are sharp through a plate at an angle, degrees, mm; >= 0."""
    return abs(astigmatism_mm(angle_deg, plate.refractive_index, plate.thickness_mm))


def astigmatism_in_use_mm(revision: Revision, kit: Kit) -> float:
    """Astigmatism of the glass that stands in a set-up, by the kit, mm; 0 for glass that the kit doesn't know."""
    plates = (kit.plate_for(item.name) for item in revision.passive if item.kind == "plate")
    return sum(plate_astigmatism_mm(plate) for plate in plates if plate is not None)


def usable_f_numbers(lens: Lens) -> tuple[float, ...]:
    """The marked f-numbers from where the lens is sharp to its smallest opening; empty when they contradict."""
    widest = lens.sharp_from_f_number or min(
        lens.widest_f_number * 2 ** (SHARP_STOPS_UNDER / 2), lens.smallest_f_number
    )
    return f_numbers_between(max(widest, lens.widest_f_number), lens.smallest_f_number)


def pupil_in_use(lens: Lens) -> float:
    """Exit over entrance pupil by which a lens's light and depth count: by what it lets through close up, if known.

    Raises ValueError where the kit's numbers contradict each other.
    """
    if lens.closest_effective_f_number is None or lens.closest_magnification == 0:
        return lens.pupil_magnification
    return pupil_magnification_in_use(lens.widest_f_number, lens.closest_effective_f_number, lens.closest_magnification)


def lens_in_use(arrangement: Arrangement, f_number: float) -> EquivalentLens:
    """The lens that the arrangement acts as at an f-number, as marked: its effective f-number, depth, pupils.

    Tubes are in the ratio already, reversing, converter and close-up lens are worked in.
    Raises ValueError when a number can't be meant or the parts don't go together.
    """
    return equivalent_lens(
        arrangement.focal_length_mm,
        f_number,
        arrangement.magnification,
        arrangement.pupil_magnification,
        lens_reversed=arrangement.reversed,
        converter=arrangement.converter,
        dioptres=arrangement.dioptres,
        gap_mm=arrangement.gap_mm,
    )


def drive_in_use(arrangement: Arrangement, kit: Kit) -> LensDrive | None:
    """The measured focus drive of the arrangement's lens, its steps counted for the set-up's ratio; None: not measured.

    Of several the one measured nearest to this ratio, within NEAR_RATIO of it, and with the same tubes, converter and
    close-up lens. A step moves the lens by the same way everywhere, and on the piece by that over the ratio's square.
    """
    here = (arrangement.lens, arrangement.extension_mm, arrangement.converter, arrangement.dioptres)
    ratio = arrangement.magnification
    known = [
        (abs(ratio / one.magnification - 1), one)
        for one in kit.drive
        if (one.lens, one.extension_mm, one.converter, one.dioptres) == here and one.magnification > 0
    ]
    off, nearest = min(known, key=lambda pair: pair[0], default=(1.0, None))
    if nearest is None or off > NEAR_RATIO or arrangement.reversed:
        return None
    more = (ratio / nearest.magnification) ** 2
    sd = None if nearest.steps_per_mm_sd is None else nearest.steps_per_mm_sd * more
    return nearest.model_copy(update={"steps_per_mm": nearest.steps_per_mm * more, "steps_per_mm_sd": sd})


def without_stale_confirmation(wanted: Revision, old: Revision) -> Revision:
    """The wanted set-up, without the word for an aperture by hand that was given for another aperture or lens."""
    same = wanted.settings.f_number == old.settings.f_number and wanted.arrangement == old.arrangement
    if same or Confirmation.APERTURE_BY_HAND not in old.confirmed:
        return wanted
    return replace(wanted, confirmed=tuple(said for said in wanted.confirmed if said != Confirmation.APERTURE_BY_HAND))
