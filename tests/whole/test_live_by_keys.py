"""Live view by keys on the real camera path: focus found by hand and by the drive, and a stream that falls ill."""

from __future__ import annotations

import asyncio
import math
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from session.live.decode import Stream
from session.rules.stillness_rules import still_limit_px
from session.set.setup import Confirmation, Revision
from session.shoot.events import (
    About,
    CameraFound,
    Event,
    FileArrived,
    FocusMoved,
    LivePicture,
    RevisionChanged,
    Said,
)
from tests.support.running_screen import SMALL, Running, running
from tui.app.stillset_app import StillsetApp
from tui.bench.setting_lines import LINES
from tui.demo.simulated import DemoCamera
from tui.demo.story import region_of
from tui.screen.picture_view import PictureView
from tui.shell.build import OpenShoot
from tui.shell.choices import Choices
from tui.words.live_words import STREAM_LINES

WITHIN_S = 90.0
"""Longest wait for anything; it only ends a test that has gone wrong."""

DEPTH_MM = 2 * 22 * 0.0192
"""Depth of field of the simulated camera's own arrangement, 1:1 at f/11: 2·N·(1 + m)·c/m² with c a 1500th of the
sensor's diagonal of 28.8 mm. Handbook form."""

TOUCH: dict[str, object] = {"strength_um": 60, "frequency_hz": 6, "damping_ratio": 0.01}
"""A finger on the camera: at first fifteen times what counts as still, and within it after some seven seconds, by which
time two keys were pressed."""

SETTINGS = (("exposure_s", 1 / 200), ("f_number", 11.0), ("iso", 100), ("file_format", "jpeg"))


@pytest.fixture
def camera(tmp_path: Path) -> Iterator[DemoCamera]:
    camera = DemoCamera(tmp_path, ("--seed", "5", "--piece", "bridge"))
    yield camera
    camera.close()


@pytest.fixture
def table(tmp_path: Path, camera: DemoCamera) -> Iterator[OpenShoot]:
    table = OpenShoot(
        Choices(
            log=str(tmp_path / "log.db"),
            folder=tmp_path / "pictures",
            camera=camera.address,
            job="Invented movements",
            piece="bridge",
            view="flat",
            settings=SETTINGS,
            region=region_of(camera),
        )
    )
    yield table
    table.close()


class LiveBench:
    """The bench in live view, and the controller's events as they come."""

    def __init__(self, at: Running, heard: asyncio.Queue[Event]) -> None:
        self.at, self._heard = at, heard

    async def until(self, wanted: Callable[[Event], bool]) -> Event:
        async with asyncio.timeout(WITHIN_S):
            while not wanted(event := await self._heard.get()):
                pass
        await self.at.pilot.pause()
        return event

    async def until_large(self, holds: Callable[[str], bool]) -> str:
        """The large line, once it is so; looked at with every event."""
        async with asyncio.timeout(WITHIN_S):
            while not holds(self.at.large):
                await self._heard.get()
                await self.at.pilot.pause()
        return self.at.large

    async def confirmed(self, label: str) -> Revision:
        """The revision after this line of the settings was turned on by keys."""
        at_line = [line.label for line in LINES].index(label)
        await self.at.pilot.press("e", *["down"] * at_line, "right", "enter")
        changed = await self.until(lambda event: isinstance(event, RevisionChanged))
        assert isinstance(changed, RevisionChanged)
        return changed.revision


@asynccontextmanager
async def live_bench(table: OpenShoot) -> AsyncIterator[LiveBench]:
    heard: asyncio.Queue[Event] = asyncio.Queue()
    loop = asyncio.get_running_loop()

    def hear(event: Event) -> None:
        loop.call_soon_threadsafe(heard.put_nowait, event)

    table.listen(hear)
    app = StillsetApp(table)
    table.start()
    async with running(app, SMALL) as at:
        bench = LiveBench(at, heard)
        await bench.until(lambda event: isinstance(event, CameraFound))
        await at.pilot.press("v")
        await bench.until(lambda event: isinstance(event, LivePicture))
        yield bench
        await at.pilot.press("v", "Q")


