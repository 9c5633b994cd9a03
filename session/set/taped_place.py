"""Where a thing stands by a hand tape: to the piece, to the lens, and up from the table, as side and height.

Two distances and a height fix a place but for its mirror image: left or right of the line from piece to camera is said.
The piece is a point on the table, the camera's lens a point by its own tape measures. From marks on the table three
lengths fix a place: sideways, toward the camera, and up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.set.setup import Revision
from session.units.numbers import mm_text
from session.units.quantities import RefusedNumberError, require
from session.units.refusals import ImpossibleNumbersError

TAPE_SD_MM = 5.0
"""Standard deviation of one distance by a hand tape between two things in the air. Common practice, no source."""

MISFIT_SD = 3.0
"""A measure too many that is off by more standard deviations than this is told: of a thousand sets of measures that
are right three. Chosen."""

READ_TO_MM = (10.0, 5.0, 1.0)
"""Steps to which people read a tape. Common practice, no source."""

WORST_SIDE_DEG = 15.0
"""Worse than this, an angle by eye is better than the tape. Chosen."""

LEAST_TOWARD_SHARE = 0.02
"""Of the distance to the piece: with the lens nearer to straight above it, a fiftieth of a distance, which no hand
tape tells, would be all of the side. Chosen."""

BY_EYE = "type side and height, like 60 left/35 up"


@dataclass(frozen=True)
class TapeMeasures:
    """What the hands measured, mm.

    to_piece_mm, to_lens_mm  from the thing to the piece, and to the front of the lens
    up_mm                    from the table up to the thing
    left                     left of the line from the camera to the piece, seen from the camera
    sideways_mm              from that line straight sideways to the thing: one measure too many, as a check
    """

    to_piece_mm: float
    to_lens_mm: float
    up_mm: float
    left: bool
    sideways_mm: float | None = None


@dataclass(frozen=True)
class TapedPlace:
    """Where the thing stands, and how well that is known.

    distance_mm, azimuth_deg, elevation_deg  as lights stand: azimuth from the camera, to the left positive
    side_sd_deg, height_sd_deg               standard deviation of azimuth and elevation by that of each tape measure,
    distance_sd_mm                           and that of the distance
    misfit_mm                                sideways as measured, less what the others give; None without it
    misfit_sd_mm                             its standard deviation
    """

    distance_mm: float
    azimuth_deg: float
    elevation_deg: float
    side_sd_deg: float
    height_sd_deg: float
    distance_sd_mm: float
    misfit_mm: float | None = None
    misfit_sd_mm: float = 0.0

    @property
    def fits(self) -> bool:
        """False when the measure too many contradicts the others."""
        return self.misfit_mm is None or abs(self.misfit_mm) <= MISFIT_SD * self.misfit_sd_mm


def tape_sd_mm(*lengths_mm: float) -> float:
    """Standard deviation of lengths by a hand tape, mm: TAPE_SD_MM, and the step to which all of them are read.

    The rest of rounding lies evenly within a step: step/√12 (JCGM 100:2008, 4.3.7).
    """
    step_mm = next((step for step in READ_TO_MM if all(math.isclose(one % step, 0) for one in lengths_mm)), 0.0)
    return math.hypot(TAPE_SD_MM, step_mm / math.sqrt(12))


def place_from_marks(left_mm: float, front_mm: float, up_mm: float) -> TapedPlace:
    """Where a thing stands by tape from the piece along the table, and up, each as sure as `tape_sd_mm`.

    left_mm   left of the line from the camera to the piece, seen from the camera; negative: right
    front_mm  from the piece toward the camera along the table; negative: behind the piece
    Raises ValueError with a sentence for a place nearer or farther than any thing of a set stands.
    """
    around_mm = math.hypot(left_mm, front_mm)
    distance_mm = math.hypot(around_mm, up_mm)
    if distance_mm == 0:
        raise ImpossibleNumbersError(f"{mm_text(up_mm)} up from the piece itself is no place for a thing")
    try:
        require(distance_mm=distance_mm)
    except RefusedNumberError as error:
        raise error.in_words("the distance to the piece") from None
    sd_mm = tape_sd_mm(left_mm, front_mm, up_mm)
    above = around_mm <= MISFIT_SD * sd_mm  # right above the piece there is no side
    return TapedPlace(
        distance_mm,
        azimuth_deg=0.0 if above else math.degrees(math.atan2(left_mm, front_mm)),
        elevation_deg=math.degrees(math.atan2(up_mm, around_mm)),
        side_sd_deg=WORST_SIDE_DEG if above else math.degrees(sd_mm / around_mm),
        height_sd_deg=math.degrees(sd_mm / distance_mm),
        distance_sd_mm=sd_mm,
    )


def taped_place(measures: TapeMeasures, revision: Revision) -> TapedPlace:
    """Where a thing stands by these measures, with the camera where the revision has it.

    Raises ValueError with a sentence: the camera's place isn't known, the measures don't meet in any place, or tell the
    side too badly, as they do where the camera looks nearly straight down.
    """
    toward_mm, lens_up_mm = _lens(revision)
    to_piece_mm, to_lens_mm, up_mm = measures.to_piece_mm, measures.to_lens_mm, measures.up_mm
    if up_mm > to_piece_mm:
        raise ImpossibleNumbersError(f"{mm_text(up_mm)} up can't be {mm_text(to_piece_mm)} from a piece on the table")
    around_mm = math.sqrt(to_piece_mm**2 - up_mm**2)
    sd_mm = tape_sd_mm(to_piece_mm, to_lens_mm, up_mm)
    # of the arc sine, whose slope has no end right above the piece
    height_sd_deg = math.degrees(sd_mm * math.hypot(1.0, up_mm / to_piece_mm) / max(around_mm, MISFIT_SD * sd_mm))
    if around_mm <= MISFIT_SD * sd_mm:  # right above the piece there is no side
        height_deg = math.degrees(math.asin(up_mm / to_piece_mm))
        return TapedPlace(to_piece_mm, 0.0, height_deg, WORST_SIDE_DEG, height_sd_deg, sd_mm)
    if toward_mm < LEAST_TOWARD_SHARE * to_piece_mm:
        raise ImpossibleNumbersError(f"a camera that looks straight down is as far from every side: {BY_EYE}")
    squares_mm2 = to_piece_mm**2 + toward_mm**2 + lens_up_mm**2 - 2 * up_mm * lens_up_mm
    ahead_mm = (squares_mm2 - to_lens_mm**2) / (2 * toward_mm)
    by_piece, by_lens, by_up = to_piece_mm / toward_mm, -to_lens_mm / toward_mm, -lens_up_mm / toward_mm
    ahead_sd_mm = sd_mm * math.hypot(by_piece, by_lens, by_up)
    if abs(ahead_mm) > around_mm + MISFIT_SD * ahead_sd_mm:
        nearest, farthest = (math.sqrt(max(0.0, squares_mm2 - 2 * end * around_mm * toward_mm)) for end in (1, -1))
        raise ImpossibleNumbersError(
            f"a thing {mm_text(to_piece_mm)} from the piece and {mm_text(up_mm)} up is {mm_text(nearest)} to "
            f"{mm_text(farthest)} from the lens, not {mm_text(to_lens_mm)}: measure again"
        )
    ahead_mm = min(around_mm, max(-around_mm, ahead_mm))
    sideways_mm = math.sqrt(around_mm**2 - ahead_mm**2)
    steep_mm = max(sideways_mm, math.sqrt(around_mm * ahead_sd_mm), sd_mm)  # near the line the root has no slope
    share = ahead_mm / max(around_mm, sd_mm) ** 2
    side_sd_deg = math.degrees(
        sd_mm * math.hypot(by_piece - share * to_piece_mm, by_lens, by_up + share * up_mm) / steep_mm
    )
    if side_sd_deg > WORST_SIDE_DEG:
        raise ImpossibleNumbersError(
            f"with the camera where it stands these distances tell the side only to ±{side_sd_deg:.0f}°: {BY_EYE}"
        )
    by_measures = (to_piece_mm - ahead_mm * by_piece, -ahead_mm * by_lens, -up_mm - ahead_mm * by_up)
    return TapedPlace(
        to_piece_mm,
        azimuth_deg=math.degrees(math.atan2(sideways_mm, ahead_mm)) * (1 if measures.left else -1),
        elevation_deg=math.degrees(math.asin(up_mm / to_piece_mm)),
        side_sd_deg=side_sd_deg,
        height_sd_deg=height_sd_deg,
        distance_sd_mm=sd_mm,
        misfit_mm=None if measures.sideways_mm is None else measures.sideways_mm - sideways_mm,
        misfit_sd_mm=sd_mm * math.hypot(1.0, math.hypot(*by_measures) / steep_mm),
    )


def _lens(revision: Revision) -> tuple[float, float]:
    """(toward, up): the front of the lens from the piece along the table and from the table, mm."""
    away_mm, down_deg, up_mm = revision.working_distance_mm, revision.view_down_deg, revision.camera_height_mm
    if away_mm is None or (down_deg is None and up_mm is None):
        raise ImpossibleNumbersError(
            "where the camera stands isn't known: type its distance to the piece by tape, and its height or how far it "
            "looks down, among the settings first"
        )
    steep = math.sin(math.radians(down_deg)) if down_deg is not None else min(1.0, (up_mm or 0.0) / away_mm)
    return away_mm * math.sqrt(1 - steep**2), away_mm * steep
