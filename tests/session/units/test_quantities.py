"""Numbers that can't be meant are refused by every public function, in one sentence that names the number."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.lighting import duration, flash, mirror, mix, source, sync
from session.optics import (
    aperture,
    arrangement,
    circle,
    closeup,
    depth,
    diffraction,
    framing,
    fresnel,
    plate,
    steps,
    vibration,
)
from session.units.quantities import QUANTITIES, RefusedNumberError, allowed_range, require
from session.units.refusals import ImpossibleNumbersError

MODULES: tuple[ModuleType, ...] = (
    *(closeup, framing, circle, arrangement, depth, diffraction, aperture, steps, fresnel, plate, vibration),
    *(flash, source, mix, duration, sync, mirror),
)

# A value that each argument may have, by the argument's name. All functions must work on these.
SOUND: dict[str, Any] = {
    "focal_length_mm": 100.0,
    "f_number": 11.0,
    "marked_f_number": 11.0,
    "from_f_number": 8.0,
    "to_f_number": 11.0,
    "effective_f_number": 22.0,
    "magnification": 1.0,
    "pupil_magnification": 0.8,
    "lens_magnification": 0.5,
    "principal_gap_mm": 10.0,
    "gap_mm": 10.0,
    "dioptres": 2.0,
    "converter": 1.4,
    "extension_mm": 25.0,
    "subject_distance_mm": 300.0,
    "image_distance_mm": 200.0,
    "track_mm": 450.0,
    "rear_focal_length_mm": 200.0,
    "rear_f_number": 8.0,
    "front_focal_length_mm": 50.0,
    "front_f_number": 2.8,
    "sensor_side_mm": 36.0,
    "sensor_width_mm": 36.0,
    "sensor_height_mm": 24.0,
    "field_mm": 40.0,
    "piece_width_mm": 28.0,
    "piece_height_mm": 28.0,
    "fill": 0.8,
    "pixels": 6000.0,
    "delivered_pixels": 2400.0,
    "delivered_width_mm": 300.0,
    "print_width_mm": 300.0,
    "viewing_distance_mm": 400.0,
    "parts": 1500.0,
    "blur_pixels": 2.0,
    "pixel_pitch_um": 4.3,
    "blur_radius_on_piece_mm": 0.015,
    "blur_circle_mm": 0.03,
    "blur_radius_px": 1.0,
    "blur_diameter_mm": 0.02,
    "defocus_blur_mm": 0.02,
    "blur_px": 1.0,
    "airy_diameter_um": 8.6,
    "wavelength_um": 0.55,
    "defocus_waves": 0.25,
    "relative_frequency": 0.2,
    "defocus_mm": 0.3,
    "flange_distance_mm": 44.0,
    "lens_length_mm": 120.0,
    "working_distance_mm": 130.0,
    "piece_in_front_mm": 1.0,
    "relief_mm": 2.4,
    "depth_mm": 1.3,
    "overlap": 0.25,
    "behind_mm": 3.0,
    "farther_mm": 3.0,
    "angle_deg": 45.0,
    "incidence_angle_deg": 45.0,
    "refractive_index": 1.52,
    "thickness_mm": 2.0,
    "entrance_pupil_diameter_mm": 9.0,
    "pupil_distance_mm": 200.0,
    "plate_distance_mm": 80.0,
    "clear_aperture_mm": 40.0,
    "trap_reflectance": 0.03,
    "piece_reflectance": 0.18,
    "shift_um": 5.0,
    "speed_mm_per_s": 1.0,
    "exposure_s": 1 / 200,
    "from_exposure_s": 1 / 60,
    "to_exposure_s": 1 / 200,
    "marked_exposure_s": 1 / 125,
    "rotation_deg": 0.01,
    "entrance_pupil_distance_mm": 200.0,
    "behind_pupil_mm": 50.0,
    "frequency_hz": 10.0,
    "damping_ratio": 0.02,
    "first_amplitude_um": 10.0,
    "later_amplitude_um": 5.0,
    "amplitude_um": 10.0,
    "delay_s": 2.0,
    "share": 0.01,
    "from_iso": 100.0,
    "to_iso": 200.0,
    "iso": 100.0,
    "guide_number_m": 36.0,
    "bare_guide_number_m": 36.0,
    "shaped_guide_number_m": 20.0,
    "distance_mm": 600.0,
    "from_distance_mm": 600.0,
    "to_distance_mm": 400.0,
    "source_size_mm": 300.0,
    "width_mm": 300.0,
    "height_mm": 400.0,
    "power_ev": -2.0,
    "loss_ev": 1.5,
    "measured_change_ev": 0.4,
    "full_recycling_time_s": 2.0,
    "capacitance_uf": 1000.0,
    "voltage_v": 330.0,
    "full_voltage_v": 330.0,
    "key_ev": 0.0,
    "fill_ev": -2.0,
    "reflectance": 0.9,
    "stops_under": 5.0,
    "duration_t01_s": 0.002,
    "duration_t05_s": 0.0007,
    "flash_duration_t01_s": 0.002,
    "elapsed_s": 0.001,
    "open_after_flash_s": 0.001,
    "ratio": 3.0,
    "curtain_travel_s": 0.003,
    "trigger_delay_s": 0.0003,
    "panel_half_width_mm": 50.0,
    "shown_ev": 2.0,
    "origin_behind_mm": 20.0,
    "far_distance_mm": 620.0,
    "near_distance_mm": 200.0,
    "change_ev": 1.5,
    "from_axis_deg": 45.0,
    "tilt_deg": 1.0,
    "beside_mm": 30.0,
    "panel_distance_mm": 300.0,
    "piece_half_width_mm": 20.0,
    "inner_radius_mm": 35.0,
    "ring_distance_mm": 150.0,
    # arguments that are no plain number
    "steps_per_ev": 3,
    "swings": 3,
    "lens": arrangement.bare(100, 11, 0.5),
    "f_numbers": [8.0, 5.6],
    "exposures_ev": [0.0, -2.0],
    "durations_t01_s": {0.0: 0.003, -4.0: 0.0005},
    "frequency": [0.1, 0.2],
    "diameters_times_frequency": [0.1, 0.2],
    "lengths_times_frequency": [0.1, 0.2],
    "place": [0.0, 1.0],
}
OPTIONAL = "float | None"


def public_functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    for module in MODULES:
        for name, member in vars(module).items():
            own = getattr(member, "__module__", None) == module.__name__
            if own and callable(member) and not inspect.isclass(member) and not name.startswith("_"):
                yield f"{module.__name__.rpartition('.')[2]}.{name}", member


def sound_arguments(function: Callable[..., Any]) -> dict[str, Any]:
    """An argument for every parameter without a default, and for every number."""
    parameters = inspect.signature(function).parameters.values()
    return {p.name: SOUND[p.name] for p in parameters if p.default is p.empty or p.name in SOUND}


FUNCTIONS = dict(public_functions())
NUMBERS = [
    (label, parameter.name)
    for label, function in FUNCTIONS.items()
    for parameter in inspect.signature(function).parameters.values()
    if parameter.annotation in ("float", OPTIONAL)
]


def bad_values(name: str) -> list[float | None]:
    # t0.1 over t0.5 has its own range and sentence.
    allowed = None if name == "ratio" else allowed_range(name)
    zero_and_minus = [] if allowed is None else [v for v in (0.0, -1.0, -0.001) if not allowed.holds(v)]
    return [math.nan, math.inf, -math.inf, 1e9, *zero_and_minus]


@pytest.mark.parametrize("label", FUNCTIONS)
def test_every_public_function_works_on_sound_numbers(label: str) -> None:
    assert FUNCTIONS[label](**sound_arguments(FUNCTIONS[label])) is not None


@pytest.mark.parametrize(("label", "name"), NUMBERS)
def test_every_number_that_cannot_be_meant_is_refused_in_one_sentence(label: str, name: str) -> None:
    function = FUNCTIONS[label]
    missing = [] if inspect.signature(function).parameters[name].annotation == OPTIONAL or name == "ratio" else [None]
    for bad in (*bad_values(name), *missing):
        with pytest.raises(ValueError) as refused:
            function(**{**sound_arguments(function), name: bad})
        sentence = str(refused.value)
        assert sentence.startswith(f"{name} is "), (bad, sentence)
        assert sentence.endswith((".", "?"))
        assert "\n" not in sentence
        assert not any(mark in sentence[:-1] for mark in (". ", "? "))


@pytest.mark.parametrize(
    ("slip", "hint"),
    [
        ({"f_number": 1 / 11}, "was f/11 typed as 1/11"),
        ({"distance_mm": 0.6}, "was it given in m?"),
        ({"source_size_mm": 0.6}, "was it given in m?"),
        ({"focal_length_mm": 0.1}, "was it given in m?"),
        ({"blur_circle_mm": 30}, "was it given in µm?"),
        ({"guide_number_m": 36_000}, "was it given in mm?"),
        ({"wavelength_um": 550}, "was it given in nm?"),
        ({"exposure_s": 200}, "was 1/200 typed as 200?"),
        ({"curtain_travel_s": 3.0}, "was it given in ms?"),
        ({"trigger_delay_s": 0.5}, "was it given in ms?"),
        ({"flash_duration_t01_s": 2.0}, "was it given in ms?"),
        ({"curtain_travel_s": None}, "curtain_travel_s is missing: give it"),
        ({"f_number": math.nan}, "f_number is not a number: give it"),
        ({"power_ev": 2.0}, "power_ev is 2 EV, but must be from -16 to 0 EV."),
    ],
    ids=lambda value: str(value) if isinstance(value, dict) else "",
)
def test_likely_slip_is_named(slip: dict[str, float | None], hint: str) -> None:
    with pytest.raises(ValueError) as refused:
        require(**slip)
    assert hint in str(refused.value)


def test_ranges_hold_their_own_ends_and_sound_numbers_pass() -> None:
    for name, allowed in QUANTITIES.items():
        assert allowed.low < allowed.high
        require(**{name: allowed.low})
        require(**{name: allowed.high})


def test_unknown_quantity_is_our_mistake() -> None:
    with pytest.raises(KeyError):
        require(colour_of_the_day=1.0)


def test_longer_name_is_judged_by_its_last_words() -> None:
    assert allowed_range("from_distance_mm") is allowed_range("distance_mm")


@pytest.mark.parametrize("bad", [-0.1, math.nan])
def test_arrays_with_a_bad_number_are_refused(bad: float) -> None:
    for refuses in (
        lambda: diffraction.transfer_defocused([0.1, bad], 0.5),
        lambda: diffraction.transfer_of_disc([0.1, bad]),
        lambda: sync.loss_along_frame_ev([0.1, bad], 0.005, 0.003, 0.0, 0.001),
        lambda: mix.combined_ev([0.0, 1000 * bad]),
        lambda: duration.duration_at_power_s({0.0: bad, -1.0: 0.001}, -0.5),
    ):
        with pytest.raises(ValueError, match=r"but must|not a number"):
            refuses()


@pytest.mark.parametrize(
    ("refuses", "sentence"),
    [
        (lambda: closeup.focal_length_in_use_mm(300, 0), "magnification is 0"),
        (lambda: closeup.focal_length_in_use_mm(20, 1, 30), "longer than the gap"),
        (lambda: framing.field_mm(36, 0), "magnification is 0"),
        (lambda: arrangement.equivalent_lens(100, 8, 0.3, dioptres=4), "alone give 0.4"),
        (lambda: arrangement.with_close_up_lens(arrangement.bare(100, 8, 0), 4, 400), "must stand closer"),
        (lambda: arrangement.reversed_magnification(50, 50), "longer than the focal length"),
        (lambda: steps.focus_steps(1000, 0.01, 0.5), "at most 10000 make a series"),
        (lambda: steps.ring_series(100, 2, 5, 0.003, 5000, 0.95), "no ring series"),
        (lambda: plate.clear_aperture_mm(36, 9, 100, 120), "pupil is only 100 mm"),
        (lambda: flash.distance_mm_for(64, 9, source_size_mm=1000), "however near it stands"),
        (lambda: duration.duration_at_power_s({0.0: 0.003, -4.0: 0.0005}, -5.0), "known on both sides"),
    ],
)
def test_impossible_arrangement_is_refused_with_the_reason(refuses: Callable[[], object], sentence: str) -> None:
    with pytest.raises(ValueError) as refused:
        refuses()
    assert sentence in str(refused.value)
    assert str(refused.value).endswith(".")


def test_number_in_its_range_that_is_no_use_here_is_refused_by_its_name_value_and_reason() -> None:
    with pytest.raises(RefusedNumberError) as refused:
        framing.field_mm(36.0, 0.0)
    assert (refused.value.name, refused.value.value) == ("magnification", 0.0)
    assert str(refused.value) == "magnification is 0, but must be above 0: a piece at infinity has no size."
    assert str(refused.value.in_words("ratio")).startswith("ratio is 0, but must be above 0")


def test_numbers_that_contradict_each_other_have_a_refusal_of_their_own() -> None:
    with pytest.raises(ImpossibleNumbersError, match=r"image_distance_mm is 50 mm, .* 50 mm"):
        arrangement.reversed_magnification(50.0, 50.0)
    with pytest.raises(ImpossibleNumbersError, match=r"a place is at 1\.5"):
        sync.loss_along_frame_ev([0.5, 1.5], 1 / 200, 1 / 250, 0.0, 1 / 1000)


@pytest.mark.parametrize(
    ("name", "value", "shown"),
    [
        ("pixel_pitch_um", 0.29999, "0.29999 µm, but must be from 0.3 to 100 µm"),
        ("relief_mm", 5000.4, "5000.4 mm, but must be from 0 to 5000 mm"),
        ("overlap", 0.9500000001, "0.9500000001, but must be from 0 to 0.95"),
        ("f_number", 128.0000000000001, "128.0000000000001, but must be from 0.5 to 128"),
        ("magnification", 9999.6, "10,000, but must be from 0 to 50"),
        ("ppi", 10_000.4, "10,000.4, but must be from 10 to 10,000"),
        ("exposure_s", 1e-13, "1e-13 s, but must be"),
        ("f_number", 1e-320, "9.99989e-321, but must be"),
        ("relief_mm", 1e300, "1e+300 mm, but must be"),
    ],
)
def test_a_number_just_outside_never_reads_as_one_inside(name: str, value: float, shown: str) -> None:
    with pytest.raises(RefusedNumberError) as refused:
        require(**{name: value})
    assert str(refused.value).startswith(f"{name} is {shown}")


@given(st.sampled_from(sorted(QUANTITIES)), st.floats(allow_nan=False), st.booleans())
def test_a_refusal_shows_a_number_that_its_own_range_excludes(name: str, value: float, near: bool) -> None:
    allowed = QUANTITIES[name]
    if near:
        value = math.nextafter(allowed.high, math.inf) if value > 0 else math.nextafter(allowed.low, -math.inf)
    if allowed.holds(value):
        return
    with pytest.raises(RefusedNumberError) as refused:
        require(**{name: value})
    shown = str(refused.value).removeprefix(f"{name} is ").split(" ")[0].rstrip(",")
    assert not allowed.holds(float(shown.replace(",", ""))) or abs(value) < 1e-11
