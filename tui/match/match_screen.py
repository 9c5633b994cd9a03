"""The match screen: what the hands do next in large letters, what was recorded and is now, both pictures, the steps.

What the screen shows of a frame under way, a stop or live view is the bench's own; the steps are a mode that always
holds the keys. `esc` leaves to the bench, where everything else is.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content

from session.match.reshoot_steps import Reshoot, ReshootStep
from session.match.solo_series import has_series
from session.picture.preview import UnreadablePicture
from session.series.series_look import SeriesLooker
from session.shoot.acts import LivePictureUsed, SwitchLiveView
from session.shoot.events import SERIES_UNDER_WAY, LivePicture, SeriesPhase
from tui.bench.frame_keys import FrameKeys
from tui.bench.live_feed import LiveFeed
from tui.bench.mode import Mode
from tui.bench.picture_place import PicturePlace
from tui.bench.release_keys import ReleaseKeys
from tui.bench.series_mode import SeriesMode
from tui.bench.solo_mode import SoloMode
from tui.bench.state_lines import StateLines
from tui.bench.tripod_screen import COUNTS_EVERY_S, TripodScreen
from tui.match.instead_mode import InsteadMode
from tui.match.match_mode import MatchMode
from tui.match.pictures_beside import PicturesBeside
from tui.screen import panels
from tui.screen.background import Then
from tui.screen.layout import LOOKS_EVERY_S
from tui.screen.panel import Panel
from tui.screen.prompt import Prompt
from tui.screen.small_picture import ALL, region_picture
from tui.shell.match_look import MatchMemory
from tui.words.harmless import harmless
from tui.words.keys import Facts, Where, hint, rows_to_show
from tui.words.live_look import Hold
from tui.words.live_words import NO_LIVE_VIEW
from tui.words.match_words import step_told, tolerance_words
from tui.words.series_words import repeat_words
from tui.words.wording import first_mendable

FRAMING_KEY = "framing"
"""Key of the step of which live view tells more than the last frame."""

PIECE_KEY = "piece"
"""Key of the step at which all else is as before."""

LABEL_COLUMNS = 10
"""Columns of `recorded`, `now`, `to do` and the space after them."""

MOST_TOLD_ROWS = 8
"""Rows for a step's values at 24 rows, a third of all; what is over is counted in the last one."""


MOST_ROWS_TO_CHOOSE = 12
"""The same while a substitute is chosen: what it changes counts more than the pictures then."""


