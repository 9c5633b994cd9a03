"""How the bench looks: one large line, the picture, lights and findings, and the keys that make sense now.

At 80x24 lights and findings share the side panel and the newest frames stand in one line; at 160x48 all of it
stands in full and the large line has twice the size. Below 72x20 large line, sentence and keys are all.
"""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import Resize

from session.frame.finding import RuleId
from session.frame.states import FrameState
from session.set.kit import Kit
from session.set.setup import Region
from tui.bench.chosen_light import light_names
from tui.bench.live_panel import live_panel
from tui.bench.mode import Mode
from tui.bench.set_plan import set_plan
from tui.screen import panels
from tui.screen.app_port import AppPort
from tui.screen.keyed import KeyedScreen
from tui.screen.layout import LOOKS_EVERY_S, TALL_ROWS, WIDE_COLUMNS
from tui.screen.panel import LargeLine, Panel
from tui.screen.picture_view import PictureView
from tui.screen.prompt import Prompt
from tui.screen.small_picture import SmallPicture
from tui.words.bench_frame import BenchFrame
from tui.words.harmless import harmless
from tui.words.keys import Facts, Where, rows_to_show
from tui.words.live_look import WHOLE, Overlay, crop_of
from tui.words.model import BenchModel
from tui.words.wording import first_mendable, frame_words, headline, keep_words, sentences

COUNTS_EVERY_S = 0.1
"""The count of a wait is shown to a tenth of a second."""

LEAST_COLUMNS, LEAST_ROWS = 72, 20
SENTENCE_ROWS = 2
"""What is said under the large line usually takes; a longer text gets twice that."""

LEDGER_ROWS = 4
"""What lights and findings leave to the ledger beside them, however many they are."""

COMING = frozenset({FrameState.RELEASING, FrameState.RECEIVING})


