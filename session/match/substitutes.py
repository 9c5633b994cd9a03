"""Substitutes in a set built again: what stands in the place of a thing of then, and the set-up for the same picture.

The same picture shows the same field with the same depth and light; `other_body`, `other_lens` and `other_light` tell
for each exchange how the set-up changes, and in what the picture will differ. A lens or body that lets through less
light has every light give more, so that the lighting ratio stays.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import product
from typing import Any

from session.frame.step_said import StepSaid, StepWord
from session.match.check_list import long_pause_after
from session.match.other_body import on_body, other_body_words
from session.match.other_lens import on_lens, other_lens_words
from session.match.other_light import Exchange, on_light, other_light_words
from session.match.then_and_now import STRUCK
from session.plan.arrangements import Build
from session.set.kit import Kit, KitLacksError
from session.set.lens_in_use import lens_in_use
from session.set.setup import PlacedLight, Revision, field_values, thing_name
from session.set.things import Body

LENS, FLASH, SHAPER = "instead of lens", "instead of flash ", "instead of shaper "
"""Keys of what is said of substitutes, those of lights before the light's name; the reason is the name in its place."""

NO_SHAPER = "none"
"""Said in the place of a shaper that is missing."""


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

    def with_others(self, others: Substitutes) -> Substitutes:
        """Both sets of substitutes together; of two for the same thing, the one of `others`."""
        flashes, unshaped = {**self.flashes, **others.flashes}, self.unshaped | others.unshaped
        return Substitutes(others.body or self.body, others.lens or self.lens, flashes, unshaped)


@dataclass(frozen=True)
class SubstitutedSet:
    """The set-up with what its substitutes change for the same picture.

    revision  the set-up of then where nothing is in a thing's place
    told      clauses by the keys of the steps (`camera`, `lens`, `light key`)
    has_other_lens  another lens stands in the place of that of then
    """

    revision: Revision
    told: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    has_other_lens: bool = False


def with_substitutes(revision: Revision, kit: Kit, body_then: Body | None, instead: Substitutes) -> SubstitutedSet:
    """The set-up with these substitutes, for the same picture.

    body_then  the body that shot the reference; None where the kit doesn't know it
    Raises ValueError with a sentence: KitLacksError for a name that the kit or the set doesn't have, or for numbers of
    the kit that contradict each other.
    """
    told: dict[str, tuple[str, ...]] = {}
    now, body_now = revision, body_then
    if instead.body:
        body_now = next((one for one in kit.body if one.name == instead.body), None)
        if body_now is None:
            raise KitLacksError(f"the kit has no body {instead.body!r}")
        if body_then is None:
            raise KitLacksError("the kit doesn't know the body that shot the reference")
        of_then = kit.lens_for(revision.arrangement.lens)
        words = other_body_words(revision, body_then, body_now, of_then)
        told["camera"] = words or ("nothing changes for the same picture",)
        now = on_body(revision, body_then, body_now, of_then)
    if instead.lens:
        lens = kit.lens_for(instead.lens)
        if lens is None:
            raise KitLacksError(f"the kit has no lens {instead.lens!r}")
        if body_now is None:
            raise KitLacksError("the kit has no body for the lens")
        build, times = Build(body_now, lens), body_now.sensor_width_mm / body_then.sensor_width_mm if body_then else 1.0
        told["lens"] = tuple(other_lens_words(revision, build, times))
        of_lens = on_lens(revision, build, times)
        settings = replace(now.settings, f_number=of_lens.settings.f_number)
        now = replace(now, **_lens_fields(of_lens), settings=settings)
    unknown = {*instead.flashes, *instead.unshaped} - {light.name for light in revision.lights}
    if unknown:
        raise KitLacksError(f"the set has no light {min(unknown)!r}")
    more_ev = _lacking_ev(revision, now)
    for light in revision.lights:
        shaper = "" if light.name in instead.unshaped else light.shaper
        exchange = Exchange(light, instead.flashes.get(light.name, light.name), shaper, more_ev)
        if exchange.is_the_same:
            continue
        try:
            now = now.with_light(on_light(exchange, kit))
            told[f"light {light.name}"] = other_light_words(exchange, kit, now.settings.exposure_s)
        except KitLacksError as error:
            if exchange.flash != light.name or shaper != light.shaper:
                raise
            more = f"{abs(more_ev):.1f} EV {'more' if more_ev > 0 else 'less'} light than then is wanted of it"
            told[f"light {light.name}"] = (f"{more}; {error}",)
    return SubstitutedSet(now, told, bool(instead.lens))


def substitutes_in_kit(revision: Revision, kit: Kit, body_then: Body | None, instead: Substitutes) -> SubstitutedSet:
    """The set-up with those of the substitutes that the kit still knows; why another one is left out, at its step."""
    kept, left_out = Substitutes(), {}
    for step, one in _one_by_one(instead).items():
        try:
            with_substitutes(revision, kit, body_then, kept.with_others(one))
        except ValueError as error:
            left_out[step] = (f"can't tell what changes: {error}",)
        else:
            kept = kept.with_others(one)
    found = with_substitutes(revision, kit, body_then, kept)
    return replace(found, told={**found.told, **left_out})


