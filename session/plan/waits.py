"""How long to wait after a touch until a support is still."""

from __future__ import annotations

from session.optics.vibration import delay_for_share_s, hold_off_s
from session.set.kit import Body, Kit, Support
from session.set.setup import DEFAULT_HOLD_OFF_S, Revision

STILL_SHARE = 0.01
"""Share of the swing that may be left where nobody measured how far the support swings. Common practice, no source."""


SHAKE_SHARE = 0.5
"""Of the blur limit, a radius, that the smear of a swing may be long: a quarter of the blur circle. Defocus and
diffraction may fill the limit; a line so long then lowers the frequency of half contrast by 3 %. Chosen."""


def safe_hold_off_of(revision: Revision, kit: Kit, body: Body | None) -> float:
    """Wait after the last touch for a set-up, s, by what the kit tells of its support, its body and lights; see below.

    Flash light counts for its t0.1 where every light of the set is a flash with a known one, else the shutter's time.
    """
    lights = [kit.light_for(placed.name) for placed in revision.lights]
    durations = [
        light.duration_at_s(placed.power_ev) if light is not None and light.kind == "flash" else None
        for light, placed in zip(lights, revision.lights, strict=True)
    ]
    known = [duration for duration in durations if duration is not None]
    return safe_hold_off_s(
        kit.support_for(revision.support),
        revision.arrangement.magnification or None,
        1000 * body.sensor_width_mm / body.pixels_across if body else None,
        max(known) if known and len(known) == len(durations) else revision.settings.exposure_s,
        revision.blur_limit_px,
    )


def safe_hold_off_s(
    support: Support | None,
    magnification: float | None = None,
    pixel_pitch_um: float | None = None,
    light_s: float | None = None,
    blur_px: float | None = None,
) -> float:
    """Wait after the last touch, s: from the support's own figures, and never less than the photographer's own.

    With the swing after a touch known, and the four arguments given: until the smear stays within its share of blur_px.
    With frequency and damping alone: until a hundredth of the swing is left. Without them: what the kit says of
    the support, else DEFAULT_HOLD_OFF_S.

    pixel_pitch_um  distance between pixel centres, µm
    light_s         how long the light falls: the shutter's time, or t0.1 when only flash counts
    Raises ValueError when an argument is out of range.
    """
    if support is None:
        return DEFAULT_HOLD_OFF_S
    least_s = support.hold_off_s or 0.0
    if support.frequency_hz is None or support.damping_ratio is None:
        return DEFAULT_HOLD_OFF_S if support.hold_off_s is None else least_s
    if (
        support.touch_amplitude_um is None
        or magnification is None
        or pixel_pitch_um is None
        or light_s is None
        or blur_px is None
    ):
        return max(least_s, delay_for_share_s(support.frequency_hz, support.damping_ratio, STILL_SHARE))
    needed_s = hold_off_s(
        support.touch_amplitude_um,
        support.frequency_hz,
        support.damping_ratio,
        light_s,
        magnification,
        pixel_pitch_um,
        SHAKE_SHARE * blur_px,
    )
    return max(least_s, needed_s)
