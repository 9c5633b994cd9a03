"""The planner's single questions about the lens: quantities by name in, all numbers of the answer by name out.

Names and units are those of the functions in `session.optics` and `session.lighting` that are called here; this
file only combines the calls. An answer may hold infinite numbers (the far limit beyond which all is sharp)
and None where an input that it takes was not given. All raise ValueError with one sentence when a number can't be
meant or the arrangement is impossible.
"""

from __future__ import annotations

import math

from session.optics import aperture, arrangement, closeup, depth, diffraction, steps, vibration

Answer = dict[str, float | int | str | list[float] | None]


def depth_answer(
    focal_length_mm: float,
    f_number: float,
    magnification: float,
    blur_circle_mm: float,
    pupil_magnification: float = 1.0,
    wavelength_um: float = diffraction.GREEN_UM,
    lens_reversed: bool = False,
    converter: float = 1.0,
    dioptres: float = 0.0,
    gap_mm: float = 0.0,
    depth_needed_mm: float | None = None,
    front_focal_length_mm: float | None = None,
    front_f_number: float | None = None,
) -> Answer:
    """Depth of field, light lost and diffraction of one arrangement; see optics.arrangement.equivalent_lens.

    Lengths in mm, the wavelength in µm, in the answer too.
    front_focal_length_mm, front_f_number   of a second lens, reversed before this one, both at infinity: the ratio of
                                           their focal lengths is that of the picture then
    near_mm, far_mm, depth_mm              exact, geometric
    depth_with_diffraction_mm              by wave optics, 0 where diffraction alone is larger than the circle
    diffraction_blur_mm                    at the sensor in focus, as the disc of the same half contrast
    half_contrast_cycles_per_mm            at the sensor in focus, where contrast has fallen to one half
    best_f_number, best_blur_mm            the marked stop that blurs both ends of depth_needed_mm least, and by how
                                           much at the sensor, as a diameter
    most_depth_f_number, most_depth_mm     the marked stop that makes most of the piece sharp, and how much
    """
    if front_focal_length_mm is not None and front_f_number is not None:
        lens = arrangement.stacked_lenses(focal_length_mm, f_number, front_focal_length_mm, front_f_number)
        magnification = lens.magnification
    else:
        lens = arrangement.equivalent_lens(
            focal_length_mm,
            f_number,
            magnification,
            pupil_magnification,
            lens_reversed=lens_reversed,
            converter=converter,
            dioptres=dioptres,
            gap_mm=gap_mm,
        )
    limits = depth.depth_of_lens(lens, blur_circle_mm)
    most = aperture.most_depth(blur_circle_mm, magnification, wavelength_um)
    best = None if depth_needed_mm is None else aperture.best_aperture(depth_needed_mm, magnification, wavelength_um)
    factor = lens.effective_f_number / f_number
    return {
        "effective_f_number": lens.effective_f_number,
        "exposure_increase_ev": 2 * math.log2(factor),
        "near_mm": limits.near_mm,
        "far_mm": limits.far_mm,
        "depth_mm": limits.depth_mm,
        "depth_with_diffraction_mm": aperture.depth_with_diffraction_mm(
            lens.effective_f_number, magnification, blur_circle_mm, wavelength_um
        ),
        "airy_diameter_um": diffraction.airy_diameter_um(lens.effective_f_number, wavelength_um),
        "airy_diameter_on_piece_um": diffraction.airy_diameter_on_piece_um(
            lens.effective_f_number, magnification, wavelength_um
        ),
        "diffraction_blur_mm": aperture.combined_blur_mm(0.0, lens.effective_f_number, wavelength_um),
        "half_contrast_cycles_per_mm": aperture.half_contrast_cycles_per_mm(
            0.0, lens.effective_f_number, wavelength_um
        ),
        "best_f_number": None if best is None else best.effective_f_number / factor,
        "best_blur_mm": None if best is None else best.blur_mm,
        "most_depth_f_number": most.effective_f_number / factor,
        "most_depth_mm": most.depth_mm,
        "subject_distance_mm": lens.subject_distance_mm,
        "entrance_pupil_distance_mm": lens.entrance_pupil_distance_mm,
    }