class BenchView(KeyedScreen):
    """Shows the model; `BenchScreen` turns keys into acts."""

    CSS = """
    BenchView { layout: vertical; }
    BenchView #place, BenchView #caption, BenchView #strip, BenchView #hint { height: 1; }
    BenchView #head { height: 3; }
    BenchView #large { width: 1fr; height: 3; text-style: bold; }
    BenchView #large.-go, BenchView #large.-good { color: $success; }
    BenchView #large.-wait, BenchView #large.-caution { color: $warning; }
    BenchView #large.-stop { color: $error; }
    BenchView #large.-busy { color: $foreground; }
    BenchView #exposure { width: 18; height: 3; text-align: right; }
    BenchView #say { height: 2; }
    BenchView #say.-long { height: 4; }
    BenchView #middle { height: 1fr; }
    BenchView #left { width: 53%; margin-right: 1; }
    BenchView #caption { color: $quiet; }
    BenchView #picture, BenchView #plan { height: 1fr; }
    BenchView #plan, BenchView.-unseen #picture { display: none; }
    BenchView.-unseen #plan { display: block; }
    BenchView #side { width: 1fr; height: 1fr; }
    BenchView #hint { color: $primary; text-style: italic; display: none; }
    BenchView #hint.-said { display: block; }
    BenchView #keys { height: 2; background: $panel; }
    BenchView.-wide #left { width: 2fr; }
    BenchView.-wide #exposure { width: 30; }
    BenchView.-wide #strip { display: none; }
    BenchView.-wide.-tall #head, BenchView.-wide.-tall #large { height: 6; }
    BenchView.-small #middle, BenchView.-small #strip, BenchView.-small #exposure,
    BenchView.-small #place { display: none; }
    BenchView.-small #say { height: 1fr; }
    """

    app: AppPort

    def __init__(self) -> None:
        super().__init__()
        self.mode: Mode | None = None
        self._wanted_path: str | None = None
        self._kept: tuple[str, SmallPicture | None, str] = ("", None, "")
        self.live_picture: SmallPicture | None = None
        self.correction: str | None = None
        self._hint = ""

    def compose(self) -> ComposeResult:
        yield Panel(id="place")
        with Horizontal(id="head"):
            yield LargeLine(id="large")
            yield Panel(id="exposure")
        yield Panel(id="say")
        with Horizontal(id="middle"):
            with Vertical(id="left"):
                yield Panel(id="caption")
                yield PictureView(id="picture")
                yield Panel(id="plan")
            yield Panel(id="side")
        yield Panel(id="strip")
        yield Prompt(refuse=self.say, closed=self.repaint)
        yield Panel(id="hint")
        yield Panel(id="keys")

    def on_mount(self) -> None:
        self._counting = self.set_interval(COUNTS_EVERY_S, self._count, pause=True)
        self.set_interval(LOOKS_EVERY_S, self.look_round)
        self.repaint()

    def on_resize(self, event: Resize) -> None:
        width, height = event.size
        self.set_class(width >= WIDE_COLUMNS, "-wide")
        self.set_class(height >= TALL_ROWS, "-tall")
        self.set_class(width < LEAST_COLUMNS or height < LEAST_ROWS, "-small")
        self.repaint()

    def on_screen_resume(self) -> None:
        """Marks, notes and frames may have come while another screen was shown."""
        self.app.read_frames_soon()
        self.repaint()

    @property
    def model(self) -> BenchModel:
        return self.app.model

    @property
    def kit(self) -> Kit:
        return self.app.kit

    def say(self, sentence: str, about: str = "") -> None:
        """Show a passing sentence; from any thread."""
        self.app.say(sentence, about)

    # --- what holds now ---------------------------------------------------------------------------

    @property
    def where(self) -> Where:
        if self.query_one(Prompt).is_open:
            return Where.TYPING
        return self.mode.where if self.mode else Where.BENCH

    def holder(self) -> object:
        return self.mode if self.mode and not self.query_one(Prompt).is_open else self

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
            lights=bool(light_names(model.revision, self.kit)),
            live_offered=description is not None and description.live_view,
            live=model.live.on,
            reference=model.reference_id is not None,
            support=model.live.support is not None,
            focus_drive=description is not None and description.focus_drive,
            scene_over=self.app.story.waits,
            undoable=model.undoable,
        )

    # --- the picture ------------------------------------------------------------------------------

    @property
    def picture_view(self) -> PictureView:
        return self.query_one(PictureView)

    def picture_loaded(self, path: str, picture: SmallPicture | None, sentence: str) -> None:
        """A file on disk was decoded, or can't be."""
        if path == self._wanted_path:
            self._kept = (path, picture, sentence)
            self.repaint()

    def on_picture_view_dragged(self, message: PictureView.Dragged) -> None:
        if self.mode:
            self.mode.drag(message.region)

    def _show_plan(self) -> None:
        """Before the first frame the set-up's plan stands where the picture will."""
        model, revision = self.model, self.model.revision
        moving = self.mode is not None and self.mode.region() is not None
        unseen = revision is not None and model.frame is None and not model.live.on and not moving
        self.set_class(unseen, "-unseen")
        if unseen and revision is not None:
            self.query_one("#plan", Panel).show(
                lambda width, height: panels.stack(set_plan(revision, self.kit, width, height))
            )

    def _show_picture(self) -> None:
        model, view = self.model, self.picture_view
        view.can_be_dragged_over = self.mode is not None and self.mode.region() is not None
        chosen = self.mode.region() if self.mode else None
        region = chosen or (model.revision.region if model.revision else None)
        frame = model.frame
        if model.live.on and self.live_picture is not None:
            self._show_live(view, self.live_picture, chosen, region)
            return
        self.live_picture = self.correction = None
        if frame and not frame.whole:
            self.app.read_record(frame.frame_id)
        file = frame.picture if frame else None
        if file is None:
            view.show(None, sentence="its files are coming in" if frame and frame.state in COMING else "no picture yet")
            return
        if file.path != self._wanted_path:
            self._wanted_path = file.path
            self.app.load_picture(file.path, self.picture_loaded)
        path, picture, sentence = self._kept
        if path == file.path:
            sharpest = frame.focus.sharpest_at if frame and frame.focus else None
            own = frame and not (model.is_here(frame) and model.is_here(frame, of_setup=True))
            view.show(picture, frame.region if frame and own else region, sharpest, sentence)

    def _show_live(
        self, view: PictureView, picture: SmallPicture, chosen: Region | None, region: Region | None
    ) -> None:
        """chosen: the region that is being moved, which is shown whatever else is laid over the picture."""
        look = self.model.live.look
        overlay = look.overlay if look.times == WHOLE and chosen is None else None
        frame = crop_of(look.overlay, picture.full_width_px, picture.full_height_px) if overlay else chosen
        view.show(picture, region if overlay is Overlay.REGION else frame, thirds=overlay is Overlay.THIRDS)

    # --- painting ---------------------------------------------------------------------------------

    def _count(self) -> None:
        if self.app.screen is self:
            self._say_headline()

    def _say_headline(self) -> None:
        now_s = self.app.clock.monotonic_s()
        said = headline(self.model, now_s)
        self.query_one(LargeLine).say(said.large, said.tone)
        lines = sentences(self.model, now_s)
        if self.has_class("-small"):
            columns, rows = self.size
            lines.append(f"More room shows all: stillset wants 80 × 24, this terminal has {columns} × {rows}.")
        say = self.query_one("#say", Panel)
        say.set_class(panels.sentence_rows(lines, say.size.width) > SENTENCE_ROWS, "-long")
        say.show(lambda width, height: panels.sentences_text(lines, width, height, said.remedy))

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
        self.paint_live()
        self._show_hint()
        rows = rows_to_show(self.where, self.facts())
        words = self.key_words()
        self.query_one("#keys", Panel).show(lambda width, height: panels.key_line(rows, words, width, height))

    def paint_live(self) -> None:
        """What a live frame changes: large line, picture, instruments."""
        self._say_headline()
        self.query_one("#caption", Panel).show(lambda width, height: Content(panels.cut(self._caption(), width)))
        self.query_one("#side", Panel).show(self._side)
        self._show_plan()
        self._show_picture()

    def look_round(self) -> None:
        """What time alone changes."""
        said = harmless(self.app.story.hint())
        if self.model.fade(self.app.clock.monotonic_s()) or said != self._hint:
            self.repaint()

    def _show_hint(self) -> None:
        """Write the line above the keys; the text may change at any time."""
        text = harmless(self.app.story.hint())
        if text != self._hint:
            self._hint = text
            hint = self.query_one("#hint", Panel)
            hint.set_class(bool(text), "-said")
            hint.show(lambda width, height: Content(panels.cut(text, width)))

    def key_words(self) -> dict[str, str]:
        finding = first_mendable(self.model.rules)
        words = {}
        if finding and finding.remedy:
            words["remedy"] = finding.remedy.text
        words["keep"] = keep_words(self.model)
        words["sweep"] = f"sweep {self.model.live.sweeps.span_steps} steps"
        return words

    def _caption(self) -> str:
        model, frame = self.model, self.model.frame
        if model.live.on:
            return model.live.look.words()
        if frame is None:
            return f"PLAN OF SET-UP {model.revision.label} · side view" if model.revision else ""
        place = model.place
        piece = frame.piece if place and frame.piece != place.piece else ""
        view = frame.view if place and frame.view != place.view else ""
        of = harmless(", ".join(name for name in (piece, view) if name), 24)
        parts = [f"FRAME {frame.number}", of, frame_words(frame), frame.mark or "", self._against(frame)]
        return " · ".join(part for part in parts if part)

    def _against(self, frame: BenchFrame) -> str:
        """The frame's own reference, that of its set-up and piece."""
        if not frame.whole:
            return ""
        if frame.reference is None:
            return "no reference"
        if frame.is_reference:
            return "" if frame_words(frame) == "reference" else "the reference"
        return f"reference {frame.reference}"

    def _side(self, width: int, height: int) -> Content:
        model = self.model
        if self.mode:
            return panels.stack(self.mode.panel(width, height))
        lights = panels.lights_panel(model.revision, width)
        findings = panels.findings_panel(model, width, self.app.clock.monotonic_s())
        live = live_panel(model.live, model.revision, self.correction, width) if model.live.on else []
        if not self.has_class("-wide"):
            first = live or panels.as_many(lights, max(2, height // 2))
            return panels.stack(panels.as_many([*first, *findings], height))
        lights = [*live, Content(""), *lights] if live else lights
        top = panels.as_many([*lights, Content(""), *findings, Content("")], height - LEDGER_ROWS)
        return panels.stack([*top, *panels.ledger_list(model, height - len(top))])
