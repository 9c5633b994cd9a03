"""Measurements of a set built again as words: what is measured now, what hands are to do, and whether it matches.

Hands turn before they shift: a turn of the camera moves the picture too, so the shift is told once the turns are right.
A turn that shifts can make up for is left as it is. A geared head, a rail or a column brings the camera to about 0.05
mm and 0.05°; before a small piece that is as much as the tolerance, so that moves are asked for only where they are
worth their miss. The words on light stand in `light_words`.
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

SURE_SDS, SURE_PX = 2.0, 0.15
SURE_EV, SURE_NINTH_EV = 0.02, 0.03
SURE_DE2000 = 0.3
"""How far within its tolerance a measurement must lie before it is said to match: two standard deviations, and what
truth lay off on the simulated table's seeds 201 to 360. Features lay at most 0.09 px farther off than was told in 95 %
of 494 frames and 0.16 px in 98 %, for light from elsewhere seems to move relief, which the fit's deviations don't know;
ninths of the picture 0.024 EV in 99 % of 248, of a light alone 0.02 EV; grey ΔE 2.0 for 1.8 in one set. Chosen."""

ALIKE_DE2000 = COLOUR_DE2000 - SURE_DE2000
"""Up to which a colour that is measured is surely within its tolerance."""

FRAMED_PX = 5.0
"""Features that lie farther off, px in a picture 1,024 px wide, bring shadows and relief beside their places, which
would be told as a light that moved, and the picture's ninths show other parts. Chosen on the simulated table's seeds 1
to 8."""

HANDS_MM = 0.05
"""How far a rail or a column may miss a small move. Common practice, no source."""

SHIFT_PX = 0.7
"""Of a shift: sides that lie off by less are left where they are, while the other is set again. Worked out for hands
whose miss is even within 2.2 px each way (HANDS_MM of a piece 24 mm wide): so they come within 1 px in 93 % by seven
tries, in 71 % where both sides are moved each time."""

STEADY_PX = 0.3
"""Of a turn about the lens's axis and of the distance, whose misses move the features by less than 0.3 px: 0.05° moves
them by 0.24 px. Worked out."""

TURN_FAR_PX, TURN_FRAMED_PX, TURN_WITH_PX = 0.4, 1.0, 0.2
"""Of a turn to a side or down, by what shifts can't make up for: while the piece is to be brought to its place anyway;
once it lies there, from where a turn takes it away again, only what is more than the tolerance; and of the other turn
where one is asked for. Chosen: √(1 − 0.4²) px is then left for the shifts, a tenth less than without it."""

TURN_SDS = 3.0
"""Standard deviations by which a turn to a side or down must stand out before it is asked for. Chosen."""

TURN_TOLD_PX, MOST_TURN_DEG = 100.0, 8.0
"""Features that lie farther off share too little of the picture for a turn to be told from size and shift, and no
camera that was set up by level is turned by more: on the simulated table (seeds 201 to 301) one turned by 0.5° was told
22° at 126 px, one by 2.8° 6° at 242 px. The piece is brought to its place first. Chosen."""


@dataclass(frozen=True)
class StepWords:
    """The words of a measured step, as in `MatchStep`; `matches`: None where the picture can't tell."""

    measured: str
    to_do: str
    matches: bool | None


def framing_told(framing: Framing) -> StepWords:
    """The moves of the camera that bring the old picture back."""
    measured = f"{framing.features_px:.1f} px off in a picture of {TOLD_ACROSS_PX}"
    if framing.features_px + max(SURE_SDS * framing.features_sd_px, SURE_PX) <= FEATURES_PX:
        return StepWords(measured, "", True)
    sure = [move for move in _moves(framing) if move.is_sure]
    asked = [move for move in sure if move.px > move.worth_px]
    if any(move.kind is _Kind.TURN for move in asked):
        asked = [one for one in sure if one.px > (TURN_WITH_PX if one.kind is _Kind.TURN else one.worth_px)]
    if not asked and sure and _small_moves_explain(framing):
        asked = [max(sure, key=lambda move: move.px)]
    if framing.features_px <= FEATURES_PX < _miss_px(framing):
        asked = [move for move in asked if move.kind is not _Kind.SHIFT]
        if not asked:
            miss = f"a miss of {mm_text(HANDS_MM)} would be {_miss_px(framing):.1f} px"
            return StepWords(measured, f"can't tell for sure that it is within 1 px, and {miss}: release again", None)
    if not asked:
        return StepWords(measured, _why_nothing_is_asked(framing), None)
    turns, rolls, farther, shifts = ([move.words for move in asked if move.kind is kind] for kind in _Kind)
    if turns:
        also = f"camera {farther[0]}; " if farther else ""
        back = f"{also}then move it sideways until the piece is back in its place"
        return StepWords(measured, f"turn the camera {', '.join((*turns, *rolls))}; {back}", False)
    if shifts or farther:
        also = f"; turn it {rolls[0]}" if rolls else ""
        return StepWords(measured, f"camera {', '.join((*shifts, *farther))}{also}", False)
    return StepWords(measured, f"turn the camera {rolls[0]}", False)


