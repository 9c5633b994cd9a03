"""The frame after a mix where its picture tells nothing. With pictures: test_solo_mode; the light: test_mix_check."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
from PIL import Image

from session.frame.states import FrameState
from session.match.light_mix import SoloMix
from session.match.solo_picture import SoloPicture
from session.set.setup import Region
from tests.support.draft_bench import DraftBench
from tui.bench.mix_set_mode import MixSetMode
from tui.screen.small_picture import SmallPicture
from tui.words.model import Phase


def solo(level: float) -> SoloPicture:
    channels = np.full((3, 64, 96), level, np.float32)
    light = channels[1]
    return SoloPicture(channels, light, light > 1, np.full_like(light, 1e-6), 1.0)


def mode_on(bench: DraftBench) -> MixSetMode:
    mix = SoloMix({"key": solo(0.2), "fill": solo(0.1)}, solo(0.01), Region(0, 0, 1, 1))
    shown = SmallPicture(mix.at({}).pixels, 96, 64)
    port: Any = bench
    return MixSetMode(port, mix, {"fill": -1.0}, shown, ["fill 1/32 (−5 EV)"], fits=True)


def frame(number: int, path: Path | None, state: FrameState = FrameState.LOGGED) -> SimpleNamespace:
    picture = SimpleNamespace(path=str(path)) if path else None
    return SimpleNamespace(frame_id=f"f{number}", number=number, state=state, picture=picture)


def test_frames_of_before_are_not_compared_and_those_under_way_are_waited_for(tmp_path: Path) -> None:
    Image.new("RGB", (80, 80), "gray").save(tmp_path / "before.jpg")
    bench = DraftBench([frame(4, tmp_path / "before.jpg")])
    mode = mode_on(bench)
    head = mode.headline()
    assert head and head.large == "SET THE FLASHES" and "fill 1/32 (−5 EV)" in head.sentence and mode.picture()
    bench.model.released.append(frame(5, None, FrameState.RELEASING))
    bench.model.now = Phase.RELEASING
    assert mode.headline() is None and mode.picture(), "the frame under way is told by the bench"
    bench.model.released[-1] = frame(5, None, FrameState.NOT_FIRED)
    bench.model.now = Phase.READY
    assert mode.headline() == head, "another release is waited for"


def test_a_frame_that_tells_nothing_is_said_so_with_the_reason(tmp_path: Path) -> None:
    bench, empty, other = DraftBench([]), tmp_path / "empty.jpg", tmp_path / "other.jpg"
    empty.touch()
    Image.new("RGB", (80, 80), "gray").save(other)
    mode = mode_on(bench)
    for number, (path, why) in enumerate(((empty, "is empty"), (other, "can't be compared"))):
        bench.model.released.append(frame(number, path))
        mode.headline()
        head = mode.headline()
        assert head and head.large == "FORETOLD ?" and why in head.sentence and f"frame {number}" in head.sentence
        assert mode.picture() is None, "the frame is on show"


class SlowBench(DraftBench):
    """Work waits until the test has it done."""

    def __init__(self) -> None:
        super().__init__([])
        self.waiting: list[Callable[[], Callable[[], None]]] = []

    def in_background(self, work: Callable[[], Callable[[], None]], about: str) -> None:
        self.waiting.append(work)


def test_while_a_frame_is_compared_the_large_line_says_so_and_only_the_newest_is_told(tmp_path: Path) -> None:
    bench, empty = SlowBench(), tmp_path / "empty.jpg"
    empty.touch()
    mode = mode_on(bench)
    for number in (5, 6):
        bench.model.released.append(frame(number, empty))
        mode.headline()
        head = mode.headline()
        assert head and head.large == "COMPARING" and "release" not in head.sentence
    first, second = bench.waiting
    first()()
    head = mode.headline()
    assert head and head.large == "COMPARING", "frame 5 is no longer the newest"
    second()()
    head = mode.headline()
    assert head and "frame 6" in head.sentence


def test_a_stop_is_told_by_the_bench_and_what_was_found_stays_in_the_panel(tmp_path: Path) -> None:
    bench, empty = DraftBench([]), tmp_path / "empty.jpg"
    empty.touch()
    mode = mode_on(bench)
    bench.model.released.append(frame(6, empty))
    mode.headline()
    bench.model.now = Phase.STOPPED
    assert mode.headline() is None
    assert "frame 6" in "".join(line.plain for line in mode.panel(36, 12))
    mode.act_back("escape")
    assert bench.begun == [None]
