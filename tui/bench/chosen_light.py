"""A light is chosen: power, distance and place by keys; what is set takes force by itself a moment later.

All changes while the light is chosen are a single act: escape, or an undo afterwards, brings back the light before.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from textual.content import Content

from session.set.kit import Kit
from session.set.setup import PlacedLight, Region, Revision
from session.shoot.acts import AskRelease, PlaceLight, StrikeLight
from session.units.ids import new_id
from session.units.numbers import height_text, mm_text, power_text, share_text, side_text
from tui.bench.mode import BenchPort
from tui.screen.panels import QUIET, cut, heading
from tui.words import adjust
from tui.words.harmless import harmless
from tui.words.keys import Where

SETTLES_S = 1.0
"""After the last key a change takes force: long enough for a few presses to be logged as one. Chosen."""


class LightMode:
    """One light, as it was when the mode began and as it is wanted."""

    where = Where.LIGHT

    def __init__(self, bench: BenchPort, name: str) -> None:
        self._bench = bench
        revision = bench.model.revision
        self._before = revision.light(name) if revision else None
        self._in_force = self._before
        self.light = self._before or PlacedLight(name)
        self._struck = False
        self._act = new_id()
        self._call_off: Callable[[], None] = lambda: None
        if self._before is None:
            self._put_in_force_later()

    def panel(self, width: int, height: int) -> list[Content]:
        """The light's numbers in full, one a line."""
        light, known = self.light, self._bench.kit.light_for(self.light.name)
        least = f"down to {share_text(known.least_power_ev)}" if known else "not in the kit"
        rows = [
            ("power", power_text(light.power_ev), least),
            ("distance", mm_text(light.distance_mm) if light.distance_mm is not None else "—", "to the piece"),
            ("side", side_text(light.azimuth_deg) or "—", "from the camera"),
            ("height", height_text(light.elevation_deg) or "—", "from the table"),
            ("shaper", harmless(light.shaper, 40) or "none", ""),
            ("note", harmless(light.note, 60) or "—", ""),
        ]
        lines = [heading(f"LIGHT {cut(harmless(light.name, 30), 20)}", "struck" if self._struck else "")]
        for name, value, aside in rows:
            lines.append(Content.assemble((f"{name:9}", QUIET), (f"{value:<12} ", "bold"), (aside, QUIET)))
        return lines

    def region(self) -> Region | None:
        return None

    def drag(self, region: Region) -> None:
        """Do nothing: the mode shows no region to draw."""

    def let_go(self) -> None:
        self.put_in_force()

    # --- keys -------------------------------------------------------------------------------------

    def act_power(self, key: str) -> None:
        self._set(adjust.stepped_power(self.light, -1 if key == "minus" else 1, self._bench.kit))

    def act_distance(self, key: str) -> None:
        self._set_or_type(adjust.stepped_distance(self.light, -1 if key == "comma" else 1), self.act_type_distance)

    def act_move(self, key: str) -> None:
        right, up = {"left": (-1, 0), "right": (1, 0), "up": (0, 1), "down": (0, -1)}[key]
        self._set_or_type(adjust.move(self.light, right, up), self.act_type_angles)

    def act_shaper(self, key: str) -> None:
        self._set(adjust.next_shaper(self.light, self._bench.kit))

    def act_type_power(self, key: str) -> None:
        self._type("power, like 1/4 or -2 EV", partial(adjust.with_power, kit=self._bench.kit))

    def act_type_distance(self, key: str) -> None:
        self._type("distance to the piece, mm", adjust.with_distance)

    def act_type_angles(self, key: str) -> None:
        self._type("side and height, like 60 left/35 up", adjust.with_angles)

    def act_type_note(self, key: str) -> None:
        self._type("note to this light", lambda light, text: replace(light, note=text), self.light.note)

    def act_strike(self, key: str) -> None:
        self._struck = not self._struck
        self._put_in_force_later()

    def act_light(self, key: str) -> None:
        """Choose another light; the changes to the light before are kept."""
        self.put_in_force()
        choose_light(self._bench, key)

    def act_release(self, key: str) -> None:
        self.act_keep(key)
        self._bench.post(AskRelease())

    def act_keep(self, key: str) -> None:
        self.put_in_force()
        self._bench.begin(None)

    def act_cancel(self, key: str) -> None:
        """The light as it was when it was chosen, though a change may have taken force since."""
        self._call_off()
        self.light, self._struck = self._before or self.light, self._before is None
        self.put_in_force()
        self._bench.begin(None)

    # --- drafts -----------------------------------------------------------------------------------

    def put_in_force(self) -> None:
        """Send the light as it is wanted now to the controller."""
        self._call_off()
        wanted = None if self._struck else self.light
        if wanted != self._in_force:
            self._in_force = wanted
            self._bench.post(PlaceLight(wanted, self._act) if wanted else StrikeLight(self.light.name, self._act))

    def _set(self, light: PlacedLight) -> None:
        if light != self.light or self._struck:
            self.light, self._struck = light, False
            self._put_in_force_later()

    def _set_or_type(self, light: PlacedLight | None, type_it: Callable[[str], None]) -> None:
        if light is None:
            type_it("")
        else:
            self._set(light)

    def _type(self, label: str, change: Callable[[PlacedLight, str], PlacedLight], value: str = "") -> None:
        def take(text: str) -> None:
            self._set(change(self.light, text))

        self._bench.ask(f"{self.light.name}: {label}", take, value)

    def _put_in_force_later(self) -> None:
        self._call_off()
        self._call_off = self._bench.later(SETTLES_S, self.put_in_force)
        self._bench.repaint()


def choose_light(bench: BenchPort, key: str) -> None:
    """Begin the mode for the light of that digit, or say that the set has no such light."""
    names = light_names(bench.model.revision, bench.kit)
    at = int(key) - 1
    if at < len(names):
        bench.begin(LightMode(bench, names[at]))
    else:
        bench.say(f"Set-up and kit have {len(names)} lights.")


def light_names(revision: Revision | None, kit: Kit) -> list[str]:
    """The lights by digit: first the lights of the set, in their order, then the rest of the kit's lights."""
    placed = [light.name for light in revision.lights] if revision else []
    return [*placed, *(light.name for light in kit.light if light.name not in placed)]
