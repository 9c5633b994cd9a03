"""Measurements of a set built again as words: what is measured now, what hands are to do, and whether it matches.

Hands turn before they shift: a turn of the camera moves the picture too, and a small one can't be told from a shift on
a flat piece, so the shift is told once the turns are right. The words on light stand in `light_words`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum, auto

from session.checks.drift.drift_verdict import TURN_SHOWN_DEG, WhatMoved
from session.checks.judge.examined import Examined
from session.frame.finding import FocusVerdict
from session.lighting.temperature import mired_warmer
from session.match.camera_framing import TOLD_ACROSS_PX, Framing
from session.units.numbers import mm_text

FEATURES_PX = 1.0
"""Mean distance of the features from their places, px in a picture of 1024, up to which the framing matches. Motorised
platforms reach 0.26 px on flat scenes and 0.81 px on others: W. Feng et al., CVPR 2016, fig. 1."""

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
    if framing.other_distance:
        measured = "parts at other heights lie off along the radius"
        return StepWords(
            measured, "another distance, though the framing is right: set ratio and distance as then", False
        )
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
    blur = "" if focus.blur_px is None else _blur_words(focus.blur_px)
    if focus.verdict is not FocusVerdict.SHARP:
        far = f", it is {mm_text(focus.defocus_mm)} off; which way, the blur doesn't tell" if focus.defocus_mm else ""
        left.append(f"focus again{far}")
    if tilt is not None:
        side = (
            f"the {tilt.nearer} side is {mm_text(tilt.apart_mm)} too near" if tilt.nearer else "which side, can't tell"
        )
        left.append(f"square up the camera, {tilt.tilt_deg:.1f}°: {side}")
    return StepWords(blur, "; ".join(left), not left)


def grey_card_told(examined: Examined) -> StepWords:
    """The colour of the set-up's grey patch, and how rightly it is exposed."""
    colour = examined.colour
    if colour is None or not colour.on_patch:
        return StepWords("", "can't tell: the card doesn't show where it lay in both pictures", None)
    measured = f"colour ΔE {colour.difference:.1f}"
    if examined.grey_ev is not None:
        measured += f", {ev_words(examined.grey_ev)} than a right exposure"
    if colour.difference <= COLOUR_DE2000:
        return StepWords(measured, "", True)
    words = warmer_words(colour.warmer_ev)
    return StepWords(measured, f"{words} than before: look at white balance, gels and ambient", False)


def _blur_words(blur_px: float) -> str:
    """`blur 1.3 px over the reference`; below 0 where the frame shows finer detail than the reference."""
    shown = round(blur_px, 1)
    if shown > 0:
        return f"blur {shown:.1f} px over the reference"
    return "as sharp as the reference" if shown == 0 else "sharper than the reference"


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


def ev_words(ev: float) -> str:
    """`0.04 EV brighter`, a digit finer than hands can set, so that small amounts within the tolerance show."""
    return f"{abs(ev):.2f} EV {'brighter' if ev > 0 else 'darker'}"


def warmer_words(warmer_ev: float, greener_ev: float = 0.0) -> str:
    """`40 mired warmer`; `greener` or `pinker` for what is no change of colour temperature."""
    if abs(greener_ev) > abs(warmer_ev):
        return "greener" if greener_ev > 0 else "pinker"
    mired = mired_warmer(warmer_ev)
    return f"{abs(mired):.0f} mired {'warmer' if mired > 0 else 'cooler'}"
