"""Log or pictures on a disk that is full or read-only: said in one sentence, and no frame is lost.

Real disks of a few MB, see `own_mounts`; skipped with the reason where the system gives a test none.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.kept_whole import assert_whole
from tests.support.mock_process import MockCamera
from tests.support.own_mounts import OwnMounts
from tests.support.stillset_program import StillsetHome

SHOOT = ("shoot", "--headless")


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("card")


@pytest.fixture(scope="module")
def shared_mock(card: Path) -> Iterator[MockCamera]:
    with MockCamera("--card-folder", str(card), "--pixels", "384x256") as mock:
        yield mock


@pytest.fixture
def mock(shared_mock: MockCamera) -> MockCamera:
    shared_mock.reset()
    shared_mock.hands("turn_dial", setting="file_format", value="raw+jpeg")
    return shared_mock


def test_a_log_on_a_read_only_disk_is_told_and_can_still_be_read(tmp_path: Path, mock: MockCamera) -> None:
    assert StillsetHome(tmp_path).run("setup", "set", "--iso", "200").code == 0
    with OwnMounts(f"mount --bind {tmp_path} {tmp_path}", f"mount -o remount,bind,ro {tmp_path}") as disk:
        home = StillsetHome(tmp_path, disk.prefix)
        ended = home.run(*SHOOT, "--camera", mock.address)
        assert ended.code == 1
        assert ended.sentence() == f"The log {home.log} can't be written: Read-only file system."
        setups = home.run("log", "setups")
        assert (setups.code, setups.out.startswith("01.1")) == (0, True)


def test_pictures_on_a_read_only_disk_keep_the_shutter_shut(tmp_path: Path, mock: MockCamera) -> None:
    folder = tmp_path / "archive"
    folder.mkdir()
    before = mock.hands("state")["releases"]
    with OwnMounts(f"mount --bind {folder} {folder}", f"mount -o remount,bind,ro {folder}") as disk:
        home = StillsetHome(tmp_path, disk.prefix)
        ended = home.run(*SHOOT, "--camera", mock.address, "--folder", str(folder))
    assert ended.code == 1
    assert "Traceback" not in ended.out + ended.err
    assert f"Frame 1 did not fire. {folder}/first_job/piece_1 may not be written to." in ended.out
    (frame,) = home.frames()
    assert (frame["state"], frame["fired"]) == ("not fired", "no")
    assert mock.hands("state")["releases"] == before


def test_a_disk_too_small_for_a_frame_stops_it_and_overruled_it_leaves_the_rest_on_the_card_until_there_is_room(
    tmp_path: Path, mock: MockCamera, card: Path
) -> None:
    """128 kB take the JPEG of some 20 kB and not the raw file of some 290 kB."""
    folder = tmp_path / "pictures"
    folder.mkdir()
    with OwnMounts(f"mount -t tmpfs -o size=128k none {folder}") as disk:
        home = StillsetHome(tmp_path, disk.prefix)
        ended = home.run(*SHOOT, "--camera", mock.address)
        assert ended.code == 3
        assert "The disk has 0 MB free, a frame takes 60 MB." in ended.sentence()
        assert home.frames() == []
        ended = home.run(*SHOOT, "--camera", mock.address, "--overrule", "disk", "--reason", "to see what happens")
        assert ended.code == 1
        assert "Frame 1 fired, not saved: the disk is full" in ended.out
        (frame,) = home.frames()
        assert [file["kind"] for file in frame["files"]] == ["jpeg"]
        assert "It is on the card and is fetched when there is room." in frame["text"]
        disk.shell(f"mount -o remount,size=100m {folder}")
        assert home.run(*SHOOT, "--camera", mock.address).code == 0
        disk.shell(f"mkdir {tmp_path}/copy; cp -r {folder}/. {tmp_path}/copy")
    frames = home.frames()
    assert [(frame["number"], frame["state"], len(frame["files"])) for frame in frames] == [
        (1, "logged", 2),
        (2, "logged", 2),
    ]
    copied = [path.read_bytes() for path in (tmp_path / "copy").rglob("*") if path.is_file()]
    assert sorted(copied) == sorted(path.read_bytes() for path in card.rglob("*") if path.is_file())


def test_a_log_whose_disk_fills_up_stops_the_shoot_and_the_next_run_has_every_frame(
    tmp_path: Path, mock: MockCamera, card: Path
) -> None:
    logs = tmp_path / "logs"
    logs.mkdir()
    with OwnMounts(f"mount -t tmpfs -o size=4m none {logs}") as disk:
        home = StillsetHome(tmp_path, disk.prefix)
        home.log = logs / "shoot.db"
        options = (*SHOOT, "--log", str(home.log), "--folder", str(home.pictures), "--camera", mock.address)
        mock.fault("stall", operation="GetObject", after=3)  # in the raw file of the second frame
        # more frames than fit into the room that the log's WAL has already, however far the log at rest had come
        with home.start(*options, "--frames", "20") as program:
            mock.until_struck()
            filler = disk.fill(logs)
            ended = program.ended()
        assert ended.code == 3, ended
        full = (
            f"The log {home.log} can't be written: its disk, {logs}, is full. Make room there; what it"
            " holds can be read meanwhile."
        )
        assert ended.out.count(f"{full} Frames are safe on disk and card; it tries again.") == 1
        assert "The log could not be written" in ended.sentence()
        filler = disk.fill(logs)  # what the log gave back when it was closed
        again = home.run(*options)
        assert (again.code, again.sentence()) == (1, full)
        read = home.run("log", "frames", "--log", str(home.log), "--json")
        known = [frame["number"] for frame in read.json_lines()]
        assert (read.code, read.err, known) == (0, "", list(range(1, len(known) + 1)))
        assert 2 <= len(known) < 20
        filler.unlink()
        assert home.run(*options).code == 0
        disk.shell(f"cp {home.log} {tmp_path}")
    home.log = tmp_path / home.log.name
    frames = assert_whole(home, card)
    assert [(frame["number"], frame["state"]) for frame in frames] == [
        (number, "logged") for number in range(1, len(known) + 2)
    ]


@pytest.mark.parametrize("way", ["moved", "deleted"])
def test_a_log_that_goes_from_its_place_stops_the_shoot_and_is_kept_with_the_frame_under_way(
    tmp_path: Path, mock: MockCamera, card: Path, way: str
) -> None:
    home = StillsetHome(tmp_path)
    mock.fault("stall", operation="GetObject", after=3)  # in the raw file of the second frame
    with home.start(*SHOOT, "--camera", mock.address, "--frames", "8") as program:
        mock.until_struck()
        if way == "moved":
            home.log.rename(tmp_path / "moved.db")
        else:
            home.log.unlink()
        ended = program.ended()
    kept = tmp_path / "shoot.db.kept"
    assert (ended.code, f"The log {home.log} was {way} while it was open." in ended.sentence()) == (1, True)
    assert f"All that it held is kept in {kept}." in ended.sentence()
    assert "8 of 8" not in ended.out
    kept.rename(home.log)
    assert home.run(*SHOOT, "--camera", mock.address).code == 0
    frames = assert_whole(home, card)
    assert [(frame["number"], frame["state"]) for frame in frames] == [(1, "logged"), (2, "logged"), (3, "logged")]
