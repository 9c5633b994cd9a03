"""Numbers as photographers write them: 1/200 s, f/11, −2 EV, 1:1.4, 620 mm; `session.units.typed` reads them back.

Inside the program everything is in seconds, millimetres and EV; these forms exist only for eyes and hands.
"""

from __future__ import annotations

import math

SETTING_SLACK_EV = 0.1
"""Two settings that differ by less are the same one: nominal f/11 is 11.314, nominal 1/125 is 1/128
(0.081 and 0.034 EV), and PTP rounds 1/160 s to 0.0062 s. Worked out from the powers of √2."""


def same_setting(one: float, other: float, *, ev_per_doubling: float = 1.0) -> bool:
    """Whether two times, ISO speeds (1 EV a doubling) or f-numbers (2 EV a doubling) are the same setting."""
    if one <= 0 or other <= 0:
        return one == other
    return abs(math.log2(one / other)) * ev_per_doubling < SETTING_SLACK_EV


def shorter_setting(one_s: float, other_s: float) -> bool:
    """Whether a time, s, is shorter than another by more than marked settings stray from the true ones."""
    return one_s < other_s * 2**-SETTING_SLACK_EV


def time_text(exposure_s: float) -> str:
    """`1/200 s`, `0.4 s`, `2 s`."""
    if exposure_s <= 0:
        return f"{exposure_s:g} s"
    if exposure_s < 0.3:
        return f"1/{round(1 / exposure_s)} s"
    return f"{exposure_s:.1f}".rstrip("0").rstrip(".") + " s"


def f_text(f_number: float | None) -> str:
    """`f/11`, `f/5.6`; `f by hand` where the camera doesn't set it."""
    if f_number is None:
        return "f by hand"
    return f"f/{f_number:.1f}".removesuffix(".0") if f_number < 10 else f"f/{f_number:.0f}"


def stop_text(f_number: float | None, effective_f_number: float) -> str:
    """`f/11 (f/16 here)`: the f-number as marked, and as it works close up."""
    return f"{f_text(f_number)} ({f_text(effective_f_number)} here)"


def ev_text(ev: float) -> str:
    """`−2 EV`, `+0.3 EV`, `0 EV`, with the true minus sign."""
    rounded = round(ev, 1)
    sign = "−" if rounded < 0 else "+" if rounded > 0 else ""
    return f"{sign}{abs(rounded):g} EV"


THIRDS = {"0.3": "⅓", "0.7": "⅔"}
"""Flash controls say 0.3 and 0.7 for a third of a stop and two. Common practice, no source."""

WITHIN_EV = 0.04
"""A power that is so near to a full stop is shown as that. Chosen: less than half of the finest step, a tenth."""


def power_text(power_ev: float) -> str:
    """`1/4 (−2 EV)`, `1/4 +⅓ (−1.7 EV)`: power as the flash shows it, and in stops; 0 EV is full power."""
    return f"{share_text(power_ev)} ({ev_text(power_ev)})"


def share_text(power_ev: float) -> str:
    """`1/4`, `1/4 +⅓`, `1/4 +0.5`: the next lower full stop, and what is above it."""
    stops = math.ceil(-power_ev - WITHIN_EV)
    above_ev = power_ev + stops
    if abs(above_ev) <= WITHIN_EV or stops < 0:
        return f"1/{2 ** max(0, stops)}"
    tenths = f"{above_ev:.1f}"
    return f"1/{2**stops} +{THIRDS.get(tenths, tenths)}"


def angles_text(azimuth_deg: float | None, elevation_deg: float | None) -> str:
    """`60° left · 35° up`: the sides are the photographer's; "" where nobody measured.

    azimuth_deg    0 = from the camera, clockwise seen from above: 0 to 180 is to the left
    elevation_deg  0 = table plane, 90 = straight down on the piece
    """
    return " · ".join(text for text in (side_text(azimuth_deg), height_text(elevation_deg)) if text)


