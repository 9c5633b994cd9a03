"""An answer on the screen: a table with units, or one JSON object with every number given and found."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Mapping

import click

from session.units.numbers import percent_text, ratio_text, time_text
from session.units.quantities import allowed_range, is_quantity
from tui.shell.terminal import columns, hang

WORDS = {
    "effective_f_number": "effective f-number",
    "exposure_increase_ev": "light lost close up",
    "incidence_loss_ev": "lost by coming from aside",
    "pupil_magnification": "pupil magnification in use",
    "closest_effective_f_number": "effective f-number at the closest focus, at its widest",
    "near_mm": "sharp in front of the plane",
    "far_mm": "sharp behind it",
    "depth_mm": "depth of field",
    "depth_with_diffraction_mm": "depth with diffraction",
    "airy_diameter_um": "Airy diameter at the sensor",
    "airy_diameter_on_piece_um": "Airy diameter on the piece",
    "diffraction_blur_mm": "blur in focus, at the sensor",
    "half_contrast_cycles_per_mm": "half contrast in focus, cycles/mm at the sensor",
    "best_f_number": "least blur over the depth needed at",
    "best_blur_mm": "that blur, at the sensor",
    "most_depth_f_number": "most depth at",
    "most_depth_mm": "most depth",
    "subject_distance_mm": "piece to front principal plane",
    "entrance_pupil_distance_mm": "piece to entrance pupil",
    "f_number": "f-number to set",
    "ev_change": "change against the old distance",
    "found_origin_behind_mm": "the light comes from behind its front by",
    "guide_number_here_m": "guide number at this power, ISO",
    "inverse_square_error_ev": "less than the inverse square says",
    "needed_power_ev": "power needed",
    "needed_distance_mm": "distance needed",
    "calibrated_guide_number_m": "guide number, corrected",
    "calibrated_loss_ev": "or else loss, corrected",
    "fill_ev": "fill beside the key",
    "lighting_ratio": "lit side to shadow side, to 1",
    "recycling_time_s": "recycling time",
    "reflectance": "light that the plate reflects",
    "transmittance": "light that the plate lets through",
    "loss_ev": "light lost by the plate, matt piece",
    "mirror_loss_ev": "light lost by the plate, mirror-like piece",
    "polarised_loss_ev": "light lost by the plate, polarised light",
    "shift_mm": "the plate shifts the picture by",
    "double_image_mm": "second reflection of the light beside the first by",
    "second_image_share": "its brightness, of the first",
    "astigmatism_mm": "lines up and across are sharp apart by (astigmatism)",
    "astigmatism_share": "that, of the depth of field",
    "brewster_angle_deg": "tilt at which only polarised light is reflected",
    "aim_sideways_mm": "aim the light at a point beside the axis by",
    "aim_along_axis_mm": "which lies in front of the piece by",
    "dark_share": "part of the picture that stays dark",
    "fastest_exposure_s": "shortest exposure time that is safe",
    "sync_margin_ev": "the time asked for, against that",
    "edge_loss_ev": "flash light lost at the darker edge",
    "loss_along_frame_ev": "flash light lost at 0, 25, 50, 75, 100 % of the way",
    "slit_share": "part of the picture that is open at once",
    "high_speed_sync_share": "light left with high-speed sync",
    "dark_band_side": "edge with the dark band, where curtains run downward",
    "frames": "frames",
    "step_mm": "step",
    "span_mm": "covered",
    "planes_mm": "focus behind the nearest point",
    "ring_frames": "frames by the focus ring",
    "ring_scale": "ratio at the last plane, of the first",
    "ring_still_scale": "size of what stays in place, last picture of first",
    "share_left": "of the swing left",
    "delay_for_one_percent_s": "wait until 1 % is left",
    "decay_time_constant_s": "falls to 1/e in",
    "log_decrement": "logarithmic decrement",
    "amplitude_left_um": "swing left",
    "smear_um": "smear on the piece",
    "smear_px": "smear in the picture",
    "hold_off_s": "hold-off needed",
}
"""Key of an answer → what the table calls it."""

FORMS: tuple[tuple[tuple[str, ...], Callable[[float], str]], ...] = (
    (("f_number",), lambda value: f"f/{value:.3g}"),
    (("magnification",), ratio_text),
    (("exposure_s",), time_text),
    (("share", "reflectance", "transmittance", "scale"), percent_text),
)
"""Endings of a name → how its numbers are written; all others to three digits with their unit."""

OWN_FORMS: dict[str, Callable[[float], str]] = {
    "sync_margin_ev": lambda ev: f"{abs(ev):.1f} EV too short" if round(ev, 1) < 0 else f"{abs(ev):.1f} EV to spare",
    "astigmatism_mm": lambda mm: f"{abs(mm):.3g} mm",
}
"""Names whose sign is told in words, or doesn't matter to hands."""


