"""Substitutes in a set built again: what another lens, another flash or a missing shaper changes for the same picture,
and what can't be the same. Another body is told by `other_body`.

The same picture of the same sensor has the same ratio, and with it the same working f-number, so that depth of
field, diffraction and light are unchanged. The entrance pupil decides the perspective. A flash gives the same
light where guide number, power, loss and reach come to the same f-number. How soft shadows are goes with the size of
the source over its distance. Sources: `session.optics.closeup`, `session.optics.arrangement`, `session.lighting.flash`
(ISO 1230), `session.lighting.source`; what a lens is in use, `session.plan.arrangements`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from session.lighting import flash
from session.match.other_body import ALIKE, other_body_words
from session.plan.arrangements import Build
from session.set.kit import Kit, KitLacksError, Lens, Light
from session.set.lens_in_use import lens_in_use
from session.set.lights_in_use import POWER_STEPS_PER_EV
from session.set.setup import Arrangement, PlacedLight, Revision
from session.set.things import Body
from session.units.numbers import SETTING_SLACK_EV, f_text, mm_text, power_text, ratio_text, time_text
from session.units.quantities import QUANTITIES


@dataclass(frozen=True)
class Substitutes:
    """What stands in the place of a thing of then, by names of the kit; "" and empty where nothing does.

    flashes   the flash in the place of each light, by the light's name
    unshaped  names of the lights whose shaper is missing
    """

    body: str = ""
    lens: str = ""
    flashes: Mapping[str, str] = field(default_factory=dict)
    unshaped: frozenset[str] = frozenset()


def substitution_words(
    revision: Revision, kit: Kit, body_then: Body | None, instead: Substitutes
) -> dict[str, tuple[str, ...]]:
    """Clauses by the keys of the steps (`camera`, `lens`, `light key`) that a substitute changes.

    body_then  the body that shot the reference; None where the kit doesn't know it
    Raises KitLacksError for a name that the kit or the set doesn't have.
    """
    told: dict[str, tuple[str, ...]] = {}
    body_now = body_then
    if instead.body:
        body_now = next((one for one in kit.body if one.name == instead.body), None)
        if body_now is None:
            raise KitLacksError(f"the kit has no body {instead.body!r}")
        if body_then is None:
            raise KitLacksError("the kit doesn't know the body that shot the reference")
        words = other_body_words(revision, body_then, body_now)
        told["camera"] = words or ("nothing changes for the same picture",)
    if instead.lens:
        lens = kit.lens_for(instead.lens)
        if lens is None:
            raise KitLacksError(f"the kit has no lens {instead.lens!r}")
        if body_now is None:
            raise KitLacksError("the kit has no body for the lens")
        times = body_now.sensor_width_mm / body_then.sensor_width_mm if body_then else 1.0
        told["lens"] = tuple(_lens_words(revision, Build(body_now, lens), times))
    for name in sorted({*instead.flashes, *instead.unshaped}):
        told[f"light {name}"] = _light_words(revision, kit, name, instead)
    return told


# --- another lens ---------------------------------------------------------------------------------


def arrangement_with(build: Build, magnification: float) -> Arrangement:
    """The lens as it comes to a ratio, on tubes of (m − m_closest)·f mm where it doesn't by itself."""
    own = build.own_ratio_for(magnification)
    focal_mm, lens = build.focal_length_mm(own), build.lens
    short = magnification - (build.ratio(own) or 0.0)
    extension_mm = short * focal_mm if lens.closest_magnification and short > ALIKE * magnification else 0.0
    return Arrangement(lens.name, focal_mm, magnification, build.pupil_magnification, extension_mm=extension_mm)


def _lens_words(revision: Revision, build: Build, times: float) -> Iterator[str]:
    """`times`: how many times as wide the sensor is as that of then."""
    old, wanted = revision.arrangement, revision.arrangement.magnification * times
    lens = build.lens
    now = arrangement_with(build, wanted)
    f_number = revision.settings.f_number
    marked = f_number or 1.0
    then_used, now_used = lens_in_use(old, marked), lens_in_use(now, marked)
    yield f"{lens.name} at {ratio_text(wanted)} shows the same field"
    if now.extension_mm:
        by_itself, tubes = ratio_text(lens.closest_magnification), mm_text(now.extension_mm)
        yield f"it comes to {by_itself} by itself: {tubes} of tubes for it"
    if f_number is not None:
        works = then_used.effective_f_number * times / now_used.effective_f_number
        yield from _stop_words(lens, f_number, f_number * works)
    nearer_mm = then_used.entrance_pupil_distance_mm - now_used.entrance_pupil_distance_mm
    if abs(nearer_mm) <= ALIKE * then_used.entrance_pupil_distance_mm:
        yield "the perspective is as before"
    else:
        way = "nearer" if nearer_mm > 0 else "farther"
        yield (
            f"its entrance pupil stands {mm_text(abs(nearer_mm))} {way} for it, so that the perspective, and what lies "
            "behind the piece, can't be the same"
        )
    to_pupil_mm = build.front_to_pupil_mm()
    if to_pupil_mm is not None:
        front_mm = now_used.entrance_pupil_distance_mm - to_pupil_mm
        yield f"{mm_text(front_mm)} from its front to the piece" if front_mm > 0 else "it would touch the piece"


