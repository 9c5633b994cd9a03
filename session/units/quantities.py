"""The range of every quantity, in one table, and the sentence on a number that can't be meant.

A number that crosses a border wears its unit in its name (`distance_mm`), so the name alone says which
range holds and which slip is likely: metres for millimetres, 200 for 1/200 s, 1/11 for f/11. The ranges
are wide on purpose. They are what close-up work with flash could ever ask for (limits from common
practice, no source), not what is wise; what is wise is for the rules to say.

A longer name is judged by its last words that stand in the table: `from_distance_mm` as `distance_mm`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType


class RefusedNumberError(ValueError):
    """A number that can't be meant for its quantity: `name` and `value` say which; the text is one sentence.

    but  what else is asked of the number here, where the table's range would allow it
    """

    def __init__(self, name: str, value: float | None, called: str = "", *, but: str = "") -> None:
        self.name, self.value, self._but = name, value, but
        super().__init__(_sentence(name, value, called or name, but))

    def in_words(self, words: str) -> RefusedNumberError:
        """The refusal with the quantity's name as people say it."""
        return RefusedNumberError(self.name, self.value, words, but=self._but)


@dataclass(frozen=True)
class Quantity:
    """Range of a quantity, ends included, in the unit with which the quantity's name ends.

    or_zero  zero is allowed too, though it lies below the range: no extension, a point source
    whole    only whole numbers are meant; what is typed is rounded
    """

    low: float
    high: float
    unit: str = ""
    or_zero: bool = False
    whole: bool = False

    def holds(self, value: float) -> bool:
        """Whether a value, in this quantity's unit, lies in the range."""
        return self.low <= value <= self.high or (self.or_zero and value == 0)