def number(large: str) -> float:
    return float(large.split()[1])


async def test_focus_is_told_by_a_number_enlarged_and_found_again_by_the_drive(
    camera: DemoCamera, table: OpenShoot
) -> None:
    async with live_bench(table) as live:
        press = live.at.pilot.press
        sharp = number(await live.until_large(lambda large: large.startswith("FOCUS")))
        await press("plus")
        await live.until(lambda event: isinstance(event, LivePicture))
        view = live.at.app.screen.query_one(PictureView)
        async with asyncio.timeout(WITHIN_S):
            while view.picture is None or view.picture.full_width_px >= 1024:
                await live.until(lambda event: isinstance(event, LivePicture))
        await press("less_than_sign", "less_than_sign", "less_than_sign")
        for _ in range(3):
            await live.until(lambda event: event == FocusMoved(-10))
        away = number(await live.until_large(lambda large: large.startswith("FOCUS") and number(large) < 0.9 * sharp))
        await press("slash")
        await live.until(lambda event: isinstance(event, Said) and event.id == About.SWEEP and bool(event.text))
        await live.until(lambda event: isinstance(event, Said) and event.id == About.SWEEP and not event.text)
        told = await live.until(lambda event: isinstance(event, Said) and not event.id)
        assert isinstance(told, Said) and told.text
        found = number(await live.until_large(lambda large: large[:5] in ("FOCUS", "BACK ")))
        assert found > away
        defocus_mm = camera.hand("look")["defocus_mm"]
        assert isinstance(defocus_mm, float) and abs(defocus_mm) <= DEPTH_MM / 2


async def test_a_release_by_stillness_says_that_it_moves_and_comes_when_the_stand_has_rung_down(
    camera: DemoCamera, table: OpenShoot
) -> None:
    """The support is touched until the screen has told it, so that a slow stream misses nothing."""
    async with live_bench(table) as live:
        press = live.at.pilot.press
        revision = await live.confirmed("release waits")
        assert Confirmation.BY_STILLNESS in revision.confirmed
        limit_px = still_limit_px(revision)
        camera.hand("touch", **TOUCH)
        await press("t", "space")
        while not (told := live.at.large).startswith("MOVING"):
            camera.hand("touch", **TOUCH)
            await press("t")
            await live.until(lambda event: isinstance(event, LivePicture))
        assert told == "MOVING" or number(told) > limit_px
        assert "Fires by itself; take your hands off." in " ".join(live.at.text.split())
        arrived = await live.until(lambda event: isinstance(event, FileArrived))
        assert isinstance(arrived, FileArrived)
        truth = camera.hand("truth", object=Path(arrived.file.card.name).stem)
        shift_px = truth["shake_shift_px"]
        assert isinstance(shift_px, list) and math.hypot(*shift_px) <= limit_px


async def test_a_locked_focus_is_never_driven(camera: DemoCamera, table: OpenShoot) -> None:
    async with live_bench(table) as live:
        press = live.at.pilot.press
        assert Confirmation.FOCUS_LOCKED in (await live.confirmed("focus drive")).confirmed
        before = camera.hand("look")["defocus_mm"]
        for key in ("slash", "comma", "greater_than_sign"):
            await press(key)
            await live.until(lambda event: isinstance(event, Said) and "locked" in event.text)
        assert camera.hand("look")["defocus_mm"] == before


@pytest.mark.parametrize(
    ("fault", "state"),
    [("live_view_frozen", Stream.FROZEN), ("live_view_black", Stream.BLACK)],
    ids=["frozen", "black"],
)
async def test_a_stream_that_falls_ill_is_said_large_and_well_again_by_itself(
    camera: DemoCamera, table: OpenShoot, fault: str, state: Stream
) -> None:
    async with live_bench(table) as live:
        await live.until_large(lambda large: large.startswith("FOCUS"))
        camera.hand("fault", name=fault, times=0)
        await live.until_large(lambda large: large == STREAM_LINES[state])
        camera.hand("clear_faults")
        await live.until_large(lambda large: large.startswith("FOCUS"))
