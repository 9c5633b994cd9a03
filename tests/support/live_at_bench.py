"""Live frames for a running bench: through real instruments, 15 a second by the clock of the test."""

from __future__ import annotations

from session.frame import camera_messages as say
from session.live.instruments import Instruments
from session.rules.stillness_rules import still_limit_px
from session.shoot.events import LivePicture, LiveViewChanged
from tests.support.live_pictures import live_jpeg, scene
from tests.support.played_bench import PlayedBench
from tests.support.running_screen import Running
from tests.support.scripted_table import REVISION, FixedClock

FRAME_S = 1 / 15
SCENE = scene()
ON = LiveViewChanged(True)


class Stream15:
    """Live frames at 15 a second through instruments of their own."""

    def __init__(self, at: Running, clock: FixedClock) -> None:
        self._at, self._clock = at, clock
        self._instruments = Instruments()
        self._instruments.begin(clock.now_s)
        self._seed = 0

    async def send(self, jpeg: bytes) -> None:
        self._clock.now_s += FRAME_S
        limit_px = still_limit_px(REVISION)
        reading = self._instruments.see(jpeg, self._clock.now_s, REVISION.region, pixels_across=1024, limit_px=limit_px)
        await self._at.tell(LivePicture(jpeg, reading))

    async def show(self, *blurs_px: float, right_px: float = 0.0) -> None:
        for blur_px in blurs_px:
            self._seed += 1
            await self.send(live_jpeg(SCENE, blur_px=blur_px, right_px=right_px, seed=self._seed))


class PlayedStream:
    """Live frames from the scripted camera to the real controller, 15 a second by the shoot's clock."""

    def __init__(self, at: PlayedBench) -> None:
        self._at, self._seed = at, 0

    async def send(self, jpeg: bytes) -> None:
        clock = self._at.studio.clock
        clock.now_s += FRAME_S
        await self._at.camera(say.LiveFrame(jpeg, clock.now_s))

    async def show(self, *blurs_px: float) -> None:
        for blur_px in blurs_px:
            self._seed += 1
            await self.send(live_jpeg(SCENE, blur_px=blur_px, seed=self._seed))

    @property
    def asked_for(self) -> int:
        """How often the camera was asked for the next frame."""
        return self._at.studio.camera.count(say.NextLiveFrame)