QUANTITIES: Mapping[str, Quantity] = MappingProxyType(
    {
        # lens and camera
        "focal_length_mm": Quantity(1, 2000, "mm"),
        "f_number": Quantity(0.5, 128),
        "effective_f_number": Quantity(0.5, 4000),
        "magnification": Quantity(0, 50),
        "pupil_magnification": Quantity(0.05, 20),
        "converter": Quantity(1, 4),
        "factor": Quantity(1.01, 4),
        "dioptres": Quantity(0.1, 50, or_zero=True),
        "supplementary_dioptres": Quantity(0.1, 50),
        "gap_mm": Quantity(-500, 500, "mm"),
        "extension_mm": Quantity(0, 2000, "mm"),
        "tube_extension_mm": Quantity(0.5, 2000, "mm"),
        "to_pupil_mm": Quantity(-2000, 2000, "mm"),
        "thread_mm": Quantity(5, 300, "mm"),
        "flange_distance_mm": Quantity(5, 200, "mm"),
        "length_mm": Quantity(1, 2000, "mm", or_zero=True),
        "sensor_width_mm": Quantity(1, 300, "mm"),
        "sensor_height_mm": Quantity(1, 300, "mm"),
        "sensor_side_mm": Quantity(1, 300, "mm"),
        "aperture_mm": Quantity(0.01, 1000, "mm"),
        "diameter_mm": Quantity(0.01, 1000, "mm"),
        "pupil_diameter_mm": Quantity(0, 1000, "mm"),
        "behind_pupil_mm": Quantity(0, 2000, "mm"),
        "parts": Quantity(100, 20_000),
        "pixels": Quantity(1, 200_000, "px"),
        "pixels_across": Quantity(1, 200_000, "px", whole=True),
        "pixels_down": Quantity(1, 200_000, "px", whole=True),
        "pixel_pitch_um": Quantity(0.3, 100, "µm"),
        "blur_circle_mm": Quantity(1e-4, 5, "mm"),
        "blur_diameter_mm": Quantity(0, 1000, "mm"),
        "defocus_blur_mm": Quantity(0, 1000, "mm"),
        "blur_radius_on_piece_mm": Quantity(1e-4, 100, "mm"),
        "blur_pixels": Quantity(0.1, 1000, "px"),
        "wavelength_um": Quantity(0.2, 2, "µm"),
        "airy_diameter_um": Quantity(0.1, 10_000, "µm"),
        "relative_frequency": Quantity(1e-6, 1e6),
        "defocus_waves": Quantity(0, 10_000),
        # the piece and where things stand
        "distance_mm": Quantity(1, 100_000, "mm"),
        "nearest_mm": Quantity(1, 100_000, "mm"),
        "up_mm": Quantity(0, 10_000, "mm"),
        "sideways_mm": Quantity(0, 100_000, "mm"),
        "azimuth_deg": Quantity(-360, 360, "°"),
        "elevation_deg": Quantity(-90, 90, "°"),
        "turned_deg": Quantity(0, 90, "°"),
        "distance_sd_mm": Quantity(0, 1000, "mm"),
        "azimuth_sd_deg": Quantity(0, 90, "°"),
        "elevation_sd_deg": Quantity(0, 90, "°"),
        "view_down_deg": Quantity(-90, 90, "°"),
        "view_around_deg": Quantity(-360, 360, "°"),
        "working_distance_mm": Quantity(1, 100_000, "mm"),
        "camera_height_mm": Quantity(1, 10_000, "mm"),
        "track_mm": Quantity(5, 100_000, "mm"),
        "depth_mm": Quantity(1e-4, 100_000, "mm"),
        "relief_mm": Quantity(0, 5000, "mm"),
        "step_mm": Quantity(1e-4, 1000, "mm"),
        "depth_needed_mm": Quantity(1e-4, 5000, "mm"),
        "in_front_mm": Quantity(0, 5000, "mm"),
        "behind_mm": Quantity(0, 5000, "mm"),
        "farther_mm": Quantity(0, 100_000, "mm"),
        "defocus_mm": Quantity(-100_000, 100_000, "mm"),
        "field_mm": Quantity(1e-3, 10_000, "mm"),
        "width_mm": Quantity(1e-3, 10_000, "mm"),
        "height_mm": Quantity(1e-3, 10_000, "mm"),
        "radius_mm": Quantity(1e-3, 10_000, "mm"),
        "source_size_mm": Quantity(2, 10_000, "mm", or_zero=True),
        "origin_behind_mm": Quantity(0, 5000, "mm"),
        "beside_mm": Quantity(0, 5000, "mm"),
        "overlap": Quantity(0, 0.95),
        "most_frames": Quantity(1, 10_000, "frames", whole=True),
        "fill": Quantity(0.01, 1),
        # what is delivered
        "width_px": Quantity(1, 200_000, "px", whole=True),
        "height_px": Quantity(1, 200_000, "px", whole=True),
        "ppi": Quantity(10, 10_000),
        "crop_ratio": Quantity(0.05, 20),
        "margin_percent": Quantity(0, 45, "%"),
        # what a client agreed for a view
        "across_percent": Quantity(0, 100, "%"),
        "down_percent": Quantity(0, 100, "%"),
        "tolerance_percent": Quantity(0.1, 50, "%"),
        "background_ev": Quantity(-10, 2.5, "EV"),
        "tolerance_ev": Quantity(0.02, 5, "EV"),
        "tolerance_de2000": Quantity(0.1, 100, "ΔE2000"),
        # light
        "guide_number_m": Quantity(0.1, 500, "m"),
        "power_ev": Quantity(-16, 0, "EV"),
        "level_ev": Quantity(-8, 0, "EV"),
        "shown_ev": Quantity(-10, 10, "EV"),
        "ambient_ev": Quantity(-40, 40, "EV"),
        "change_ev": Quantity(-40, 40, "EV"),
        "key_ev": Quantity(-40, 40, "EV"),
        "fill_ev": Quantity(-40, 40, "EV"),
        "exposure_ev": Quantity(-40, 40, "EV"),
        "loss_ev": Quantity(-10, 40, "EV"),
        "steps_per_ev": Quantity(1, 10),
        "steps_per_mm": Quantity(1e-3, 1e6, "steps a mm"),
        "steps_per_mm_sd": Quantity(0, 1e6, "steps a mm"),
        "play_steps": Quantity(0, 1e5, "steps"),
        "iso": Quantity(1, 5_000_000, whole=True),
        "reflectance": Quantity(0, 1),
        "share": Quantity(1e-9, 1),
        "stops_under": Quantity(-20, 40, "EV"),
        "recycling_time_s": Quantity(0, 600, "s"),
        "capacitance_uf": Quantity(1, 1_000_000, "µF"),
        "voltage_v": Quantity(1, 10_000, "V"),
        # time
        "exposure_s": Quantity(1e-6, 60, "s"),
        "sync_time_s": Quantity(1e-5, 0.5, "s"),
        "curtain_travel_s": Quantity(1e-5, 0.5, "s"),
        "trigger_delay_s": Quantity(0, 0.05, "s"),
        "duration_t01_s": Quantity(0, 0.1, "s"),
        "rated_duration_t01_s": Quantity(1e-7, 0.1, "s"),
        "duration_t05_s": Quantity(0, 0.1, "s"),
        "delay_s": Quantity(0, 3600, "s"),
        "hold_off_s": Quantity(0, 600, "s"),
        "late_file_s": Quantity(0, 600, "s"),
        "live_minutes": Quantity(0, 600, "min"),
        "elapsed_s": Quantity(-60, 60, "s"),
        "open_after_flash_s": Quantity(-60, 60, "s"),
        # glass
        "angle_deg": Quantity(0, 89.9, "°"),
        "light_angle_deg": Quantity(5, 89.9, "°"),
        "from_axis_deg": Quantity(0, 180, "°"),
        "refractive_index": Quantity(1.0001, 4),
        "thickness_mm": Quantity(0.01, 100, "mm", or_zero=True),
        "plate_thickness_mm": Quantity(0.01, 100, "mm"),
        # movement
        "shift_um": Quantity(0, 1e6, "µm"),
        "amplitude_um": Quantity(0, 1e6, "µm"),
        "touch_amplitude_um": Quantity(0.001, 1e6, "µm"),
        "tilt_deg": Quantity(0, 45, "°"),
        "rotation_deg": Quantity(0, 45, "°"),
        "speed_mm_per_s": Quantity(0, 1e6, "mm/s"),
        "frequency_hz": Quantity(0.1, 2000, "Hz"),
        "damping_ratio": Quantity(1e-5, 0.999),
        "blur_radius_px": Quantity(1e-3, 10_000, "px"),
        "blur_px": Quantity(1e-3, 10_000, "px"),
        "blur_limit_px": Quantity(0.1, 500, "px"),
    }
)

