"""Marks, notes and undo in a log that no bench has open: what the ledger may write when it stands alone."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from session.frame.ports import LogError, Place, Undone
from session.shoot.acts import Act, AddNote, MarkFrame, Redo, TellWhenDone, Undo
from session.shoot.events import About, DoneSoFar, Event, Said
from storage.files.writer_lock import LogInUseError
from storage.writing.log import SqlLog
from tui.shell.terminal import OWN_MISTAKE, write_down
from tui.words.wording import NOTE_KEPT


class LogActs:
    """Carries out acts in their order, in a thread of its own; each has the log open for that moment only.

    So a bench may be opened on the log meanwhile, and one that has it open is named. Events tell the outcome.
    """

    def __init__(self, log: Path) -> None:
        self._log = log
        self._listener: Callable[[Event], None] = lambda event: None
        self._queue: queue.Queue[Act | None] = queue.Queue()
        self._thread = threading.Thread(target=self._run, name="log acts", daemon=True)
        self._thread.start()

    def listen(self, listener: Callable[[Event], None]) -> None:
        """Hear every event from now on, in the thread of the acts."""
        self._listener = listener

    def post(self, act: Act) -> None:
        """Ask for an act, from any thread; returns at once."""
        self._queue.put(act)

    def wait(self) -> None:
        """Wait until all that was asked for is done."""
        self._queue.join()

    def close(self) -> None:
        """Wait likewise, and end the thread."""
        self._queue.put(None)
        self._thread.join()

    def _run(self) -> None:
        while (act := self._queue.get()) is not None:
            try:
                self._do(act)
            except LogInUseError as error:
                self._listener(Said(f"{error} Mark and note there; nothing was written here."))
            except LogError as error:
                self._listener(Said(f"{error} Nothing was written."))
            except Exception as error:  # noqa: BLE001 — the edge: our own mistake is written down and said
                write_down(error)
                self._listener(Said(OWN_MISTAKE, About.OWN_FAULT, True))
            finally:
                self._queue.task_done()
        self._queue.task_done()

    def _do(self, act: Act) -> None:
        """Raises LogError."""
        if isinstance(act, TellWhenDone):
            self._listener(DoneSoFar(act.name))
            return
        if not self._log.exists():
            raise LogError(f"There is no log at {self._log} any more.")
        with closing(SqlLog.open(self._log)) as log:
            match act:
                case MarkFrame(frame_id, mark):
                    log.mark(frame_id, mark)
                case AddNote(frame_id, text):
                    log.note(frame_id, text)
                    self._listener(Said(NOTE_KEPT))
                case Undo(place):
                    self._say_turned(log.undo_last(place), "undo", place)
                case Redo(place):
                    self._say_turned(log.redo(place), "redo", place)
                case _:
                    raise NotImplementedError(f"no case for {act!r}")

    def _say_turned(self, done: Undone | None, what: str, place: Place) -> None:
        if done is None:
            self._listener(Said(f"There is nothing to {what} in {place.job}."))
        else:
            self._listener(Said(f"{done.text[:1].upper()}{done.text[1:]}."))