def _stop_words(lens: Lens, f_number: float, wanted: float) -> Iterator[str]:
    """On the marked f-number that works as that of then did."""
    if abs(math.log2(wanted / f_number)) * 2 > SETTING_SLACK_EV:
        yield f"{f_text(wanted)} instead of {f_text(f_number)}: as much depth of field, diffraction and light as then"
    for limit, is_out, word in (
        (lens.smallest_f_number, wanted > lens.smallest_f_number * (1 + ALIKE), "closes down"),
        (lens.widest_f_number, wanted < lens.widest_f_number * (1 - ALIKE), "opens"),
    ):
        if is_out:
            off_ev = abs(2 * math.log2(wanted / limit))
            yield f"it {word} to {f_text(limit)} only: depth and light {off_ev:.1f} EV off can't be the same"


# --- another flash, a missing shaper ---------------------------------------------------------------


@dataclass(frozen=True)
class _Head:
    """A flash with its shaper: guide number (m), loss (EV) or None, size of what shines and its origin (mm)."""

    light: Light
    guide_number_m: float
    loss_ev: float | None
    size_mm: float
    origin_mm: float


def _head(kit: Kit, name: str, shaper: str) -> _Head:
    light, known = kit.light_for(name), kit.shaper_for(shaper)
    if light is None:
        raise KitLacksError(f"the kit has no light {name!r}")
    if light.kind != "flash" or light.guide_number_m is None:
        raise KitLacksError(f"the kit has no guide number of {name!r}")
    size_mm = known.source_size_mm if known and known.source_size_mm else 0.0 if shaper else light.source_size_mm
    return _Head(light, light.guide_number_m, kit.loss_ev(light, shaper), size_mm, kit.origin_behind_mm(light, shaper))


def _light_words(revision: Revision, kit: Kit, name: str, instead: Substitutes) -> tuple[str, ...]:
    placed = revision.light(name)
    if placed is None:
        raise KitLacksError(f"the set has no light {name!r}")
    shaper = "" if name in instead.unshaped else placed.shaper
    then, now = _head(kit, name, placed.shaper), _head(kit, instead.flashes.get(name, name), shaper)
    return tuple(_head_words(placed, then, now, shaper, revision.settings.exposure_s))


def _head_words(placed: PlacedLight, then: _Head, now: _Head, shaper: str, exposure_s: float) -> Iterator[str]:
    if then.loss_ev is None or now.loss_ev is None:
        yield f"nobody measured what {placed.shaper!r} takes on it: set the power by its frame alone"
    elif placed.distance_mm is None:
        change_ev = equal_power_ev(placed, then, now) - placed.power_ev
        yield f"{abs(change_ev):.1f} EV {'more' if change_ev > 0 else 'less'} power than then, from as far"
    else:
        yield from _power_words(placed, then, now)
        yield from _burning_words(placed, then, now, exposure_s)
    yield from _softness_words(placed, then, now)
    if placed.shaper and not shaper:
        yield "highlights on gloss show another shape without its shaper, and light falls where it had kept it from"
    if then.light.name != now.light.name:
        yield "its colour may differ: look at the grey card"


FAR_MM = 1000.0
"""A distance for a light of which nobody measured it, where only guide numbers and losses are compared. Chosen."""


def _iso(placed: PlacedLight, then: _Head) -> float:
    """An ISO speed at which the light comes to about f/8; used for both flashes, so that it cancels out."""
    f_number = 1000 * then.guide_number_m / (placed.distance_mm or FAR_MM) * 2 ** (placed.power_ev / 2)
    low, high = QUANTITIES["iso"].low, QUANTITIES["iso"].high
    return min(high, max(low, flash.GUIDE_ISO * (8 / f_number) ** 2))


