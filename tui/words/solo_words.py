"""What is said of a series of solos: each of its frames, the act of the hands, and whether the light adds up."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import chain

from session.match.key_to_fill import KeyToFill
from session.match.light_mix import LightMix
from session.match.light_sum import LightSum, Misfit
from session.match.light_words import EXPOSURE_EV, NINTHS
from session.match.mix_to_match import MatchedMix
from session.match.solo_series import SeriesStep, StepKind
from session.units.numbers import ev_text, percent_text
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, hint

_LINES = {
    Misfit.MISFIRED: "{name} MISFIRED",
    Misfit.ABSENT: "{name} OFF, OR ON TWICE",
    Misfit.POWER: "{name} DIFFERS",
    Misfit.EXPOSURE: "EXPOSURE DIFFERS",
    Misfit.MOVED: "PICTURE MOVED",
    Misfit.ELSEWHERE: "SUM DIFFERS",
    Misfit.SEVERAL: "SUM ?",
    Misfit.BURNT: "SUM ?",
    Misfit.UNSURE: "SUM ?",
}
"""The large line of what doesn't fit; without a name the sum differs."""

UNTOLD = frozenset({Misfit.SEVERAL, Misfit.BURNT, Misfit.UNSURE})
"""Misfits whose cause can't be told."""


def step_words(step: SeriesStep) -> str:
    """`key alone: frame 12`, or `key alone: none yet`."""
    return f"{step.name}: {f'frame {step.frame.number}' if step.frame else 'none yet'}"


def step_headline(step: SeriesStep, lights: Sequence[str]) -> Headline:
    """The act of the hands before a step's release, as the large line and a sentence.

    lights  the names of all lights of the set
    """
    if step.kind is StepKind.TOGETHER:
        return Headline("ALL LIGHTS ON", "All lights of the set on, modelling lamps off.", Tone.GO)
    if step.kind is StepKind.AMBIENT:
        return Headline("ALL LIGHTS OFF", "All lights of the set off; leave the room as it is.", Tone.GO)
    others = " and ".join(name for name in lights if name != step.light)
    text = f"Switch off {others}, modelling lamps too, and touch nothing else."
    return Headline(f"ONLY {step.light.upper()} ON", text, Tone.GO)


def sum_words(found: LightSum) -> list[str]:
    """Whether the light adds up, what doesn't, and each light's part, unless the cause can't be told."""
    said = [finding.text for finding in found.findings] or [_fits_text(found)]
    if any(finding.kind in UNTOLD for finding in found.findings):
        return said
    parts = [
        f"{light.name}: {light.share * 100:.0f} % of the light" + (f", {ev_text(light.off_ev)}" if light.off_ev else "")
        for light in found.lights
        if not math.isnan(light.off_ev)
    ]
    return [*said, *parts]


def days_text(steps: Sequence[SeriesStep]) -> str:
    """A caution when the series was shot on several days, else ""."""
    days = sorted({step.frame.asked_at.astimezone().date() for step in steps if step.frame})
    if len(days) < 2:
        return ""
    return f"Its frames are of {len(days)} days, {days[0]} to {days[-1]}: what was moved between is in the sum, too."


def burnt_headline(step: SeriesStep) -> Headline:
    """A frame of the series is burnt so far that the sum can tell nothing; the step must have its frame."""
    number = step.frame.number if step.frame else 0
    text = f"More than half of frame {number}, {step.name}, is burnt: give less light, and begin again."
    return Headline("BURNT", text, Tone.STOP)


def mix_text(mixed: LightMix) -> str:
    """`Region: key + fill to fill, 1.7 EV; 0.1 % burnt; 0.7 EV darker than shot.`"""
    ev, ratio = mixed.change_ev, mixed.ratio
    than = "as bright as shot" if abs(ev) < 0.05 else f"{abs(ev):.1f} EV {'brighter' if ev > 0 else 'darker'} than shot"
    sides = f"{ratio.sides}, {ratio.ratio_ev:.1f} EV; " if ratio and ratio.has_fill else ""
    return f"Region: {sides}{percent_text(mixed.burnt_share)} burnt; {than}."


def ratio_line(mixed: LightMix) -> str:
    """The large line of a mix: `RATIO 3.2 : 1`, or `NO FILL`."""
    if mixed.ratio is None:
        return "RATIO ?"
    return f"RATIO {mixed.ratio.number}" if mixed.ratio.has_fill else mixed.ratio.number.upper()


def over_key_words(ratio: KeyToFill) -> list[str]:
    """`fill 1.1 EV under key`, a line for each light beside the key."""
    return [f"{name} {_over_key(ev, ratio.key)}" for name, ev in ratio.over_key_ev.items()]


def _over_key(ev: float, key: str) -> str:
    if math.isinf(ev):
        return "shows no light"
    return f"as bright as {key}" if abs(ev) < 0.05 else f"{abs(ev):.1f} EV {'over' if ev > 0 else 'under'} {key}"


def set_flashes_headline(powers: Sequence[str]) -> Headline:
    """The act of the hands once the powers of a mix are kept; `powers` as `fill 1/32 (−5 EV)`."""
    text = f"Set on the flashes: {', '.join(powers)}. Then release: the frame is compared with the mix."
    return Headline("SET THE FLASHES", f"{text} {hint(Where.MIX_SET, 'release')}", Tone.GO)


def matched_text(found: MatchedMix, short_ev: Mapping[str, float]) -> str:
    """What is left between the mix and the reference once the powers come nearest it, as a sentence.

    short_ev  light → how much more than it can give, or less than that, would be needed, EV
    """
    lacking = {name: ev for name, ev in short_ev.items() if abs(ev) > EXPOSURE_EV}
    if lacking:
        needed = ", ".join(f"{name} {abs(ev):.1f} EV {'more' if ev > 0 else 'less'}" for name, ev in lacking.items())
        return f"The lights don't go so far: {needed} would be as the reference; move them, or change the exposure."
    told = [(ev, name) for ev, name in zip(chain(*found.ninths_ev), NINTHS, strict=True) if not math.isnan(ev)]
    ev, name = max(told, key=lambda one: abs(one[0]))
    if abs(ev) <= EXPOSURE_EV:
        return f"As the reference: within {max(0.01, abs(ev)):.2f} EV in each ninth of the picture."
    left = f"{abs(ev):.1f} EV {'brighter' if ev > 0 else 'darker'} {name}"
    return f"Nearest to the reference, but {left}: a light stands elsewhere, or the piece is another."


def sum_headline(found: LightSum) -> Headline:
    """The same as the large line and one sentence."""
    if found.fits:
        return Headline("SUM FITS", _fits_text(found), Tone.GOOD)
    first = found.findings[0]
    large = _LINES[first.kind].format(name=first.names[0].upper() if first.names else "SUM")
    return Headline(large, first.text, Tone.CAUTION if first.kind in UNTOLD else Tone.STOP)


def _fits_text(found: LightSum) -> str:
    return f"The solos add up to all together: within {abs(found.largest_ev):.2f} EV in each ninth of the picture."