def side_text(azimuth_deg: float | None) -> str:
    """`60° left`, `60° right`; `0°` from the camera, `180°` from behind; "" where nobody measured."""
    if azimuth_deg is None:
        return ""
    around = round(azimuth_deg) % 360
    if around in (0, 180):
        return f"{around}°"
    return f"{around}° left" if around < 180 else f"{360 - around}° right"


def height_text(elevation_deg: float | None) -> str:
    """`35° up`, `10° down`; "" where nobody measured."""
    if elevation_deg is None:
        return ""
    return f"{abs(elevation_deg):.0f}° {'up' if round(elevation_deg) >= 0 else 'down'}"


def place_mm_text(place_mm: float) -> str:
    """`−1.32 mm`, `0.00 mm`: a place along an axis, with the true minus sign."""
    text = f"{place_mm:.2f} mm"
    return text.removeprefix("-") if text == "-0.00 mm" else text.replace("-", "−")


def mm_text(distance_mm: float) -> str:
    """`620 mm`, `9.5 mm`, `0.3 mm`, `0.04 mm`."""
    size = abs(distance_mm)
    decimals = 0 if size >= 20 else 1 if size >= 0.1 else 2
    return f"{distance_mm:.{decimals}f} mm"


def steps_text(steps_per_mm: float) -> str:
    """`93.3`, `1234`: steps of a focus drive for a mm, no finer than they can be known."""
    return f"{steps_per_mm:.0f}" if steps_per_mm >= 100 else f"{steps_per_mm:.3g}"


def play_text(play_steps: float | None) -> str:
    """`play 31 steps`, `play not measured`: what a focus drive loses when it turns round."""
    return "play not measured" if play_steps is None else f"play {play_steps:.0f} steps"


def sd_text(sd_mm: float) -> str:
    """`±6 mm`, `±0.4 mm`: one standard deviation, no finer than such a figure is."""
    return f"±{sd_mm:.0f} mm" if sd_mm >= 1.95 else f"±{sd_mm:.1f} mm"


def sd_deg_text(sd_deg: float) -> str:
    """`±2°`, `±0.6°`."""
    return f"±{sd_deg:.0f}°" if sd_deg >= 1.95 else f"±{sd_deg:.1f}°"


def transfer_text(done_bytes: int, of_bytes: int, left_s: float) -> str:
    """`140 of 250 kB, about 9 s`, `3.2 of 27.5 MB, about 2 min`; both amounts in the unit of the whole."""
    return f"{bytes_text(done_bytes, of_bytes)}, {left_text(left_s)}"


def bytes_text(done_bytes: int, of_bytes: int) -> str:
    """`140 of 250 kB`, `3.2 of 27.5 MB`, `1.0 of 42.7 GB`."""
    size, unit, decimals = next(one for one in ((1e9, "GB", 1), (1e6, "MB", 1), (0, "kB", 0)) if of_bytes >= one[0])
    return f"{done_bytes / (size or 1e3):.{decimals}f} of {of_bytes / (size or 1e3):.{decimals}f} {unit}"


def left_text(left_s: float) -> str:
    """`about 9 s`, `about 2 min`: how long something still takes."""
    return f"about {max(1, round(left_s))} s" if left_s < 90 else f"about {round(left_s / 60)} min"


def read_text(done: int, of: int, left_s: float) -> str:
    """`1,200 of 5,000 files, about 3 min`: how far something is read, and how long the rest takes."""
    return f"{done:,} of {of:,} files, {left_text(left_s)}"


def ratio_text(magnification: float) -> str:
    """Reproduction ratio: `1:2`, `1:1.4`, `2:1`."""
    if magnification <= 0:
        return "1:∞"
    if magnification < 1:
        return f"1:{1 / magnification:.2g}"
    return f"{magnification:.2g}:1"


def percent_text(share: float) -> str:
    """`50 %`, `2 %`, `0.4 %`."""
    return f"{share * 100:.1f} %" if 0 < share < 0.01 else f"{share * 100:.0f} %"
