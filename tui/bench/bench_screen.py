"""The screen at the tripod: one large line, the picture, lights and findings, and the keys that make sense now.

At 80x24 lights and findings share the side panel and the newest frames stand in one line; at 160x48 all of it
stands in full and the large line has twice the size. Below 72x20 large line, sentence and keys are all.

The screen joins objects that each own a part: `state_lines` the words, `picture_place` the picture, `live_feed` the
live pictures on their way, `sound` the tone, and a class of keys for each kind of act: `release_keys`, `frame_keys`,
`setup_keys`, `live_keys`; those that leave the bench are the screen's own. A mode (`mode`) holds the keys for a moment.
"""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content

from session.frame.finding import RuleId
from session.match.solo_series import has_series
from session.set.setup import Region
from session.shoot.events import SERIES_UNDER_WAY, LivePicture, SeriesPhase
from tui.bench.chosen_thing import things_by_digit
from tui.bench.frame_keys import FrameKeys
from tui.bench.live_feed import LiveFeed
from tui.bench.live_keys import LiveKeys
from tui.bench.mode import Mode
from tui.bench.order_keys import OrderKeys
from tui.bench.picture_place import PicturePlace
from tui.bench.release_keys import ReleaseKeys
from tui.bench.series_mode import SeriesMode
from tui.bench.setup_keys import SetupKeys
from tui.bench.side_panel import side_text, wide_side_text
from tui.bench.sound import FocusTone
from tui.bench.state_lines import StateLines
from tui.bench.tripod_screen import COUNTS_EVERY_S, TripodScreen
from tui.screen import panels
from tui.screen.layout import LOOKS_EVERY_S
from tui.screen.panel import Panel
from tui.screen.picture_view import PictureView
from tui.screen.prompt import Prompt
from tui.words.keys import Facts, Where, rows_to_show
from tui.words.wording import first_mendable, keep_words