class MatchScreen(TripodScreen):
    """Hands events and keys to the steps, and has everything painted."""

    CSS = """
    MatchScreen #told { height: 4; }
    MatchScreen #steps { width: 30; height: 1fr; margin-right: 1; }
    MatchScreen #left, MatchScreen #right { width: 1fr; margin-right: 1; }
    MatchScreen #of-reference, MatchScreen #caption { height: 2; color: $quiet; }
    MatchScreen #reference { height: 1fr; }
    MatchScreen.-wide #steps { width: 44; }
    MatchScreen.-wide #of-reference, MatchScreen.-wide #caption { height: 1; }
    MatchScreen.-small #told { height: 1fr; }
    """

    def __init__(self, reshoot: Reshoot, memory: MatchMemory) -> None:
        super().__init__()
        self.reshoot = reshoot
        self.steps = MatchMode(self, reshoot, memory)
        self._over_steps: Mode | None = None
        self._series_looker = SeriesLooker()
        self.lines = StateLines(self)
        self.picture_place = PicturePlace(self.repaint)
        self.feed = LiveFeed(self, self.picture_place, lambda: None, self._paint_live)
        self.beside = PicturesBeside(self.repaint)
        self._keys = (ReleaseKeys(self), FrameKeys(self))

    def compose(self) -> ComposeResult:
        yield Panel(id="place")
        yield self.lines.large
        yield Panel(id="told")
        yield self.lines.said
        with Horizontal(id="middle"):
            yield Panel(id="steps")
            yield self.picture_place
            yield self.beside
        yield Prompt(refuse=self.say, closed=self.repaint)
        yield self.lines.hint
        yield Panel(id="keys")

    # --- events -----------------------------------------------------------------------------------

    def on_mount(self) -> None:
        self._counting = self.set_interval(COUNTS_EVERY_S, self.count, pause=True)
        self.set_interval(LOOKS_EVERY_S, self.look_round)
        if self.model.live.on:
            self.post(LivePictureUsed())  # the bench is covered, so that the next picture is this screen's
        self.look_again()

    def on_screen_resume(self) -> None:
        """Help or another screen was shown meanwhile."""
        self.feed.ask_if_owed()
        self.repaint()

    def live_heard(self, event: LivePicture) -> None:
        """A live picture came."""
        self.feed.take(event)

    def look_round(self) -> None:
        """Repaint what time alone has changed, and read a log again that couldn't be read."""
        if not self.is_open:
            return
        self.steps.look()
        if self.model.fade(self.app.clock.monotonic_s()) or self.lines.hint_is_old:
            self.repaint()

    def look_again(self) -> None:
        """Read the log again: what was said of a step stands in it by now."""
        self.steps.look(anew=True)
        self.repaint()

    # --- what the parts may ask for, see `BenchPort` ----------------------------------------------

    @property
    def mode(self) -> Mode:
        return self._over_steps or self.steps

    def begin(self, mode: Mode | None) -> None:
        """Let the series of solos, or the mix, hold the keys; None: the steps again."""
        self._over_steps = mode
        self.repaint()

    def reference_path(self) -> str | None:
        shown = self.steps.found.shown  # of another piece, where this one has none
        return shown.path if shown else None

    # --- keys -------------------------------------------------------------------------------------

    @property
    def where(self) -> Where:
        return Where.TYPING if self.query_one(Prompt).is_open else self.mode.where

    def holders(self) -> Sequence[object]:
        first = () if self.query_one(Prompt).is_open else (self.mode,)
        return (*first, self, *self._keys)

    def facts(self) -> Facts:
        model = self.model
        description, here = model.description, self.steps.here
        return Facts(
            held=model.held,
            stopped=bool(model.stops),
            remedy=first_mendable(model.rules) is not None,
            live_offered=description is not None and description.live_view,
            live=model.live.on,
            reference=model.reference_id is not None,
            undoable=model.undoable,
            lights=model.revision is not None and has_series(model.revision),
            confirmable=here is not None and (here.said is not None or here.may_be_confirmed),
            skippable=here is not None,
            exchangeable=self._over_steps is None and self.steps.may_exchange,
            set_pictures=self.beside.count > 1,
            series_then=self.steps.found.series.then is not None,
            series_on=model.series is not None and model.series.phase in SERIES_UNDER_WAY,
            series_by_hand=model.series is not None and model.series.phase is SeriesPhase.BY_HAND,
            series_begun=isinstance(self.mode, SeriesMode) and self.mode.is_begun,
            series_lacks=isinstance(self.mode, SeriesMode) and self.mode.lacks,
            focus_drive=description is not None and description.focus_drive,
            drive_measured=model.drive_measured is not None,
        )

    def key_words(self) -> dict[str, str]:
        finding, here = first_mendable(self.model.rules), self.steps.here
        words = {"remedy": finding.remedy.text} if finding and finding.remedy else {}
        return words | ({"confirm": "to do again"} if here is not None and here.said is not None else {})

    def act_back(self, key: str) -> None:
        self.dismiss()

    def act_leave(self, key: str) -> None:
        self.app.leave()

    def act_live(self, key: str) -> None:
        turned_on = not self.model.live.on
        if turned_on and self.model.reference_id is not None:
            self.model.live.look.hold = Hold.BLENDED  # what is to correct is told only then
        self.post(SwitchLiveView(turned_on))

    def act_no_live(self, key: str) -> None:
        self.say(NO_LIVE_VIEW)

    def act_series(self, key: str) -> None:
        then = self.steps.found.series.then
        if then is not None:
            self.begin(SeriesMode(self, self._series_looker, then.plan))

    def act_solos(self, key: str) -> None:
        self.begin(SoloMode(self))

    def act_picture(self, key: str) -> None:
        self.beside.step(1 if key == "right" else -1)
        self.repaint()

    def act_still(self, key: str) -> None:
        path = self.beside.here.path
        if path is None:
            self.say("There is no picture to show.")
        elif self.model.under_way:
            self.say("Not while a frame is under way: the still covers the whole screen.")
        else:
            self.app.in_background(partial(self._read_still, path), "still")

    def _read_still(self, path: str) -> Then:
        try:
            return partial(self.app.show_still, region_picture(path, ALL))
        except UnreadablePicture as error:
            return partial(self.say, f"The file {error}.")

    def act_viewer(self, key: str) -> None:
        path = self.beside.here.path
        if path is None:
            self.say("There is no picture to open.")
        else:
            self.app.show_in_viewer(path)

    def act_hold(self, key: str) -> None:
        self.model.live.look.next_hold()
        self.feed.drop_correction()
        self.feed.show_anew()

    # --- painting ---------------------------------------------------------------------------------

    def repaint(self) -> None:
        """Show model and steps as they are now."""
        if not self.is_open:
            return
        model = self.model
        self.steps.look()
        self._counting.resume() if model.waiting else self._counting.pause()
        self.query_one("#place", Panel).show(lambda width, height: panels.place_line(model, width))
        self._paint_live()
        place = model.place
        self.beside.paint(self.steps.found, place.piece if place else "", self.reshoot.revision.label)
        self.lines.tell_hint()
        rows, words = rows_to_show(self.where, self.facts()), self.key_words()
        self.query_one("#keys", Panel).show(lambda width, height: panels.key_line(rows, words, width, height))

    def _paint_live(self) -> None:
        """Paint what a live picture changes: large line, values, picture."""
        self.lines.tell(self.size)
        told = self.query_one("#told", Panel)
        least = MOST_TOLD_ROWS if self._over_steps is None else MOST_ROWS_TO_CHOOSE
        most, count = max(least, self.size.height // 3), len(self._told_lines(self.size.width))
        told.styles.height = max(1, min(most, count))
        told.show(lambda width, height: panels.stack(panels.as_many(self._told_lines(width), height)))
        self.query_one("#steps", Panel).show(lambda width, height: panels.stack(self.mode.panel(width, height)))
        self.picture_place.paint(None, self.mode.picture())

    def _values_on_show(self) -> list[tuple[str, str]]:
        """The values of the step on show, or of the substitute that is being chosen, each with a heading."""
        one, over = self.steps.here, self._over_steps
        if isinstance(over, InsteadMode):
            return over.values()
        if one is None or over is not None:
            return []
        seen = self.picture_place.correction or ""
        told = step_told(
            one,
            seen if one.step.key == FRAMING_KEY and self.model.live.on else "",
            self.steps.hazards,
            self.app.clock.now(),
            tolerance_words(one.step, self.reshoot.revision),
        )
        return [*told, *self._series_told(one)]

    def _series_told(self, one: ReshootStep) -> Sequence[tuple[str, str]]:
        """At the last step of hands: that the view was a focus series, and the key that shoots it again."""
        then = self.steps.found.series.then
        if then is None or one.step.key != PIECE_KEY:
            return ()
        again = hint(Where.MATCH, "series", "shoots the same again")
        return (("series", f"{repeat_words(then.plan, then.numbers)}. {again}."),)

    def _told_lines(self, width: int) -> list[Content]:
        lines = []
        for label, text in self._values_on_show():
            room = max(8, width - LABEL_COLUMNS)
            for n, part in enumerate(wrap(harmless(text, 800), room)):
                first = f"{label if n == 0 else '':<{LABEL_COLUMNS}}"
                style = panels.STRONG if label in ("now", "to do") else ""
                lines.append(Content.assemble((first, panels.QUIET), (part, style)))
        return lines
