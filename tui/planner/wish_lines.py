"""The lines of the wish on the planner: a line has a value's text, its next values and its reading when typed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from session.plan.wish import WantedLight, Wish
from session.set.kit import Kit
from session.units.numbers import ev_text, mm_text, percent_text
from session.units.surfaces import SURFACES
from tui.words.adjust import beside, number_in

Value = float | str

DECADE = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)


def series(low: float, high: float) -> tuple[float, ...]:
    """About ten rounded steps a decade, from low to high, for the keys; anything else can be typed. Chosen."""
    steps = [float(f"{step * 10.0**decade:.3g}") for decade in range(-4, 6) for step in DECADE]
    return tuple(step for step in steps if low <= step <= high)


def _quantity(name: str) -> Callable[[str], Value]:
    return lambda text: number_in(text, name)


def _optional(name: str) -> Callable[[str], Value | None]:
    """A number, or nothing typed for `not asked`."""
    return lambda text: number_in(text, name) if text.strip() else None


@dataclass(frozen=True)
class WishLine:
    """One line.

    shown       how a value reads; `none` how it reads when nobody asked
    from_typed  a value out of typed text, ValueError with a sentence
    steps       what the keys offer, for this kit
    """

    label: str
    name: str
    shown: Callable[[Any], str]
    from_typed: Callable[[str], Value | None]
    steps: Callable[[Kit], Sequence[Value]]
    none: str = "not asked"

    def text(self, wish: Wish) -> str:
        """The value as it reads."""
        value = getattr(wish, self.name)
        return self.none if value in (None, "") else self.shown(value)

    def step(self, wish: Wish, steps: int, kit: Kit) -> Wish:
        """The next lower or higher value on offer. Raises ValueError with a sentence when they don't go together."""
        offered, value = self.steps(kit), getattr(wish, self.name)
        if not offered:
            return wish
        return self.with_value(wish, offered[0] if value is None else beside(value, offered, steps))

    def with_value(self, wish: Wish, value: Value | None) -> Wish:
        """The wish with this value. Raises ValueError with a sentence when it can't be meant."""
        changes: dict[str, Any] = {self.name: value}
        return replace(wish, **changes)


def _names(things: str) -> Callable[[Kit], Sequence[Value]]:
    return lambda kit: ["", *(thing.name for thing in getattr(kit, things))]


def _size(label: str, name: str, quantity: str = "") -> WishLine:
    return WishLine(label, name, mm_text, _quantity(quantity or name), lambda kit: series(0.5, 500))


class LightsLine(WishLine):
    """Which lights work together: names with their level beside the key and their angle, typed `key, fill=-2`."""

    def text(self, wish: Wish) -> str:
        return ", ".join(_wanted_text(light) for light in wish.wanted_lights) or self.none

    def step(self, wish: Wish, steps: int, kit: Kit) -> Wish:
        return self.with_value(wish, beside(", ".join(wish.lights), self.steps(kit), steps))

    def with_value(self, wish: Wish, value: Value | None) -> Wish:
        return replace(wish, lights=tuple(name.strip() for name in str(value or "").split(",") if name.strip()))


def _wanted_text(light: WantedLight) -> str:
    """`fill −2 EV`, `rim 120°`."""
    level = "" if light.level_ev is None else f" {ev_text(light.level_ev)}"
    return f"{light.name}{level}" + ("" if light.from_axis_deg is None else f" {light.from_axis_deg:g}°")


def _light_choices(kit: Kit) -> Sequence[Value]:
    """A flash of the planner's choice, each flash alone, the first with every other flash, and all flashes."""
    names = [light.name for light in kit.light if light.kind == "flash" and light.guide_number_m is not None]
    pairs = [f"{names[0]}, {name}" for name in names[1:]]
    return ["", *names, *pairs, *([", ".join(names)] if len(names) > 2 else [])]


LINES: tuple[WishLine, ...] = (
    _size("piece width", "piece_width_mm"),
    _size("piece height", "piece_height_mm"),
    WishLine("its depth", "relief_mm", mm_text, _quantity("relief_mm"), lambda kit: (0.0, *series(0.1, 200))),
    WishLine(
        "must be sharp", "depth_needed_mm", mm_text, _optional("depth_needed_mm"), lambda kit: series(0.1, 200), "all"
    ),
    WishLine(
        "blur radius",
        "blur_radius_on_piece_mm",
        "{:.3g} mm".format,
        _optional("blur_radius_on_piece_mm"),
        lambda kit: series(0.001, 0.5),
        "one pixel",
    ),
    WishLine(
        "delivered",
        "delivered_pixels",
        "{:.0f} px".format,
        _optional("delivered_pixels"),
        lambda kit: (1000.0, 1200.0, 1600.0, 2000.0, 2400.0, 3000.0, 4000.0, 5000.0, 6000.0, 8000.0),
    ),
    WishLine("piece fills", "fill", percent_text, _quantity("fill"), lambda kit: (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)),
    WishLine(
        "free in front",
        "clear_in_front_mm",
        mm_text,
        _quantity("clear_in_front_mm"),
        lambda kit: (0.0, *series(5, 500)),
    ),
    WishLine("glass plate", "plate", str, str.strip, _names("plate"), "none"),
    WishLine("surface", "surface", str, str.strip, lambda kit: SURFACES),
    LightsLine("lights", "lights", str, str.strip, _light_choices, "one flash"),
    WishLine("body", "body", str, str.strip, _names("body"), "any"),
    WishLine("lens", "lens", str, str.strip, _names("lens"), "any"),
    WishLine("ISO", "iso", "{:.0f}".format, _quantity("iso"), lambda kit: (50.0, 64.0, 100.0, 200.0, 400.0, 800.0)),
)

FIRST_WISH = Wish(28.0, 28.0, relief_mm=2.4, delivered_pixels=2400.0, blur_radius_on_piece_mm=0.015)
"""What the planner begins with: a watch movement for a page 2400 px wide. An example, to be changed."""
