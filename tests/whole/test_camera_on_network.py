"""The camera's process, the real libgphoto2 and a simulated camera on PTP/IP: everything that goes well."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from session.cameras.camera_limits import CameraLimits
from session.frame import camera_messages as say
from session.frame.camera_messages import Fault
from session.units.numbers import same_setting
from tests.support.camera_user import QUICK_LIMITS, CameraUser
from tests.support.mock_process import MockCamera


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("card")


@pytest.fixture(scope="module")
def shared_mock(card: Path) -> Iterator[MockCamera]:
    with MockCamera("--card-folder", str(card), "--card-mib", "64") as mock:
        yield mock


@pytest.fixture
def mock(shared_mock: MockCamera) -> MockCamera:
    shared_mock.reset()
    return shared_mock


@pytest.fixture
def user(tmp_path: Path) -> Iterator[CameraUser]:
    with CameraUser(tmp_path) as user:
        yield user


def on_card(card: Path, file: say.SavedFile) -> bytes:
    return next(card.rglob(file.card.name)).read_bytes()


def number(file: say.SavedFile) -> int:
    """The running number in a file's name on the card, such as STIL0042.JPG."""
    return int(file.card.name[4:8])


def test_a_camera_tells_who_it_is_what_it_can_and_how_it_is_set(user: CameraUser, mock: MockCamera) -> None:
    connected = user.connect(mock.address)
    assert connected.description == say.CameraDescription(mock.address, "Wendle 16", mock.serial, True, True)
    values = {name: setting.value for name, setting in connected.reading.settings.items()}
    assert values == {
        "exposure_s": 1 / 200,
        "f_number": 11.0,
        "iso": 100,
        "white_balance": "Flash",
        "exposure_mode": "manual",
        "focus_mode": "manual",
        "flash_mode": "external sync",
        "file_format": "jpeg",
        "battery_percent": 80,
        "capture_target": "card",
    }
    assert set(connected.reading.settings["file_format"].allowed) == {"jpeg", "raw", "raw+jpeg"}
    assert connected.reading.settings["battery_percent"].read_only
    assert connected.card == ()
    assert connected.free_bytes == 64 << 20


@pytest.mark.parametrize("exposure_s", [1 / 160, 1 / 4000, 1 / 1.3, 30.0])
def test_exposure_times_are_exact_though_the_standards_property_rounds_them(
    user: CameraUser, mock: MockCamera, exposure_s: float
) -> None:
    user.connect(mock.address)
    told = user.apply(exposure_s=exposure_s)
    assert told.refused == {}
    assert told.reading.value("exposure_s") == pytest.approx(exposure_s, rel=1e-9)
    assert mock.hands("state")["settings"]["exposure_s"] == pytest.approx(exposure_s, rel=1e-9)


