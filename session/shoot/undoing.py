"""Undo and redo of what a person did: acts in the log, the arrangement on the table, the best focus of live view.

What sets the camera is named first, and done only when it is asked for once more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from session.frame.ports import LogError, Place, Undone
from session.shoot.arranging import Arranging
from session.shoot.changes import turned_words
from session.shoot.events import Said, Turn, TurnAsked, UndoChanged
from session.shoot.live_stream import LiveStream
from session.shoot.state import ShootState


@dataclass(frozen=True)
class _Forgotten:
    """The best focus was forgotten after this act of the log, and when `undone`, before that one could be redone."""

    job_id: str
    after: str
    undone: bool = False
    before: str = ""


class Undoing:
    """Undoes and redoes acts, and says the result in one line."""

    def __init__(
        self,
        state: ShootState,
        arranging: Arranging,
        live: LiveStream,
        say_reference: Callable[[], None],
        turned: Callable[[Turn, str], None],
    ) -> None:
        """`turned` is called with the log's key of each act that was undone or redone."""
        self._state = state
        self._arranging = arranging
        self._live = live
        self._say_reference = say_reference
        self._turned = turned
        self._forgotten: _Forgotten | None = None
        self._possible: bool | None = None

    def look(self, *, anew: bool = False) -> None:
        """Emit whether an act can be undone, when that has changed; `anew`: emit it in any case, for a new listener."""
        state = self._state
        try:
            possible = self._best_is_last or state.log.can_undo(state.place)
        except LogError:  # the key is offered, and says why it can't
            possible = True
        if anew or possible != self._possible:
            self._possible = possible
            state.emit(UndoChanged(possible))

    @property
    def _best_is_last(self) -> bool:
        """The best focus was forgotten here, and may come back."""
        known = self._forgotten
        return known is not None and not known.undone and known.job_id == self._state.place.job_id

    def undo(self, place: Place, asked: str = "") -> None:
        """Undo the last act of this job; `asked`: the key of the act that was named."""
        if self._may_turn(Turn.UNDO):
            self._try(Turn.UNDO, place, asked)

    def redo(self, place: Place, asked: str = "") -> None:
        """Redo the act of this job that was undone last; `asked` as in `undo`."""
        if self._may_turn(Turn.REDO):
            self._try(Turn.REDO, place, asked)

    def forget_best(self) -> None:
        """Begin a new search for the best focus; undo brings the old one back."""
        if not self._live.forget_best():
            self._state.emit(Said("No best focus was seen yet."))
            return
        place = self._state.place
        try:
            last = self._state.log.next_undo(place)
        except LogError:  # then it can't be told what comes first
            self._forgotten = None
        else:
            self._forgotten = _Forgotten(place.job_id, last.act_id if last else "")
        self._state.emit(Said("The best focus seen is forgotten; a new search begins."))
        self.look()

    def _may_turn(self, act: Turn) -> bool:
        owed = self._state.writer.owed
        if owed:
            self._state.emit(Said(f"There is nothing to {act} before the log has taken the {owed} entries owed."))
        return not owed

    def _try(self, act: Turn, place: Place, asked: str) -> None:
        try:
            self._turn(act, place, asked)
        except LogError as error:
            self._state.emit(Said(str(error)))
        self.look()

    def _turn(self, act: Turn, place: Place, asked: str) -> None:
        """Raises LogError."""
        state, log = self._state, self._state.log
        if self._turn_best(act, place):
            return
        ahead = log.next_undo(place) if act is Turn.UNDO else log.next_redo(place)
        if ahead is None:
            state.emit(Said(f"There is nothing to {act} in {place.job}."))
            return
        what = self._sets_camera(act, ahead)
        if what and asked != ahead.act_id:
            state.emit(TurnAsked(act, what, ahead.act_id))
            return
        back = log.undo_last(place) if act is Turn.UNDO else log.redo(place)
        assert back is not None, "it was there a moment ago, and the log is ours alone"
        if back.standing is None:
            self._say_reference()
        elif back.view_id == state.place.view_id:
            self._arranging.put_in_force(back.standing)
            self._say_reference()
        self._turned(act, back.act_id)
        state.emit(Said(f"{back.text[:1].upper()}{back.text[1:]}."))

    def _sets_camera(self, act: Turn, ahead: Undone) -> str:
        """All that would be undone or redone, in words, where settings of the camera are among it; else ""."""
        if ahead.standing is None or ahead.view_id != self._state.place.view_id:
            return ""
        now, then = self._state.revision, ahead.standing.revision
        return turned_words(now, then) if act is Turn.UNDO else turned_words(now, then, named_by=then)

    def _turn_best(self, act: Turn, place: Place) -> bool:
        """Bring the best focus back, or forget it again; True if the last act was about it. Raises LogError."""
        known, log = self._forgotten, self._state.log
        if known is None or known.job_id != place.job_id or known.undone == (act is Turn.UNDO):
            return False
        last, next_ = log.next_undo(place), log.next_redo(place)
        before = next_.act_id if next_ else ""
        if (last.act_id if last else "") != known.after or (act is Turn.REDO and before != known.before):
            return False
        done = self._live.restore_best() if act is Turn.UNDO else self._live.forget_best()
        if not done:
            self._forgotten = None
            return False
        self._forgotten = _Forgotten(known.job_id, known.after, act is Turn.UNDO, before)
        said = "Undone: the best focus seen is back." if act is Turn.UNDO else "Redone: the best focus is forgotten."
        self._state.emit(Said(said))
        return True
