"""Three views on two pieces by keys, left and opened again: screen, controller, libgphoto2, simulated camera, log.

Asserted are the set-up in use at each frame, that none comes without one, and what the title stands over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from session.shoot.events import CameraFound, PlaceChanged, RevisionChanged, SettingsChanged
from storage.reading.views import FrameRecord
from tests.support.ears import Ears
from tests.support.running_screen import SMALL, Running, running
from tui.app.stillset_app import StillsetApp
from tui.demo.simulated import DemoCamera
from tui.demo.story import region_of
from tui.shell.build import OpenShoot
from tui.shell.choices import Choices

LIGHTS: tuple[tuple[str, dict[str, object]], ...] = (
    ("key", {"power_ev": -2.0, "distance_mm": 600.0, "azimuth_deg": 45.0, "elevation_deg": 45.0}),
)


@pytest.fixture
def camera(tmp_path: Path) -> Iterator[DemoCamera]:
    camera = DemoCamera(tmp_path, ("--seed", "5", "--piece", "bridge", "--format", "jpeg"))
    yield camera
    camera.close()


@pytest.fixture
def opened(tmp_path: Path, camera: DemoCamera) -> Iterator[Callable[..., OpenShoot]]:
    """Opens the log as `stillset shoot` with these options does."""
    tables = []

    def open_it(**options: object) -> OpenShoot:
        common = {"log": str(tmp_path / "log.db"), "folder": tmp_path / "pictures", "camera": camera.address}
        tables.append(OpenShoot(Choices(**(common | options))))  # type: ignore[arg-type]
        return tables[-1]

    yield open_it
    for table in tables:
        table.close()


async def frame(at: Running, ears: Ears, number: int) -> None:
    await at.press("space")
    await ears.frame(number)
    await at.settle()


async def go(at: Running, ears: Ears, piece: str, view: str, *answer: str) -> None:
    """Name the place; a view that is new is answered with a key."""
    await at.press("p", "n")
    await at.type(piece)
    await at.press("enter")
    await at.type(view)
    await at.press("enter", *answer)
    await ears.until(PlaceChanged, lambda event: (event.place.piece, event.place.view) == (piece, view))
    await ears.until(RevisionChanged)
    await at.settle()


async def another_aperture(at: Running, ears: Ears, f_number: float) -> None:
    """By the settings' second line."""
    await at.press("e", "down", "t")
    await at.type(f"{f_number:g}")
    await at.press("enter", "enter")
    await ears.until(SettingsChanged, lambda event: event.reading.value("f_number") == f_number)
    await at.settle()


def in_use(table: OpenShoot) -> list[tuple[int, str, str, str, float | None]]:
    """Number, piece, view, set-up and aperture of each frame."""

    def told(one: FrameRecord) -> tuple[int, str, str, str, float | None]:
        return one.number, one.piece, one.view, one.setup, one.revision.settings.f_number

    return [told(one) for one in table.reader.records()]


async def test_each_view_goes_on_with_its_own_set_up_also_after_a_restart(
    camera: DemoCamera, opened: Callable[..., OpenShoot]
) -> None:
    table = opened(
        job="Invented rings",
        piece="ring 1",
        view="front",
        settings=(("exposure_s", 1 / 200), ("f_number", 11.0), ("iso", 100), ("file_format", "jpeg")),
        lights=LIGHTS,
        region=region_of(camera),
    )
    ears = Ears(table)
    app = StillsetApp(table)
    table.start()
    async with running(app, SMALL) as at:
        await ears.until(CameraFound)
        await frame(at, ears, 1)
        await at.press("1", "plus", "plus", "escape")  # looked at a light, changed its mind
        await frame(at, ears, 2)
        await go(at, ears, "ring 1", "hallmark", "y")
        assert "ring 1 · hallmark · set-up 02.1" in at.text
        assert "FRAME 2" not in at.text and "PLAN OF SET-UP 02.1" in at.text
        await another_aperture(at, ears, 8.0)
        await at.press("g", "left", "left", "enter")
        await at.press("t", "space", "escape")  # called off
        await frame(at, ears, 3)
        await go(at, ears, "ring 2", "front")
        assert "as for ring 1" in at.text and "f/8 → f/11" in at.text
        await ears.until(SettingsChanged, lambda event: event.reading.value("f_number") == 11.0)
        await frame(at, ears, 4)
        await at.press("g", "right", "enter")
        await frame(at, ears, 5)
        await go(at, ears, "ring 1", "hallmark")
        assert "FRAME 3" in at.text and "FRAME 5" not in at.text
        await ears.until(SettingsChanged, lambda event: event.reading.value("f_number") == 8.0)
        await at.press("1", "minus", "enter")  # a draft, with no frame when the program ends
        await at.press("ctrl+c")
    table.close()

    again = opened()
    ears = Ears(again)
    app = StillsetApp(again)
    again.start()
    async with running(app, SMALL) as at:
        await ears.until(CameraFound)
        await at.settle()
        assert "ring 1 · hallmark · set-up 02.2" in at.text
        await frame(at, ears, 6)
        await go(at, ears, "ring 1", "front")
        await ears.until(SettingsChanged, lambda event: event.reading.value("f_number") == 11.0)
        await frame(at, ears, 7)
        await at.press("ctrl+c")

    assert in_use(again) == [
        (1, "ring 1", "front", "01.1", 11.0),
        (2, "ring 1", "front", "01.1", 11.0),
        (3, "ring 1", "hallmark", "02.1", 8.0),
        (4, "ring 2", "front", "01.1", 11.0),
        (5, "ring 2", "front", "01.2", 11.0),
        (6, "ring 1", "hallmark", "02.2", 8.0),
        (7, "ring 1", "front", "01.1", 11.0),
    ]
    used = {one.setup for one in again.reader.records()}
    written = {one.label for number in (1, 2) for one in again.reader.revisions("Invented rings", number)}
    assert written == used == {"01.1", "01.2", "02.1", "02.2"}, "no revision without a frame"
