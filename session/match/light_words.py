"""The light of a set built again as words: each light by its solos, all lights by ninths, and colour.

A light is named only where its own solo tells it, or where it is the only one. Its size is never told: a wider light
softens the edges of shadows, as a nearer one does, and how high the edge that casts them stands isn't recorded.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import chain

from session.lighting.temperature import DAYLIGHT_K, mired_warmer, temperature_after_k
from session.match.even_ninths import even_ninths, largest_after
from session.match.light_match import LightAlone, LightCompared, Tint
from session.match.step_words import (
    ALIKE_DE2000,
    FRAMED_PX,
    SURE_EV,
    SURE_NINTH_EV,
    StepWords,
    ev_words,
    warmer_words,
)
from session.set.setup import PlacedLight
from session.units.numbers import mm_text

EXPOSURE_EV = 0.1
"""Up to which a ninth of the picture, or a light, is as bright as before: flashes step by a tenth at best."""

FINE_EV = 0.15
"""Smaller amounts are set by the distance where it is known: 3 % of it are 0.1 EV (inverse square law), which a
tape tells, and a flash steps by a tenth at best."""

ELSEWHERE_EV = 0.2
"""A light that shines from elsewhere and gives so little more or less is set by all lights together: over a piece with
relief no power gives back what it gave everywhere. Chosen."""

MOST_MORE_EV = 0.25
"""By so much at most is a light that stands elsewhere set to another power so that the ninths match. Chosen."""

SMALL_TURN_DEG = 7.0
"""A light that is to be turned by more is turned before all lights are set together; less changes the ninths of the
simulated table's pieces by some hundredths of a stop. Chosen."""

TOLD_DEG = 1.0
"""Smaller turns of a light aren't asked for: a stand isn't set any finer. Chosen."""

NO_SIZE = "can't tell the size of the light from this piece"
"""Said of every light that a solo tells of."""

ALIKE_EV = 0.06
"""Up to which the colours of several lights differ from before alike: 4 mired, half of what is just told. Chosen."""

NINTHS = (
    *("upper left", "upper middle", "upper right"),
    *("left", "middle", "right"),
    *("lower left", "lower middle", "lower right"),
)
"""Names of the ninths, row by row."""


def shared_tint(solos: Mapping[str, LightAlone]) -> Tint | None:
    """The tint that two lights or more have alike, which is the camera's white balance; None where they differ."""
    tints = [one.tint for one in solos.values() if one.level_ev is not None and not one.absent]
    if len(tints) < 2 or any(one.difference <= ALIKE_DE2000 for one in tints):
        return None
    spread = max(
        max(told) - min(told) for told in ([one.warmer_ev for one in tints], [one.greener_ev for one in tints])
    )
    return tints[0] if spread <= ALIKE_EV else None


def light_told(light: PlacedLight, found: LightAlone, solos: Mapping[str, LightAlone]) -> StepWords:
    """The words on a light, by its solo of now and its solo of before.

    solos  of all lights, whose colours tell a light's gel from the white balance
    Solos with ambient in both are no proof: a light that gives little of the picture would seem to match.
    """
    told = _light_as_shown(light, found, solos)
    if told.matches and not found.framed:
        return StepWords(told.measured, "can't tell where it stands before the camera is framed as then", None)
    if not found.ambient_due or found.level_ev is None or found.absent:
        return told
    ambient = "shoot ambient alone, which is in both solos"
    if told.matches:
        return StepWords(told.measured, f"can't tell: {ambient}", None)
    return StepWords(told.measured, f"{ambient}; {told.to_do}", False)


def _light_as_shown(light: PlacedLight, found: LightAlone, solos: Mapping[str, LightAlone]) -> StepWords:
    if found.level_ev is None:
        return StepWords("", f"can't tell: too little of {light.name}'s light shows in the picture", None)
    if found.as_ambient:
        again = (
            f"ambient alone is as bright: switch {light.name} on, or shoot ambient alone again with {light.name} off"
        )
        return StepWords("gives no light over ambient alone", again, False)
    if found.absent:
        return StepWords("gives no light", f"{light.name} is off or doesn't fire: switch it on", False)
    ev, tint, shared = found.level_ev, found.tint, shared_tint(solos)
    measured = f"{ev_words(ev)}, colour ΔE {tint.difference:.1f}"
    left = []
    if found.place.elsewhere:
        measured += ", its shading differs"
        left.append(_way_back(light, found))
    elif abs(ev) > EXPOSURE_EV - SURE_EV:
        left.append(f"{light.name} {_power_or_distance(light, found)}")
    if shared is not None:
        measured += ", as every light's"
    elif tint.difference > ALIKE_DE2000:
        causes = "its gel and its shaper" if len(solos) > 1 else "its gel, its shaper and the white balance"
        left.append(f"{light.name} is {warmer_words(tint.warmer_ev, tint.greener_ev)} than before: look at {causes}")
    return StepWords(f"{measured}; {NO_SIZE}", "; ".join(left), not left)


