"""Keys about a released frame: which one is shown, its note, mark and reasons, the reference, undo and redo."""

from __future__ import annotations

from functools import partial

from session.shoot.acts import AcceptReference
from session.shoot.events import About
from tui.bench.mode import BenchPort
from tui.explain.explain_screen import ExplainScreen
from tui.words.keys import MARKS
from tui.words.model import drop_text


class FrameKeys:
    """The keys that act on the frame on show, or on what was done last."""

    def __init__(self, bench: BenchPort) -> None:
        self._bench = bench

    def act_choose(self, key: str) -> None:
        model = self._bench.model
        model.choose(1 if key == "right" else -1)
        if model.frame:
            self._say_unseen(f"Frame {model.frame.number} is chosen.")
        self._bench.repaint()

    def _say_unseen(self, sentence: str) -> None:
        """Say what an act did to a frame that live view covers, or whose place another takes that comes in."""
        model = self._bench.model
        if model.live.on or model.asked or model.under_way:
            self._bench.say(sentence, About.MEANWHILE)

    def act_note(self, key: str) -> None:
        frame = self._bench.model.frame
        if frame:
            self._bench.ask(f"note to frame {frame.number}", partial(self._bench.app.note, frame.frame_id))

    def act_mark(self, key: str) -> None:
        frame = self._bench.model.frame
        if frame:
            mark = self._bench.model.set_mark(frame.frame_id, MARKS[key])
            self._bench.app.mark(frame.frame_id, mark)
            marked = f"is marked {mark}" if mark else "has no mark"
            self._say_unseen(f"Frame {frame.number} {marked}.")
            self._bench.repaint()

    def act_reference(self, key: str) -> None:
        model, frame = self._bench.model, self._bench.model.frame
        if frame is None or model.revision is None or model.place is None:
            return
        if frame.setup.partition(".")[0] != model.revision.label.partition(".")[0]:
            self._bench.say(
                f"Frame {frame.number} is of set-up {frame.setup}; the reference is for {model.revision.label}."
            )
        elif frame.piece != model.place.piece:
            self._bench.say(f"Frame {frame.number} is of another piece than the one on the table.")
        else:
            drop = model.reference_id == frame.frame_id
            if drop and not model.drop_agreed(frame):
                self._bench.say(drop_text(frame))  # a key pressed twice by a slip drops nothing
                return
            self._bench.post(AcceptReference(None if drop else frame.frame_id))

    def act_no_frame(self, key: str) -> None:
        self._bench.say(f"No frame is here yet, so {key} did nothing.", About.MEANWHILE)

    def act_explain(self, key: str) -> None:
        frame = self._bench.model.frame
        if frame:
            self._bench.app.push_screen(ExplainScreen(frame.frame_id))

    def act_viewer(self, key: str) -> None:
        frame = self._bench.model.frame
        if frame and frame.picture:
            self._bench.app.show_in_viewer(frame.picture.path)
        elif frame:
            self._bench.say(f"Frame {frame.number} has no picture.")

    def act_undo(self, key: str) -> None:
        if self._bench.model.place:
            self._bench.app.undo(self._bench.model.place)
        self._bench.model.begin_act()

    def act_redo(self, key: str) -> None:
        if self._bench.model.place:
            self._bench.app.redo(self._bench.model.place)
        self._bench.model.begin_act()