def _why_nothing_is_asked(framing: Framing) -> str:
    """The reason why no move is told: a turn too large, a piece too far from its place, or parts that moved apart."""
    effect = framing.effects_px
    turns = ((framing.pan_deg, framing.pan_sd_deg, effect.pan), (framing.tilt_deg, framing.tilt_sd_deg, effect.tilt))
    turned = [deg for deg, sd, px in turns if abs(deg) > TURN_SDS * sd and px > TURN_FAR_PX]
    if turned and framing.features_px > TURN_TOLD_PX:
        return "can't tell what moved, so far off: bring the piece to its place by eye first"
    if any(abs(deg) > MOST_TURN_DEG for deg in turned):
        return f"can't tell the turn, of more than {MOST_TURN_DEG:.0f}°: set the camera by level first"
    return "can't tell what moved: parts of the picture lie elsewhere, each its own way"


class _Kind(Enum):
    """Turns to a side or down; turns about the lens's axis, which leave the middle in its place; distance; shifts."""

    TURN = auto()
    ROLL = auto()
    FARTHER = auto()
    SHIFT = auto()


@dataclass(frozen=True)
class _Move:
    """A move of the camera in words.

    px        how far it moves the features
    worth_px  from how much on it is asked for
    """

    kind: _Kind
    words: str
    px: float
    worth_px: float
    is_sure: bool


def _moves(framing: Framing) -> list[_Move]:
    """Every move that brings the old picture back, sure or not."""
    effect, found = framing.effects_px, []
    worth_px = TURN_FAR_PX if framing.features_px > FRAMED_PX else TURN_FRAMED_PX
    for deg, sd, px, ways in (
        (framing.pan_deg, framing.pan_sd_deg, effect.pan, ("to the right", "to the left")),
        (framing.tilt_deg, framing.tilt_sd_deg, effect.tilt, ("down", "up")),
    ):
        is_sure = TURN_SDS * sd < abs(deg) <= MOST_TURN_DEG and framing.features_px <= TURN_TOLD_PX
        found.append(_Move(_Kind.TURN, f"{abs(deg):.2f}° {ways[deg < 0]}", px, worth_px, is_sure))
    deg = framing.turn_deg
    words = f"{abs(deg):.2f}° {'anti' if deg < 0 else ''}clockwise"
    found.append(_Move(_Kind.ROLL, words, effect.turn, STEADY_PX, abs(deg) > SURE_SDS * framing.turn_sd_deg))
    for kind, mm, sd, px, ways in (
        (_Kind.SHIFT, framing.right_mm, framing.right_sd_mm, effect.right, ("right", "left")),
        (_Kind.SHIFT, framing.down_mm, framing.down_sd_mm, effect.down, ("down", "up")),
        (_Kind.FARTHER, framing.farther_mm, framing.farther_sd_mm, effect.farther, ("farther", "nearer")),
    ):
        words, worth_px = f"{_fine_mm_text(abs(mm))} {ways[mm < 0]}", SHIFT_PX if kind is _Kind.SHIFT else STEADY_PX
        found.append(_Move(kind, words, px, worth_px, abs(mm) > SURE_SDS * sd))
    return found


def _fine_mm_text(mm: float) -> str:
    """As `mm_text`, with hundredths below 1 mm, by which rails are set: `0.14 mm`, `0.8 mm`."""
    return f"{mm:.2f}".rstrip("0").rstrip(".") + " mm" if 0.1 <= mm < 1 else mm_text(mm)


def _miss_px(framing: Framing) -> float:
    """How far a shift that is missed by HANDS_MM moves the features, px; 0 where no shift tells the scale."""
    shifts = ((framing.effects_px.right, framing.right_mm), (framing.effects_px.down, framing.down_mm))
    return max((px / abs(mm) for px, mm in shifts if mm), default=0.0) * HANDS_MM


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
    if colour.difference <= ALIKE_DE2000:
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
