"""Does the frame hold the client's standard: framing, margin, shadow side, background, blur, and from piece to piece.

Each departure is a caution that names the standard. What the picture can't tell is said once, in one note.

From piece to piece the frame is compared with the first accepted frame of the same view and standard. Light and colour
are those of the ground, or of the grey patch where the set-up has one, for pieces have tones of their own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from session.checks.light import colour
from session.checks.light.colour_difference import ciede2000, lab_of_linear
from session.checks.light.new_piece import ANOTHER_PIECE
from session.checks.material.check_limits import CLIPPED_SURFACE_SHARE, DRIFT_SHARE, EXPOSURE_EV
from session.checks.material.checked_picture import Material, Pair
from session.checks.standard.piece_on_ground import Outline, PieceOnGround, find
from session.frame.finding import CheckId, Finding, FlawKind, FocusJudgement, Level, Remedy, RemedyKind
from session.picture.linear_light import LUMINANCE, ev_between
from session.set.client_standard import Standard
from session.set.setup import Revision
from session.units.numbers import percent_text

FRAMING_PERCENT = float(DRIFT_SHARE) * 100
"""How far the piece's middle may lie off where no tolerance was agreed, of the long side: as a piece may drift."""

BACKGROUND_EV = float(EXPOSURE_EV)
"""How far the background may be off where no tolerance was agreed: as the exposure may."""


IN_ACCEPTED = "in the accepted frame, "


@dataclass
class _Comparison:
    """A frame beside a standard, while it is being looked at; `untold` maps what can't be told to the reason."""

    standard: Standard
    frame: Material
    example: Material | None
    revision: Revision
    untold: dict[str, list[str]] = field(default_factory=dict)

    def caution(
        self, kind: FlawKind, text: str, value: float | None = None, limit: float | None = None, unit: str = "",
        remedy: str = "",
    ) -> Finding:  # fmt: skip
        by_hand = Remedy(RemedyKind.BY_HAND, remedy) if remedy else None
        sentence = f"Standard {self.standard.name}: {text}."
        return Finding(CheckId.STANDARD, Level.CAUTION, sentence, value, limit, unit, by_hand, kind)

    def cant_tell(self, what: str, reason: str) -> None:
        self.untold.setdefault(reason, []).append(what)


def findings(
    standard: Standard, frame: Material, example: Material | None, revision: Revision, focus: FocusJudgement
) -> tuple[Finding, ...]:
    """Findings on departures from the standard, and a note on requirements that can't be judged.

    example  the accepted frame of another piece; None while there is none
    focus    the frame's blur against its own reference
    """
    one = _Comparison(standard, frame, example, revision)
    seen = find(frame)
    found = [
        *_framing(one, seen, _size_px(frame)),
        *_shadow(one, seen),
        *_background(one, seen),
        *_blur(one, focus),
        *(_from_piece_to_piece(one, seen) if standard.from_piece_to_piece else ()),
    ]
    if one.untold:
        told = "; ".join(f"{', '.join(things)}: {reason}" for reason, things in one.untold.items())
        text = f"Standard {standard.name}, not to be told from this picture: {told}."
        found.append(Finding(CheckId.STANDARD, Level.NOTE, text))
    return tuple(found)


def _size_px(frame: Material) -> tuple[int, int]:
    return frame.source.full_width_px, frame.source.full_height_px


def _framing(one: _Comparison, seen: PieceOnGround, size_px: tuple[int, int]) -> Iterator[Finding]:
    standard, outline = one.standard, seen.outline
    wanted = standard.across_percent, standard.down_percent
    if outline is None:
        if wanted != (None, None):
            one.cant_tell("framing", seen.reason)
        if standard.margin_percent is not None:
            one.cant_tell("margin", seen.reason)
        return
    longest, limit = max(size_px), standard.framing_tolerance_percent or FRAMING_PERCENT
    off = [
        0.0 if percent is None else (there - percent) * side / longest
        for there, percent, side in zip(outline.middle_percent, wanted, size_px, strict=True)
    ]
    far = math.hypot(*off)
    if far > limit:
        words = [
            f"{percent_text(abs(by) / 100)} {ways[by < 0]}"
            for by, ways in zip(off, (("right of", "left of"), ("below", "above")), strict=True)
            if abs(by) >= 0.1 * far
        ]
        text = f"the piece lies {' and '.join(words)} its place"
        yield one.caution(FlawKind.FRAMING, text, round(far, 1), limit, "%", "move piece or camera")
    if standard.margin_percent is not None:
        side, least = min(outline.margins_percent.items(), key=lambda margin: margin[1])
        if least < standard.margin_percent:
            text = f"{percent_text(least / 100)} free {_beside(side)}, {standard.margin_percent:g} % is agreed"
            yield one.caution(FlawKind.MARGIN, text, round(least, 1), standard.margin_percent, "%", "a larger field")


def _beside(side: str) -> str:
    return {"left": "on the left", "right": "on the right"}.get(side, f"{side} the piece")


def _shadow(one: _Comparison, seen: PieceOnGround) -> Iterator[Finding]:
    wanted = one.standard.shadow_side
    if wanted is None:
        return
    if not seen.shadow_sides:
        one.cant_tell("shadow side", seen.reason or "no shadow stands out")
    elif wanted not in seen.shadow_sides:
        text = f"the shadow lies {_beside(seen.shadow_sides[0])}, agreed is {_beside(wanted)}"
        yield one.caution(FlawKind.SHADOW_SIDE, text, remedy="move the key light to the other side")


