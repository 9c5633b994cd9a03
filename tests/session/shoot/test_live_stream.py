"""Live view as the controller runs it: release by stillness, trouble told, focus driven, swept and locked."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import Fault
from session.frame.states import FrameState
from session.live.decode import Stream
from session.live.sweep import Range
from session.rules.stillness_rules import LONGEST_WAIT_S
from session.set.setup import Confirmation
from session.shoot.acts import (
    Act,
    AskRelease,
    LivePictureUsed,
    StopSweep,
    SweepFocus,
    SwitchLiveView,
    Touched,
    TurnFocus,
)
from session.shoot.events import (
    About,
    FocusMoved,
    FrameMoved,
    LivePicture,
    LiveViewChanged,
    Said,
    StreamChanged,
    Waiting,
)
from session.shoot.live_stream import LIVE_MINUTES, RETRY_S
from tests.support.live_pictures import live_jpeg, scene
from tests.support.made_pictures import jpeg_bytes
from tests.support.scripted import DESCRIPTION, Studio, reading

LIGHT = scene()
FRAME_S = 1 / 15


@lru_cache(maxsize=256)
def picture(right_px: float, blur_px: float, seed: int) -> bytes:
    return live_jpeg(LIGHT, right_px=right_px, blur_px=blur_px, seed=seed)


class LiveStudio(Studio):
    """With live view on, and a picture that is where the test puts it."""

    def __init__(self, *, confirmed: tuple[str, ...] = (Confirmation.BY_STILLNESS,), on: bool = True) -> None:
        super().__init__()
        self.revise(replace(self.shoot.shoot_state.revision, confirmed=confirmed))
        self.chance, self.seed = np.random.default_rng(3), 0
        if on:
            self.do(SwitchLiveView(True))

    def frame(self, right_px: float = 0.0, blur_px: float = 0.0) -> None:
        """The next live picture comes, unevenly, and is used."""
        self.clock.now_s += FRAME_S * float(self.chance.uniform(0.8, 1.2))
        self.seed += 1
        self.deliver(say.LiveFrame(picture(right_px, blur_px, self.seed % 4), self.clock.now_s))
        self.do(LivePictureUsed())

    def lasting(self, which: str) -> str:
        """What stands under that id now."""
        return next((event.text for event in reversed(self.said(Said)) if event.id == which), "")


def test_release_waits_while_the_picture_swings_and_fires_when_it_rests() -> None:
    studio = LiveStudio()
    for n in range(12):
        studio.frame(right_px=0.5 * (-1) ** n)
    studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert studio.said(Waiting)[-1].reason == "hold-off"
    frames = 0
    while not studio.camera.count(say.Release):
        studio.frame()
        frames += 1
        assert frames < 60
    assert 0.7 / FRAME_S - 2 <= frames <= 3 / FRAME_S


def test_picture_that_never_rests_ends_the_wait_in_words_and_can_be_overruled() -> None:
    studio = LiveStudio()
    studio.frame()
    studio.ask()
    for n in range(int((LONGEST_WAIT_S + 2) / FRAME_S)):
        studio.frame(right_px=0.5 * (-1) ** n)
    assert studio.camera.count(say.Release) == 0
    assert studio.said(FrameMoved)[-1].state is FrameState.REFUSED
    assert "did not fire. The picture still moves ±" in studio.said(FrameMoved)[-1].text
    studio.ask(**{"hold-off": "the fan of the lamp"})
    assert studio.camera.count(say.Release) == 1


def test_stream_that_is_lost_while_it_waits_leaves_the_timer() -> None:
    studio = LiveStudio()
    for n in range(12):
        studio.frame(right_px=0.5 * (-1) ** n)
    studio.do(Touched())
    studio.ask()
    studio.wait(1.9)
    assert studio.camera.count(say.Release) == 0
    studio.wait(0.2)
    assert studio.camera.count(say.Release) == 1
    assert studio.said(StreamChanged)[-1].state is Stream.LOST


def test_every_live_picture_comes_with_its_reading() -> None:
    studio = LiveStudio()
    studio.frame()
    reading = studio.said(LivePicture)[-1].reading
    assert reading is not None
    assert reading.focus is not None
    assert reading.picture is not None


def test_stream_in_trouble_is_told_once_and_undone() -> None:
    studio = LiveStudio()
    studio.frame()
    studio.do(LivePictureUsed())
    studio.wait(2.5)
    studio.wait(0.5)
    assert [event.state for event in studio.said(StreamChanged)].count(Stream.LOST) == 1
    assert studio.said(StreamChanged)[-1].state is Stream.LOST
    studio.frame()
    assert studio.said(StreamChanged)[-1].state is Stream.GOOD


def test_picture_that_nobody_asks_for_is_not_missed() -> None:
    studio = LiveStudio()
    studio.frame()
    studio.shoot.live.instruments.begin(studio.clock.now_s)
    studio.deliver(say.LiveFrame(live_jpeg(LIGHT, seed=9), studio.clock.now_s))  # not used: the picture is paused
    studio.wait(30)
    assert studio.said(StreamChanged)[-1].state is Stream.GOOD


def test_other_size_is_said() -> None:
    studio = LiveStudio()
    studio.frame()
    small = jpeg_bytes(np.random.default_rng(1).integers(60, 200, (240, 320)).astype(np.uint8))
    studio.deliver(say.LiveFrame(small, studio.clock.now_s + 0.1))
    assert "another size" in studio.texts()


def test_camera_that_comes_back_gets_live_view_again() -> None:
    studio = LiveStudio()
    studio.frame()
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    assert studio.shoot.shoot_state.moves is None
    studio.deliver(say.Connected(DESCRIPTION, reading(), (), 10**12))
    assert studio.camera.count(say.LiveView) == 2


def test_live_view_that_is_refused_is_off() -> None:
    studio = LiveStudio()
    studio.deliver(say.Failed("LiveView", Fault.NOT_OFFERED, "This camera offers no live view."))
    assert studio.said(LiveViewChanged)[-1] == LiveViewChanged(False, "This camera offers no live view.")
    before = studio.camera.count(say.NextLiveFrame)
    studio.do(LivePictureUsed())
    assert studio.camera.count(say.NextLiveFrame) == before


def test_live_view_that_the_camera_ends_is_told_and_begun_again() -> None:
    studio = LiveStudio()
    studio.frame()
    studio.deliver(say.Failed("LiveView", Fault.BROKEN, "It ended."))
    assert studio.shoot.live.on
    assert studio.shoot.shoot_state.moves is None
    assert studio.said(StreamChanged)[-1] == StreamChanged(Stream.ENDED, why="It ended.")
    studio.wait(RETRY_S - 0.1)
    assert studio.camera.count(say.LiveView) == 1
    studio.wait(0.2)
    assert studio.camera.count(say.LiveView) == 2
    studio.frame()
    assert studio.said(StreamChanged)[-1].state is Stream.GOOD


def test_live_view_that_was_switched_off_meanwhile_stays_off() -> None:
    studio = LiveStudio()
    studio.deliver(say.Failed("LiveView", Fault.BROKEN, "It ended."))
    studio.do(SwitchLiveView(False))
    studio.wait(10)
    assert studio.camera.last(say.LiveView) == say.LiveView(False)
    assert studio.said(StreamChanged)[-1].state is Stream.NONE


class Drive:
    """The camera's focus drive over a hill of sharpness, 30 steps of play."""

    def __init__(self, studio: LiveStudio, peak: float) -> None:
        self.studio, self.peak, self.at, self.slack, self.answered = studio, peak, 0.0, 0.0, 0

    def play(self, frames: int) -> None:
        """Answer what is asked, and let live pictures come."""
        for _ in range(frames):
            asked = [r for r in self.studio.camera.requests if isinstance(r, say.DriveFocus)]
            for request in asked[self.answered :]:
                self.answered += 1
                free = self.slack + request.steps
                self.slack = min(max(free, 0.0), 30.0)
                self.at += free - self.slack
                self.studio.deliver(say.FocusDriven(request.steps))
            self.studio.frame(blur_px=abs(self.at - self.peak) / 25)
            if not self.studio.shoot.live.sweeping:
                return


