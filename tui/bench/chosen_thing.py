"""A light, or a reflector, flag or glass is chosen: its place and numbers by keys, in force by itself a moment later.

All changes while the thing is chosen are a single act: escape, or an undo afterwards, brings back what stood before.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from textwrap import wrap
from typing import Generic

from textual.content import Content

from session.set.kit import Kit
from session.set.setup import PassiveItem, PlacedLight, Region, Revision, kind_word, thing_name
from session.shoot.acts import Act, AskRelease, PlaceItem, PlaceLight, StrikeItem, StrikeLight
from session.units.ids import new_id
from session.units.numbers import height_text, mm_text, power_text, share_text, side_text
from session.units.value_words import size_words, turned_words
from tui.bench.mode import BenchPort
from tui.screen.panels import QUIET, cut, heading
from tui.words import adjust
from tui.words.adjust import ThingT
from tui.words.harmless import harmless
from tui.words.keys import Where
from tui.words.order_words import count_words
from tui.words.setup_words import taped_words

SETTLES_S = 1.0
"""After the last key a change takes force: long enough for a few presses to be logged as one. Chosen."""

Row = tuple[str, str, str]

NAME_COLUMNS = 9


def row_lines(row: Row, width: int) -> list[Content]:
    """A row of the panel; what is too wide for one line goes on under the value, and a blank value is a dash."""
    name, value, aside = row
    first, *others = wrap(value, max(8, width - NAME_COLUMNS)) or ["—"]
    beside = not others and NAME_COLUMNS + max(12, len(first)) + 1 + len(aside) <= width
    lines = [
        Content.assemble((f"{name:{NAME_COLUMNS}}", QUIET), (f"{first:<12} ", "bold"), (aside if beside else "", QUIET))
    ]
    lines += [Content.styled(" " * NAME_COLUMNS + part, "bold") for part in others]
    return [*lines, Content.styled(" " * NAME_COLUMNS + aside, QUIET)] if aside and not beside else lines


class ThingMode(Generic[ThingT]):
    """Something that stands in the set, as it was when the mode began and as it is wanted."""

    where: Where

    def __init__(self, bench: BenchPort, before: ThingT | None, thing: ThingT) -> None:
        """`before`: the thing as it stands in the set, None for a new thing."""
        self._bench = bench
        self._before: ThingT | None = before
        self._in_force: ThingT | None = before
        self.thing: ThingT = thing
        self._struck = False
        self._act = new_id()
        self._call_off: Callable[[], None] = lambda: None
        if before is None:
            self._put_in_force_later()

    def change_to(self, wanted: ThingT | None) -> Act:
        """The act that puts the thing up as wanted, or strikes the thing for None."""
        raise NotImplementedError

    def heading(self) -> str:
        """The kind of thing, in capitals, and the thing's name."""
        raise NotImplementedError

    def rows(self) -> list[Row]:
        """Its numbers: name, value, what is measured."""
        raise NotImplementedError

    def place_rows(self) -> list[Row]:
        """Where it stands."""
        thing = self.thing
        return [
            ("distance", mm_text(thing.distance_mm) if thing.distance_mm is not None else "—", "to the piece"),
            ("side", side_text(thing.azimuth_deg) or "—", "from the camera"),
            ("height", height_text(thing.elevation_deg) or "—", "from the table"),
        ]

    def panel(self, width: int, height: int) -> list[Content]:
        """The heading and the thing's numbers, line by line."""
        lines = [heading(self.heading(), "struck" if self._struck else "")]
        for row in [*self.rows(), ("note", harmless(self.thing.note, 60) or "—", "")]:
            lines += row_lines(row, width)
        return lines

    def headline(self) -> None:
        """Leave the large line to the model."""

    def picture(self) -> None:
        """Leave the picture to the model."""

    def caption(self) -> str:
        return ""

    def region(self) -> Region | None:
        return None

    def drag(self, region: Region) -> None:
        """Do nothing: the mode shows no region to draw."""

    def let_go(self) -> None:
        self.put_in_force()

    # --- keys -------------------------------------------------------------------------------------

    def act_distance(self, key: str) -> None:
        self._set_or_type(adjust.stepped_distance(self.thing, -1 if key == "comma" else 1), self.act_type_distance)

    def act_move(self, key: str) -> None:
        right, up = {"left": (-1, 0), "right": (1, 0), "up": (0, 1), "down": (0, -1)}[key]
        self._set_or_type(adjust.move(self.thing, right, up), self.act_type_angles)

    def act_type_distance(self, key: str) -> None:
        """A distance alone, or the place by tape."""

        def change(thing: ThingT, text: str) -> ThingT:
            place = adjust.place_by_tape(text, self._bench.model.revision or Revision())
            if place is None:
                return adjust.with_distance(thing, text)
            self._bench.say(taped_words(place))
            return adjust.at_place(thing, place)

        self._bench.say(adjust.BY_TAPE)
        self.type_in("mm, or its place by tape", change)

    def act_type_angles(self, key: str) -> None:
        self.type_in("side and height, like 60 left/35 up", adjust.with_angles)

    def act_type_size(self, key: str) -> None:
        self.type_in("width x height, mm, like 210 x 297", adjust.with_size)

    def act_type_note(self, key: str) -> None:
        self.type_in("note", lambda thing, text: replace(thing, note=text), self.thing.note)

    def act_strike(self, key: str) -> None:
        self._struck = not self._struck
        self._put_in_force_later()

    def act_light(self, key: str) -> None:
        """Choose another; the changes to the one before are kept."""
        self.put_in_force()
        choose_thing(self._bench, key)

    def act_release(self, key: str) -> None:
        self.act_keep(key)
        self._bench.post(AskRelease())

    def act_keep(self, key: str) -> None:
        self.put_in_force()
        self._bench.begin(None)

    def act_cancel(self, key: str) -> None:
        """The thing as it was when it was chosen, though a change may have taken force since."""
        self._call_off()
        self.thing, self._struck = self._before or self.thing, self._before is None
        self.put_in_force()
        self._bench.begin(None)

    # --- drafts -----------------------------------------------------------------------------------

    def put_in_force(self) -> None:
        """Send the thing as it is wanted now to the controller."""
        self._call_off()
        wanted = None if self._struck else self.thing
        if wanted != self._in_force:
            self._in_force = wanted
            self._bench.post(self.change_to(wanted))

    def set_to(self, thing: ThingT) -> None:
        """Change the thing, in force a moment later."""
        if thing != self.thing or self._struck:
            self.thing, self._struck = thing, False
            self._put_in_force_later()

    def type_in(self, label: str, change: Callable[[ThingT, str], ThingT], value: str = "") -> None:
        """Ask for a line, and have the thing as `change` makes it of that."""

        def take(text: str) -> None:
            self.set_to(change(self.thing, text))

        self._bench.ask(f"{cut(harmless(self.thing.name, 30), 16)}: {label}", take, value)

    def _set_or_type(self, thing: ThingT | None, type_it: Callable[[str], None]) -> None:
        if thing is None:
            type_it("")
        else:
            self.set_to(thing)

    def _put_in_force_later(self) -> None:
        self._call_off()
        self._call_off = self._bench.later(SETTLES_S, self.put_in_force)
        self._bench.repaint()