def lens_answer(
    widest_f_number: float,
    closest_magnification: float,
    magnification: float,
    pupil_magnification: float,
    measured_change_ev: float,
) -> Answer:
    """The pupil magnification of a lens that focuses inside, by a frame of a grey card.

    magnification       to which the lens by itself was focused for the frame
    pupil_magnification as it was counted
    measured_change_ev  how much brighter the frame came out than it should, EV
    closest_effective_f_number   for the kit: at the closest focus, the lens set to its widest
    """
    counted = closeup.effective_f_number(1.0, magnification, pupil_magnification)
    shown = counted * float(2 ** (-measured_change_ev / 2))
    pupil = closeup.pupil_magnification_in_use(1.0, shown, magnification)
    return {
        "effective_f_number": widest_f_number * shown,
        "pupil_magnification": pupil,
        "closest_effective_f_number": closeup.effective_f_number(widest_f_number, closest_magnification, pupil),
    }


def steps_answer(
    relief_mm: float,
    depth_mm: float,
    overlap: float = 0.25,
    focal_length_mm: float | None = None,
    f_number: float | None = None,
    magnification: float | None = None,
    blur_circle_mm: float | None = None,
    pupil_magnification: float = 1.0,
) -> Answer:
    """A focus series on a rail and, with the four of the lens given, by the focus ring.

    planes_mm    where to focus, behind the nearest point
    ring_frames  ring_scale: ratio at the last plane against the first
    ring_still_scale  size in the last picture of what stays where it is, against the first
    """
    series = steps.focus_steps(relief_mm, depth_mm, overlap)
    frames, scale, still = None, None, None
    if focal_length_mm and f_number and magnification and blur_circle_mm:
        lens = (focal_length_mm, f_number, magnification, blur_circle_mm)
        near_mm = depth.depth_of_field(*lens, pupil_magnification).near_mm
        ring = steps.ring_series(*lens, max(relief_mm - near_mm, 0.0), overlap, pupil_magnification)
        farther_mm = ring[-1].subject_distance_mm - ring[0].subject_distance_mm
        turned = steps.refocus(focal_length_mm, magnification, farther_mm, pupil_magnification)
        frames, scale, still = len(ring), turned.scale, turned.still_scale
    return {
        "frames": series.frames,
        "step_mm": series.step_mm,
        "span_mm": series.span_mm,
        "planes_mm": list(steps.planes_of_focus_mm(relief_mm, depth_mm, overlap)),
        "ring_frames": frames,
        "ring_scale": scale,
        "ring_still_scale": still,
    }


def shake_answer(
    frequency_hz: float,
    damping_ratio: float,
    delay_s: float,
    amplitude_um: float | None = None,
    exposure_s: float | None = None,
    magnification: float | None = None,
    pixel_pitch_um: float | None = None,
    blur_px: float | None = None,
) -> Answer:
    """How a support rings down, and with the swing after a touch given, what is left of the swing in the picture.

    Times in s, the frequency in Hz, amplitude and pixel pitch in µm.
    smear_um, smear_px  drawn out during exposure_s after the wait; exposure_s is t0.1 where only flash counts
    hold_off_s          wait until the smear stays within blur_px
    """
    left = vibration.share_left(frequency_hz, damping_ratio, delay_s)
    answer: Answer = {
        "share_left": left,
        "delay_for_one_percent_s": vibration.delay_for_share_s(frequency_hz, damping_ratio, 0.01),
        "decay_time_constant_s": vibration.decay_time_constant_s(frequency_hz, damping_ratio),
        "log_decrement": vibration.log_decrement(damping_ratio),
        "amplitude_left_um": None,
        "smear_um": None,
        "smear_px": None,
        "hold_off_s": None,
    }
    if amplitude_um is None:
        return answer
    answer["amplitude_left_um"] = amplitude_um * left
    if exposure_s is None:
        return answer
    answer["smear_um"] = smear_um = vibration.smear_um(amplitude_um * left, frequency_hz, exposure_s)
    if magnification is None or pixel_pitch_um is None:
        return answer
    answer["smear_px"] = vibration.shift_blur_px(smear_um, magnification, pixel_pitch_um)
    if blur_px is not None:
        answer["hold_off_s"] = vibration.hold_off_s(
            amplitude_um, frequency_hz, damping_ratio, exposure_s, magnification, pixel_pitch_um, blur_px
        )
    return answer