def test_sweep_drives_to_the_peak_and_says_what_was_reached() -> None:
    studio = LiveStudio(confirmed=())
    drive = Drive(studio, peak=37.0)
    studio.do(SweepFocus(Range()))
    assert studio.lasting(About.SWEEP)
    drive.play(400)
    assert not studio.shoot.live.sweeping
    assert abs(drive.at - drive.peak) <= 8
    form = re.compile(r"Looking for the peak: place (\d+) of about (\d+), about \d+ s; any key stops it\.")
    told = [form.fullmatch(said.text) for said in studio.said(Said) if said.id == About.SWEEP and "place" in said.text]
    places = [(int(one[1]), int(one[2])) for one in told if one]
    assert len(places) == len(told) and [place for place, _ in places] == list(range(2, len(places) + 2))
    assert places[-1][0] == places[-1][1], "the last look is known to be the last"
    assert studio.lasting(About.SWEEP) == ""
    assert "In focus" in studio.texts()
    assert studio.log.events[-1][0] == "focus sweep"
    assert studio.said(FocusMoved)
    assert studio.shoot.shoot_state.touched_s is not None


@pytest.mark.parametrize("act", [StopSweep(), AskRelease()])
def test_a_key_and_a_release_end_a_sweep(act: Act) -> None:
    studio = LiveStudio(confirmed=())
    drive = Drive(studio, peak=37.0)
    studio.do(SweepFocus(Range()))
    drive.play(10)
    driven = studio.camera.count(say.DriveFocus)
    studio.do(act)
    drive.play(30)
    assert studio.camera.count(say.DriveFocus) == driven
    assert "Stopped" in studio.texts()


