"""The program at the terminal: hears the controller's events, keeps the model, and shows bench, ledger and help."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from textual.app import SuspendNotSupported
from textual.binding import Binding
from textual.events import Key as KeyPress
from textual.events import Paste
from textual.message import Message
from textual.screen import Screen

from session.frame.ports import Clock, LogError, Place, SystemClock
from session.frame.states import ENDED, Mark
from session.order.order_progress import Progress
from session.picture.preview import Box
from session.set.kit import Kit
from session.shoot.acts import (
    Act,
    AddNote,
    AddViews,
    CallOff,
    KeepOrder,
    MarkFrame,
    Redo,
    StopSweep,
    TellAll,
    TellWhenDone,
    Undo,
)
from session.shoot.events import (
    About,
    CameraFound,
    DoneSoFar,
    Event,
    FrameJudged,
    FrameMoved,
    KitChanged,
    LivePicture,
    PlaceChanged,
    Said,
    Turn,
)
from session.units.refusals import UnreadableTextError
from storage.reading.views import FrameFilter, KnownView
from tui.bench.bench_screen import BenchScreen
from tui.compare.regions_screen import RegionsScreen
from tui.ledger.ledger_screen import LedgerScreen
from tui.ledger.region_screen import RegionScreen
from tui.match.match_mode import STEPS
from tui.match.match_screen import MatchScreen
from tui.planner.planner_screen import PlannerScreen
from tui.screen.app_port import AppPort, HandedOver, Story
from tui.screen.background import ENDED_BY_SYSTEM, Then
from tui.screen.graphics import NO_GRAPHICS, show_still
from tui.screen.help import HelpScreen, LeaveScreen
from tui.screen.keyed import END_KEYS, KeyedScreen
from tui.screen.shoot_port import Reader, ShootPort
from tui.screen.small_picture import SmallPicture
from tui.screen.themes import DIM, THEMES, after
from tui.screen.viewer import Viewer, name_and_folder
from tui.shell.log_acts import LogActs
from tui.shell.match_look import MatchMemory
from tui.words.bench_frame import BenchFrame, from_record, from_row
from tui.words.keys import Where, find, hint
from tui.words.model import BenchModel
from tui.words.order_words import leave_words
from tui.words.series_words import left_words
from tui.words.wording import NOTE_KEPT, left_on_card_text, sounds

MOST_FRAMES = 200
"""Frames of the job that the bench reads back, the newest; the ledger has all. Chosen."""

ALL_CHOSEN = f"Every view of the order has its hero. {hint(Where.LEDGER, 'handover', 'hands the job over')}."

FRAMES, LEDGER, ORDER, HERO, WRITTEN = "frames", "ledger", "order", "hero", "written"
"""What is read from the log once all that was asked before is done."""


class StillsetApp(AppPort):
    """Bench and ledger over one open shoot; with a reader alone only the ledger, which can mark and note by `acts`."""

    ENABLE_COMMAND_PALETTE = False
    ALLOW_SELECT = False  # the mouse draws regions
    TITLE = "stillset"
    BINDINGS = [Binding(",".join(END_KEYS), "interrupt", priority=True, show=False, system=True)]  # noqa: RUF012

    class Heard(Message):
        """An event of the controller, in the screen's own thread."""

        def __init__(self, event: Event) -> None:
            super().__init__()
            self.event = event

    def __init__(
        self,
        shoot: ShootPort | None = None,
        *,
        reader: Reader | None = None,
        job: str = "",
        acts: LogActs | None = None,
        read_only: str = "",
        kit: Kit | None = None,
        clock: Clock | None = None,
        story: Story | None = None,
        bell: bool = True,
        theme: str = DIM.name,
    ) -> None:
        """Over a shoot, or over a reader alone.

        shoot      None: only the ledger is shown, of `job` (the newest when "")
        reader     the log to look back in; the shoot's own when left out
        acts       writes marks and notes where there is no shoot; None: nothing can be written
        read_only  why nothing can be written, in words, for the ledger
        kit        where there is no shoot, which has its own; None: an empty one, nothing is made up
        story      runs along, and says what to press
        """
        super().__init__()
        self.shoot, self.reader = shoot, reader or (shoot.reader if shoot else None)
        self.read_only = read_only or ("" if shoot or acts else "The log is open for reading only.")
        self.job = job or (shoot.place.job if shoot else "")
        self.kit = shoot.kit if shoot else kit or Kit()
        self.reshoot = shoot.reshoot if shoot else None
        self._match_memory = MatchMemory()
        self.clock = clock or SystemClock()
        self.story, self.bell_on = story or Story(), bell
        self.post = shoot.post if shoot else acts.post if acts else _not_open
        self._acts = acts
        self.leaving, self.left_on_card = False, ""
        self.model = BenchModel(place=shoot.place if shoot else None)
        self._bench = BenchScreen() if shoot else None
        self._asked_for: set[str] = set()
        self._doubted = ""  # the hero that was judged last
        self._new_heroes: deque[tuple[str, Screen[Any]]] = deque()  # each with the screen at which it was marked
        self._read_when_done = {
            FRAMES: self.read_frames,
            LEDGER: self._ledger_again,
            ORDER: self.read_progress,
            HERO: self._read_doubts,
            STEPS: self._steps_again,
            WRITTEN: self._call_waiting,
        }
        self.handover: HandedOver | None = None
        self._waiting: deque[Callable[[], None]] = deque()
        self._viewer = Viewer()
        for known in THEMES:
            self.register_theme(known)
        self.theme = theme

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """For the moment before a theme of ours is in force."""
        return DIM.variables

    def on_mount(self) -> None:
        self.end_on_signals()
        if self.shoot is None or self._bench is None:
            self.push_screen(LedgerScreen(self.job))
            if self._acts is not None:
                self._acts.listen(self._hear)
            return
        self.push_screen(self._bench)
        if self.reshoot is not None:
            self.show_match()
        self.shoot.listen(self._hear)
        self.post(TellAll())
        self.read_frames_soon()

    # --- from the controller ----------------------------------------------------------------------

    def _hear(self, event: Event) -> None:
        """Called in the controller's thread."""
        self.post_message(self.Heard(event))

    def on_stillset_app_heard(self, message: Heard) -> None:
        event = message.event
        self.model.hear(event, self.clock.monotonic_s())
        if isinstance(event, LivePicture):
            match = next((one for one in reversed(self.screen_stack) if isinstance(one, MatchScreen)), None)
            if screen := match or self._bench:
                screen.live_heard(event)
            return
        if isinstance(event, DoneSoFar):
            self._read_when_done[event.name]()
            return
        if isinstance(event, KitChanged):
            self.kit = event.kit
        if isinstance(event, CameraFound):
            self.read_frames_soon()  # after what was recovered
        if isinstance(event, FrameJudged):
            if event.frame_id == self._doubted:
                self.say("", HERO)  # it may have been said that nobody judged it
            self._ring(self.model.frames.get(event.frame_id))
        if isinstance(event, FrameMoved | FrameJudged):
            self._look_again()
            if isinstance(event, FrameJudged) or event.state in ENDED:
                self._count_again()
        if isinstance(event, PlaceChanged):
            self.read_frames_soon()
        if self.leaving and self.model.in_camera is None:
            self.exit()
        else:
            self._show_news()

    def _show_news(self) -> None:
        if isinstance(self.screen, LedgerScreen | LeaveScreen | MatchScreen):
            self.screen.repaint()
        elif isinstance(self.screen, RegionsScreen | RegionScreen):
            self.screen.look_round()
        elif self._bench:
            self._bench.repaint()

    def _ring(self, frame: BenchFrame | None) -> None:
        if self.bell_on and frame and sounds(frame):
            self.bell()

    def own_mistake(self, sentence: str) -> None:
        self._hear(Said(sentence, About.OWN_FAULT, True))

    # --- to the controller ------------------------------------------------------------------------

    def say(self, sentence: str, about: str = "") -> None:
        """Show a passing sentence; from any thread. about: what another one about the same takes away, see `About`."""
        self._hear(Said(sentence, about))

    def mark(self, frame_id: str, mark: str | None) -> None:
        """Set or remove a frame's mark; the ledger looks again when the log has it."""
        self.say("", HERO)  # what was said of heroes was of the marks of before
        self.post(MarkFrame(frame_id, mark))
        self._look_again()
        self._count_again()
        if mark == Mark.HERO:
            self._new_heroes.append((frame_id, self.screen))
            self.post(TellWhenDone(HERO))

    def _read_doubts(self) -> None:
        """Judge the hero whose mark stands in the log by now."""
        frame_id, screen = self._new_heroes.popleft()
        if self.reader is not None:
            self.in_background(partial(self._doubts, self.reader, frame_id, screen), HERO)

    def _doubts(self, reader: Reader, frame_id: str, screen: Screen[Any]) -> Then:
        """Say why the frame may not do as a hero, and what comes when each view has one; in the background."""
        from storage.handover.handover_plan import hero_cautions  # noqa: PLC0415 - slow to import, seldom needed

        try:
            record = reader.frame(frame_id)
            if record is None:
                return lambda: None
            of_view = FrameFilter(job=record.job, piece=record.piece, view=record.view, mark=Mark.HERO)
            heroes = [row.number for row in reader.frames(of_view)]
            progress = reader.progress(record.job)
        except LogError:
            return lambda: None
        said = list(hero_cautions(record, heroes, progress.order if progress else None))
        if progress and all(len(view.heroes) == 1 for view in progress.views if view.wanted):
            said.append(ALL_CHOSEN)
        return partial(self._say_doubts, frame_id, " ".join(said), screen)

    def _say_doubts(self, frame_id: str, sentence: str, screen: Screen[Any]) -> None:
        """Say it where the frame was marked; on another screen it would belong to nothing."""
        self._doubted = frame_id
        if self.screen is screen:
            self.say(sentence, HERO)

    def note(self, frame_id: str, text: str) -> None:
        """Add a note to a frame. Raises ValueError when it is empty."""
        if not text:
            raise UnreadableTextError("a note needs a word")
        self.post(AddNote(frame_id, text))
        if self._acts is None:  # which tell by themselves, once the log was free
            self.say(NOTE_KEPT)
        self._look_again()

    def keep_order(self, table: str, read_from: str) -> None:
        """Keep an order; what is to go is counted once it stands in the log."""
        self.post(KeepOrder(table, read_from))
        self.post(TellWhenDone(ORDER))

    def add_views(self, job: str, piece: str, views: tuple[str, ...]) -> None:
        """Add views of a piece to the job's order; what is to go is counted once they stand in the log."""
        self.post(AddViews(job, piece, views))
        self.post(TellWhenDone(ORDER))

    def undo(self, place: Place) -> None:
        """Undo the last act of this job; bench and ledger look again."""
        self.post(Undo(place, self.model.turn_agreed(Turn.UNDO)))
        self._read_all_again()

    def redo(self, place: Place) -> None:
        """Redo the act of this job that was undone last; bench and ledger look again."""
        self.post(Redo(place, self.model.turn_agreed(Turn.REDO)))
        self._read_all_again()

    def before(self, event: KeyPress | Paste, screen: KeyedScreen) -> bool:
        """Clear results that stay until a key, and what was said elsewhere; any key but `z`, `Z` cancels an undo named.

        While the drive looks for the peak, any key at the bench stops it and does nothing else.
        """
        if isinstance(event, KeyPress) and isinstance(screen, BenchScreen | MatchScreen) and self.model.mark_seen():
            self._show_news()
        if isinstance(event, KeyPress) and self.model.key_pressed(screen.where):
            self._show_news()
        named = self.model.turn_named
        key = find(screen.where, event.key, screen.facts()) if isinstance(event, KeyPress) else None
        if named and (key is None or key.act != named.act) and self.model.turn_dropped():
            self._show_news()
        if isinstance(screen, BenchScreen) and self.model.sweeping:
            self.post(StopSweep())
            return True
        return False

    def _read_all_again(self) -> None:
        self.say("", HERO)
        self.read_frames_soon()
        self._look_again()
        if self.reshoot is not None:
            self.post(TellWhenDone(STEPS))

    def _steps_again(self) -> None:
        for screen in self.screen_stack:
            if isinstance(screen, MatchScreen):
                screen.look_again()

    def _look_again(self) -> None:
        """Have the ledger, when it is open, read the log once what was asked so far stands in it."""
        if any(isinstance(screen, LedgerScreen) for screen in self.screen_stack):
            self.post(TellWhenDone(LEDGER))

    def _count_again(self) -> None:
        """Have what is to go of the order counted, once what was asked so far stands in the log."""
        if self.model.progress is not None:
            self.post(TellWhenDone(ORDER))

    def _ledger_again(self) -> None:
        for screen in self.screen_stack:
            if isinstance(screen, LedgerScreen):
                screen.look_again()

    # --- from the log, in the background ----------------------------------------------------------

    def read_frames(self) -> None:
        """The job's newest frames, as the log has them."""
        reader, place = self.reader, self.model.place
        if reader is None or place is None:
            return
        moves_before = self.model.moves

        def work() -> Then:
            try:
                rows = reader.frames(FrameFilter(job=place.job), newest_first=True, limit=MOST_FRAMES)
                frames = [from_row(row) for row in rows]
                return partial(self._frames_read, frames, moves_before, reader.progress(place.job))
            except LogError as error:
                return partial(self.say, str(error))

        self.in_background(work, "frames")

    def _frames_read(self, frames: list[BenchFrame], moves_before: int, progress: Progress | None) -> None:
        self.model.read(frames, moves_before)
        self.model.progress = progress
        self._show_news()

    def read_frames_soon(self) -> None:
        """Read the frames as soon as all acts posted so far stand in the log."""
        self.post(TellWhenDone(FRAMES))

    def read_progress(self) -> None:
        """How far the job's order is, as the log has it."""
        reader, place = self.reader, self.model.place
        if reader is None or place is None:
            return

        def work() -> Then:
            try:
                return partial(self._progress_read, reader.progress(place.job))
            except LogError as error:
                return partial(self.say, str(error))

        self.in_background(work, ORDER)

    def _progress_read(self, progress: Progress | None) -> None:
        self.model.progress = progress
        if self._bench:
            self._bench.repaint()

    def read_places(self, then: Callable[[Sequence[KnownView]], None]) -> None:
        """The job's pieces and views as the log has them, handed to `then`."""
        reader, place = self.reader, self.model.place
        if reader is None or place is None:
            return

        def work() -> Then:
            try:
                return partial(then, reader.known_views(place.job))
            except LogError as error:
                return partial(self.say, str(error))

        self.in_background(work, "places", keys_wait=True)

    def read_record(self, frame_id: str) -> None:
        """Files and findings of a frame of which only the ledger's line is known."""
        reader = self.reader
        if reader is None or frame_id in self._asked_for:
            return
        self._asked_for.add(frame_id)

        def work() -> Then:
            try:
                record = reader.frame(frame_id)
            except LogError as error:
                return partial(self.say, str(error))
            return partial(self._record_read, frame_id, from_record(record) if record else None)

        self.in_background(work, f"record {frame_id}")

    def _record_read(self, frame_id: str, frame: BenchFrame | None) -> None:
        self._asked_for.discard(frame_id)
        if frame and self._bench:
            self.model.complete(frame)
            self._show_news()

    # --- screens ----------------------------------------------------------------------------------

    def _open(self, screen: Screen[Any]) -> None:
        """Show a screen; sentences said on the screen before don't go along."""
        self.model.screen_opened()
        self.push_screen(screen)

    def show_ledger(self) -> None:
        self._open(LedgerScreen(self.model.place.job if self.model.place else self.job))

    def show_planner(self) -> None:
        self._open(PlannerScreen())

    def show_handover(self, job: str) -> None:
        from tui.handover.handover_screen import HandoverScreen  # noqa: PLC0415 - slow to import, seldom needed

        self._open(HandoverScreen(job))

    def hand_over(self, run: HandedOver, then: Callable[[], None]) -> None:
        self.handover = run

        def work() -> Then:
            run.work()
            return partial(self._handed_over, run, then)

        self.in_background(work, "hand-over")

    def _handed_over(self, run: HandedOver, then: Callable[[], None]) -> None:
        self.say(" ".join([run.outcome, *run.told]))
        then()

    def when_written(self, then: Callable[[], None]) -> None:
        if self.shoot is None and self._acts is None:
            then()
        else:
            self._waiting.append(then)
            self.post(TellWhenDone(WRITTEN))

    def _call_waiting(self) -> None:
        self._waiting.popleft()()

    def show_match(self) -> None:
        if self.reshoot is not None:
            self._open(MatchScreen(self.reshoot, self._match_memory))

    def show_help(self, asked_at: Where) -> None:
        self.push_screen(HelpScreen(asked_at))

    def show_still(self, picture: SmallPicture) -> None:
        try:
            with self.suspend():
                sentence = show_still(picture)
        except SuspendNotSupported:
            sentence = NO_GRAPHICS
        if sentence:
            self.say(sentence)

    def show_in_viewer(self, path: str) -> None:
        self._in_viewer(partial(self._viewer.open, path), name_and_folder(path))

    def show_cuts_in_viewer(self, cuts: Sequence[tuple[str, Box]], name: str) -> None:
        self._in_viewer(partial(self._viewer.open_cuts, tuple(cuts), name), name)

    def _in_viewer(self, show: Callable[[], str], name: str) -> None:
        def work() -> Then:
            why_not = show()
            return partial(self.say, why_not or f"Opened in the viewer: {name}.")

        self.in_background(work, "viewer")

    def on_unmount(self) -> None:
        self._viewer.close()
        if self.handover is not None:
            self.handover.stop()

    def other_theme(self) -> None:
        self.theme = after(self.theme)

    @property
    def hands_over(self) -> bool:
        return self.handover is not None and not self.handover.is_over

    def leave(self) -> None:
        """End, or ask first while a frame is under way, a hand-over is written, or a series or views are to go."""
        if self.model.under_way or self.hands_over or self.to_go_text:
            self.push_screen(LeaveScreen())
        else:
            self.action_end()

    def action_interrupt(self) -> None:
        """Ctrl-C: ask what `leave` asks, where nothing is in the camera's hands; asked once more, end."""
        asks = self.model.in_camera is None and (self.model.under_way or self.hands_over or self.to_go_text)
        if asks and not isinstance(self.screen, LeaveScreen):
            self.leave()
        else:
            self.action_end()

    @property
    def to_go_text(self) -> str:
        """What of a focus series, else which views of the order are to go; "" when nothing is."""
        return left_words(self.model.series) or (leave_words(self.model.progress) if self.model.progress else "")

    def action_end(self) -> None:
        """End, in whatever state: a waiting release is called off, a frame in the camera's hands is saved first.

        Asked once more, it is left on the card.
        """
        self._settle()
        if self.model.in_camera is None:
            self.exit()
        elif self.leaving:
            self._leave_on_card()
        else:
            self.leaving = True
            if not isinstance(self.screen, LeaveScreen):
                self.push_screen(LeaveScreen())
            else:
                self.screen.repaint()

    def end_at_once(self) -> None:
        self.ended_by_system = True
        self._settle()
        self._leave_on_card(ENDED_BY_SYSTEM)

    def _settle(self) -> None:
        if self._bench and self._bench.mode:
            self._bench.mode.let_go()
        if self.model.held:
            self.post(CallOff())

    def _leave_on_card(self, return_code: int = 0) -> None:
        frame = self.model.in_camera
        self.left_on_card = left_on_card_text(frame) if frame else ""
        self.exit(return_code=return_code)


def _not_open(act: Act) -> None:
    """Nothing can be written here, so nothing is asked of a controller."""