UNITS = {"mm": "mm", "um": "µm", "ev": "EV", "s": "s", "m": "m", "deg": "°", "px": "px"}
"""Part of a name → the unit as it is written."""


def show(
    answer: Mapping[str, object], given: Mapping[str, object], as_json: bool, cautions: Iterable[str] = ()
) -> None:
    """Print the answer; with `as_json` what was given stands in the object too, where no answer has its name."""
    cautions = tuple(cautions)
    if as_json:
        put_json({**given, **answer, **({"cautions": cautions} if cautions else {})})
        return
    rows = [(WORDS[name], text(name, value)) for name, value in answer.items() if value is not None]
    wide = max(len(words) for words, _ in rows)
    for words, shown in rows:
        put(f"{words:<{wide}}  {shown}", indent=wide + 2)
    for place, caution in enumerate(cautions):
        put(("\n" if place == 0 else "") + f"! {caution}")


def put(text: str, indent: int = 2) -> None:
    """Print a line, wrapped into the terminal's width, the rest indented; unwrapped where there is no terminal."""
    head = text[: len(text) - len(text.lstrip("\n"))]
    click.echo(head + "\n".join(hang(text[len(head) :], columns(), indent)))


def put_json(value: object) -> None:
    click.echo(json.dumps(finite(value), ensure_ascii=False, allow_nan=False))


def finite(value: object) -> object:
    """The answer with null for infinite numbers, since JSON has no word for them, and no minus before a zero."""
    if isinstance(value, float):
        return value + 0.0 if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {name: finite(one) for name, one in value.items()}
    return [finite(one) for one in value] if isinstance(value, list | tuple) else value


def text(name: str, value: object) -> str:
    """A number as photographers write it, with its unit, to three digits."""
    if name.endswith("loss_ev") or name == "loss_along_frame_ev":
        return _loss_text(value)
    if isinstance(value, list):
        return ", ".join(_digits(one) for one in value) + f" {_unit(name)}"
    if name in OWN_FORMS and isinstance(value, int | float):
        return OWN_FORMS[name](value)
    if not isinstance(value, int | float) or not math.isfinite(value):
        return str(value) if isinstance(value, str) else "∞"
    written = next((write for endings, write in FORMS if name.endswith(endings)), None)
    return written(value) if written else f"{_digits(value)} {_unit(name)}".rstrip()


def _loss_text(value: object) -> str:
    """`3.51 EV`, `all of it`; of several places `all, 0.05, 0 EV`: what is less than a hundredth shows nowhere."""
    if isinstance(value, list):
        told = (f"{one:.2f}".rstrip("0").rstrip(".") if math.isfinite(one) else "all" for one in value)
        return f"{', '.join(told)} EV"
    if not isinstance(value, int | float) or not math.isfinite(value):
        return "all of it"
    return f"{_digits(value)} EV"


def _digits(value: float) -> str:
    if not math.isfinite(value):
        return "∞"
    value += 0.0  # no minus before a zero
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}".replace("-", "−")


def _unit(name: str) -> str:
    """From the table of quantities, else from a part of the name that is a unit."""
    if is_quantity(name):
        return allowed_range(name).unit
    return next((UNITS[part] for part in reversed(name.split("_")) if part in UNITS), "")
