"""Numbers as photographers write them, and read back: 1/200 s, f/11, −2 EV, 1:1.4, 620 mm.

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


def ev_text(ev: float) -> str:
    """`−2 EV`, `+0.3 EV`, `0 EV`, with the true minus sign."""
    rounded = round(ev, 1)
    sign = "−" if rounded < 0 else "+" if rounded > 0 else ""
    return f"{sign}{abs(rounded):g} EV"


def mm_text(distance_mm: float) -> str:
    """`620 mm`, `9.5 mm`, `0.3 mm`, `0.04 mm`."""
    size = abs(distance_mm)
    decimals = 0 if size >= 20 else 1 if size >= 0.1 else 2
    return f"{distance_mm:.{decimals}f} mm"


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


def parse_time_s(text: str) -> float:
    """Seconds from `1/200`, `1/200 s`, `0.005`, `2 s`. Raises ValueError with a sentence."""
    bare = text.strip().removesuffix("s").strip()
    try:
        if "/" in bare:
            above, below = bare.split("/", 1)
            seconds = float(above) / float(below)
        else:
            seconds = float(bare)
    except (ValueError, ZeroDivisionError):
        raise ValueError(f"an exposure time is written like 1/200 or 0.005, not {text!r}") from None
    if not 0 < seconds < 36_000:
        raise ValueError(f"an exposure time lies between 0 and 10 hours, not {text!r}")
    return seconds


def parse_f_number(text: str) -> float:
    """The f-number from `11`, `f/11`, `F11`. Raises ValueError with a sentence."""
    bare = text.strip().lower().removeprefix("f").removeprefix("/").strip()
    try:
        number = float(bare)
    except ValueError:
        number = math.nan
    if not 0.5 <= number <= 256:
        raise ValueError(f"an f-number is written like 11 or f/11, between 0.5 and 256, not {text!r}")
    return number
