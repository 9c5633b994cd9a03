"""The plan that measures a drive: places from one side, the peak from both; the drive is the test's own."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest

from session.live.drive_sweep import PLACES, DriveSwept, drive_sweep
from session.live.sweep import Range, SweepOutcome
from session.live.sweep_run import SweepRun

PICTURE = np.zeros((2, 2), np.uint8)


@dataclass
class Hill:
    """A drive that runs `play` steps free after turning round, and a hill of contrast over the lens's places."""

    play: int = 30
    peak: float = 25.0
    width: float = 60.0
    near: int = -100_000
    far: int = 100_000
    slack: int = 0
    lens: int = 0
    stood: list[int] = field(default_factory=list)

    def move(self, steps: int) -> bool:
        free = self.slack + steps
        self.slack = min(max(free, 0), self.play)
        wanted = self.lens + free - self.slack
        self.lens = min(max(wanted, self.near), self.far)
        return self.lens == wanted

    def run(self, stop_after: int = 10**9) -> SweepOutcome:
        run, frames = SweepRun(drive_sweep(Range())), 0
        step = run.begin(0.0)
        while run.outcome is None:
            frames += 1
            assert frames < 3000
            if frames > stop_after:
                run.stop(frames / 15)
            elif step:
                step = run.after_drive(frames / 15, end_stop=not self.move(step))
            else:
                wanted = run._look is not None and run._look.kept
                x = (self.lens - self.peak) / self.width
                step = run.after_frame(8 / (1 + x * x), frames / 15, PICTURE)
                if wanted and (run._look is None or step):
                    self.stood.append(self.lens)
        return run.outcome


@pytest.mark.parametrize("play", [0, 30, 90, 180])
def test_places_lie_evenly_and_the_peak_from_both_sides_tells_the_play(play: int) -> None:
    hill = Hill(play)
    found = hill.run()
    assert isinstance(found, DriveSwept), found.text
    assert found.out is not None and found.back is not None
    assert found.out.at_steps - found.back.at_steps == pytest.approx(play, abs=2)
    assert len(found.places) == len(found.pictures) == PLACES
    behind = {place - lens for place, lens in zip(found.places, hill.stood[-PLACES:], strict=True)}
    assert len(behind) == 1, "the play is taken up at each place"
    assert found.places[0] < found.out.at_steps - 3 * hill.width / 2 and found.places[-1] > found.out.at_steps
    assert found.run_up_steps >= play
    assert abs(hill.lens - hill.peak) <= 2, "it goes back to the peak"


@pytest.mark.parametrize("stop", ["near", "far"])
def test_an_end_stop_within_the_span_is_told(stop: str) -> None:
    hill = Hill(near=-130) if stop == "near" else Hill(far=130)
    found = hill.run()
    assert not found.reached and "end stop: move the camera a little" in found.text


def test_a_key_stops_it_anywhere() -> None:
    for after in range(1, 240, 7):
        assert Hill().run(stop_after=after).text.startswith("Stopped")


def test_no_detail_is_told_with_a_remedy() -> None:
    assert "No peak" in Hill(width=1e9).run().text
