"""What differs between two arrangements, in words: for the line that says so, and for the log's events."""

from __future__ import annotations

from session.numbers import share_text
from session.rules.exposing import WORDS, listed, shown
from session.setup import PlacedLight, Revision

PLAIN_WORDS = {
    "passive": "reflectors, flags and glass",
    "region": "region",
    "grey_patch": "grey patch",
    "body": "body",
    "trigger": "trigger",
    "support": "support",
    "hold_off_s": "hold-off",
    "blur_limit_px": "blur limit",
    "depth_needed_mm": "depth needed",
    "must_be_sharp": "what must be sharp",
    "may_fall_off": "what may fall off",
    "ambient_ev": "ambient light",
    "confirmed": "what is confirmed by hand",
    "notes": "notes",
}
"""Fields of a revision that are one value each → what they are called in a sentence."""

MOVED_BY_HAND = ("passive", "body", "trigger", "support")
"""Those of them that hands put up."""


def setting_words(old: Revision, new: Revision) -> list[str]:
    """`aperture f/8 → f/11` for each camera setting that `new` asks for and `old` asked for otherwise."""
    before, after = old.settings.asked(), new.settings.asked()
    return [
        f"{WORDS[name]} {shown(name, before[name])} → {shown(name, value)}"
        if name in before
        else f"{WORDS[name]} {shown(name, value)}"
        for name, value in after.items()
        if value != before.get(name)
    ]


def settings_left(now: Revision, then: Revision, named_by: Revision | None = None) -> str:
    """`1/200 s, f/11`: settings that are set otherwise when `then` follows `now`, as `now` has them; "": none.

    named_by   whose values are named instead
    """
    before, after, named = now.settings.asked(), then.settings.asked(), (named_by or now).settings.asked()
    names = [name for name, value in after.items() if value != before.get(name)]
    values = ", ".join(listed({name: named[name]}) if name in named else WORDS[name] for name in names)
    if names and now.setup_number != then.setup_number:
        return f"set-up {(named_by or now).setup_number:02d} with {values}"
    return values


def hand_words(old: Revision, new: Revision) -> list[str]:
    """What hands must change at the set to come from `old` to `new`: `lens`, `light key`, …"""
    lens = ["lens"] if old.arrangement != new.arrangement else []
    lights = [f"light {name}" for name in _light_names(old, new) if old.light(name) != new.light(name)]
    plain = [PLAIN_WORDS[name] for name in MOVED_BY_HAND if getattr(old, name) != getattr(new, name)]
    return [*lens, *lights, *plain]


def change_words(old: Revision, new: Revision) -> str:
    """`aperture f/8 → f/11, light key 1/4 → 1/2, region`; "nothing" when they are alike."""
    lens = ["lens"] if old.arrangement != new.arrangement else []
    lights = [_light_words(old.light(name), new.light(name), name) for name in _light_names(old, new)]
    plain = [words for name, words in PLAIN_WORDS.items() if getattr(old, name) != getattr(new, name)]
    return ", ".join([*setting_words(old, new), *lens, *(one for one in lights if one), *plain]) or "nothing"


def _light_names(old: Revision, new: Revision) -> list[str]:
    return list(dict.fromkeys(light.name for light in (*old.lights, *new.lights)))


def _light_words(old: PlacedLight | None, new: PlacedLight | None, name: str) -> str:
    if old == new:
        return ""
    if old is None or new is None:
        return f"light {name} {'put in' if old is None else 'taken out'}"
    power = f" {share_text(old.power_ev)} → {share_text(new.power_ev)}" if old.power_ev != new.power_ev else " moved"
    return f"light {name}{power}"
