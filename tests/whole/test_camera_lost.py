"""Cables cut, cameras hung, processes killed: what is told, and that every frame is on the disk or named.

Real libgphoto2 and a simulated camera; the process that owns the camera is truly killed.
"""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from time import monotonic

import pytest

from session.cameras.saving import is_leftover
from session.frame import camera_messages as say
from session.frame.camera_messages import Fault, Fired
from session.system.process import import_path
from tests.support.camera_user import QUICK_LIMITS, CameraUser
from tests.support.gphoto_host import GphotoHost
from tests.support.mock_process import MockCamera

STOPPED_FOR_S = 5.0
"""Longer than any call to the simulated camera takes."""


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("card")


@pytest.fixture(scope="module")
def shared_mock(card: Path) -> Iterator[MockCamera]:
    with MockCamera("--card-folder", str(card)) as mock:
        yield mock


@pytest.fixture
def mock(shared_mock: MockCamera) -> MockCamera:
    shared_mock.reset()
    shared_mock.hands("turn_dial", setting="file_format", value="raw+jpeg")
    return shared_mock


@pytest.fixture
def user(tmp_path: Path) -> Iterator[CameraUser]:
    with CameraUser(tmp_path) as user:
        yield user


def is_on_disk(file: say.SavedFile, card: Path) -> bool:
    return Path(file.path).read_bytes() == next(card.rglob(file.card.name)).read_bytes()


def lost(user: CameraUser) -> say.Failed:
    """The failure of the request under way, after which `CameraGone` must come with the same words."""
    failed = user.until(say.Failed)
    gone = user.hear()
    assert isinstance(gone, say.CameraGone)
    assert (gone.fault, gone.text) == (failed.fault, failed.text)
    assert not failed.connected
    return failed


def fetch_missing(user: CameraUser, failed: say.Failed) -> list[say.SavedFile]:
    user.camera.post(say.Fetch(failed.frame_id, str(user.folder), failed.frame_id, failed.missing))
    return user.files_of(failed.frame_id)


def test_cable_cut_in_a_transfer_leaves_the_frame_on_the_card_and_it_is_fetched_later(
    user: CameraUser, mock: MockCamera, card: Path
) -> None:
    user.connect(mock.address)
    mock.fault("cable_cut", after_bytes=20_000)
    frame_id = user.release(2)
    user.until(say.ShutterFired)
    jpeg = user.until(say.FileSaved).file
    failed = lost(user)
    assert (failed.request, failed.frame_id, failed.fired) == ("Release", frame_id, Fired.YES)
    assert failed.fault == Fault.LOST
    assert [obj.name[:8] for obj in failed.missing] == [jpeg.card.name[:8]]
    assert user.names() == ["frame-1.JPG"]
    connected = user.connect(mock.address)
    assert set(failed.missing) < set(connected.card or ())
    (raw,) = fetch_missing(user, failed)
    assert raw.kind == "raw"
    assert is_on_disk(jpeg, card)
    assert is_on_disk(raw, card)
    assert user.names() == ["frame-1.JPG", "frame-1.TIF"]