def _one_by_one(instead: Substitutes) -> dict[str, Substitutes]:
    """Each substitute by the key of its step, in the order in which they are put up."""
    found = {"camera": Substitutes(body=instead.body)} if instead.body else {}
    found |= {"lens": Substitutes(lens=instead.lens)} if instead.lens else {}
    for light in sorted({*instead.flashes, *instead.unshaped}):
        flashes = {light: instead.flashes[light]} if light in instead.flashes else {}
        found[f"light {light}"] = Substitutes(flashes=flashes, unshaped=instead.unshaped & {light})
    return found


def _lens_fields(of_lens: Revision) -> dict[str, Any]:
    return {"arrangement": of_lens.arrangement, "working_distance_mm": of_lens.working_distance_mm}


def _lacking_ev(then: Revision, now: Revision) -> float:
    """How much more light is wanted since the lens lets through less, EV; 0 where an aperture is set by hand."""
    marked = (then.settings.f_number, now.settings.f_number)
    if marked[0] is None or marked[1] is None or (then.arrangement, marked[0]) == (now.arrangement, marked[1]):
        return 0.0
    try:
        before, after = (
            lens_in_use(one.arrangement, one.settings.f_number or 1.0).effective_f_number for one in (then, now)
        )
    except ValueError:  # an arrangement that can't be; the rules tell it before the release
        return 0.0
    return 2 * math.log2(after / before)


# --- what a person said of them -------------------------------------------------------------------


def substitutes_said(said: Iterable[StepSaid], worked_at: Iterable[datetime], now: datetime) -> Substitutes:
    """The substitutes that words in force name; a word of an earlier reshoot counts no more.

    worked_at  when frames of the job were released, as for `reshoot_steps`
    """
    told = [one for one in said if one.word is StepWord.INSTEAD]
    times = [*worked_at, *(one.at for one in told)]
    named = {one.step: one.reason for one in told if long_pause_after(one.at, times, now, STRUCK) is None}
    return Substitutes(
        lens=named.get(LENS, ""),
        flashes={key.removeprefix(FLASH): name for key, name in named.items() if key.startswith(FLASH)},
        unshaped=frozenset(key.removeprefix(SHAPER) for key in named if key.startswith(SHAPER)),
    )


def words_for(instead: Substitutes) -> dict[str, str]:
    """The words that the log keeps of the substitutes: by key of the thing, the name in its place."""
    words = {LENS: instead.lens} if instead.lens else {}
    words |= {f"{FLASH}{light}": name for light, name in instead.flashes.items()}
    return words | {f"{SHAPER}{light}": NO_SHAPER for light in instead.unshaped}


# --- what the kit has for it ----------------------------------------------------------------------


def choices_for(step: str, revision: Revision, kit: Kit, instead: Substitutes) -> tuple[Substitutes, ...]:
    """What may stand in the place of a step's thing by the kit, the thing of then first; () for any other step.

    step     `lens`, or a light's, as `light key`
    instead  what stands in the place of all other things, which stays
    """
    if step == "lens":
        others = (lens.name for lens in kit.lens if lens.name != revision.arrangement.lens)
        return tuple(replace(instead, lens=name) for name in ("", *others))
    light = next((one for one in revision.lights if thing_name(one) == step), None)
    if light is None:
        return ()
    taken = {*(one.name for one in revision.lights), *instead.flashes.values()} - {instead.flashes.get(light.name, "")}
    flashes = {name: flash for name, flash in instead.flashes.items() if name != light.name}
    others = (one.name for one in kit.light if one.name not in taken and one.guide_number_m is not None)
    return tuple(
        replace(
            instead,
            flashes=flashes | ({light.name: name} if name else {}),
            unshaped=instead.unshaped | {light.name} if lost else instead.unshaped - {light.name},
        )
        for name, lost in product(("", *others), (False, True) if light.shaper else (False,))
    )


# --- the arrangement in force ---------------------------------------------------------------------


def changes_to(in_force: Revision, before: Revision, after: Revision) -> dict[str, object]:
    """Fields of the arrangement in force that change where a set-up goes from `before` to `after`.

    Everything else stays as hands have set it since.
    """
    changes: dict[str, object] = {}
    for name in ("arrangement", "working_distance_mm", "body"):
        if getattr(after, name) != getattr(before, name):
            changes[name] = getattr(after, name)
    if turned := _fields_that_change(before.settings, after.settings):
        changes["settings"] = replace(in_force.settings, **turned)
    lights = tuple(_with_changes(light, before, after) for light in in_force.lights)
    if lights != in_force.lights:
        changes["lights"] = lights
    return {name: value for name, value in changes.items() if value != getattr(in_force, name)}


def _with_changes(light: PlacedLight, before: Revision, after: Revision) -> PlacedLight:
    one, other = before.light(light.name), after.light(light.name)
    return replace(light, **_fields_that_change(one, other)) if one and other else light


def _fields_that_change(before: object, after: object) -> dict[str, Any]:
    """Field → its value after, of two values of a class, where it differs from that before."""
    was = field_values(before)
    return {name: value for name, value in field_values(after).items() if value != was[name]}