def test_settings_are_set_and_the_camera_truly_has_them(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    told = user.apply(f_number=16.0, iso=200, white_balance="daylight", file_format="raw+jpeg", focus_mode="automatic")
    assert told.refused == {}
    truly = mock.hands("state")["settings"]
    assert (truly["f_number"], truly["iso"], truly["white_balance"]) == (16.0, 200, "daylight")
    assert (truly["file_format"], truly["focus_mode"]) == ("raw+jpeg", "automatic")
    assert told.reading.value("file_format") == "raw+jpeg"


def test_what_is_not_offered_or_not_taken_is_told_by_setting_and_the_rest_is_set(
    user: CameraUser, mock: MockCamera
) -> None:
    user.connect(mock.address)
    mock.fault("setting_refused", setting="f_number", times=0)
    mock.fault("setting_refused", setting="iso", silently=1)
    told = user.apply(f_number=8.0, iso=400, exposure_s=1 / 7000, stabiliser="off", white_balance="Tungsten")
    assert told.refused == {
        "f_number": "The camera did not take aperture f/8; it stays at f/11.",
        "iso": "The camera did not take ISO 400; it stays at 100.",
        "exposure_s": "This camera has no exposure time 1/7000 s; the nearest is 1/4000 s.",
        "stabiliser": "This camera lets stabiliser be neither read nor set from here.",
    }
    assert told.reading.value("white_balance") == "Tungsten"
    assert told.reading.value("f_number") == 11.0


def test_a_released_frame_is_on_disk_as_it_is_on_the_card(user: CameraUser, mock: MockCamera, card: Path) -> None:
    user.connect(mock.address)
    (file,) = user.take(expected_files=1)
    data = Path(file.path).read_bytes()
    assert data == on_card(card, file)
    assert file.path == str(user.folder / "frame-1.JPG")
    assert (file.kind, file.bytes, file.sha256) == ("jpeg", len(data), hashlib.sha256(data).hexdigest())
    assert file.card.bytes == len(data)
    assert user.names() == ["frame-1.JPG"]
    with Image.open(file.path) as picture:
        assert picture.size == (192, 128)


@pytest.mark.parametrize(
    ("expected_files", "options"), [(2, ()), (0, ()), (2, ("--jpeg-first",)), (2, ("--buffer-s", "0.1"))]
)
def test_of_raw_and_jpeg_the_jpeg_comes_first_whatever_the_camera_announces_first(
    user: CameraUser, tmp_path: Path, expected_files: int, options: tuple[str, ...]
) -> None:
    with MockCamera("--format", "raw+jpeg", "--card-folder", str(tmp_path / "card"), *options) as mock:
        user.connect(mock.address)
        for frame in (1, 2):
            files = user.take(expected_files)
            assert [file.kind for file in files] == ["jpeg", "raw"]
            assert [file.card.name for file in files] == [f"STIL000{frame}.JPG", f"STIL000{frame}.TIF"]
            for file in files:
                assert Path(file.path).read_bytes() == on_card(tmp_path / "card", file)
    assert user.names() == ["frame-1.JPG", "frame-1.TIF", "frame-2.JPG", "frame-2.TIF"]


def test_on_a_slow_wire_the_jpeg_is_there_long_before_the_raw_file(
    tmp_path: Path, mock: MockCamera, card: Path
) -> None:
    """The raw file alone takes longer than a file is waited for, and isn't given up."""
    mock.hands("turn_dial", setting="file_format", value="raw+jpeg")
    limits = replace(QUICK_LIMITS, no_file_s=1.0)
    with CameraUser(tmp_path, limits) as user:
        user.connect(mock.address)
        mock.hands("wire", bytes_per_s=100_000)
        try:
            user.release(2)
            jpeg = user.until(say.FileSaved).file
            assert (jpeg.kind, user.names()) == ("jpeg", ["frame-1.JPG"])
            (raw,) = user.files_of("frame-1")
        finally:
            mock.hands("wire", bytes_per_s=0)
    assert raw.bytes > limits.no_file_s * 100_000
    assert on_card(card, raw) == Path(raw.path).read_bytes()


def test_a_long_exposure_is_waited_for(tmp_path: Path, mock: MockCamera) -> None:
    """Longer than a file is waited for otherwise; the whole second is truly exposed."""
    with CameraUser(tmp_path, CameraLimits(no_file_s=0.2, after_complete_s=0.1)) as user:
        user.connect(mock.address)
        assert user.apply(exposure_s=1.0).refused == {}
        assert len(user.take(1)) == 1


def test_twenty_frames_are_forty_files_and_the_card_agrees(user: CameraUser, mock: MockCamera) -> None:
    mock.hands("turn_dial", setting="file_format", value="raw+jpeg")
    user.connect(mock.address)
    files = [file for _ in range(20) for file in user.take(expected_files=2)]
    user.camera.post(say.ListCard())
    listed = user.until(say.CardListed)
    assert len({file.path for file in files}) == len({file.sha256 for file in files}) == 40
    assert {file.card for file in files} == set(listed.objects)


def test_a_release_on_the_camera_is_told_once_with_all_its_files_and_can_be_fetched(
    user: CameraUser, mock: MockCamera, card: Path
) -> None:
    mock.hands("turn_dial", setting="file_format", value="raw+jpeg")
    user.connect(mock.address)
    mock.hands("release")
    told = user.until(say.BodyRelease)
    assert sorted(obj.name[-3:] for obj in told.objects) == ["JPG", "TIF"]
    user.camera.post(say.Fetch("body-1", str(user.folder), "body-1", told.objects))
    files = user.files_of("body-1")
    assert [file.kind for file in files] == ["jpeg", "raw"]
    assert all(Path(file.path).read_bytes() == on_card(card, file) for file in files)
    assert [number(file) for file in user.take(2)] == [number(files[0]) + 1] * 2
    user.camera.close()
    assert len([message for message in user.heard if isinstance(message, say.BodyRelease)]) == 1


def test_a_body_release_just_before_ours_is_told_apart_from_it(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    for _ in range(3):
        mock.hands("release")
        (body,) = user.until(say.BodyRelease).objects
        (file,) = user.take(1)
        assert number(file) == int(body.name[4:8]) + 1


def test_a_dial_turned_by_hand_is_told_unasked(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    mock.hands("turn_dial", setting="f_number", value=8)
    told = user.until(say.SettingsRead)
    assert told.by_hand
    assert told.reading.value("f_number") == 8.0
    user.camera.post(say.ReadSettings())
    assert not user.until(say.SettingsRead).by_hand


def test_settings_are_read_afresh_and_not_from_libgphoto2s_memory(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    for f_number in (8, 11, 16):
        mock.hands("turn_dial", setting="f_number", value=f_number)
        user.camera.post(say.ReadSettings())
        reading = user.until(say.SettingsRead).reading
        assert same_setting(float(reading.value("f_number") or 0), f_number, ev_per_doubling=2.0)


def test_the_battery_runs_down_without_anybody_having_touched_the_camera(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    mock.hands("battery", percent=41)
    told = user.until(say.SettingsRead)
    assert (told.reading.value("battery_percent"), told.by_hand) == (41, False)


def test_live_frames_come_one_by_one_as_they_are_used(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    user.camera.post(say.LiveView(True))
    last_at_s = 0.0
    for _ in range(5):
        frame = user.until(say.LiveFrame)
        assert frame.jpeg.startswith(b"\xff\xd8")
        assert frame.at_s > last_at_s
        last_at_s = frame.at_s
        user.camera.post(say.ListCard())
        assert isinstance(user.hear(), say.CardListed)  # no second frame while one isn't used
        user.camera.post(say.NextLiveFrame())
    user.until(say.LiveFrame)
    assert mock.hands("state")["live_view"]
    user.camera.post(say.LiveView(False))
    user.camera.post(say.NextLiveFrame())
    user.camera.post(say.ListCard())
    assert isinstance(user.hear(), say.CardListed)
    assert not mock.hands("state")["live_view"]


def test_a_frame_is_released_out_of_live_view_and_live_view_goes_on(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    user.camera.post(say.LiveView(True))
    user.until(say.LiveFrame)
    assert len(user.take(1)) == 1
    user.camera.post(say.NextLiveFrame())
    user.until(say.LiveFrame)


def test_live_view_outlasts_lost_and_missing_frames(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    user.camera.post(say.LiveView(True))
    user.until(say.LiveFrame)
    mock.fault("live_view_lost")
    mock.fault("busy", operation="GetLiveViewImage", times=30)  # libgphoto2 gives up after 20 with no frame
    user.camera.post(say.NextLiveFrame())
    assert len(user.until(say.LiveFrame).jpeg) > 1000


def test_the_focus_is_driven_in_live_view_until_its_end_stop(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    before = mock.hands("state")["table"]["focus_mm"]
    user.camera.post(say.DriveFocus(10))
    without = user.until(say.Failed)
    assert (without.fault, without.text) == (Fault.REFUSED, "The focus can be driven in live view only.")
    user.camera.post(say.LiveView(True))
    user.until(say.LiveFrame)
    user.camera.post(say.DriveFocus(10))
    assert user.until(say.FocusDriven).steps == 10
    further = mock.hands("state")["table"]["focus_mm"]
    user.camera.post(say.DriveFocus(-10))
    assert user.until(say.FocusDriven).steps == -10
    assert further > before >= mock.hands("state")["table"]["focus_mm"]
    user.camera.post(say.DriveFocus(100_000))
    stopped = user.until(say.Failed)
    assert (stopped.request, stopped.fault, stopped.connected) == ("DriveFocus", Fault.END_STOP, True)


def test_a_camera_without_the_extension_has_neither_live_view_nor_focus_drive_but_releases(
    user: CameraUser,
) -> None:
    with MockCamera("--plain") as mock:
        connected = user.connect(mock.address)
        assert not connected.description.focus_drive
        assert connected.reading.value("exposure_s") == pytest.approx(1 / 200)
        user.camera.post(say.LiveView(True))
        failed = user.until(say.Failed)
        assert (failed.fault, failed.text) == (Fault.NOT_OFFERED, "This camera offers no live view.")
        user.camera.post(say.DriveFocus(1))
        assert user.until(say.Failed).fault == Fault.NOT_OFFERED
        assert len(user.take(1)) == 1


def test_descriptor_0_stays_on_the_null_device_though_libgphoto2_closes_it(user: CameraUser, mock: MockCamera) -> None:
    for _ in range(3):
        user.connect(mock.address)
        assert str(Path(f"/proc/{user.camera.process_id}/fd/0").readlink()) == os.devnull
    user.fail_to_connect("ptpip:127.0.0.1:1")
    assert str(Path(f"/proc/{user.camera.process_id}/fd/0").readlink()) == os.devnull


def test_the_computer_keeps_its_name_for_cameras_in_our_own_folder(
    user: CameraUser, mock: MockCamera, tmp_path: Path
) -> None:
    user.connect(mock.address)
    settings = (tmp_path / "home" / "gphoto" / "settings").read_text()
    user.connect(mock.address)
    assert "ptp2_ip=guid=" in settings
    assert (tmp_path / "home" / "gphoto" / "settings").read_text() == settings


def test_closing_during_a_release_still_saves_the_frame(user: CameraUser, mock: MockCamera, card: Path) -> None:
    mock.hands("turn_dial", setting="file_format", value="raw+jpeg")
    user.connect(mock.address)
    user.release(expected_files=2)
    user.camera.close()
    files = user.files_of("frame-1")
    assert len(files) == 2
    assert all(Path(file.path).read_bytes() == on_card(card, file) for file in files)
    assert user.nothing_more()