def _way_back(light: PlacedLight, found: LightAlone) -> str:
    around, place = "clockwise around the piece, seen from above", found.place
    turns = ((place.clockwise_deg, (f"anti{around}", around)), (place.higher_deg, ("lower", "higher")))
    most = max(abs(place.clockwise_deg or 0.0), abs(place.higher_deg or 0.0))
    moves = []
    for deg, ways in turns:
        if deg is not None and abs(deg) >= max(TOLD_DEG, most / 2):
            moves.append(f"{abs(deg):.0f}° {ways[deg < 0]}")
    if place.farther_mm is not None:
        moves.append(f"{mm_text(abs(place.farther_mm))} {'nearer' if place.farther_mm > 0 else 'farther'}")
    if moves:
        return f"{light.name} {', '.join(moves)}; then see its power"
    what = "shines from another direction" if place.turned else "stands elsewhere"
    elsewhere = f"{what}, or its shaper differs; can't tell which way {place.no_way or 'from this piece'}"
    ev = found.level_ev or 0.0
    power = f"{_power_or_distance(light, found)}; it " if abs(ev) > ELSEWHERE_EV else ""
    return f"{light.name} {power}{elsewhere}"


def _power_or_distance(light: PlacedLight, found: LightAlone) -> str:
    """`0.7 EV less, or 120 mm farther`: either brings the old amount back; power alone where the falloff is the old."""
    ev = found.level_ev or 0.0
    return _ev_less(ev) if found.place.same_distance and abs(ev) >= FINE_EV else _less_or_farther(light, ev)


def _less_or_farther(light: PlacedLight, ev: float) -> str:
    if light.distance_mm is None:
        return _ev_less(ev)
    away_mm = light.distance_mm * (2 ** (ev / 2) - 1)
    by_distance = f"{mm_text(abs(away_mm))} {'farther' if away_mm > 0 else 'nearer'}"
    return by_distance if abs(ev) < FINE_EV else f"{_ev_less(ev)}, or {by_distance}"


def _ev_less(ev: float) -> str:
    return f"{abs(ev):.1f} EV {'less' if ev > 0 else 'more'}"


def together_told(
    light: LightCompared, lights: Sequence[PlacedLight], solos: Mapping[str, LightAlone], features_px: float = 0.0
) -> StepWords:
    """All lights together by ninths of the picture, and the colour.

    features_px  as in `Framing`; ninths that lie beside their places are no proof
    """
    known, tint = light.known_ev, light.tint
    if len(known) < len(NINTHS):
        return StepWords("", "can't tell the light everywhere: parts are burnt or outside the picture", None)
    most, at = _largest(light)
    measured = f"{ev_words(most)} {at}, colour ΔE {tint.difference:.1f}"
    dim = [abs(ev) <= EXPOSURE_EV - SURE_NINTH_EV for ev in known]
    if all(dim) and tint.difference <= ALIKE_DE2000:
        if features_px > FRAMED_PX:
            return StepWords(measured, "can't tell before the camera is framed as then", None)
        return StepWords(measured, "", True)
    wrong = [name for name, found in solos.items() if _is_wrong(found)]
    left = []
    if not all(dim):
        matched = all(one.name in solos for one in lights)
        left.append(_changes_to_even(light, lights, solos) or _light_left(light, lights, wrong, matched))
    if tint.difference > ALIKE_DE2000:
        left.append(_colour_left(tint, solos))
    return StepWords(measured, "; ".join(left), False)


def _colour_left(tint: Tint, solos: Mapping[str, LightAlone]) -> str:
    shared = shared_tint(solos)
    if shared is not None and abs(shared.warmer_ev) >= abs(shared.greener_ev):
        mired = mired_warmer(shared.warmer_ev)
        moved_k = round(temperature_after_k(DAYLIGHT_K, mired), -1)
        way = "cooler" if mired > 0 else "warmer"
        step = f"{abs(mired):.0f} mired {way}, as {DAYLIGHT_K:.0f} K to {moved_k:.0f} K"
        return f"white balance {step}: every light differs alike"
    tinted = [name for name, one in solos.items() if one.tint.difference > ALIKE_DE2000 and not one.absent]
    if tinted and shared is None:
        return f"see the colour of {' and '.join(tinted)} first"
    words = warmer_words(tint.warmer_ev, tint.greener_ev)
    return f"the picture is {words} than before: look at white balance, gels and ambient"


