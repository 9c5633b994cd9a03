"""The planner's single questions about the light: quantities by name in, all numbers of the answer by name out.

Names and units are those of the functions in `session.optics` and `session.lighting` that are called here; this
file only combines the calls. An answer may hold infinite numbers (the loss where no light gets there)
and None where an input that it takes was not given. All raise ValueError with one sentence when a number can't be
meant or the arrangement is impossible.
"""

from __future__ import annotations

import math

from session.lighting import flash, mix, source, sync
from session.optics import fresnel, plate
from session.optics.closeup import exposure_increase_ev
from session.plan.lens_answers import Answer
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError

PLACES = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Along the curtains' travel, where the loss of light is told."""


def light_answer(
    guide_number_m: float,
    distance_mm: float,
    power_ev: float = 0.0,
    source_size_mm: float = 0.0,
    iso: float = flash.GUIDE_ISO,
    magnification: float = 0.0,
    pupil_magnification: float = 1.0,
    loss_ev: float = 0.0,
    incidence_angle_deg: float = 0.0,
    from_distance_mm: float | None = None,
    wanted_f_number: float | None = None,
    measured_change_ev: float | None = None,
    reading_change_ev: float | None = None,
    origin_behind_mm: float = 0.0,
    full_recycling_time_s: float | None = None,
) -> Answer:
    """The f-number to set for one flash, and what its distance, power and recycling come to.

    Guide numbers in m, lengths in mm, times in s, angles in degrees, light in EV (stops).
    f_number                     as marked on the lens
    incidence_loss_ev            what a piece that faces the camera gets less because the light comes from aside
    ev_change                    against from_distance_mm
    found_origin_behind_mm       from reading_change_ev, what a reading here shows more than at from_distance_mm; the
                                 origin found then serves for all other numbers
    needed_power_ev, needed_distance_mm   for wanted_f_number; power above 0 is missing, distance is at power_ev
    calibrated_guide_number_m, calibrated_loss_ev   either would explain a frame that came out measured_change_ev
                                 too bright: another light, or another shaper
    """
    found_mm = None
    if reading_change_ev is not None and from_distance_mm is not None:
        found_mm = source.origin_behind_mm(from_distance_mm, distance_mm, reading_change_ev)
        origin_behind_mm = found_mm
    incidence_ev = source.incidence_loss_ev(incidence_angle_deg)
    set_to = (iso, magnification, pupil_magnification, source_size_mm, loss_ev + incidence_ev, origin_behind_mm)
    marked = flash.f_number(guide_number_m, distance_mm, power_ev, *set_to)
    increase_ev = exposure_increase_ev(magnification, pupil_magnification)
    wanted = wanted_f_number
    return {
        "f_number": marked,
        "effective_f_number": marked * float(2 ** (increase_ev / 2)),
        "exposure_increase_ev": increase_ev,
        "incidence_loss_ev": incidence_ev,
        "ev_change": None
        if from_distance_mm is None
        else source.distance_change_ev(from_distance_mm, distance_mm, source_size_mm, origin_behind_mm),
        "found_origin_behind_mm": found_mm,
        "guide_number_here_m": flash.guide_number_at_m(guide_number_m, power_ev, iso),
        "inverse_square_error_ev": source.inverse_square_error_ev(source_size_mm, distance_mm),
        "needed_power_ev": None if wanted is None else flash.power_ev_for(wanted, guide_number_m, distance_mm, *set_to),
        "needed_distance_mm": None
        if wanted is None
        else flash.distance_mm_for(wanted, guide_number_m, power_ev, *set_to),
        "calibrated_guide_number_m": None
        if measured_change_ev is None
        else flash.calibrated_guide_number_m(guide_number_m, measured_change_ev),
        "calibrated_loss_ev": None if measured_change_ev is None else loss_ev - measured_change_ev,
        "recycling_time_s": None
        if full_recycling_time_s is None
        else flash.recycling_time_s(full_recycling_time_s, power_ev),
    }


