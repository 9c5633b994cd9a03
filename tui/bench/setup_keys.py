"""Keys that change the set-up: a light, the settings, the region, the grey patch, the place, another set-up."""

from __future__ import annotations

from session.series.series_look import SeriesLooker
from session.set.setup import Region
from session.shoot.acts import KeepGreyCard, NewSetup
from session.shoot.events import About
from tui.bench.chosen_thing import choose_thing, new_item
from tui.bench.mode import BenchPort
from tui.bench.places_mode import PlacesMode, go_to_view
from tui.bench.region_mode import PatchMode, RegionMode
from tui.bench.series_mode import SeriesMode
from tui.bench.setting_lines import SettingsMode
from tui.bench.solo_mode import SoloMode
from tui.words.keys import Where, cap_of

FEW_LIGHTS = "Solos tell two lights or more from each other; this set has fewer. A digit puts a light up."
PATCH_AT_FIRST = Region(0.02, 0.86, 0.12, 0.12)
"""Where a grey patch is offered at first: a corner, where a card is out of the way. Chosen."""


class SetupKeys:
    """The keys that begin a mode, or ask for a line, about the arrangement."""

    def __init__(self, bench: BenchPort) -> None:
        self._bench = bench
        self._series_looker = SeriesLooker()  # keeps what it measured while the series is left for a moment

    def act_light(self, key: str) -> None:
        choose_thing(self._bench, key)

    def act_new_item(self, key: str) -> None:
        if self._bench.model.revision:
            new_item(self._bench)

    def act_settings(self, key: str) -> None:
        if self._bench.model.revision:
            self._bench.begin(SettingsMode(self._bench))

    def act_region(self, key: str) -> None:
        if self._bench.model.revision:
            self._bench.model.chosen = None
            self._say_blind()
            self._bench.begin(RegionMode(self._bench, self._bench.model.revision.region))

    def _say_blind(self) -> None:
        """Say that there is no picture yet to frame the region over, and how there comes to be one."""
        model = self._bench.model
        if model.frame is not None or model.live.on:
            return
        can_look = model.description is not None and model.description.live_view
        first = f"{cap_of(Where.BENCH, 'live')} switches live view on" if can_look else "release a frame first"
        self._bench.say(f"There is no picture yet to frame the region over: {first}.", About.LIVE_FIRST)

    def act_grey_patch(self, key: str) -> None:
        revision = self._bench.model.revision
        if revision:
            self._bench.model.chosen = None
            self._bench.begin(PatchMode(self._bench, revision.grey_patch or PATCH_AT_FIRST))

    def act_keep_grey(self, key: str) -> None:
        self._bench.post(KeepGreyCard())

    def act_solos(self, key: str) -> None:
        self._bench.begin(SoloMode(self._bench))

    def act_series(self, key: str) -> None:
        if self._bench.model.revision:
            self._bench.begin(SeriesMode(self._bench, self._series_looker))

    def act_few_lights(self, key: str) -> None:
        if self._bench.model.revision:
            self._bench.say(FEW_LIGHTS)

    def act_place(self, key: str) -> None:
        if self._bench.app.shoot:
            self._bench.app.read_places(lambda known: self._bench.begin(PlacesMode(self._bench, known)))

    def act_next_view(self, key: str) -> None:
        following = self._bench.model.next_to_go
        if following:
            piece, view = following.piece.name, following.view
            self._bench.app.read_places(lambda known: go_to_view(self._bench, known, piece, view))

    def act_new_setup(self, key: str) -> None:
        def take(notes: str) -> None:
            self._bench.post(NewSetup(notes))

        self._bench.ask("new set-up from this one: what is it", take)