def _changes_to_even(light: LightCompared, lights: Sequence[PlacedLight], solos: Mapping[str, LightAlone]) -> str:
    """Small changes of the lights that bring every ninth nearer, into its tolerance, once little else is told of them.

    "" where a light is to be put right first, where solos have ambient in them, or where such changes aren't enough. A
    light that stands as before is changed only while its own solo still matches, any other light only while its own
    step doesn't undo the change.
    """
    told = {one.name: solos[one.name] for one in lights if one.name in solos}
    if len(told) < len(lights) or not light.now or any(not one.ninths or not one.framed for one in told.values()):
        return ""
    if any(_has_remedy(one) or one.ambient_due for one in told.values()):
        return ""
    alone_ev = EXPOSURE_EV - 1.5 * SURE_EV
    bounds = {
        name: _from_level(
            one.level_ev or 0.0,
            MOST_MORE_EV if one.place.elsewhere else math.inf,
            ELSEWHERE_EV if one.place.elsewhere else alone_ev,
        )
        for name, one in told.items()
    }
    ninths = {name: one.ninths for name, one in told.items()}
    found = even_ninths(light.then, light.now, ninths, bounds)
    by_name = {one.name: one for one in lights}
    changes = {name: _settable_ev(by_name[name], ev, bounds[name]) for name, ev in found.changes_ev.items()}
    changes = {name: ev for name, ev in changes.items() if abs(ev) >= SURE_EV}
    left_ev = largest_after(light.then, light.now, ninths, changes)  # by what is said, not by what was worked out
    if not changes or left_ev > min(EXPOSURE_EV, abs(_largest(light)[0]) - SURE_EV):
        return ""
    moves = [f"{name} {_less_or_farther(by_name[name], -ev)}" for name, ev in changes.items()]
    return f"{'; '.join(moves)}; then every ninth lies within {left_ev:.2f} EV"


def _settable_ev(light: PlacedLight, ev: float, bounds_ev: tuple[float, float]) -> float:
    """A change of the light as `_less_or_farther` tells it: in tenths, but for little of it by a distance."""
    if light.distance_mm is not None and abs(ev) < FINE_EV:
        return ev
    told_ev = round(ev, 1)
    return told_ev if bounds_ev[0] <= told_ev <= bounds_ev[1] else math.trunc(10 * ev) / 10


def _from_level(level_ev: float, most_ev: float, alone_ev: float) -> tuple[float, float]:
    """The changes (EV) of at most `most_ev` after which a light gives within `alone_ev` of what it gave before."""
    return max(-most_ev, min(0.0, -alone_ev - level_ev)), min(most_ev, max(0.0, alone_ev - level_ev))


def _has_remedy(found: LightAlone) -> bool:
    """Whether the step of a light itself says what to do about it, and that changes more than a little."""
    place, ev = found.place, abs(found.level_ev or 0.0)
    far = max(abs(place.clockwise_deg or 0.0), abs(place.higher_deg or 0.0)) > SMALL_TURN_DEG
    little_ev = ELSEWHERE_EV if place.elsewhere else EXPOSURE_EV - SURE_EV
    return found.absent or far or place.farther_mm is not None or ev > little_ev


def _light_left(light: LightCompared, lights: Sequence[PlacedLight], wrong: Sequence[str], matched: bool) -> str:
    """`matched`: every light has a solo, and matches by that solo unless it is in `wrong`."""
    if wrong:
        return f"put {' and '.join(wrong)} right first"
    spread = max(light.known_ev) - min(light.known_ev)
    middle = sorted(light.known_ev)[len(light.known_ev) // 2]
    more = f"{abs(middle):.1f} EV {'too bright' if middle > 0 else 'too dark'}"
    even = spread <= 2 * EXPOSURE_EV and abs(middle) > EXPOSURE_EV - SURE_NINTH_EV
    if len(lights) == 1 and even:
        return f"{lights[0].name} {_less_or_farther(lights[0], middle)}"
    most, at = _largest(light)
    if len(lights) == 1:
        return f"{ev_words(most)} {at}: {lights[0].name} stands elsewhere, or its shaper differs"
    seen = f"{more} all over" if even else f"{ev_words(most)} {at}"
    if matched:
        return f"{seen}; each light matches alone: release with all of them again"
    return f"{seen}; can't tell which light: shoot each light alone"


def _largest(light: LightCompared) -> tuple[float, str]:
    """The ninth that is off most, EV, and where it lies."""
    told = [one for one in zip(chain(*light.ninths_ev), NINTHS, strict=True) if not math.isnan(one[0])]
    return max(told, key=lambda one: abs(one[0]))


def _is_wrong(found: LightAlone) -> bool:
    return found.absent or found.place.elsewhere or abs(found.level_ev or 0.0) > EXPOSURE_EV - SURE_EV
