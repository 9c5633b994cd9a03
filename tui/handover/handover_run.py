"""A hand-over on its way in a thread of its own, so that the bench goes on.

It stops between two blocks of an original, and before any other file.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from threading import Event

from session.frame.ports import Clock, LogError
from storage.handover.zipped import zip_path
from tui.paper.handing_over import PreparedHandover, carry_into_zip, carry_out
from tui.words.handover_words import (
    HandoverProgress,
    folder_text,
    missing_text,
    not_whole_text,
    progress_text,
    whole_text,
    zip_text,
)
from tui.words.harmless import harmless

GOES_ON = "the same hand-over, asked for again,"


class StoppedByHandError(Exception):
    """Somebody stopped the hand-over."""


class HandoverRun:
    """A hand-over with its progress and its outcome. `work` runs in a thread; the others may be called from any thread.

    outcome  a sentence, "" as long as it is on its way
    told     what is to be known of files that are in their place
    seen     the outcome was shown on the hand-over's screen
    """

    def __init__(self, prepared: PreparedHandover, folder: Path, clock: Clock, *, zips: bool, whole: bool) -> None:
        """`whole`: the folder is a whole hand-over already, and only the ZIP is made."""
        self.prepared, self.folder = prepared, folder
        self._zips, self._whole, self._clock = zips, whole, clock
        self._began_s = clock.monotonic_s()
        self._stopped = Event()
        self._step: HandoverProgress | None = None
        self.outcome, self.seen = "", False
        self.told: list[str] = []

    @property
    def is_over(self) -> bool:
        return bool(self.outcome)

    def stop(self) -> None:
        """End the hand-over within a block of an original, else after the file under way; what is there stays."""
        self._stopped.set()

    def words(self) -> str:
        """The progress in words, or the outcome."""
        if self.outcome:
            return self.outcome
        if self._stopped.is_set():
            return "Stops; at most the file under way is still written …"
        if self._step is None:
            return "begins"
        return progress_text(self._step, self._clock.monotonic_s() - self._began_s)

    def work(self) -> None:
        """Carry it out; the outcome says how it ended."""
        try:
            self.outcome = self._carry_out()
        except StoppedByHandError:
            self.outcome = f"Stopped. What is there is right; {GOES_ON} goes on."
        except LogError as error:
            self.outcome = harmless(str(error))
        except OSError as error:
            self.outcome = not_whole_text(self.folder, folder_text(self.folder), error, GOES_ON)
        finally:
            self.outcome = self.outcome or "It ended by a mistake of stillset's own; what is there is right."

    def _carry_out(self) -> str:
        said, count = "", 0
        if not self._whole:
            for step in carry_out(self.prepared, self.folder, self._stop_here):
                self._step, count = step, step.count
                self.told += [step.told] if step.told else []
            said = whole_text(folder_text(self.folder), len(self.prepared.plan.frames), count)
        if self._zips:
            self._began_s = self._clock.monotonic_s()
            with closing(carry_into_zip(self.folder)) as steps:
                for step in steps:
                    self._step = step
                    self._stop_here()
            said = f"{said} {zip_text(folder_text(zip_path(self.folder)))}".strip()
        return said if self._whole else f"{said} {missing_text(self.prepared.plan)}".strip()

    def _stop_here(self) -> None:
        if self._stopped.is_set():
            raise StoppedByHandError