def card_answer(
    width_mm: float, height_mm: float, distance_mm: float, reflectance: float = 0.9, level_ev: float = 0.0
) -> Answer:
    """The light that a card beside the piece fills in, by the light that falls on both. Lengths in mm.

    level_ev        light on the card, beside that on the piece, EV
    fill_ev         beside the key on the piece; lighting_ratio of the lit side to the shadow side
    """
    share = mix.reflector_fill(reflectance, width_mm, height_mm, distance_mm)
    if not share > 0:
        raise ImpossibleNumbersError(f"reflectance is {reflectance:.3g}: such a card fills nothing in.")
    fill_ev = level_ev + math.log2(share)
    return {"fill_ev": fill_ev, "lighting_ratio": mix.lighting_ratio(0.0, fill_ev)}


def plate_answer(
    thickness_mm: float,
    angle_deg: float = 45.0,
    refractive_index: float = fresnel.WINDOW_GLASS_INDEX,
    plate_distance_mm: float | None = None,
    depth_mm: float | None = None,
) -> Answer:
    """The light that a plate for axial light costs, and its effects on the picture. Lengths in mm, angles in degrees.

    loss_ev              both passes, diffuse piece; mirror_loss_ev for one that keeps the polarisation,
                         polarised_loss_ev with the light polarised across the plane of incidence
    aim_sideways_mm, aim_along_axis_mm    where the light must aim, with plate_distance_mm from the piece
    astigmatism_share    of depth_mm
    """
    aim = None if plate_distance_mm is None else plate.aim_point(plate_distance_mm, angle_deg)
    astigmatism_mm = plate.astigmatism_mm(angle_deg, refractive_index, thickness_mm)
    if depth_mm is not None:
        require(depth_mm=depth_mm)
    return {
        "reflectance": fresnel.plate_reflectance(angle_deg, refractive_index).mean,
        "transmittance": fresnel.plate_transmittance(angle_deg, refractive_index).mean,
        "loss_ev": plate.loss_both_passes_ev(angle_deg, refractive_index),
        "mirror_loss_ev": plate.loss_both_passes_ev(angle_deg, refractive_index, "mirror"),
        "polarised_loss_ev": plate.loss_with_polariser_ev(angle_deg, refractive_index),
        "shift_mm": plate.shift_mm(angle_deg, refractive_index, thickness_mm),
        "double_image_mm": plate.double_image_mm(angle_deg, refractive_index, thickness_mm),
        "second_image_share": fresnel.second_image_strength(angle_deg, refractive_index).mean,
        "astigmatism_mm": astigmatism_mm,
        "astigmatism_share": None if depth_mm is None else abs(astigmatism_mm) / depth_mm,
        "brewster_angle_deg": fresnel.brewster_angle_deg(refractive_index),
        "aim_sideways_mm": None if aim is None else aim.sideways_mm,
        "aim_along_axis_mm": None if aim is None else aim.along_axis_mm,
    }


def sync_answer(
    exposure_s: float,
    curtain_travel_s: float,
    trigger_delay_s: float = 0.0,
    flash_duration_t01_s: float = 0.0,
) -> Answer:
    """The part of the flash that the shutter cuts off.

    sync_margin_ev       by which the time is longer than the fastest safe one
    edge_loss_ev         at the edge that the second curtain reaches first
    loss_along_frame_ev  at PLACES, from where the curtains start
    dark_band_side       of the upright picture, for curtains that run downward at the sensor; None without a band
    """
    dark = sync.dark_share(exposure_s, curtain_travel_s, trigger_delay_s)
    timing = (exposure_s, curtain_travel_s, trigger_delay_s, flash_duration_t01_s)
    return {
        "dark_share": dark,
        "fastest_exposure_s": sync.fastest_exposure_s(curtain_travel_s, trigger_delay_s, flash_duration_t01_s),
        "sync_margin_ev": sync.sync_margin_ev(*timing),
        "edge_loss_ev": sync.edge_loss_ev(*timing),
        "loss_along_frame_ev": [float(loss) for loss in sync.loss_along_frame_ev(PLACES, *timing)],
        "slit_share": sync.slit_share(exposure_s, curtain_travel_s),
        "high_speed_sync_share": sync.high_speed_sync_share(exposure_s, curtain_travel_s),
        "dark_band_side": sync.dark_band_side() if dark else None,
    }
