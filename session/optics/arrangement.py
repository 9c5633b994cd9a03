"""Tubes, close-up lens, converter, reversed and stacked lenses, each brought back to one equivalent lens.

Every arrangement images like one lens with its own focal length, ratio, effective f-number and place of the
entrance pupil. Once those four are known, depth, diffraction and exposure follow as for a bare lens, and
the classic mistakes can't be made: no bellows factor for a close-up lens, no 2·N(1 + m) for a converter,
no N(1 + mP) for a reversed lens.

Build from the inside out: `bare` or `reversed_lens` first, then `with_close_up_lens` or `with_converter`
around it. Distances are subject-side, from the reference plane towards the piece: the front principal
plane, or the close-up lens where there is one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError


@dataclass(frozen=True)
class EquivalentLens:
    """The single lens that an arrangement acts as.

    focal_length_mm     of the whole
    magnification       image / object, of the whole, >= 0
    effective_f_number  sets light and blur at the sensor
    front_focus_mm      reference plane to front focal point
    pupil_mm            front focal point to entrance pupil, seen from the piece; infinite when the beams
                        leave the piece in parallel, negative when the pupil lies on the piece's side
    """

    focal_length_mm: float
    magnification: float
    effective_f_number: float
    front_focus_mm: float
    pupil_mm: float

    @property
    def subject_distance_mm(self) -> float:
        """Piece to reference plane, mm; infinite at m = 0."""
        return _newton_mm(self) + self.front_focus_mm

    @property
    def entrance_pupil_distance_mm(self) -> float:
        """Piece to entrance pupil, mm; infinite at m = 0."""
        return _newton_mm(self) + self.pupil_mm

    @property
    def pupil_magnification(self) -> float:
        """Exit / entrance pupil diameter of the whole, as it stands now, no unit."""
        return self.focal_length_mm / self.pupil_mm

    @property
    def f_number(self) -> float:
        """f-number of the whole at infinity: focal length / entrance pupil diameter."""
        return self.effective_f_number / (1 + self.magnification * self.pupil_mm / self.focal_length_mm)


def bare(
    focal_length_mm: float, f_number: float, magnification: float, pupil_magnification: float = 1.0
) -> EquivalentLens:
    """A lens in normal orientation, on tubes or not.

    focal_length_mm  focal length in use, mm
    f_number         N as marked; with the two magnifications no unit
    Raises ValueError when an argument is out of range.
    """
    require(
        focal_length_mm=focal_length_mm,
        f_number=f_number,
        magnification=magnification,
        pupil_magnification=pupil_magnification,
    )
    return EquivalentLens(
        focal_length_mm,
        magnification,
        f_number * (1 + magnification / pupil_magnification),
        front_focus_mm=focal_length_mm,
        pupil_mm=focal_length_mm / pupil_magnification,
    )


def reversed_lens(
    focal_length_mm: float, f_number: float, magnification: float, pupil_magnification: float = 1.0
) -> EquivalentLens:
    """A lens with its front to the camera: N_e = N·(1/P + m).

    focal_length_mm  focal length in use, mm
    f_number and pupil_magnification as in normal orientation: turned round, the pupils change places, so
    that the ratio becomes 1/P and the f-number at infinity N/P. Derived; a marginal-ray trace agrees.
    Raises ValueError when an argument is out of range.
    """
    straight = bare(focal_length_mm, f_number, magnification, pupil_magnification)
    return replace(
        straight,
        effective_f_number=f_number * (1 / pupil_magnification + magnification),
        pupil_mm=focal_length_mm * pupil_magnification,
    )


def with_close_up_lens(lens: EquivalentLens, dioptres: float, gap_mm: float = 0.0) -> EquivalentLens:
    """A thin supplementary lens before the lens: m = m0 + f·(1 + m0)·D/1000 when in contact.

    lens      with the ratio m0 that it is focused to by itself; 0 at infinity
    dioptres  D = 1000 / focal length of the close-up lens in mm; 0 leaves the lens as it is
    gap_mm    close-up lens to the lens's front principal plane
    The light on the sensor stays that of m0: nothing behind the close-up lens has moved.
    Source: derived (two thin lenses). Raises ValueError when an argument is out of range, and when the
    close-up lens is so far before the lens that no image is formed.
    """
    require(dioptres=dioptres, gap_mm=gap_mm)
    if dioptres == 0:
        return lens
    added_mm = 1000 / dioptres
    virtual_mm = lens.front_focus_mm - gap_mm
    if added_mm + virtual_mm <= 0:
        raise ImpossibleNumbersError(
            f"gap_mm is {gap_mm:.4g} mm, but a {dioptres:.3g} dioptre lens must stand closer than "
            f"{added_mm + lens.front_focus_mm:.4g} mm."
        )
    # m0·(1 + s'/f_c), s' from the close-up lens to where the lens is focused, written to hold at m0 = 0.
    added_ratio = (lens.focal_length_mm + lens.magnification * virtual_mm) / added_mm
    front_focus_mm = virtual_mm * added_mm / (virtual_mm + added_mm)
    behind_mm = lens.pupil_mm - virtual_mm
    seen_mm = added_mm * behind_mm / (added_mm - behind_mm) if behind_mm != added_mm else math.inf
    return EquivalentLens(
        lens.focal_length_mm * added_mm / (added_mm + virtual_mm),
        lens.magnification + added_ratio,
        lens.effective_f_number,
        front_focus_mm=front_focus_mm,
        pupil_mm=front_focus_mm + seen_mm,
    )


def with_converter(lens: EquivalentLens, converter: float) -> EquivalentLens:
    """A teleconverter behind the lens: m = k·m0 at the same working distance, N_e = k·N·(1 + m0/P).

    lens       with the ratio m0 that it has without the converter
    converter  its factor k, >= 1
    Derived (a converter scales the image, whatever made it). Raises ValueError when it is out of range.
    """
    require(converter=converter)
    return replace(
        lens,
        focal_length_mm=lens.focal_length_mm * converter,
        magnification=lens.magnification * converter,
        effective_f_number=lens.effective_f_number * converter,
    )


def stacked_lenses(
    rear_focal_length_mm: float, rear_f_number: float, front_focal_length_mm: float, front_f_number: float
) -> EquivalentLens:
    """A reversed lens before another, both focused at infinity: m = f_rear / f_front.

    The narrower beam decides: N_e is the larger of the rear lens's f-number and m times the front one's.
    The pair is taken as two thin lenses in contact with P = 1; that only places the pupil, which changes
    depth by less than c·N_e/(m²·f) of itself. Working distance: reversed_working_distance_mm at large m.
    Source: published answers on stacked lenses for m; N_e derived. Raises ValueError.
    """
    require(
        rear_focal_length_mm=rear_focal_length_mm,
        rear_f_number=rear_f_number,
        front_focal_length_mm=front_focal_length_mm,
        front_f_number=front_f_number,
    )
    ratio = rear_focal_length_mm / front_focal_length_mm
    effective = max(rear_f_number, ratio * front_f_number)
    focal_mm = rear_focal_length_mm * front_focal_length_mm / (rear_focal_length_mm + front_focal_length_mm)
    return EquivalentLens(focal_mm, ratio, effective, front_focus_mm=focal_mm, pupil_mm=focal_mm)


def equivalent_lens(
    focal_length_mm: float,
    f_number: float,
    magnification: float,
    pupil_magnification: float = 1.0,
    *,
    lens_reversed: bool = False,
    converter: float = 1.0,
    dioptres: float = 0.0,
    gap_mm: float = 0.0,
) -> EquivalentLens:
    """One lens with what is added to it, from the ratio that the picture has in the end.

    focal_length_mm  of the lens by itself, mm
    magnification    of the whole; what the lens itself must be focused to is worked out
    gap_mm           close-up lens to the lens's front principal plane, mm; where it stands on the rim of a long lens,
                     the ratio is up to a sixth less than in contact
    lens_reversed    the lens is turned round; converter and close-up lens then go on as before
    Raises ValueError when an argument is out of range, and when the added parts alone exceed the ratio.
    """
    require(focal_length_mm=focal_length_mm, magnification=magnification, converter=converter, dioptres=dioptres)
    require(gap_mm=gap_mm)
    added = focal_length_mm * dioptres / 1000
    before_converter = magnification / converter
    if before_converter < added * (1 - 1e-12):
        raise ImpossibleNumbersError(
            f"magnification is {magnification:.4g}, but the added lenses alone give "
            f"{added * converter:.4g} with the lens at infinity."
        )
    # m = m0 + (f + m0·(f − gap))·D/1000, solved for m0; see with_close_up_lens
    gained = 1 + (focal_length_mm - gap_mm) * dioptres / 1000
    if gained <= 0:
        raise ImpossibleNumbersError(
            f"gap_mm is {gap_mm:.4g} mm, but a {dioptres:.3g} dioptre lens must stand closer than "
            f"{focal_length_mm + 1000 / dioptres:.4g} mm."
        )
    alone = max(before_converter - added, 0.0) / gained
    make = reversed_lens if lens_reversed else bare
    lens = make(focal_length_mm, f_number, alone, pupil_magnification)
    return with_converter(with_close_up_lens(lens, dioptres, gap_mm), converter)


def magnification_with_extension(focal_length_mm: float, lens_magnification: float, extension_mm: float) -> float:
    """Ratio with tubes or bellows added: m = m0 + E/f.

    focal_length_mm     in use at that focus (closeup.focal_length_in_use_mm), not the marked one
    lens_magnification  m0, the ratio without the extension
    Raises ValueError when an argument is out of range. Source: derived from v = f·(1 + m).
    """
    require(
        focal_length_mm=focal_length_mm,
        lens_magnification=lens_magnification,
        extension_mm=extension_mm,
    )
    return lens_magnification + extension_mm / focal_length_mm


def reversed_magnification(focal_length_mm: float, image_distance_mm: float) -> float:
    """Ratio of a reversed lens from the distance of the sensor to its now-rear principal plane: v/f − 1, both in mm.

    Raises ValueError when v <= f, where it forms no image of a near piece.
    """
    require(focal_length_mm=focal_length_mm, image_distance_mm=image_distance_mm)
    if image_distance_mm <= focal_length_mm:
        raise ImpossibleNumbersError(
            f"image_distance_mm is {image_distance_mm:.4g} mm, but must be longer than the focal length of "
            f"{focal_length_mm:.4g} mm."
        )
    return image_distance_mm / focal_length_mm - 1


def _newton_mm(lens: EquivalentLens) -> float:
    """Piece to front focal point, mm: f/m."""
    return lens.focal_length_mm / lens.magnification if lens.magnification > 0 else math.inf