# A slip multiplies the number by this; undone, the number would have been in range.
_SLIPS: tuple[tuple[str, float, str], ...] = (
    ("_mm", 1e-3, "was it given in m"),
    ("_mm", 1e3, "was it given in µm"),
    ("_um", 1e-3, "was it given in mm"),
    ("_um", 1e3, "was it given in nm"),
    ("_m", 1e3, "was it given in mm"),
    ("_s", 1e3, "was it given in ms"),
    ("_deg", 60.0, "was it given in minutes of arc"),
)


def require(**quantities: float | None) -> None:
    """Refuse the first number that can't be meant.

    quantities  name = value; each name, or its last words, stands in QUANTITIES. None means not known.
    Raises RefusedNumberError with a sentence that names the quantity, its value, its range and the likely slip;
    KeyError when a name isn't in the table, which is our mistake.
    """
    for name, value in quantities.items():
        allowed = allowed_range(name)
        if value is None or not allowed.holds(value):
            raise RefusedNumberError(name, value)


@lru_cache(maxsize=512)
def allowed_range(name: str) -> Quantity:
    """Range for a quantity by its name or its last words; KeyError when no part of it is known."""
    words = name
    while words not in QUANTITIES:
        _, _, words = words.partition("_")
        if not words:
            raise KeyError(name)
    return QUANTITIES[words]


def is_quantity(name: str) -> bool:
    """Whether a name, or its last words, stands in QUANTITIES."""
    try:
        allowed_range(name)
    except KeyError:
        return False
    return True


def _sentence(name: str, value: float | None, called: str, but: str) -> str:
    allowed = allowed_range(name)
    unit = f" {allowed.unit}" if allowed.unit else ""
    if but and value is not None:
        return f"{called} is {_number_text(value)}{unit}, but {but}."
    span = f"{'0 or ' if allowed.or_zero else ''}from {_number_text(allowed.low)} to {_number_text(allowed.high)}{unit}"
    if value is None:
        return f"{called} is missing: give it, {span}."
    if math.isnan(value):
        return f"{called} is not a number: give it, {span}."
    refused = f"{called} is {_refused_text(value, allowed)}{unit}, but must be {span}"
    slip = _likely_slip(name, value, allowed)
    return f"{refused}: {slip}?" if slip else f"{refused}."


def _refused_text(value: float, allowed: Quantity) -> str:
    """A number outside the range, with as many digits as it takes to see that: `0.29999`, not `0.3`."""
    texts = (_number_text(value, digits) for digits in range(DIGITS, MOST_DIGITS))
    return next((text for text in texts if not allowed.holds(float(text.replace(",", "")))), f"{value:,}")


DIGITS, MOST_DIGITS = 4, 17
"""Digits of a number in a sentence, and of a float at most."""
PLAIN_FROM, PLAIN_BELOW = 1e-9, 1e15
"""Numbers are written out between these, and elsewhere with a power of ten: a row of noughts can't be counted."""


def _number_text(value: float, digits: int = DIGITS) -> str:
    """Up to four digits, or as many as are asked for, without a power of ten: `0.000001`, `62.5`, `5,000,000`."""
    if not math.isfinite(value) or not (value == 0 or PLAIN_FROM <= abs(value) < PLAIN_BELOW):
        return f"{value:g}"
    rounded = float(f"{value:.{digits}g}")
    comma = "," if abs(rounded) >= 1e4 else ""
    return f"{rounded:{comma}.12f}".rstrip("0").rstrip(".")


def _likely_slip(name: str, value: float, allowed: Quantity) -> str:
    if value <= 0 or math.isinf(value):
        return ""
    if name.endswith("f_number") and value < allowed.low <= 1 / value <= allowed.high:
        return f"was f/{1 / value:.3g} typed as 1/{1 / value:.3g}"
    if name.endswith("exposure_s") and allowed.high < value < 1e5:
        return f"was 1/{value:g} typed as {value:g}"
    for suffix, factor, question in _SLIPS:
        if name.endswith(suffix) and allowed.low <= value / factor <= allowed.high:
            return question
    return ""
