"""Sweeps over a drive with play, end stops, noise, hands and keys; the drive here is the test's own."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.live.sweep import RANGES, Range, SweepOutcome, sweep
from session.live.sweep_run import PATIENCE_S, SweepRun

FRAME_S = 1 / 15


@dataclass
class Bench:
    """A focus drive whose motor runs `play` steps free after turning round, and a hill of contrast over its places."""

    peak: float = 0.0
    width: float = 80.0
    play: int = 30
    noise: float = 0.003
    near: float = -1e9
    far: float = 1e9
    at: float = 0.0
    slack: float = 0.0
    hidden_from_s: float = math.inf
    hidden_until_s: float = math.inf
    moves: list[int] = field(default_factory=list)
    frames: int = 0
    now_s: float = 0.0
    chance: np.random.Generator = field(default_factory=lambda: np.random.default_rng(1))

    def drive(self, steps: int) -> bool:
        """Whether it went all the way."""
        self.moves.append(steps)
        free = self.slack + steps
        self.slack = min(max(free, 0.0), float(self.play))
        wanted = self.at + free - self.slack
        self.at = min(max(wanted, self.near), self.far)
        return self.at == wanted

    def contrast(self) -> float | None:
        self.frames += 1
        if self.hidden_from_s <= self.now_s < self.hidden_until_s:
            return None
        x = (self.at - self.peak) / self.width
        return 8 / (1 + x * x) * math.exp(self.noise * self.chance.standard_normal())

    def run(self, where: Range = Range(), stop_after: int = 10**9) -> SweepOutcome:  # noqa: B008
        run = SweepRun(sweep(where))
        step = run.begin(self.now_s)
        while run.outcome is None:
            self.now_s += FRAME_S
            if len(self.moves) >= stop_after:
                run.stop(self.now_s)
            elif step:
                step = run.after_drive(self.now_s, end_stop=not self.drive(step))
            else:
                step = run.after_frame(self.contrast(), self.now_s)
            assert self.frames < 2000
        return run.outcome


@settings(max_examples=60)
@given(
    st.floats(-1.4, 1.4),
    st.integers(40, 200),
    st.integers(0, 90),
    st.floats(0.001, 0.008),
    st.integers(0, 10**6),
)
def test_sweep_ends_at_the_peak_whatever_the_play(off: float, width: int, play: int, noise: float, seed: int) -> None:
    """Within a quarter of the half width at which the contrast has halved."""
    bench = Bench(peak=off * width, width=width, play=play, noise=noise, chance=np.random.default_rng(seed))
    outcome = bench.run()
    assert outcome.reached, outcome.text
    assert abs(bench.at - bench.peak) <= 0.25 * width


@pytest.mark.parametrize("where", RANGES)
@pytest.mark.parametrize("share", [-0.45, 0.1, 0.75])
@pytest.mark.parametrize("width", [15, 60, 200])
def test_every_range_on_offer_leads_to_a_peak_in_it_and_a_little_beyond(where: Range, share: float, width: int) -> None:
    bench = Bench(peak=share * where.span_steps, width=width)
    outcome = bench.run(where)
    assert outcome.reached, outcome.text
    assert abs(bench.at - bench.peak) <= 0.25 * width


def test_play_larger_than_the_run_up_is_noticed_and_run_up_longer() -> None:
    bench = Bench(peak=25, width=60, play=180)
    outcome = bench.run()
    assert outcome.reached
    assert abs(bench.at - bench.peak) <= 0.25 * bench.width
    assert max(bench.moves) > Range().run_up_steps


def test_last_move_comes_from_the_near_side() -> None:
    bench = Bench(peak=10)
    bench.run()
    assert bench.moves[-1] == Range().run_up_steps
    assert bench.moves[-2] < 0


def test_narrow_peak_between_the_coarse_steps_is_found() -> None:
    bench = Bench(peak=7.4, width=12.0)
    assert bench.run(Range(span_steps=200, step_steps=20)).reached
    assert abs(bench.at - bench.peak) <= 3


@pytest.mark.parametrize("peak", [-320.0, 340.0])
def test_peak_outside_the_range_is_followed(peak: float) -> None:
    bench = Bench(peak=peak, width=120)
    assert bench.run().reached
    assert abs(bench.at - peak) <= 30


def test_nothing_to_find_is_said_with_the_range() -> None:
    outcome = Bench(peak=1e6, width=50, noise=0.004).run()
    assert not outcome.reached
    assert "No peak from" in outcome.text


@pytest.mark.parametrize(("near", "far"), [(-60.0, 1e9), (-1e9, 45.0), (-70.0, 60.0)])
def test_end_stops_on_the_way_do_not_mislead(near: float, far: float) -> None:
    bench = Bench(peak=5, width=60, near=near, far=far)
    outcome = bench.run()
    assert outcome.reached, outcome.text
    assert abs(bench.at - 5) <= 15


def test_peak_beyond_the_near_stop_is_said() -> None:
    outcome = Bench(peak=-200, width=80, near=-50).run()
    assert not outcome.reached
    assert "near end" in outcome.text


@pytest.mark.parametrize("after", range(1, 40, 3))
def test_a_key_stops_it_and_nothing_is_driven_after(after: int) -> None:
    bench = Bench(peak=20)
    outcome = bench.run(stop_after=after)
    if len(bench.moves) < after:
        return  # it was done before
    assert not outcome.reached
    assert "Stopped" in outcome.text
    assert len(bench.moves) == after


def test_hand_for_a_moment_is_waited_for() -> None:
    bench = Bench(peak=20, hidden_from_s=1.0, hidden_until_s=1.0 + PATIENCE_S / 2)
    assert bench.run().reached


def test_hand_that_stays_ends_it() -> None:
    outcome = Bench(peak=20, hidden_from_s=1.0).run()
    assert not outcome.reached
    assert "in the way" in outcome.text


def test_frames_before_the_drive_has_stopped_do_not_count() -> None:
    run = SweepRun(sweep(Range()))
    assert run.begin(0.0) == -200
    assert run.after_frame(5.0, 0.1) == 0
    assert run.after_drive(0.2) == 100


@pytest.mark.parametrize(("span", "step", "up"), [(0, 1, 1), (10, 20, 1), (10, 0, 1), (10, 1, 0)])
def test_ranges_that_make_no_sense_are_refused(span: int, step: int, up: int) -> None:
    with pytest.raises(ValueError, match="positive"):
        Range(span, step, up)
