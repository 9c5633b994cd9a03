"""Keys that belong to live view: the look of the picture, its comparison, the tone, the support, the focus drive."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from session.frame.camera_messages import NO_CAMERA, NO_FOCUS_DRIVE
from session.picture.preview import UnreadablePicture
from session.shoot.acts import (
    ForgetBest,
    KeepSupport,
    MeasureSupport,
    SweepFocus,
    SwitchLiveView,
    TurnFocus,
)
from session.shoot.events import About
from tui.bench.live_feed import LiveFeed
from tui.bench.mode import BenchPort
from tui.bench.sound import FocusTone
from tui.screen.background import Then
from tui.screen.small_picture import SmallPicture, region_picture, small_live_picture
from tui.words.keys import Where, cap_of
from tui.words.live_words import NO_LIVE_VIEW, range_text

SMALL_STEP, LARGE_STEP = 1, 10
"""Steps of the camera's own focus drive at one press. Chosen."""


class LiveKeys:
    """The keys that change how the live picture is shown, and that drive the focus."""

    def __init__(self, bench: BenchPort, feed: LiveFeed, tone: FocusTone) -> None:
        self._bench, self._feed, self._tone = bench, feed, tone

    def act_live(self, key: str) -> None:
        self._bench.post(SwitchLiveView(not self._bench.model.live.on))

    def act_no_live(self, key: str) -> None:
        self._say_lacking(NO_LIVE_VIEW)

    def act_enlarge(self, key: str) -> None:
        look = self._bench.model.live.look
        look.reduce() if key == "minus" else look.enlarge()
        self._feed.show_anew()

    def act_lines(self, key: str) -> None:
        self._bench.model.live.look.next_overlay()
        self._feed.show_anew()

    def act_hold(self, key: str) -> None:
        self._bench.model.live.look.next_hold()
        self._feed.drop_correction()
        self._feed.show_anew()

    def act_pause(self, key: str) -> None:
        look = self._bench.model.live.look
        look.paused = not look.paused
        self._feed.ask_if_owed()
        self._bench.repaint()

    def act_tone(self, key: str) -> None:
        self._tone.switch()

    def act_forget_best(self, key: str) -> None:
        self._bench.model.live.forget()
        self._tone.forget()
        self._bench.post(ForgetBest())
        self._bench.repaint()

    def act_still(self, key: str) -> None:
        model, newest = self._bench.model, self._feed.newest
        region = model.revision.region if model.revision else None
        file = model.frame.picture if model.frame else None
        if model.under_way:
            self._bench.say("Not while a frame is under way: the still covers the whole screen.")
        elif region is None:
            return
        elif model.live.on and newest is not None:
            self._show_still(partial(small_live_picture, newest.jpeg, region))
        elif file is not None:
            self._show_still(partial(region_picture, file.path, region))
        else:
            self._bench.say("There is no picture yet.")

    def _show_still(self, read: Callable[[], SmallPicture]) -> None:
        def work() -> Then:
            try:
                return partial(self._bench.app.show_still, read())
            except UnreadablePicture as error:
                return partial(self._bench.say, f"The file {error}.")

        self._bench.app.in_background(work, "still")

    def act_support(self, key: str) -> None:
        self._bench.post(MeasureSupport())

    def act_keep_support(self, key: str) -> None:
        self._bench.post(KeepSupport())

    def act_nudge(self, key: str) -> None:
        self._drive(-SMALL_STEP if key == "comma" else SMALL_STEP)

    def act_push(self, key: str) -> None:
        self._drive(-LARGE_STEP if key == "less_than_sign" else LARGE_STEP)

    def act_sweep(self, key: str) -> None:
        self._bench.model.begin_act()
        self._bench.model.live.look.paused = False  # it looks at every place
        self._feed.ask_if_owed()
        self._bench.post(SweepFocus(self._bench.model.live.sweeps))

    def act_range(self, key: str) -> None:
        live = self._bench.model.live
        live.next_range()
        self._bench.say(range_text(live.sweeps))
        self._bench.repaint()

    def act_unseen_drive(self, key: str) -> None:
        sentence = f"The focus is driven in live view: {cap_of(Where.BENCH, 'live')} switches it on."
        self._bench.say(sentence, About.LIVE_FIRST)

    def act_no_drive(self, key: str) -> None:
        self._say_lacking(NO_FOCUS_DRIVE)

    def _say_lacking(self, sentence: str) -> None:
        """Say `sentence`, on a thing that the camera doesn't offer, or say that no camera has answered yet."""
        if self._bench.model.description is None:
            self._bench.say(NO_CAMERA, About.NO_CAMERA)
        else:
            self._bench.say(sentence)

    def _drive(self, steps: int) -> None:
        self._bench.model.begin_act()
        self._bench.post(TurnFocus(steps))