def test_cable_cut_after_the_exposure_is_told_as_fired(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    mock.fault("cable_cut", when="exposure")
    user.release(2)
    user.until(say.ShutterFired)
    failed = lost(user)
    assert (failed.fired, failed.fault, failed.missing) == (Fired.YES, Fault.LOST, ())


def test_cable_cut_at_the_release_itself_leaves_it_open_whether_it_fired(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    mock.fault("cable_cut", when="InitiateCapture")
    user.release(2)
    assert lost(user).fired == Fired.UNKNOWN


def test_a_camera_switched_off_while_nothing_happens_is_missed_at_once(user: CameraUser, mock: MockCamera) -> None:
    user.connect(mock.address)
    mock.hands("switch_off")
    gone = user.until(say.CameraGone)
    assert gone.fault == Fault.LOST
    user.release()
    failed = user.until(say.Failed)
    assert (failed.fired, failed.connected, failed.text) == (Fired.NO, False, "No camera is connected.")
    assert (
        user.fail_to_connect(mock.address).text == f"No camera answers at {mock.address}, or another computer has it."
    )
    mock.hands("switch_on")
    user.connect(mock.address)


def test_a_stalled_camera_is_given_up_by_libgphoto2_and_answers_again_once_connected_anew(
    user: CameraUser, mock: MockCamera, card: Path
) -> None:
    user.connect(mock.address)
    mock.fault("stall", operation="GetObject", seconds=4)
    user.release(2)
    user.until(say.ShutterFired)
    failed = lost(user)
    assert failed.fired == Fired.YES
    assert failed.fault in (Fault.LOST, Fault.NO_ANSWER)
    assert len(failed.missing) == 2
    user.connect(mock.address)
    assert all(is_on_disk(file, card) for file in fetch_missing(user, failed))


def test_a_call_that_outlasts_its_limit_ends_the_process_and_the_next_one_takes_over(
    tmp_path: Path, mock: MockCamera, card: Path
) -> None:
    """The limit is below libgphoto2's own 2.5 s, so that it is the timer that ends the call."""
    limits = type(QUICK_LIMITS)(call_s=1.0, slowest_bytes_per_s=1e9)
    with CameraUser(tmp_path, limits) as user:
        user.connect(mock.address)
        first = user.camera.process_id
        mock.fault("stall", operation="GetObject")
        user.release(2)
        user.until(say.ShutterFired)
        failed = lost(user)
        assert (failed.fired, failed.fault) == (Fired.YES, Fault.NO_ANSWER)
        assert failed.text == "The camera hung, and was let go."
        assert len(failed.missing) == 2
        user.connect(mock.address)
        assert user.camera.process_id not in (first, None)
        assert all(is_on_disk(file, card) for file in fetch_missing(user, failed))


def test_process_killed_in_a_transfer_loses_nothing(user: CameraUser, mock: MockCamera, card: Path) -> None:
    user.connect(mock.address)
    mock.fault("stall", operation="GetObject", after=1)  # the JPEG comes, the raw file is on its way for ever
    user.release(2)
    jpeg = user.until(say.FileSaved).file
    mock.until_struck()
    assert user.camera.process_id is not None
    os.kill(user.camera.process_id, signal.SIGKILL)
    failed = lost(user)
    assert (failed.fault, failed.fired) == (Fault.BROKEN, Fired.YES)
    assert "signal 9" in failed.text
    user.connect(mock.address)
    (raw,) = fetch_missing(user, failed)
    assert (jpeg.kind, raw.kind) == ("jpeg", "raw")
    assert is_on_disk(jpeg, card)
    assert is_on_disk(raw, card)
    assert [name for name in user.names() if not is_leftover(name)] == ["frame-1.JPG", "frame-1.TIF"]


def test_process_that_is_stopped_is_given_up_in_the_time_of_a_call(
    tmp_path: Path, mock: MockCamera, card: Path
) -> None:
    """Its own time limit is a timer of the kernel, whose signal waits too while the process is stopped."""
    limits = replace(QUICK_LIMITS, call_s=STOPPED_FOR_S)
    with CameraUser(tmp_path, limits) as user:
        user.connect(mock.address)
        mock.fault("stall", operation="GetObject", after=1)
        user.release(2)
        user.until(say.FileSaved)
        mock.until_struck()
        stopped = user.camera.process_id
        assert stopped is not None
        os.kill(stopped, signal.SIGSTOP)
        began_s = monotonic()
        failed = lost(user)
        assert monotonic() - began_s >= STOPPED_FOR_S
        assert (failed.fault, failed.fired) == (Fault.NO_ANSWER, Fired.YES)
        assert failed.text == "The camera's process was stopped by another program, and was let go."
        user.connect(mock.address)
        assert user.camera.process_id not in (stopped, None)
        assert all(is_on_disk(file, card) for file in fetch_missing(user, failed))


def test_process_killed_before_it_could_answer_leaves_it_open_and_later_requests_undone(
    user: CameraUser, mock: MockCamera
) -> None:
    user.connect(mock.address)
    mock.fault("stall", operation="InitiateCapture")
    user.release(2)
    second = user.release(2)
    assert user.camera.process_id is not None
    mock.until_struck()
    os.kill(user.camera.process_id, signal.SIGKILL)
    first_failed, second_failed = user.until(say.Failed), user.until(say.Failed)
    assert (first_failed.frame_id, first_failed.fired) == ("frame-1", Fired.UNKNOWN)
    assert (second_failed.frame_id, second_failed.fired) == (second, Fired.NO)
    assert isinstance(user.hear(), say.CameraGone)


def test_a_file_that_was_saved_but_not_told_is_not_saved_twice(user: CameraUser, mock: MockCamera) -> None:
    """As after a kill between the last rename and the message: the same objects are fetched again."""
    user.connect(mock.address)
    files = user.take(2)
    user.camera.post(say.Fetch("again", str(user.folder), "frame-1", tuple(file.card for file in files)))
    assert user.files_of("again") == files
    assert user.names() == ["frame-1.JPG", "frame-1.TIF"]


def test_program_killed_during_a_release_the_camera_process_saves_the_frame_and_ends(
    mock: MockCamera, tmp_path: Path, card: Path
) -> None:
    mock.slow_raws()
    try:
        program = subprocess.Popen(
            [sys.executable, "-P", "-m", "tests.support.killed_program", mock.address, str(tmp_path)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            env=os.environ | {"PYTHONPATH": import_path("tests")},
        )
        assert program.stdout is not None
        host = int(program.stdout.readline())
        ended = os.pidfd_open(host)
        assert program.wait() == -signal.SIGKILL
        program.stdout.close()
        mock.quick_wire()
        assert select.select([ended], [], [], 60)[0], "the camera's process outlives its parent"
        os.close(ended)
    finally:
        mock.quick_wire()
    saved = sorted((tmp_path / "frames").iterdir())
    assert [place.name for place in saved] == ["killed.JPG", "killed.TIF"]
    on_card = [next(card.rglob(f"STIL{newest(card):04d}{place.suffix}")) for place in saved]
    assert [place.read_bytes() for place in saved] == [place.read_bytes() for place in on_card]


def newest(card: Path) -> int:
    return max(int(place.stem[4:]) for place in card.rglob("STIL*.*"))


def test_a_lost_event_connection_is_noticed_and_the_frame_is_found_on_the_card(
    user: CameraUser, mock: MockCamera, card: Path
) -> None:
    user.connect(mock.address)
    mock.fault("event_channel_lost")
    files = user.take(2)
    assert [file.kind for file in files] == ["jpeg", "raw"]
    assert all(is_on_disk(file, card) for file in files)
    assert len(user.take(2)) == 2


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("ptpip:127.0.0.1:1", "No camera answers at ptpip:127.0.0.1:1."),
        ("ptpip:studio", "no IPv4 address"),
        ("somewhere", "no camera address"),
        ("", "No camera was found on USB"),
    ],
)
def test_no_camera_is_one_sentence(user: CameraUser, address: str, words: str) -> None:
    failed = user.fail_to_connect(address)
    assert (failed.fault, failed.connected) == (Fault.NOT_FOUND, False)
    assert words in failed.text


def test_second_user_of_a_camera_is_refused_and_hears_nothing_of_the_firsts_frames(
    user: CameraUser, mock: MockCamera, tmp_path: Path
) -> None:
    """Folders of their own, as two accounts have; what all accounts see is the lock."""
    user.connect(mock.address)
    with CameraUser(tmp_path / "other") as other:
        refused = other.fail_to_connect(mock.address)
        assert refused.fault is Fault.IN_USE
        assert f"in use by another stillset (process {user.camera.process_id})" in refused.text
        user.take(1)
    assert not [message for message in other.heard if isinstance(message, say.BodyRelease)]


def test_camera_that_another_computer_has_says_so(user: CameraUser, mock: MockCamera) -> None:
    with GphotoHost() as elsewhere:
        elsewhere.call("connect", mock.port)
        refused = user.fail_to_connect(mock.address)
        assert refused.text == f"No camera answers at {mock.address}, or another computer has it."
    user.connect(mock.address)
