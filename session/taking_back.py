"""Taking back what a person did, and doing it again: acts in the log, and changes of a set-up that isn't in it yet."""

from __future__ import annotations

from collections.abc import Callable

from session.arranging import Arranging
from session.bench import Bench
from session.events import Said
from session.ports import LogError, Place, TakenBack
from session.setup import Revision


class TakingBack:
    """Says in one line what came of it."""

    def __init__(self, bench: Bench, arranging: Arranging, say_reference: Callable[[], None]) -> None:
        self._bench = bench
        self._arranging = arranging
        self._say_reference = say_reference

    def undo(self, place: Place) -> None:
        """Take back what was done last in this job."""
        before, after = self._arranging.before, self._arranging.after
        self._turn(place, self._bench.log.undo_last, before, after, "take back", "Taken back")

    def redo(self, place: Place) -> None:
        """Do again what was taken back last in this job."""
        before, after = self._arranging.before, self._arranging.after
        self._turn(place, self._bench.log.redo, after, before, "do again", "Done again")

    def _turn(
        self,
        place: Place,
        turn: Callable[[Place], TakenBack | None],
        drafts: list[Revision],
        others: list[Revision],
        act: str,
        done: str,
    ) -> None:
        bench = self._bench
        if bench.is_draft and drafts and place.job_id == bench.place.job_id:
            others.append(bench.revision)
            self._arranging.put_in_force(drafts.pop(), "")
            bench.emit(Said(f"{done}: the change of set-up {bench.revision.label}, which has no frame yet."))
            return
        if bench.writer.owed:
            bench.emit(
                Said(f"There is nothing to {act} before the log has taken the {bench.writer.owed} entries owed.")
            )
            return
        try:
            back = turn(place)
        except LogError as error:
            bench.emit(Said(str(error)))
            return
        if back is None:
            bench.emit(Said(f"There is nothing to {act} in {place.job}."))
            return
        if back.revision is None:
            self._say_reference()
        elif place.job_id == bench.place.job_id and back.revision.setup_number == bench.revision.setup_number:
            self._arranging.put_in_force(back.revision, back.revision_id)
        bench.emit(Said(f"{back.text[:1].upper()}{back.text[1:]}."))