def test_end_stop_is_an_answer_and_any_other_failure_the_end() -> None:
    studio = LiveStudio(confirmed=())
    studio.do(SweepFocus(Range()))
    first = studio.camera.last(say.DriveFocus)
    studio.deliver(say.Failed("DriveFocus", Fault.END_STOP, "The focus is at its end stop."))
    assert studio.shoot.live.sweeping
    studio.frame()
    studio.deliver(say.Failed("DriveFocus", Fault.REFUSED, "The focus can be driven in live view only."))
    assert not studio.shoot.live.sweeping
    assert first.steps < 0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"confirmed": (Confirmation.FOCUS_LOCKED,)}, "locked for set-up 01.2"),
        ({"focus_drive": False}, "offers no focus drive"),
        ({"on": False}, "Switch live view on first"),
    ],
)
def test_sweep_is_refused_in_words(change: dict[str, Any], words: str) -> None:
    studio = LiveStudio(confirmed=change.get("confirmed", ()), on=change.get("on", True))
    studio.shoot.shoot_state.description = replace(DESCRIPTION, focus_drive=change.get("focus_drive", True))
    studio.do(SweepFocus(Range()))
    assert studio.camera.count(say.DriveFocus) == 0
    assert words in studio.texts()


def test_locked_focus_is_not_driven_by_single_steps_either() -> None:
    studio = LiveStudio(confirmed=(Confirmation.FOCUS_LOCKED,))
    studio.do(TurnFocus(5))
    assert studio.camera.count(say.DriveFocus) == 0
    assert "locked" in studio.texts()


def test_live_view_ends_when_nobody_focuses_and_v_begins_it_again() -> None:
    studio = LiveStudio()
    studio.clock.now_s += 60 * LIVE_MINUTES - 30
    studio.do(TurnFocus(1))
    studio.clock.now_s += 60
    studio.shoot.tick()
    assert studio.shoot.live.on
    studio.clock.now_s += 60 * LIVE_MINUTES
    studio.shoot.tick()
    assert not studio.shoot.live.on
    assert "Live view ended: nobody focused for 10 minutes; it costs battery and warms the camera." in studio.texts()
    studio.do(SwitchLiveView(True))
    assert studio.shoot.live.on
