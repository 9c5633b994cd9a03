"""Measurements of a set built again as words: what is measured now, what hands are to do, and whether it matches.

Hands turn before they shift: a turn of the camera moves the picture too, and a small one can't be told from a shift on
a flat piece, so the shift is told once the turns are right. A light is named only where its own solo tells it, or
where it is the only one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum, auto
from itertools import chain

from session.checks.drift.drift_verdict import TURN_SHOWN_DEG, WhatMoved
from session.checks.judge.examined import Examined
from session.frame.finding import FocusVerdict
from session.match.camera_framing import TOLD_ACROSS_PX, Framing
from session.match.light_match import LightAlone, LightCompared
from session.set.setup import PlacedLight
from session.units.numbers import mm_text

FEATURES_PX = 1.0
"""Mean distance of the features from their places, px in a picture of 1024, up to which the framing matches. Motorised
platforms reach 0.26 px on flat scenes and 0.81 px on others: W. Feng et al., CVPR 2016, fig. 1."""

EXPOSURE_EV = 0.1
"""Up to which a ninth of the picture, or a light, is as bright as before: flashes step by a tenth at best."""

COLOUR_DE2000 = 2.0
"""Up to which grey is of the same colour; about 1 is seen side by side. Common practice, no source."""

SURE_SDS = 2.0
SURE_EV = 0.02
"""How far within its tolerance a measurement must lie before it is said to match: two standard deviations, or what
ninths of the same light scatter. Chosen."""

WORTH_PX = 0.5
"""A move that would bring the features nearer by less isn't asked for, so that what is right isn't missed anew: half of
the tolerance. Chosen. Only where several smaller ones together take the features out of it, the largest is."""

TURN_SDS = 3.0
"""Standard deviations by which a turn to a side or down must stand out before it is asked for. Chosen."""

TOLD_DEG = 1.0
"""Smaller turns of a light aren't asked for: a stand isn't set any finer. Chosen."""

NINTHS = (
    *("upper left", "upper middle", "upper right"),
    *("left", "middle", "right"),
    *("lower left", "lower middle", "lower right"),
)
"""Names of the ninths, row by row."""


@dataclass(frozen=True)
class StepWords:
    """The words of a measured step, as in `MatchStep`; `matches`: None where the picture can't tell."""

    measured: str
    to_do: str
    matches: bool | None


def framing_told(framing: Framing) -> StepWords:
    """The moves of the camera that bring the old picture back."""
    measured = f"{framing.features_px:.1f} px off in a picture of {TOLD_ACROSS_PX}"
    if framing.features_px + SURE_SDS * framing.features_sd_px <= FEATURES_PX:
        return StepWords(measured, "", True)
    sure = [move for move in _moves(framing) if move.is_sure]
    asked = [move for move in sure if move.px > WORTH_PX]
    if not asked and sure and _small_moves_explain(framing):
        asked = [max(sure, key=lambda move: move.px)]
    if not asked:
        why = "can't tell what moved: parts of the picture lie elsewhere, each its own way"
        return StepWords(measured, why, None)
    turns, rolls, shifts = ([move.words for move in asked if move.kind is kind] for kind in _Kind)
    if turns:
        back = "then move it sideways until the piece is back in its place"
        return StepWords(measured, f"turn the camera {', '.join((*turns, *rolls))}; {back}", False)
    if shifts:
        also = f"; turn it {rolls[0]}" if rolls else ""
        return StepWords(measured, f"camera {', '.join(shifts)}{also}", False)
    return StepWords(measured, f"turn the camera {rolls[0]}", False)


class _Kind(Enum):
    """Turns to a side or down; turns about the lens's axis, which leave the middle where it is; shifts."""

    TURN = auto()
    ROLL = auto()
    SHIFT = auto()


@dataclass(frozen=True)
class _Move:
    """A move of the camera in words; px: how far it moves the features."""

    kind: _Kind
    words: str
    px: float
    is_sure: bool


def _moves(framing: Framing) -> list[_Move]:
    """Every move that brings the old picture back, sure or not."""
    effect, found = framing.effects_px, []
    for deg, sd, px, ways in (
        (framing.pan_deg, framing.pan_sd_deg, effect.pan, ("to the right", "to the left")),
        (framing.tilt_deg, framing.tilt_sd_deg, effect.tilt, ("down", "up")),
    ):
        found.append(_Move(_Kind.TURN, f"{abs(deg):.2f}° {ways[deg < 0]}", px, abs(deg) > TURN_SDS * sd))
    deg = framing.turn_deg
    words = f"{abs(deg):.2f}° {'anti' if deg < 0 else ''}clockwise"
    found.append(_Move(_Kind.ROLL, words, effect.turn, abs(deg) > SURE_SDS * framing.turn_sd_deg))
    for mm, sd, px, ways in (
        (framing.right_mm, framing.right_sd_mm, effect.right, ("right", "left")),
        (framing.down_mm, framing.down_sd_mm, effect.down, ("down", "up")),
        (framing.farther_mm, framing.farther_sd_mm, effect.farther, ("farther", "nearer")),
    ):
        found.append(_Move(_Kind.SHIFT, f"{mm_text(abs(mm))} {ways[mm < 0]}", px, abs(mm) > SURE_SDS * sd))
    return found


