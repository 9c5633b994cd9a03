"""Files that come short, twice or not at all, a full card, a busy body, a folder that can't be written to.

Real libgphoto2 and a simulated camera. Each mishap costs at most its own file, and is told in one sentence.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import Fault, Fired
from tests.support.camera_user import CameraUser
from tests.support.mock_process import MockCamera


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
    return shared_mock


@pytest.fixture
def user(tmp_path: Path, mock: MockCamera) -> Iterator[CameraUser]:
    with CameraUser(tmp_path) as user:
        user.connect(mock.address)
        yield user


def both(user: CameraUser) -> None:
    assert user.apply(file_format="raw+jpeg").refused == {}


def is_on_disk(file: say.SavedFile, card: Path) -> bool:
    return Path(file.path).read_bytes() == next(card.rglob(file.card.name)).read_bytes()


def failed_release(user: CameraUser, expected_files: int) -> say.Failed:
    frame_id = user.release(expected_files)
    failed = user.until(say.Failed)
    assert (failed.request, failed.frame_id, failed.connected) == ("Release", frame_id, True)
    return failed


@pytest.mark.parametrize("expected_files", [2, 0])
def test_a_file_announced_twice_is_one_file(user: CameraUser, mock: MockCamera, expected_files: int) -> None:
    both(user)
    mock.fault("announced_twice")
    assert len(user.take(expected_files)) == 2
    assert len(user.take(expected_files)) == 2
    user.camera.close()
    assert not [message for message in user.heard if isinstance(message, say.BodyRelease)]
    assert user.nothing_more()
    assert len(user.names()) == 4


def test_a_release_without_a_file_is_told_as_fired(user: CameraUser, mock: MockCamera) -> None:
    mock.fault("no_file")
    failed = failed_release(user, 1)
    assert (failed.fault, failed.fired, failed.missing) == (Fault.NOT_FOUND, Fired.YES, ())
    assert failed.text == "The shutter went, and the camera made no file."
    assert len(user.take(1)) == 1


def test_when_the_camera_is_done_what_it_made_counts_and_not_what_the_formats_text_promised(
    user: CameraUser, mock: MockCamera
) -> None:
    assert [len(user.take(2)), len(user.take(2))] == [1, 1]
    assert user.names() == ["frame-1.JPG", "frame-2.JPG"]


@pytest.mark.parametrize("fault", ["truncated_file", "empty_file"])
def test_a_file_that_comes_short_once_is_fetched_again(
    user: CameraUser, mock: MockCamera, card: Path, fault: str
) -> None:
    both(user)
    mock.fault(fault, times=2)
    files = user.take(2)
    assert [file.kind for file in files] == ["jpeg", "raw"]
    assert all(is_on_disk(file, card) for file in files)


@pytest.mark.parametrize(("fault", "words"), [("truncated_file", "bytes came"), ("empty_file", "it is empty")])
def test_a_file_that_always_comes_short_is_never_saved_as_whole_and_costs_only_itself(
    user: CameraUser, mock: MockCamera, card: Path, fault: str, words: str
) -> None:
    both(user)
    mock.fault(fault, times=3)  # the JPEG, at each of the three tries
    failed = failed_release(user, 2)
    assert (failed.fault, failed.fired) == (Fault.BAD_FILE, Fired.YES)
    assert [Path(obj.name).suffix for obj in failed.missing] == [".JPG"]
    assert "is not whole" in failed.text
    assert words in failed.text
    assert user.names() == ["frame-1.TIF"]
    user.camera.post(say.Fetch("frame-1", str(user.folder), "frame-1", failed.missing))
    (file,) = user.files_of("frame-1")
    assert is_on_disk(file, card)


@pytest.mark.parametrize("fault", ["truncated_file", "empty_file"])
@pytest.mark.parametrize("file_format", ["jpeg", "raw"])
def test_a_file_that_the_camera_itself_wrote_short_is_noticed(
    user: CameraUser, mock: MockCamera, fault: str, file_format: str
) -> None:
    user.apply(file_format=file_format)
    mock.fault(fault, where="card")
    failed = failed_release(user, 1)
    assert (failed.fault, failed.fired, len(failed.missing)) == (Fault.BAD_FILE, Fired.YES, 1)
    assert user.names() == []


def test_a_release_refused_for_a_full_card_says_so(user: CameraUser, tmp_path: Path) -> None:
    with MockCamera("--card-mib", "1", "--format", "raw") as small, CameraUser(tmp_path / "other") as other:
        other.connect(small.address)
        fault = None
        while fault is None:
            other.release(1)
            answer: say.Message = other.hear()
            while not isinstance(answer, say.FrameComplete | say.Failed):
                answer = other.hear()
            fault = answer if isinstance(answer, say.Failed) else None
    assert fault.fault == Fault.CARD_FULL
    assert "card is full" in fault.text


def test_a_card_that_fills_up_while_the_picture_is_written_is_told_as_fired(user: CameraUser, mock: MockCamera) -> None:
    mock.fault("card_full", when="writing")
    failed = failed_release(user, 1)
    assert (failed.fault, failed.fired, failed.missing) == (Fault.CARD_FULL, Fired.YES, ())


def test_a_camera_that_refuses_without_a_reason_is_told_with_battery_and_room(
    user: CameraUser, mock: MockCamera
) -> None:
    mock.fault("battery_low", percent=3)
    failed = failed_release(user, 1)
    assert (failed.fault, failed.fired) == (Fault.REFUSED, Fired.NO)
    assert failed.text.startswith("The camera refused to release and gave no reason (battery 3 %, 4.")


def test_a_busy_camera_is_asked_again(user: CameraUser, mock: MockCamera) -> None:
    mock.fault("busy", operation="InitiateCapture", times=3)
    mock.fault("busy", operation="GetObject", times=3)
    assert len(user.take(1)) == 1
    mock.fault("busy", operation="SetDevicePropValue", times=3)
    assert user.apply(f_number=8.0).refused == {}


def test_a_camera_that_stays_busy_did_not_fire(user: CameraUser, mock: MockCamera) -> None:
    mock.fault("busy", operation="InitiateCapture", times=0)
    failed = failed_release(user, 1)
    assert (failed.fault, failed.fired, failed.text) == (Fault.BUSY, Fired.NO, "The camera is busy.")
    mock.hands("clear_faults")
    assert len(user.take(1)) == 1


def test_a_folder_that_cannot_be_made_is_told_before_the_shutter_goes(user: CameraUser, mock: MockCamera) -> None:
    user.folder.write_bytes(b"a file where the folder should be")
    failed = failed_release(user, 1)
    assert (failed.fault, failed.fired) == (Fault.DISK, Fired.NO)
    assert mock.hands("state")["card"]["files"] == []


def test_another_file_of_the_frames_name_is_never_replaced(user: CameraUser, card: Path) -> None:
    user.folder.mkdir()
    (user.folder / "frame-1.JPG").write_bytes(b"somebody's")
    (file,) = user.take(1)
    assert Path(file.path).name == "frame-1-2.JPG"
    assert is_on_disk(file, card)
    assert (user.folder / "frame-1.JPG").read_bytes() == b"somebody's"


def test_a_file_whose_name_on_the_card_means_another_picture_now_is_not_fetched(
    user: CameraUser, mock: MockCamera
) -> None:
    (file,) = user.take(1)
    other = say.CardObject(file.card.folder, file.card.name, file.card.bytes + 1, file.card.modified_at)
    gone = say.CardObject(file.card.folder, "STIL9999.JPG", 1000)
    user.camera.post(say.Fetch("later", str(user.folder), "later", (other, gone)))
    failed = user.until(say.Failed)
    assert (failed.fault, failed.missing, failed.connected) == (Fault.NOT_FOUND, (other, gone), True)
    assert user.names() == ["frame-1.JPG"]
