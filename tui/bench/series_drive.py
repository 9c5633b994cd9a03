"""The camera's drive as a series at the bench counts with it: what a step is worth, its play, the ends marked by it."""

from __future__ import annotations

from dataclasses import dataclass, field

from session.frame.drive_runs import DriveRuns
from session.frame.series_plane import Approach
from session.set.kit import LensDrive
from session.set.lens_in_use import drive_in_use
from tui.bench.mode import BenchPort


@dataclass(frozen=True)
class MarkedEnd:
    """Where an end was marked: how often the drive had failed by then, where it stood, and how it came there."""

    fails: int
    at_steps: int
    runs: DriveRuns


@dataclass
class SeriesDrive:
    """The numbers by which a series is driven.

    typed     steps a mm as a person typed them; None: as they were measured
    ends      `n` and `m` → where that end was marked
    run_with  the ends as they were when the series was begun or went on last
    asked     those with which the controller was asked to begin, None once it has begun
    """

    bench: BenchPort
    typed: float | None = None
    ends: dict[str, MarkedEnd] = field(default_factory=dict)
    run_with: dict[str, MarkedEnd] = field(default_factory=dict)
    asked: dict[str, MarkedEnd] | None = None
    _heard: LensDrive | None = None

    @property
    def measured(self) -> LensDrive | None:
        """The drive of the lens in force, as it was measured today or as the kit has it."""
        model, kit = self.bench.model, self.bench.kit
        if model.revision is None:
            return None
        new = (model.drive_measured,) if model.drive_measured is not None else ()
        return drive_in_use(model.revision.arrangement, kit.model_copy(update={"drive": (*new, *kit.drive)}))

    @property
    def steps_per_mm(self) -> float | None:
        """As typed, else as measured; None where nobody knows it."""
        measured = self.measured
        return self.typed or (measured.steps_per_mm if measured is not None else None)

    @property
    def play_steps(self) -> int | None:
        """As measured, also where the steps a mm were typed; None where nobody measured it."""
        measured = self.measured
        return measured.whole_play_steps if measured is not None else None

    def forget_typed_before_measured(self) -> None:
        """A measured drive goes before what was typed until then."""
        new = self.bench.model.drive_measured
        if new is not None and new is not self._heard:
            self.typed = None
        self._heard = new

    def mark(self, end: str) -> None:
        """The drive stands at this end: `n` near, `m` far."""
        model = self.bench.model
        self.ends[end] = MarkedEnd(model.drive_fails, model.driven_steps, model.drive_runs)

    def forget(self) -> None:
        """Another series is planned, or looked for."""
        self.ends, self.run_with, self.asked = {}, {}, None

    def steps_since(self, end: str) -> int | None:
        """The lens's way since this end was marked, steps; None without a mark, or where nobody knows the way.

        Turned round, the drive runs its play before the lens moves: the lens stands behind a drive that went away.
        """
        model, mark = self.bench.model, self.ends.get(end)
        if mark is None or mark.fails != model.drive_fails:
            return None
        play_steps, came = self.play_steps or 0, 1 if end == "n" else -1
        behind = model.drive_runs.lag(play_steps, came) - mark.runs.lag(play_steps, came)
        return model.driven_steps - mark.at_steps - behind

    def steps_since_first(self, approach: Approach) -> int | None:
        """The same since the end was marked that a series begins at."""
        return self.steps_since("n" if approach is Approach.NEAR else "m")