class LightMode(ThingMode[PlacedLight]):
    """A light, with its power and shaper."""

    where = Where.LIGHT

    def __init__(self, bench: BenchPort, name: str) -> None:
        before = bench.model.revision.light(name) if bench.model.revision else None
        super().__init__(bench, before, before or PlacedLight(name))

    def change_to(self, wanted: PlacedLight | None) -> Act:
        return PlaceLight(wanted, self._act) if wanted else StrikeLight(self.thing.name, self._act)

    def heading(self) -> str:
        return f"LIGHT {cut(harmless(self.thing.name, 30), 20)}"

    def rows(self) -> list[Row]:
        light, known = self.thing, self._bench.kit.light_for(self.thing.name)
        least = f"down to {share_text(known.least_power_ev)}" if known else "not in the kit"
        shaper = harmless(light.shaper, 40) or "none"
        rows = [("power", power_text(light.power_ev), least), *self.place_rows(), ("shaper", shaper, "")]
        return [*rows, ("size", size_words(light.width_mm, light.height_mm) or "—", "of what shines")]

    def act_power(self, key: str) -> None:
        self.set_to(adjust.stepped_power(self.thing, -1 if key == "minus" else 1, self._bench.kit))

    def act_shaper(self, key: str) -> None:
        self.set_to(adjust.next_shaper(self.thing, self._bench.kit))

    def act_type_power(self, key: str) -> None:
        self.type_in("power, like 1/4 or -2 EV", partial(adjust.with_power, kit=self._bench.kit))


class ItemMode(ThingMode[PassiveItem]):
    """A reflector, flag or glass, with its size and the way that it faces."""

    where = Where.ITEM

    def __init__(self, bench: BenchPort, item: PassiveItem) -> None:
        super().__init__(bench, bench.model.revision.item(thing_name(item)) if bench.model.revision else None, item)

    def change_to(self, wanted: PassiveItem | None) -> Act:
        return PlaceItem(wanted, self._act) if wanted else StrikeItem(thing_name(self.thing), self._act)

    def heading(self) -> str:
        return f"{cut(harmless(kind_word(self.thing).upper(), 20), 12)} {cut(harmless(self.thing.name, 30), 20)}"

    def rows(self) -> list[Row]:
        size = size_words(self.thing.width_mm, self.thing.height_mm)
        turned = turned_words(self.thing.turned_deg, self.thing.turned_to).removeprefix("turned ")
        face = ("face", turned or "—", "turned from the piece")
        return [("size", size or "—", "width × height"), *self.place_rows(), face]

    def act_type_turn(self, key: str) -> None:
        self.type_in("its face turned from the piece, like 45 left or 30 up", adjust.with_turn)


def choose_thing(bench: BenchPort, key: str) -> None:
    """Begin the mode for the thing of that digit, or say that the set has no such thing."""
    things = things_by_digit(bench.model.revision, bench.kit)
    at = int(key) - 1
    if at >= len(things):
        bench.say(
            f"Set-up and kit have {count_words(len(things), 'thing')} to choose; 0 puts up a reflector, flag or glass."
        )
        return
    chosen = things[at]
    bench.begin(LightMode(bench, chosen) if isinstance(chosen, str) else ItemMode(bench, chosen))


def new_item(bench: BenchPort) -> None:
    """Ask what is put up, and begin the mode for it."""

    def take(text: str) -> None:
        item = adjust.item_from(text)
        here = bench.model.revision.item(thing_name(item)) if bench.model.revision else None
        bench.begin(ItemMode(bench, here or item))

    bench.ask("reflector, flag or glass, its name, its size like 210 x 297", take)


def things_by_digit(revision: Revision | None, kit: Kit) -> list[str | PassiveItem]:
    """By digit: the set's lights by name, its reflectors, flags and glass, then the kit's other lights by name."""
    placed = [light.name for light in revision.lights] if revision else []
    others = (light.name for light in kit.light if light.name not in placed)
    return [*placed, *(revision.passive if revision else ()), *others]