def _small_moves_explain(framing: Framing) -> bool:
    """Whether small moves together are more of what the features are off than each part's own way."""
    parts = framing.effects_px
    moved_px = math.hypot(parts.right, parts.down, parts.turn, parts.farther, parts.pan, parts.tilt)
    return moved_px**2 > framing.features_px**2 / 2


def distance_told(framing: Framing) -> StepWords:
    """The camera's distance by the size of the picture."""
    off_mm = framing.farther_mm
    if framing.effects_px.farther + SURE_SDS * framing.effects_px.farther_sd <= FEATURES_PX:
        return StepWords("at its distance, by the size of the picture", "", True)
    if abs(off_mm) <= SURE_SDS * framing.farther_sd_mm:
        return StepWords("", "can't tell the distance from the size of the picture", None)
    measured = f"{mm_text(abs(off_mm))} too {'near' if off_mm > 0 else 'far'}, by the size of the picture"
    return StepWords(measured, f"camera {mm_text(abs(off_mm))} {'farther' if off_mm > 0 else 'nearer'}", False)


def focus_told(examined: Examined) -> StepWords:
    """The focus of the region, and a piece that stands out of square."""
    focus, tilt, left = examined.focus, examined.tilt, []
    if focus.verdict is FocusVerdict.UNJUDGED:
        return StepWords("", f"can't tell the focus: {focus.reason}", None)
    blur = "" if focus.blur_px is None else f"blur {focus.blur_px:.1f} px over the reference"
    if focus.verdict is not FocusVerdict.SHARP:
        far = f", it is {mm_text(focus.defocus_mm)} off; which way, the blur doesn't tell" if focus.defocus_mm else ""
        left.append(f"focus again{far}")
    if tilt is not None:
        side = (
            f"the {tilt.nearer} side is {mm_text(tilt.apart_mm)} too near" if tilt.nearer else "which side, can't tell"
        )
        left.append(f"square up the camera, {tilt.tilt_deg:.1f}°: {side}")
    return StepWords(blur, "; ".join(left), not left)


def light_told(light: PlacedLight, found: LightAlone) -> StepWords:
    """The words on a light, by its solo of now and its solo of before.

    Solos with ambient in both are no proof: a light that gives little of the picture would seem to match.
    """
    told = _light_as_shown(light, found)
    if not found.ambient_due or found.level_ev is None or found.absent:
        return told
    ambient = "shoot ambient alone, which is in both solos"
    if told.matches:
        return StepWords(told.measured, f"can't tell: {ambient}", None)
    return StepWords(told.measured, f"{ambient}; {told.to_do}", False)


def _light_as_shown(light: PlacedLight, found: LightAlone) -> StepWords:
    if found.level_ev is None:
        return StepWords("", f"can't tell: too little of {light.name}'s light shows in the picture", None)
    if found.absent:
        return StepWords("gives no light", f"{light.name} is off or doesn't fire: switch it on", False)
    ev, warmer = found.level_ev, "warmer" if found.warmer_ev > 0 else "cooler"
    measured = f"{_ev(ev)}, colour ΔE {found.difference:.1f}"
    if found.elsewhere:
        return StepWords(f"{measured}, its shading differs", _way_back(light, found), False)
    left = []
    if abs(ev) > EXPOSURE_EV - SURE_EV:
        left.append(f"{light.name} {_power_or_distance(light, ev)}")
    if found.difference > COLOUR_DE2000:
        left.append(f"{light.name} is {warmer} than before: look at its gel, its shaper and the white balance")
    return StepWords(measured, "; ".join(left), not left)


def _way_back(light: PlacedLight, found: LightAlone) -> str:
    around = "clockwise around the piece, seen from above"
    moves = []
    for deg, ways in ((found.clockwise_deg, (f"anti{around}", around)), (found.higher_deg, ("lower", "higher"))):
        if deg is not None and abs(deg) >= max(TOLD_DEG, _most(found) / 2):
            moves.append(f"{abs(deg):.0f}° {ways[deg < 0]}")
    if found.farther_mm is not None:
        moves.append(f"{mm_text(abs(found.farther_mm))} {'nearer' if found.farther_mm > 0 else 'farther'}")
    if moves:
        return f"{light.name} {', '.join(moves)}; then see its power"
    elsewhere = f"stands elsewhere, or its shaper differs; can't tell which way {found.no_way or 'from this piece'}"
    ev = found.level_ev or 0.0
    power = f"{_power_or_distance(light, ev)}; it " if abs(ev) > EXPOSURE_EV - SURE_EV else ""
    return f"{light.name} {power}{elsewhere}"


def _most(found: LightAlone) -> float:
    return max(abs(found.clockwise_deg or 0.0), abs(found.higher_deg or 0.0))


