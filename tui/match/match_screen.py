"""The match screen: what the hands do next in large letters, what was recorded and is now, both pictures, the steps.

What the screen shows of a frame under way, a stop or live view is the bench's own; the steps are a mode that always
holds the keys. `esc` leaves to the bench, where everything else is.
"""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content

from session.match.reshoot_steps import Reshoot
from session.shoot.acts import LivePictureUsed, SwitchLiveView
from session.shoot.events import LivePicture
from tui.bench.frame_keys import FrameKeys
from tui.bench.live_feed import LiveFeed
from tui.bench.mode import Mode
from tui.bench.picture_place import PicturePlace
from tui.bench.release_keys import ReleaseKeys
from tui.bench.state_lines import StateLines
from tui.bench.tripod_screen import COUNTS_EVERY_S, TripodScreen
from tui.match.match_mode import MatchMode
from tui.screen import panels
from tui.screen.layout import LOOKS_EVERY_S
from tui.screen.panel import Panel
from tui.screen.picture_view import PictureView
from tui.screen.prompt import Prompt
from tui.screen.small_picture import SmallPicture
from tui.words.harmless import harmless
from tui.words.keys import Facts, Where, rows_to_show
from tui.words.live_look import Hold
from tui.words.live_words import NO_LIVE_VIEW
from tui.words.match_words import step_told
from tui.words.wording import first_mendable

FRAMING_KEY = "framing"
"""Key of the step of which live view tells more than the last frame."""

LABEL_COLUMNS = 10
"""Columns of `recorded`, `now`, `to do` and the space after them."""

MOST_TOLD_ROWS = 6
"""Rows for a step's values at 24 rows; what is over is counted in the last one."""


class MatchScreen(TripodScreen):
    """Hands events and keys to the steps, and has everything painted."""

    CSS = """
    MatchScreen #told { height: 4; }
    MatchScreen #steps { width: 30; height: 1fr; margin-right: 1; }
    MatchScreen #left, MatchScreen #right { width: 1fr; margin-right: 1; }
    MatchScreen #of-reference { height: 1; color: $quiet; }
    MatchScreen #reference { height: 1fr; }
    MatchScreen.-wide #steps { width: 44; }
    MatchScreen.-small #told { height: 1fr; }
    """

    def __init__(self, reshoot: Reshoot) -> None:
        super().__init__()
        self.reshoot = reshoot
        self.steps = MatchMode(self, reshoot)
        self.lines = StateLines(self)
        self.picture_place = PicturePlace(self.repaint)
        self.feed = LiveFeed(self, self.picture_place, lambda: None, self._paint_live)
        self._keys = (ReleaseKeys(self), FrameKeys(self))
        self._reference: tuple[str, SmallPicture | None, str] = ("", None, "")
        self._wanted_path = ""

    def compose(self) -> ComposeResult:
        yield Panel(id="place")
        yield self.lines.large
        yield Panel(id="told")
        yield self.lines.said
        with Horizontal(id="middle"):
            yield Panel(id="steps")
            yield self.picture_place
            with Vertical(id="right"):
                yield Panel(id="of-reference")
                yield PictureView(id="reference")
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
    def mode(self) -> Mode | None:
        return self.steps

    def begin(self, mode: Mode | None) -> None:
        """Leave to the bench: the steps hold the keys as long as this screen is up."""
        self.dismiss()

    # --- keys -------------------------------------------------------------------------------------

    @property
    def where(self) -> Where:
        return Where.TYPING if self.query_one(Prompt).is_open else Where.MATCH

    def holders(self) -> Sequence[object]:
        first = () if self.query_one(Prompt).is_open else (self.steps,)
        return (self, *first, *self._keys)

    def facts(self) -> Facts:
        model = self.model
        description = model.description
        return Facts(
            held=model.held,
            stopped=bool(model.stops),
            remedy=first_mendable(model.rules) is not None,
            live_offered=description is not None and description.live_view,
            live=model.live.on,
            reference=model.reference_id is not None,
            undoable=model.undoable,
        )

    def key_words(self) -> dict[str, str]:
        finding, here = first_mendable(self.model.rules), self.steps.here
        words = {"remedy": finding.remedy.text} if finding and finding.remedy else {}
        return words | ({"confirm": "to do again"} if here is not None and here.said is not None else {})

    def act_back(self, key: str) -> None:
        self.dismiss()

    def act_live(self, key: str) -> None:
        turned_on = not self.model.live.on
        if turned_on and self.model.reference_id is not None:
            self.model.live.look.hold = Hold.BLENDED  # what is to correct is told only then
        self.post(SwitchLiveView(turned_on))

    def act_no_live(self, key: str) -> None:
        self.say(NO_LIVE_VIEW)

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
        self._paint_reference()
        self.lines.tell_hint()
        rows, words = rows_to_show(self.where, self.facts()), self.key_words()
        self.query_one("#keys", Panel).show(lambda width, height: panels.key_line(rows, words, width, height))

    def _paint_live(self) -> None:
        """Paint what a live picture changes: large line, values, picture."""
        self.lines.tell(self.size)
        told = self.query_one("#told", Panel)
        told.styles.height = max(1, min(MOST_TOLD_ROWS, len(self._told_lines(self.size.width))))
        told.show(lambda width, height: panels.stack(panels.as_many(self._told_lines(width), height)))
        self.query_one("#steps", Panel).show(lambda width, height: panels.stack(self.steps.panel(width, height)))
        self.picture_place.paint(None)

    def _told_lines(self, width: int) -> list[Content]:
        one = self.steps.here
        if one is None:
            return []
        seen = self.picture_place.correction or ""
        lines = []
        for label, text in step_told(
            one,
            seen if one.step.key == FRAMING_KEY and self.model.live.on else "",
            self.steps.hazards,
            self.app.clock.now(),
        ):
            room = max(8, width - LABEL_COLUMNS)
            for n, part in enumerate(wrap(harmless(text, 800), room)):
                first = f"{label if n == 0 else '':<{LABEL_COLUMNS}}"
                style = panels.STRONG if label in ("now", "to do") else ""
                lines.append(Content.assemble((first, panels.QUIET), (part, style)))
        return lines

    def _paint_reference(self) -> None:
        reference, shown = self.steps.found.reference, self.steps.found.shown
        place, view = self.model.place, self.query_one("#reference", PictureView)
        caption = f"REFERENCE {reference.number}" if reference else "REFERENCE"
        if reference and place and reference.piece != place.piece:
            caption += f" · {harmless(reference.piece, 24)}"
        if shown and shown.told:
            caption += f" · {shown.told}"
        if reference and reference.setup != self.reshoot.revision.label:
            caption += f" · set-up {reference.setup}"
        self.query_one("#of-reference", Panel).show(lambda width, height: Content(panels.cut(caption, width)))
        path = shown.path if shown else None
        if path is None:
            view.show(None, sentence="no picture" if reference else "no reference yet")
            return
        if path != self._wanted_path:
            self._wanted_path = path
            self.app.load_picture(path, self._keep, "reference")
        kept, picture, sentence = self._reference
        if kept == path and reference:
            view.show(picture, reference.region, sentence=sentence)

    def _keep(self, path: str, picture: SmallPicture | None, sentence: str) -> None:
        if path == self._wanted_path:
            self._reference = (path, picture, sentence)
            self.repaint()