def _background(one: _Comparison, seen: PieceOnGround) -> Iterator[Finding]:
    wanted = one.standard.background_ev
    if wanted is None:
        return
    if seen.ground_ev is None:
        one.cant_tell("background", seen.reason)
        return
    limit = one.standard.background_tolerance_ev or BACKGROUND_EV
    off = seen.ground_ev - wanted
    if abs(off) > limit:
        text = f"background {abs(off):.1f} EV {'under' if off < 0 else 'over'} its {_ev(wanted)}"
        yield one.caution(FlawKind.BACKGROUND, text, round(off, 2), limit, "EV", "light on the ground")


def _ev(value: float) -> str:
    return f"{value:.1f} EV".replace("-", "\u2212")


def _blur(one: _Comparison, focus: FocusJudgement) -> Iterator[Finding]:
    limit = one.standard.blur_limit_px
    if limit is None:
        return
    if focus.blur_px is None:
        one.cant_tell("blur", focus.reason or "the region shows too little detail")
    elif focus.blur_px > limit:
        text = f"blur {focus.blur_px:.1f} px over its {limit:g} px"
        yield one.caution(FlawKind.OVER_BLUR_LIMIT, text, round(focus.blur_px, 2), limit, "px", "focus again")


def _from_piece_to_piece(one: _Comparison, seen: PieceOnGround) -> Iterator[Finding]:
    standard, example = one.standard, one.example
    if example is None:
        return  # this is the first piece, or the pattern itself: nothing to compare with, and nothing wrong
    before = find(example)
    yield from _light(one, seen, before)
    limit = standard.size_tolerance_percent
    if limit is None:
        return
    if seen.outline is None or before.outline is None:
        one.cant_tell("size", seen.reason if seen.outline is None else f"{IN_ACCEPTED}{before.reason}")
        return
    larger = (_size(seen.outline) / _size(before.outline) - 1) * 100
    if abs(larger) > limit:
        word = "larger" if larger > 0 else "smaller"
        text = f"the piece shows {abs(larger):.0f} % {word} than the first one, {limit:g} % is agreed"
        yield one.caution(FlawKind.SIZE, text, round(larger, 1), limit, "%", "the same ratio, or another crop")


def _size(outline: Outline) -> float:
    return math.hypot(outline.right_percent - outline.left_percent, outline.bottom_percent - outline.top_percent)


def _light(one: _Comparison, seen: PieceOnGround, before: PieceOnGround) -> Iterator[Finding]:
    """Exposure and colour against the accepted frame, by the ground; colour by the grey patch where both show one."""
    ev_limit, colour_limit = one.standard.exposure_tolerance_ev, one.standard.colour_tolerance_de2000
    ours, theirs = seen.ground_rgb, before.ground_rgb
    reason = _no_light(seen)
    if not reason and (of_accepted := _no_light(before)):
        reason = f"{IN_ACCEPTED}{of_accepted}"
    comparable = None if reason or ours is None or theirs is None else (ours, theirs)
    if ev_limit is not None:
        if comparable is None:
            one.cant_tell("exposure from piece to piece", reason)
        else:
            off = ev_between(*(sum(w * c for w, c in zip(LUMINANCE, rgb, strict=True)) for rgb in comparable))
            if abs(off) > ev_limit:
                word = "darker" if off < 0 else "brighter"
                text = f"{abs(off):.1f} EV {word} than the first piece, {ev_limit:g} EV is agreed"
                yield one.caution(FlawKind.EXPOSURE, text, round(off, 2), ev_limit, "EV", "power, or its distance")
    if colour_limit is not None:
        difference = _patch_difference(one)
        if difference is None and comparable is not None:
            difference = _colour_difference(*comparable)
        if difference is None:
            one.cant_tell("colour from piece to piece", reason)
        elif difference > colour_limit:
            text = f"colour ΔE {difference:.1f} off the first piece, {colour_limit:g} is agreed"
            mend = "white balance, power, and the ambient light"
            yield one.caution(FlawKind.COLOUR, text, round(difference, 2), colour_limit, "ΔE2000", mend)


def _no_light(picture: PieceOnGround) -> str:
    """The reason why the light of the picture's ground can't be told; "" where it can."""
    if picture.ground_rgb is None:
        return picture.reason
    return "the ground is burnt out" if picture.clipped_share > CLIPPED_SURFACE_SHARE else ""


def _patch_difference(one: _Comparison) -> float | None:
    if one.revision.grey_patch is None or one.example is None:
        return None
    both = Pair(one.frame, one.example, ANOTHER_PIECE)
    tint = colour.measure(both, one.revision.region, one.revision.grey_patch)
    return tint.difference if tint is not None and tint.on_patch else None


def _colour_difference(ours: tuple[float, ...], theirs: tuple[float, ...]) -> float:
    """ΔE2000 of the grounds, ours brought to the luminance of theirs."""
    levels = [sum(w * c for w, c in zip(LUMINANCE, rgb, strict=True)) for rgb in (ours, theirs)]
    times = levels[1] / max(levels[0], 1e-6)
    return ciede2000(lab_of_linear(list(theirs)), lab_of_linear([channel * times for channel in ours]))
