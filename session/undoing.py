"""Undo and redo of what a person did: acts in the log, the arrangement on the table among them."""

from __future__ import annotations

from collections.abc import Callable

from session.arranging import Arranging
from session.bench import Bench
from session.events import Said
from session.ports import LogError, Place, Undone


class Undoing:
    """Says in one line what came of it."""

    def __init__(self, bench: Bench, arranging: Arranging, say_reference: Callable[[], None]) -> None:
        self._bench = bench
        self._arranging = arranging
        self._say_reference = say_reference

    def undo(self, place: Place) -> None:
        """Undo what was done last in this job."""
        self._turn(place, self._bench.log.undo_last, "undo")

    def redo(self, place: Place) -> None:
        """Redo what was undone last in this job."""
        self._turn(place, self._bench.log.redo, "redo")

    def _turn(self, place: Place, turn: Callable[[Place], Undone | None], act: str) -> None:
        bench = self._bench
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
        if back.standing is None:
            self._say_reference()
        elif back.view_id == bench.place.view_id:
            self._arranging.put_in_force(back.standing)
            self._say_reference()
        bench.emit(Said(f"{back.text[:1].upper()}{back.text[1:]}."))