def _f_number_then(placed: PlacedLight, then: _Head) -> float:
    """The f-number for which the flash of then gave a right exposure at `_iso`; both losses are known."""
    return flash.f_number(
        then.guide_number_m,
        placed.distance_mm or FAR_MM,
        placed.power_ev,
        _iso(placed, then),
        source_size_mm=then.size_mm,
        loss_ev=then.loss_ev or 0.0,
        origin_behind_mm=then.origin_mm,
    )


def equal_power_ev(placed: PlacedLight, then: _Head, now: _Head) -> float:
    """Power (EV, 0 full) at which the flash of now gives from the same place what that of then gave.

    Above 0 it hasn't enough. Both losses are known.
    """
    return flash.power_ev_for(
        _f_number_then(placed, then),
        now.guide_number_m,
        placed.distance_mm or FAR_MM,
        _iso(placed, then),
        source_size_mm=now.size_mm,
        loss_ev=now.loss_ev or 0.0,
        origin_behind_mm=now.origin_mm,
    )


def _power_words(placed: PlacedLight, then: _Head, now: _Head) -> Iterator[str]:
    power_ev = equal_power_ev(placed, then, now)
    least_ev = now.light.least_power_ev
    if least_ev <= power_ev <= 0:
        step_ev = round(power_ev * POWER_STEPS_PER_EV) / POWER_STEPS_PER_EV
        rest = power_ev - step_ev
        left = f"; {abs(rest):.2f} EV {'short' if rest > 0 else 'over'} by thirds" if abs(rest) >= 0.05 else ""
        yield f"{power_text(step_ev)} instead of {power_text(placed.power_ev)}, from the same place{left}"
        yield "the lighting ratio is as before"
        return
    end_ev = 0.0 if power_ev > 0 else least_ev
    off_ev = power_ev - end_ev
    far_mm = _distance_for(placed, then, now, end_ev)
    lacks = f"{abs(off_ev):.1f} EV too {'little at full power' if off_ev > 0 else 'much at its least power'}"
    if far_mm is None:
        yield f"{lacks}, however near: the lighting ratio can't be the same"
    else:
        yield f"{lacks}: {mm_text(far_mm)} from the piece instead of {mm_text(placed.distance_mm or 0)}"
        yield "its falloff over the piece can't be the same from there"


def _distance_for(placed: PlacedLight, then: _Head, now: _Head, power_ev: float) -> float | None:
    """The distance at which it gives the light of then at a power, mm; None nearer than the flash comes."""
    try:
        far_mm = flash.distance_mm_for(
            _f_number_then(placed, then),
            now.guide_number_m,
            power_ev,
            _iso(placed, then),
            source_size_mm=now.size_mm,
            loss_ev=now.loss_ev or 0.0,
            origin_behind_mm=now.origin_mm,
        )
    except ValueError:
        return None
    return far_mm if far_mm >= now.light.nearest_mm else None


def _burning_words(placed: PlacedLight, then: _Head, now: _Head, exposure_s: float) -> Iterator[str]:
    power_ev = min(0.0, max(now.light.least_power_ev, equal_power_ev(placed, then, now)))
    before_s, after_s = then.light.duration_at_s(placed.power_ev), now.light.duration_at_s(power_ev)
    if before_s and after_s and abs(math.log2(after_s / before_s)) > SETTING_SLACK_EV:
        shut = ", longer than the shutter is open" if after_s > exposure_s else ""
        yield f"its flash lasts {time_text(after_s)} instead of {time_text(before_s)} (t0.1){shut}"


def _softness_words(placed: PlacedLight, then: _Head, now: _Head) -> Iterator[str]:
    if not then.size_mm or not now.size_mm:
        if then.size_mm != now.size_mm or placed.shaper:
            yield "can't tell how soft its shadows are: the kit lacks a size"
        return
    times = now.size_mm / then.size_mm
    if abs(times - 1) <= ALIKE:
        return
    what = f"{times:.1f} times as soft" if times > 1 else f"{1 / times:.1f} times as hard"
    sizes = f"{mm_text(now.size_mm)} across instead of {mm_text(then.size_mm)}"
    words = f"shadow edges {what} ({sizes}), which can't be the same"
    if placed.distance_mm is not None and (same_mm := placed.distance_mm * times) >= now.light.nearest_mm:
        words += f" but from {mm_text(same_mm)}, with another falloff"
    yield words
