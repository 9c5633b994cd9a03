"""The screen at the tripod: a key for each act. How it looks stands in `bench_view`."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from session.set.setup import Region
from session.shoot.acts import (
    AcceptReference,
    Act,
    ApplyRemedy,
    AskRelease,
    CallOff,
    NewSetup,
    TakeCameraSettings,
    Touched,
)
from session.units.refusals import UnreadableTextError
from tui.bench.chosen_light import choose_light
from tui.bench.live import BenchLive
from tui.bench.mode import Mode
from tui.bench.others import AmbientMode, PatchMode, PlacesMode, RegionMode, SettingsMode
from tui.explain.explain_screen import ExplainScreen
from tui.screen.prompt import Prompt, Take
from tui.words.keys import MARKS
from tui.words.model import drop_text
from tui.words.wording import first_mendable

PATCH_AT_FIRST = Region(0.02, 0.86, 0.12, 0.12)
"""Where a grey patch is offered at first: a corner, where a card is out of the way. Chosen."""


class BenchScreen(BenchLive):
    """Turns keys into acts: most go to the controller, some begin a mode that holds the keys for a moment."""

    # --- what modes need --------------------------------------------------------------------------

    def post(self, act: Act) -> None:
        self.app.post(act)

    def ask(self, label: str, take: Take, value: str = "") -> None:
        self.query_one(Prompt).ask(label, take, value)
        self.repaint()

    def begin(self, mode: Mode | None) -> None:
        self.mode = mode
        self.repaint()

    def later(self, delay_s: float, act: Callable[[], None]) -> Callable[[], None]:
        """Call `act` after `delay_s` seconds; the function given back calls it off."""
        return self.set_timer(delay_s, act).stop

    # --- keys -------------------------------------------------------------------------------------

    def act_next_scene(self, key: str) -> None:
        self.app.story.go_on()
        self.model.begin_act()
        self.repaint()

    def act_release(self, key: str) -> None:
        self.model.release_asked()
        self.app.post(AskRelease())
        self.repaint()

    def act_call_off(self, key: str) -> None:
        self.app.post(CallOff())
        self.repaint()

    def act_touched(self, key: str) -> None:
        self.model.begin_act()
        self.app.post(Touched())
        self.repaint()

    def act_remedy(self, key: str) -> None:
        finding = first_mendable(self.model.rules)
        if finding:
            self.model.begin_act()
            self.app.post(ApplyRemedy(finding))

    def act_overrule(self, key: str) -> None:
        ids = [finding.id for finding in self.model.stops]

        def take(reason: str) -> None:
            if not reason:
                raise UnreadableTextError("overruling takes a reason; it is logged with the frame")
            self.model.release_asked()
            self.app.post(AskRelease(dict.fromkeys(ids, reason)))

        self.ask(f"overrule {', '.join(ids)}, because", take)

    def act_keep(self, key: str) -> None:
        self.model.begin_act()
        self.app.post(TakeCameraSettings())

    def act_light(self, key: str) -> None:
        choose_light(self, key)

    def act_settings(self, key: str) -> None:
        if self.model.revision:
            self.begin(SettingsMode(self))

    def act_region(self, key: str) -> None:
        if self.model.revision:
            self.model.chosen = None
            self.begin(RegionMode(self, self.model.revision.region))

    def act_grey_patch(self, key: str) -> None:
        revision = self.model.revision
        if revision:
            self.model.chosen = None
            self.begin(PatchMode(self, revision.grey_patch or PATCH_AT_FIRST))

    def act_ambient(self, key: str) -> None:
        self.begin(AmbientMode(self))

    def act_place(self, key: str) -> None:
        if self.app.table:
            self.app.read_places(lambda known: self.begin(PlacesMode(self, known)))

    def act_new_setup(self, key: str) -> None:
        def take(notes: str) -> None:
            self.app.post(NewSetup(notes))

        self.ask("new set-up from this one: what is it", take)

    def act_note(self, key: str) -> None:
        frame = self.model.frame
        if frame:
            self.ask(f"note to frame {frame.number}", partial(self.app.note, frame.frame_id))

    def act_mark(self, key: str) -> None:
        frame = self.model.frame
        if frame:
            self.app.mark(frame.frame_id, self.model.set_mark(frame.frame_id, MARKS[key]))
            self.repaint()

    def act_undo(self, key: str) -> None:
        if self.model.place:
            self.app.undo(self.model.place)
        self.model.begin_act()

    def act_redo(self, key: str) -> None:
        if self.model.place:
            self.app.redo(self.model.place)
        self.model.begin_act()

    def act_reference(self, key: str) -> None:
        model, frame = self.model, self.model.frame
        if frame is None or model.revision is None or model.place is None:
            return
        if frame.setup.partition(".")[0] != model.revision.label.partition(".")[0]:
            self.say(f"Frame {frame.number} is of set-up {frame.setup}; the reference is for {model.revision.label}.")
        elif frame.piece != model.place.piece:
            self.say(f"Frame {frame.number} is of another piece than the one on the table.")
        else:
            drop = model.reference_id == frame.frame_id
            if drop and not model.drop_agreed(frame):
                self.say(drop_text(frame))  # a key pressed twice by a slip drops nothing
                return
            self.app.post(AcceptReference(None if drop else frame.frame_id))

    def act_choose(self, key: str) -> None:
        self.model.choose(1 if key == "right" else -1)
        self.repaint()

    def act_explain(self, key: str) -> None:
        frame = self.model.frame
        if frame:
            self.app.push_screen(ExplainScreen(frame.frame_id))

    def act_viewer(self, key: str) -> None:
        frame = self.model.frame
        if frame and frame.picture:
            self.app.show_in_viewer(frame.picture.path)
        elif frame:
            self.say(f"Frame {frame.number} has no picture.")

    def act_cancel(self, key: str) -> None:
        self.query_one(Prompt).close()

    def act_ledger(self, key: str) -> None:
        self.app.show_ledger()

    def act_planner(self, key: str) -> None:
        self.app.show_planner()

    def act_bell(self, key: str) -> None:
        self.app.bell_on = not self.app.bell_on
        self.say(f"The bell on a miss is {'on' if self.app.bell_on else 'off'}.")

    def act_theme(self, key: str) -> None:
        self.app.other_theme()

    def act_help(self, key: str) -> None:
        self.app.show_help(self.where)

    def act_leave(self, key: str) -> None:
        self.app.leave()