def _power_or_distance(light: PlacedLight, ev: float) -> str:
    """`0.7 EV less, or 120 mm farther`: either brings back the old amount of light."""
    power = f"{abs(ev):.1f} EV {'less' if ev > 0 else 'more'}"
    if light.distance_mm is None:
        return power
    away_mm = light.distance_mm * (2 ** (ev / 2) - 1)
    return f"{power}, or {mm_text(abs(away_mm))} {'farther' if away_mm > 0 else 'nearer'}"


def together_told(light: LightCompared, lights: Sequence[PlacedLight], solos: Mapping[str, LightAlone]) -> StepWords:
    """All lights together by ninths of the picture, and the colour."""
    known = light.known_ev
    if len(known) < len(NINTHS):
        return StepWords("", "can't tell the light everywhere: parts are burnt or outside the picture", None)
    most, at = _largest(light)
    measured = f"{_ev(most)} {at}, colour ΔE {light.difference:.1f}"
    dim = [abs(ev) <= EXPOSURE_EV - SURE_EV for ev in known]
    tinted = light.difference > COLOUR_DE2000
    if all(dim) and not tinted:
        return StepWords(measured, "", True)
    wrong = [name for name, found in solos.items() if _is_wrong(found)]
    left = []
    if not all(dim):
        left.append(_light_left(light, lights, wrong))
    if tinted:
        warmer = "warmer" if light.warmer_ev > 0 else "cooler"
        left.append(f"the picture is {warmer} than before: look at white balance, gels and ambient")
    return StepWords(measured, "; ".join(left), False)


def _light_left(light: LightCompared, lights: Sequence[PlacedLight], wrong: Sequence[str]) -> str:
    if wrong:
        return f"put {' and '.join(wrong)} right first"
    spread = max(light.known_ev) - min(light.known_ev)
    middle = sorted(light.known_ev)[len(light.known_ev) // 2]
    more = f"{abs(middle):.1f} EV {'too bright' if middle > 0 else 'too dark'}"
    even = spread <= 2 * EXPOSURE_EV and abs(middle) > EXPOSURE_EV - SURE_EV
    if len(lights) == 1 and even:
        return f"{lights[0].name} {_power_or_distance(lights[0], middle)}"
    most, at = _largest(light)
    if len(lights) == 1:
        return f"{_ev(most)} {at}: {lights[0].name} stands elsewhere, or its shaper differs"
    seen = f"{more} all over" if even else f"{_ev(most)} {at}"
    return f"{seen}; can't tell which light: shoot each light alone"


def grey_card_told(examined: Examined) -> StepWords:
    """The colour of the set-up's grey patch, and how rightly it is exposed."""
    colour = examined.colour
    if colour is None or not colour.on_patch:
        return StepWords("", "can't tell: the card doesn't show where it lay in both pictures", None)
    measured = f"colour ΔE {colour.difference:.1f}"
    if examined.grey_ev is not None:
        measured += f", {_ev(examined.grey_ev)} than a right exposure"
    if colour.difference <= COLOUR_DE2000:
        return StepWords(measured, "", True)
    warmer = "warmer" if colour.warmer_ev > 0 else "cooler"
    return StepWords(measured, f"{warmer} than before: look at white balance, gels and ambient", False)


def piece_told(examined: Examined) -> StepWords | None:
    """The piece among its surroundings; None where the picture tells nothing of the piece."""
    drift = examined.drift
    if drift is None:
        return None
    if drift.moved is WhatMoved.CHANGED:
        why = "can't tell how it lies: another piece, or turned; compare by eye"
        return StepWords("shows something else than the reference", why, None)
    if drift.moved is WhatMoved.PIECE:
        words = [
            f"{abs(px):.0f} px {ways[px < 0]}"
            for px, ways in ((-drift.right_px, ("right", "left")), (-drift.down_px, ("down", "up")))
            if round(abs(px))
        ]
        if abs(drift.rotation_deg) >= TURN_SHOWN_DEG:
            words.append(f"turn it {abs(drift.rotation_deg):.1f}° {'anti' if drift.rotation_deg > 0 else ''}clockwise")
        return StepWords("the piece lies elsewhere, its surroundings don't", f"piece {', '.join(words)}", False)
    if drift.moved is WhatMoved.NOTHING:
        return StepWords("lies as in the reference", "", True)
    return None


def _largest(light: LightCompared) -> tuple[float, str]:
    """The ninth that is off most, EV, and where it lies."""
    told = [one for one in zip(chain(*light.ninths_ev), NINTHS, strict=True) if not math.isnan(one[0])]
    return max(told, key=lambda one: abs(one[0]))


def _is_wrong(found: LightAlone) -> bool:
    return found.absent or found.elsewhere or abs(found.level_ev or 0.0) > EXPOSURE_EV - SURE_EV


def _ev(ev: float) -> str:
    """`0.04 EV brighter`, a digit finer than hands can set, so that small amounts within the tolerance show."""
    return f"{abs(ev):.2f} EV {'brighter' if ev > 0 else 'darker'}"