class BenchScreen(TripodScreen):
    """Hands events and keys to its parts, and has them painted.

    mode  what holds the keys for a moment, None while nothing does
    """

    CSS = """
    BenchScreen #strip { height: 1; }
    BenchScreen #head { height: 3; }
    BenchScreen #large { width: 1fr; }
    BenchScreen #exposure { width: 18; height: 3; text-align: right; }
    BenchScreen #left { width: 53%; margin-right: 1; }
    BenchScreen #side { width: 1fr; height: 1fr; }
    BenchScreen.-wide #left { width: 2fr; }
    BenchScreen.-wide #exposure { width: 30; }
    BenchScreen.-wide #strip { display: none; }
    BenchScreen.-wide.-tall #head { height: 6; }
    BenchScreen.-small #strip, BenchScreen.-small #exposure { display: none; }
    BenchScreen.-small #say { height: 1fr; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.mode: Mode | None = None
        self.lines = StateLines(self)
        self.picture_place = PicturePlace(self.repaint)
        self.feed = LiveFeed(self, self.picture_place, self._moved_region, self._paint_live)
        self.tone = FocusTone(self)
        self._keys = (
            ReleaseKeys(self),
            FrameKeys(self),
            SetupKeys(self),
            OrderKeys(self),
            LiveKeys(self, self.feed, self.tone),
        )

    def compose(self) -> ComposeResult:
        yield Panel(id="place")
        with Horizontal(id="head"):
            yield self.lines.large
            yield Panel(id="exposure")
        yield self.lines.said
        with Horizontal(id="middle"):
            yield self.picture_place
            yield Panel(id="side")
        yield Panel(id="strip")
        yield Prompt(refuse=self.say, closed=self.repaint)
        yield self.lines.hint
        yield Panel(id="keys")

    # --- events -----------------------------------------------------------------------------------

    def on_mount(self) -> None:
        self._counting = self.set_interval(COUNTS_EVERY_S, self.count, pause=True)
        self.set_interval(LOOKS_EVERY_S, self.look_round)
        self.repaint()

    def on_unmount(self) -> None:
        self.tone.stop()

    def on_screen_resume(self) -> None:
        """Marks, notes, frames and a live picture may have come while another screen was shown."""
        self.feed.ask_if_owed()
        self.app.read_frames_soon()
        self.repaint()

    def on_picture_view_dragged(self, message: PictureView.Dragged) -> None:
        if self.mode:
            self.mode.drag(message.region)

    def live_heard(self, event: LivePicture) -> None:
        """A live picture came."""
        self.tone.follow()
        self.feed.take(event)

    def look_round(self) -> None:
        """Repaint what time alone has changed, and end an old tone."""
        if self.model.fade(self.app.clock.monotonic_s()) or self.lines.hint_is_old:
            self.repaint()
        self.tone.end_if_old()

    # --- what the parts may ask for, see `BenchPort` ----------------------------------------------

    def begin(self, mode: Mode | None) -> None:
        self.mode = mode
        self.repaint()

    # --- keys -------------------------------------------------------------------------------------

    @property
    def where(self) -> Where:
        if self.query_one(Prompt).is_open:
            return Where.TYPING
        return self.mode.where if self.mode else Where.BENCH

    def holders(self) -> Sequence[object]:
        first = (self.mode,) if self.mode and not self.query_one(Prompt).is_open else ()
        return (*first, self, *self._keys)

    def facts(self) -> Facts:
        model = self.model
        description = model.description
        return Facts(
            held=model.held,
            stopped=bool(model.stops),
            remedy=first_mendable(model.rules) is not None,
            drifted=any(finding.id == RuleId.DRIFTED for finding in model.rules),
            frame=model.frame is not None,
            frames=any(frame is not model.frame for frame in model.released),
            picture=model.frame is not None and model.frame.picture is not None,
            things=bool(things_by_digit(model.revision, self.kit)),
            lights=model.revision is not None and has_series(model.revision),
            live_offered=description is not None and description.live_view,
            live=model.live.on,
            reference=model.reference_id is not None,
            support=model.live.support is not None,
            grey_offer=model.grey_offer is not None,
            drive_measured=model.drive_measured is not None,
            focus_drive=description is not None and description.focus_drive,
            scene_over=self.app.story.waits,
            undoable=model.undoable,
            to_go=model.next_to_go is not None,
            view_done=model.view_done,
            order_done=model.progress is not None and not model.progress.to_go,
            reshoot=self.app.reshoot is not None,
            series_on=model.series is not None and model.series.phase in SERIES_UNDER_WAY,
            series_by_hand=model.series is not None and model.series.phase is SeriesPhase.BY_HAND,
            series_begun=isinstance(self.mode, SeriesMode) and self.mode.is_begun,
            series_lacks=isinstance(self.mode, SeriesMode) and self.mode.lacks,
            series_moved=isinstance(self.mode, SeriesMode) and self.mode.has_moved,
        )

    def key_words(self) -> dict[str, str]:
        finding = first_mendable(self.model.rules)
        words = {}
        if finding and finding.remedy:
            words["remedy"] = finding.remedy.text
        if self.where is Where.BENCH:
            words["keep"] = keep_words(self.model)
        words["sweep"] = f"sweep {self.model.live.sweeps.span_steps} steps"
        return words

    def act_next_scene(self, key: str) -> None:
        self.app.story.go_on()
        self.model.begin_act()
        self.repaint()

    def act_ledger(self, key: str) -> None:
        self.app.show_ledger()

    def act_handover(self, key: str) -> None:
        if self.app.model.place is not None:
            self.app.show_handover(self.app.model.place.job)

    def act_planner(self, key: str) -> None:
        self.app.show_planner()

    def act_match(self, key: str) -> None:
        self.app.show_match()

    def act_bell(self, key: str) -> None:
        self.app.bell_on = not self.app.bell_on
        self.say(f"The bell on a miss is {'on' if self.app.bell_on else 'off'}.")

    def act_theme(self, key: str) -> None:
        self.app.other_theme()

    def act_leave(self, key: str) -> None:
        self.app.leave()

    # --- painting ---------------------------------------------------------------------------------

    def repaint(self) -> None:
        """Show the model as it is now; cheap, since nothing is painted before the next paint is due."""
        if not self.is_mounted or not self.query("#keys"):
            return
        model = self.model
        aside = "" if self.app.bell_on else "bell off"
        self._counting.resume() if model.waiting else self._counting.pause()
        self.query_one("#place", Panel).show(lambda width, height: panels.place_line(model, width, aside))
        self.query_one("#exposure", Panel).show(lambda width, height: panels.exposure_lines(model, width))
        self.query_one("#strip", Panel).show(lambda width, height: panels.ledger_strip(model, width))
        self._paint_live()
        self.lines.tell_hint()
        rows = rows_to_show(self.where, self.facts())
        words = self.key_words()
        self.query_one("#keys", Panel).show(lambda width, height: panels.key_line(rows, words, width, height))

    def _paint_live(self) -> None:
        """Paint the parts that a live picture changes: large line, picture, instruments."""
        self.lines.tell(self.size)
        self.query_one("#side", Panel).show(self._side)
        instead, caption = (self.mode.picture(), self.mode.caption()) if self.mode else (None, "")
        self.picture_place.paint(self._moved_region(), instead, caption)

    def _side(self, width: int, height: int) -> Content:
        if self.mode:
            return panels.stack(self.mode.panel(width, height))
        text = wide_side_text if self.has_class("-wide") else side_text
        return text(self.model, self.picture_place.correction, self.app.clock.monotonic_s(), width, height)

    def _moved_region(self) -> Region | None:
        return self.mode.region() if self.mode else None
