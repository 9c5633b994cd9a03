"""The differences between two arrangements, in words: for the line on the screen and for the log's events."""

from __future__ import annotations

from dataclasses import replace

from session.set.setup import PLAIN, Placed, PlacedLight, Revision, thing_name
from session.units.numbers import share_text
from session.units.value_words import name_words, value_words, values_text

MOVED_BY_HAND = ("body", "trigger", "support")
"""Fields of a revision that hands put up, besides lens, lights and what else stands in the set."""


def setting_words(old: Revision, new: Revision) -> list[str]:
    """`aperture f/8 → f/11` for each camera setting that `new` asks for and `old` asked for otherwise."""
    before, after = old.settings.by_name(), new.settings.by_name()
    return [
        f"{name_words(name)} {value_words(name, before[name])} → {value_words(name, value)}"
        if name in before
        else f"{name_words(name)} {value_words(name, value)}"
        for name, value in after.items()
        if value != before.get(name)
    ]


def settings_left(now: Revision, then: Revision, named_by: Revision | None = None) -> str:
    """`1/200 s, f/11`: settings that are set otherwise when `then` follows `now`, as `now` has them; "": none.

    named_by   whose values are named instead
    """
    before, after, named = now.settings.by_name(), then.settings.by_name(), (named_by or now).settings.by_name()
    names = [name for name, value in after.items() if value != before.get(name)]
    values = ", ".join(values_text({name: named[name]}) if name in named else name_words(name) for name in names)
    if names and now.setup_number != then.setup_number:
        return f"set-up {(named_by or now).setup_number:02d} with {values}"
    return values


def turned_words(now: Revision, then: Revision, named_by: Revision | None = None) -> str:
    """`1/200 s, f/11, light key, region`: everything that goes when `then` follows `now`; "" when no setting does.

    named_by   whose settings are named, otherwise those of `now`
    """
    settings = settings_left(now, then, named_by)
    plain = [name_words(name) for name in PLAIN if getattr(now, name) != getattr(then, name)]
    others = dict.fromkeys((*hand_words(now, then), *plain))
    return ", ".join((settings, *others)) if settings else ""


def hand_words(old: Revision, new: Revision) -> list[str]:
    """The changes by hand that lead from `old` to `new`: `lens`, `light key`, …"""
    lens = ["lens"] if old.arrangement != new.arrangement else []
    things = list(dict.fromkeys(thing_name(thing) for thing in _changed_things(old, new)))
    plain = [name_words(name) for name in MOVED_BY_HAND if getattr(old, name) != getattr(new, name)]
    return [*lens, *things, *plain]


def change_words(old: Revision, new: Revision) -> str:
    """`aperture f/8 → f/11, light key 1/4 → 1/2, region`; "nothing" when they are alike."""
    lens = ["lens"] if old.arrangement != new.arrangement else []
    things = list(dict.fromkeys(_thing_words(old, new, thing) for thing in _changed_things(old, new)))
    plain = [name_words(name) for name in PLAIN if getattr(old, name) != getattr(new, name)]
    return ", ".join([*setting_words(old, new), *lens, *things, *plain]) or "nothing"


def other_revision_text(number: int, shot: Revision, wanted: Revision) -> str:
    """`Frame 7, the reference, was shot by set-up 07.2; 07.3 differs: light key 1/4 → 1/2.`; "" where nothing differs.

    number  of the reference; `shot` is what it was shot by, `wanted` what is built again
    """
    if shot.label == wanted.label or replace(shot, revision=wanted.revision) == wanted:
        return ""
    differs = f"{wanted.label} differs: {change_words(shot, wanted)}"
    return f"Frame {number}, the reference, was shot by set-up {shot.label}; {differs}."


def back_words(now: Revision, then: Revision) -> str:
    """`aperture back to f/11, light key back to 1/4, region as before`: the way back from `now` to `then`."""
    named, after = now.settings.by_name(), then.settings.by_name()
    settings = [
        f"{name_words(name)} back to {value_words(name, after[name])}"
        if name in after
        else f"{name_words(name)} left to the camera again"
        for name in dict.fromkeys((*after, *named))
        if after.get(name) != named.get(name)
    ]
    lens = ["lens as before"] if now.arrangement != then.arrangement else []
    things = list(dict.fromkeys(_thing_back_words(now, then, thing) for thing in _changed_things(now, then)))
    plain = [f"{name_words(name)} as before" for name in PLAIN if getattr(now, name) != getattr(then, name)]
    return ", ".join([*settings, *lens, *things, *plain]) or "nothing"


def _changed_things(old: Revision, new: Revision) -> list[Placed]:
    """Lights, and what else stands in the set, that one has otherwise than the other, or alone."""
    before, after = old.placed, new.placed
    return [*(one for one in before if one not in after), *(one for one in after if one not in before)]


def _thing_words(old: Revision, new: Revision, thing: Placed) -> str:
    name = thing_name(thing)
    sides = [[one for one in side.placed if thing_name(one) == name] for side in (old, new)]
    if not all(sides):
        return f"{name} {'taken out' if sides[0] else 'put in'}"
    before, after = sides[0][0], sides[1][0]
    if isinstance(before, PlacedLight) and isinstance(after, PlacedLight) and before.power_ev != after.power_ev:
        moved = " and moved" if replace(before, power_ev=after.power_ev) != after else ""
        return f"{name} {share_text(before.power_ev)} → {share_text(after.power_ev)}{moved}"
    return f"{name} moved"


def _thing_back_words(now: Revision, then: Revision, thing: Placed) -> str:
    name = thing_name(thing)
    here, back = ([one for one in side.placed if thing_name(one) == name] for side in (now, then))
    if not here or not back:
        return f"{name} {'out of' if here else 'in'} the set again"
    one, other = here[0], back[0]
    if isinstance(one, PlacedLight) and isinstance(other, PlacedLight) and one.power_ev != other.power_ev:
        placed = "" if replace(one, power_ev=other.power_ev) == other else " and as before"
        return f"{name} back to {share_text(other.power_ev)}{placed}"
    return f"{name} as before"
