"""A whole shoot by keys alone: screen, controller, libgphoto2, wire, simulated camera, files, judge, log and back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from session.frame.finding import FocusVerdict
from session.set.setup import PlacedLight, Region
from session.shoot.events import CameraFound, FrameJudged, PlaceChanged, ReferenceChanged, RevisionChanged
from tests.support.ears import Ears
from tests.support.running_screen import LARGE, SMALL, Running, running
from tui.app.stillset_app import StillsetApp
from tui.demo.simulated import DemoCamera
from tui.demo.story import region_of
from tui.shell.build import OpenShoot
from tui.shell.choices import Choices

KNOCKED_MM = 4.0
"""How far the focus is knocked: beyond any depth of field of this set-up, so the frame must be called missed."""

LIGHTS: tuple[tuple[str, dict[str, object]], ...] = (
    ("key", {"power_ev": -2.0, "distance_mm": 600.0, "azimuth_deg": 45.0, "elevation_deg": 45.0}),
)


PLACED = (PlacedLight("key", -2.0, 600.0, 45.0, 45.0),)


@pytest.fixture
def camera(tmp_path: Path) -> Iterator[DemoCamera]:
    camera = DemoCamera(tmp_path, ("--seed", "5", "--piece", "bridge", "--format", "raw+jpeg"))
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
            settings=(("exposure_s", 1 / 200), ("f_number", 11.0), ("iso", 100), ("file_format", "raw+jpeg")),
            lights=LIGHTS,
            region=region_of(camera),
        )
    )
    yield table
    table.close()


async def release(at: Running, ears: Ears, number: int) -> FrameJudged:
    await at.press("space")
    judged = await ears.frame(number)
    await at.settle()
    return judged


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])
async def test_a_shoot_by_keys_from_the_piece_to_the_look_back(
    camera: DemoCamera, table: OpenShoot, size: tuple[int, int]
) -> None:
    ears = Ears(table)
    app = StillsetApp(table)
    table.start()
    async with running(app, size) as at:
        await ears.until(CameraFound)
        await at.press("p", "n")
        await at.type("barrel 6")
        await at.press("enter")
        await at.type("three-quarter")
        await at.press("enter", "y")
        await ears.until(PlaceChanged, lambda event: event.place.piece == "barrel 6")

        await at.press("1", "minus", "enter")  # the light, then a third of a stop less
        weaker = await ears.until(RevisionChanged, lambda event: event.revision.lights != PLACED)
        assert weaker.revision.lights == (PlacedLight("key", -2.3333, 600.0, 45.0, 45.0),)
        camera.hand("light", name="key", power_ev=-7 / 3)

        await release(at, ears, 1)
        assert at.large == "FOCUS ?"
        await at.press("c")
        assert (await ears.until(ReferenceChanged, lambda event: event.number is not None)).number == 1

        camera.hand("turn_focus", mm=KNOCKED_MM)
        missed = await release(at, ears, 2)
        assert missed.focus.verdict is FocusVerdict.MISSED
        assert at.large.startswith("MISSED")
        assert "Frame 2 saved, missed" in at.text

        camera.hand("turn_focus", mm=-KNOCKED_MM)
        await at.press("t")
        assert (await release(at, ears, 3)).focus.verdict is FocusVerdict.SHARP
        assert at.large.startswith("SHARP ")
        await at.press("h", "n")
        await at.type("crown nearest the lens")
        await at.press("enter")
        assert "┌" in at.text, "the picture is there, with the region's frame"

        table.ask(lambda shoot: None)  # the mark and the note are in the log now
        await at.press("l")
        assert "3 frames" in at.text
        assert "hero" in at.text and "crown nearest the lens" in at.text
        await at.press("z", "z")
        table.ask(lambda shoot: None)
        await at.settle()
        assert "Undone: frame 3 marked hero." in at.text and "crown nearest the lens" not in at.text
        await at.press("Z", "Z")
        table.ask(lambda shoot: None)
        await at.settle()
        assert "Redone: " in at.text and "crown nearest the lens" in at.text
        await at.press("v", "v")  # sharp, then missed: none is soft
        assert "1 frame: missed" in at.text
        await at.press("ctrl+c")

    frames = {frame.number: frame for frame in table.reader.records()}
    assert [frame.mark for frame in frames.values()] == [None, None, "hero"]
    assert [note.text for note in frames[3].notes] == ["crown nearest the lens"]
    assert all(len(frame.files) == 2 and frame.piece == "barrel 6" for frame in frames.values())


async def test_frame_is_judged_anew_when_the_region_is_moved_and_both_judgements_stay(
    camera: DemoCamera, table: OpenShoot
) -> None:
    ears = Ears(table)
    app = StillsetApp(table)
    table.start()
    async with running(app, SMALL) as at:
        await ears.until(CameraFound)
        await release(at, ears, 1)
        await at.press("c")
        await ears.until(ReferenceChanged, lambda event: event.number is not None)
        camera.hand("turn_focus", mm=KNOCKED_MM)
        missed = await release(at, ears, 2)
        assert missed.focus.verdict is FocusVerdict.MISSED
        await at.press("g", "7", "7", "enter")  # the upper left sixteenth
        again = await ears.until(FrameJudged)
        await at.settle()
        assert (again.frame_id, again.anew) == (missed.frame_id, True)
        assert again.focus.verdict is FocusVerdict.MISSED, "the focus is knocked there too"
        assert again.focus.blur_px != missed.focus.blur_px, "measured on other detail"
        assert "judged anew" in at.text and at.large.startswith("MISSED")
        table.ask(lambda shoot: None)
        await at.press("ctrl+c")

    frame = table.reader.frame(missed.frame_id)
    assert frame is not None
    assert (frame.focus, frame.focus_verdict) == (again.focus, FocusVerdict.MISSED)
    assert frame.region == Region(0.0, 0.0, 0.25, 0.25) != frame.revision.region
    (told,) = table.reader.events("judged anew")
    assert (told.frame_id, "the region 25 % × 25 % at 0 %, 0 %" in told.text) == (missed.frame_id, True)
