"""The desktop's own viewer: a real command in the opener's place, which writes down what it is asked to open."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.frame.finding import FocusVerdict
from session.picture.preview import Box
from session.system.process import ONE_THREAD
from tests.support.bench_events import FOUND, judged, released
from tests.support.running_screen import SMALL, bench
from tests.support.scripted_table import FixedClock, ScriptedTable
from tui.app.stillset_app import StillsetApp
from tui.screen import viewer
from tui.screen.viewer import Viewer, name_and_folder

NOISY = "echo said to the terminal\necho complained >&2\n"


class FakeDesktop:
    """A folder with an opener of our own, and the environment of somebody who sits before the screen."""

    def __init__(self, folder: Path, body: str) -> None:
        self.asked = folder / "asked"
        command = folder / viewer.OPENERS.get(sys.platform, viewer.FREEDESKTOP_OPENER)
        command.write_text(f'#!/bin/sh\nprintf "%s\\n" "$1" > "{self.asked}"\n{body}')
        command.chmod(0o700)
        self.environment = {"PATH": f"{folder}{os.pathsep}{os.environ['PATH']}", "DISPLAY": ":0"}

    @property
    def opened(self) -> Path | None:
        return Path(self.asked.read_text().strip()) if self.asked.exists() else None


@pytest.fixture
def desktop(tmp_path: Path) -> FakeDesktop:
    return FakeDesktop(tmp_path, NOISY)


def test_a_picture_is_opened_and_nothing_is_printed(
    desktop: FakeDesktop, picture: str, capfd: pytest.CaptureFixture[str]
) -> None:
    assert Viewer(desktop.environment).open(picture) == ""
    assert desktop.opened == Path(picture)
    assert capfd.readouterr() == ("", "")


def test_a_viewer_may_use_all_cores_as_its_owner_set_it(tmp_path: Path, picture: str) -> None:
    """The program keeps NumPy to one core by the environment that a viewer would inherit."""
    told = tmp_path / "told"
    desktop = FakeDesktop(tmp_path, f'echo "$OPENBLAS_NUM_THREADS,$OMP_NUM_THREADS" > "{told}"\n')
    environment = desktop.environment | ONE_THREAD | {"OMP_NUM_THREADS": "4"}
    assert Viewer(environment).open(picture) == ""
    assert told.read_text() == ",4\n"


def test_a_viewer_that_stays_open_holds_nothing_up(tmp_path: Path, picture: str) -> None:
    """The opener becomes the viewer, as it does where no desktop takes the file off its hands."""
    number = tmp_path / "number"
    desktop = FakeDesktop(tmp_path, f'echo $$ > "{number}.new"; mv "{number}.new" "{number}"\nexec sleep 1000\n')
    assert Viewer(desktop.environment, patience_s=0.0).open(picture) == ""
    while not number.exists():
        os.sched_yield()
    os.kill(int(number.read_text()), signal.SIGKILL)


def test_a_desktop_without_a_viewer_is_said_with_the_files_name(tmp_path: Path, picture: str) -> None:
    why = Viewer(FakeDesktop(tmp_path, "exit 3\n").environment).open(picture)
    assert why == f"The desktop has no viewer for it (code 3). The picture is {name_and_folder(picture)}."


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"SSH_CONNECTION": "192.0.2.1 1 192.0.2.2 22"}, "Over ssh no viewer is opened."),
        ({"DISPLAY": ""}, "There is no desktop here to open a viewer on."),
        ({"PATH": "/nowhere"}, "No viewer is opened: the command xdg-open is missing."),
    ],
)
@pytest.mark.skipif(sys.platform == "darwin", reason="its desktop needs no DISPLAY, and its opener has another name")
def test_where_no_viewer_can_be_opened_it_is_said_with_the_files_name(
    desktop: FakeDesktop, picture: str, changes: dict[str, str], why: str
) -> None:
    there = Viewer(desktop.environment | changes)
    assert there.open(picture) == f"{why} The picture is {name_and_folder(picture)}."
    assert there.open_cuts([(picture, Box(0, 0, 9, 9))], "cut") == f"{why} The picture is {name_and_folder(picture)}."
    assert desktop.opened is None


def test_a_file_that_is_gone_is_said(desktop: FakeDesktop, tmp_path: Path) -> None:
    assert "is not there any more" in Viewer(desktop.environment).open(str(tmp_path / "gone.jpg"))
    assert "can't be read" in Viewer(desktop.environment).open_cuts(
        [(str(tmp_path / "gone.jpg"), Box(0, 0, 9, 9))], "x"
    )
    assert desktop.opened is None


def test_parts_of_pictures_are_opened_pixel_for_pixel_in_a_private_folder_that_is_removed(
    desktop: FakeDesktop, tmp_path: Path
) -> None:
    pixels = np.random.default_rng(3).integers(0, 256, (60, 90, 3), np.uint8)
    path = tmp_path / "sheet.png"
    Image.fromarray(pixels).save(path)
    shown = Viewer(desktop.environment)
    assert shown.open_cuts([(str(path), Box(10, 20, 40, 50)), (str(path), Box(0, 0, 30, 30))], "frame-1-and-2") == ""
    opened = desktop.opened
    assert opened is not None
    assert opened.name == "frame-1-and-2.png"
    assert opened.parent.stat().st_mode & 0o077 == 0, "for this user's eyes only"
    with Image.open(opened) as image:
        found = np.asarray(image)
    assert (found[:, :30] == pixels[20:50, 10:40]).all()
    assert (found[:, -30:] == pixels[:30, :30]).all()
    assert not found[:, 30:-30].any()
    shown.close()
    assert not opened.parent.exists()


async def test_the_bench_opens_the_frame_that_is_shown(
    table: ScriptedTable, clock: FixedClock, picture: str, desktop: FakeDesktop, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in viewer.SSH:
        monkeypatch.delenv(name, raising=False)
    for name, value in desktop.environment.items():
        monkeypatch.setenv(name, value)
    events = (FOUND, *released(1, path=picture), *judged(1, FocusVerdict.SHARP, 0.4), *released(2))
    async with bench(table, clock, SMALL, *events) as at:
        await at.press("V")
        assert "Frame 2 has no picture." in at.text
        await at.press("left", "V")
        assert desktop.opened == Path(picture)
        assert "Opened in the viewer: 0001.jpg" in at.text


async def test_what_the_viewer_was_given_is_gone_when_the_program_ends(
    table: ScriptedTable, clock: FixedClock, picture: str, desktop: FakeDesktop, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in viewer.SSH:
        monkeypatch.delenv(name, raising=False)
    for name, value in desktop.environment.items():
        monkeypatch.setenv(name, value)
    async with bench(table, clock, SMALL, FOUND) as at:
        assert isinstance(at.app, StillsetApp)
        at.app.show_cuts_in_viewer([(picture, Box(0, 0, 50, 50))], "frame-1")
        await at.settle()
        opened = desktop.opened
        assert opened is not None and opened.exists()
    assert not opened.parent.exists()
