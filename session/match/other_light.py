"""Another flash, or a light without its shaper, in a set built again: what has to change, and what can't be the same.

A flash gives the same light where guide number, power, loss and reach come to the same f-number. How soft shadows are
goes with the size of the source over its distance. Sources: `session.lighting.flash` (ISO 1230),
`session.lighting.source`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from session.lighting import flash
from session.match.other_body import ALIKE
from session.set.kit import Kit, KitLacksError, Light
from session.set.lights_in_use import POWER_STEPS_PER_EV, SLACK_EV
from session.set.setup import PlacedLight, put_at
from session.units.numbers import SETTING_SLACK_EV, mm_text, power_text, time_text
from session.units.quantities import QUANTITIES


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


@dataclass(frozen=True)
class Exchange:
    """A light of the set, and what stands in its place.

    flash    name of the flash in its place; its own where only the shaper or the stop differs
    shaper   before it now; "" without
    more_ev  light that is wanted over that of then, since the lens lets less through
    """

    placed: PlacedLight
    flash: str
    shaper: str
    more_ev: float = 0.0

    @property
    def is_the_same(self) -> bool:
        """Nothing is in its place, and its power is right."""
        same = self.flash == self.placed.name and self.shaper == self.placed.shaper
        return same and abs(self.more_ev) <= SLACK_EV


def on_light(exchange: Exchange, kit: Kit) -> PlacedLight:
    """The light with the power, or the distance where no power does, at which it gives the light that is wanted.

    The power is as it was where a loss isn't known. Raises KitLacksError.
    """
    then, now = _heads(exchange, kit)
    placed = exchange.placed.with_shaper(exchange.shaper)
    if then.loss_ev is None or now.loss_ev is None:
        return placed
    power_ev = _equal_power_ev(exchange, then, now)
    end_ev = _nearest_power_ev(power_ev, now)
    far_mm = placed.distance_mm
    if far_mm is not None and abs(power_ev - end_ev) > 1 / POWER_STEPS_PER_EV:
        far_mm = _distance_for(exchange, then, now, end_ev) or far_mm
    return put_at(placed, power_ev=end_ev, distance_mm=far_mm)


def other_light_words(exchange: Exchange, kit: Kit, exposure_s: float) -> tuple[str, ...]:
    """Clauses on the changes that an exchange makes; exposure_s of now. Raises KitLacksError."""
    return tuple(_words(exchange, *_heads(exchange, kit), exposure_s))


def _heads(exchange: Exchange, kit: Kit) -> tuple[_Head, _Head]:
    """The light of then and that of now."""
    placed = exchange.placed
    return _head(kit, placed.name, placed.shaper), _head(kit, exchange.flash, exchange.shaper)


def _words(exchange: Exchange, then: _Head, now: _Head, exposure_s: float) -> Iterator[str]:
    placed = exchange.placed
    if then.loss_ev is None or now.loss_ev is None:
        yield f"nobody measured what {placed.shaper!r} takes on it: set the power by its frame alone"
    elif placed.distance_mm is None:
        yield _power_from_as_far(exchange, then, now)
    else:
        yield from _power_words(exchange, then, now)
        yield from _burning_words(exchange, then, now, exposure_s)
    yield from _softness_words(placed, then, now)
    if placed.shaper and not exchange.shaper:
        yield "highlights on gloss show another shape without its shaper, and light falls where it had kept it from"
    if then.light.name != now.light.name:
        yield "its colour may differ: look at the grey card"


FAR_MM = 1000.0
"""A distance for a light of which nobody measured it, where only guide numbers and losses are compared. Chosen."""


def _iso(placed: PlacedLight, then: _Head) -> float:
    """An ISO speed at which the light comes to about f/8. Both flashes are reckoned at that speed: it cancels out."""
    f_number = 1000 * then.guide_number_m / (placed.distance_mm or FAR_MM) * 2 ** (placed.power_ev / 2)
    low, high = QUANTITIES["iso"].low, QUANTITIES["iso"].high
    return min(high, max(low, flash.GUIDE_ISO * (8 / f_number) ** 2))


def _f_number_wanted(exchange: Exchange, then: _Head) -> float:
    """The f-number for which the light must give a right exposure at `_iso`: that of then, and the light over it.

    Both losses are known.
    """
    placed = exchange.placed
    of_then = flash.f_number(
        then.guide_number_m,
        placed.distance_mm or FAR_MM,
        placed.power_ev,
        _iso(placed, then),
        source_size_mm=then.size_mm,
        loss_ev=then.loss_ev or 0.0,
        origin_behind_mm=then.origin_mm,
    )
    return of_then * float(2 ** (exchange.more_ev / 2))


def _equal_power_ev(exchange: Exchange, then: _Head, now: _Head) -> float:
    """Power (EV, 0 full) at which the flash of now gives from the same place what is wanted.

    Above 0 it hasn't enough. Both losses are known.
    """
    placed = exchange.placed
    return flash.power_ev_for(
        _f_number_wanted(exchange, then),
        now.guide_number_m,
        placed.distance_mm or FAR_MM,
        _iso(placed, then),
        source_size_mm=now.size_mm,
        loss_ev=now.loss_ev or 0.0,
        origin_behind_mm=now.origin_mm,
    )


def _nearest_power_ev(power_ev: float, now: _Head) -> float:
    """The power by thirds that the flash has and that is nearest, EV."""
    by_thirds = round(power_ev * POWER_STEPS_PER_EV) / POWER_STEPS_PER_EV
    return min(0.0, max(now.light.least_power_ev, by_thirds))


def _power_from_as_far(exchange: Exchange, then: _Head, now: _Head) -> str:
    """Words on the power that the flash has, and the EV that it lacks, for a light whose distance nobody measured."""
    power_ev = _equal_power_ev(exchange, then, now)
    end_ev = _nearest_power_ev(power_ev, now)
    change_ev, rest = end_ev - exchange.placed.power_ev, power_ev - end_ev
    change = f"{abs(change_ev):.1f} EV {'more' if change_ev > 0 else 'less'} power than then"
    words = f"{change if abs(change_ev) >= SLACK_EV else 'as much power as then'}, from as far"
    if abs(rest) <= 1 / POWER_STEPS_PER_EV:
        left = f"; {abs(rest):.2f} EV {'short' if rest > 0 else 'over'} by thirds" if abs(rest) >= SLACK_EV else ""
        return words + left
    lacks = f"{abs(rest):.1f} EV too {'little at full power' if rest > 0 else 'much at its least power'}"
    return f"{words}: {lacks}; how much {'nearer' if rest > 0 else 'farther'}, can't tell without its distance of then"


def _power_words(exchange: Exchange, then: _Head, now: _Head) -> Iterator[str]:
    placed, power_ev = exchange.placed, _equal_power_ev(exchange, then, now)
    end_ev = _nearest_power_ev(power_ev, now)
    rest = power_ev - end_ev
    if abs(rest) <= 1 / POWER_STEPS_PER_EV:
        left = f"; {abs(rest):.2f} EV {'short' if rest > 0 else 'over'} by thirds" if abs(rest) >= SLACK_EV else ""
        yield f"{power_text(end_ev)} instead of {power_text(placed.power_ev)}, from the same place{left}"
        yield "the lighting ratio is as before"
        return
    far_mm = _distance_for(exchange, then, now, end_ev)
    lacks = f"{abs(rest):.1f} EV too {'little at full power' if rest > 0 else 'much at its least power'}"
    if far_mm is None:
        yield f"{lacks}, however near: the lighting ratio can't be the same"
    else:
        yield f"{lacks}: {mm_text(far_mm)} from the piece instead of {mm_text(placed.distance_mm or 0)}"
        yield "its falloff over the piece can't be the same from there"


def _distance_for(exchange: Exchange, then: _Head, now: _Head, power_ev: float) -> float | None:
    """The distance at which it gives the light that is wanted at a power, mm; None nearer than the flash comes."""
    try:
        far_mm = flash.distance_mm_for(
            _f_number_wanted(exchange, then),
            now.guide_number_m,
            power_ev,
            _iso(exchange.placed, then),
            source_size_mm=now.size_mm,
            loss_ev=now.loss_ev or 0.0,
            origin_behind_mm=now.origin_mm,
        )
    except ValueError:
        return None
    return far_mm if far_mm >= now.light.nearest_mm else None


def _burning_words(exchange: Exchange, then: _Head, now: _Head, exposure_s: float) -> Iterator[str]:
    power_ev = min(0.0, max(now.light.least_power_ev, _equal_power_ev(exchange, then, now)))
    before_s, after_s = then.light.duration_at_s(exchange.placed.power_ev), now.light.duration_at_s(power_ev)
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
