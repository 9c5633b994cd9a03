"""Cameras as their makers' extensions have them, played on the wire, through the real libgphoto2.

The bodies in `tests/bodies` are invented; what each extension does is as libgphoto2's PTP driver (its library.c and
config.c) expects of it. Each mishap is told in one sentence, and costs at most its own file.

Elsewhere: clocks and sleep in `test_clocks_and_sleep`, permission and other programs in `test_usb_refused`, every text
of libgphoto2's tables in `session/cameras/test_library_texts`.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

import pytest

from session.cameras.camera_limits import CameraLimits
from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject, Fault, Fired
from session.rules.room_rules import no_card, room_for_files
from session.rules.situation import Situation
from session.set.kit import Kit
from session.set.setup import Revision
from session.shoot.acts import SwitchLiveView
from session.shoot.live_stream import LIVE_MINUTES
from tests.support.camera_user import CameraUser
from tests.support.frame_of_each_file import quick_shoot
from tests.support.mock_process import MockCamera

BODIES = Path(__file__).parent.parent / "bodies"
LIMITS = CameraLimits(posted_s=60.0, no_file_s=3.0)

Played = Callable[..., MockCamera]


@pytest.fixture(scope="module")
def running() -> Iterator[Played]:
    """Cameras by body and options, each started once."""
    with ExitStack() as stack:
        started: dict[tuple[str, ...], MockCamera] = {}

        def play(body: str, *options: str) -> MockCamera:
            key = (body, *options)
            if key not in started:
                started[key] = stack.enter_context(MockCamera("--body", str(BODIES / f"{body}.txt"), *options))
            started[key].hands("clear_faults")
            return started[key]

        yield play


@pytest.fixture
def user(tmp_path: Path) -> Iterator[CameraUser]:
    with CameraUser(tmp_path, LIMITS) as user:
        yield user


def read(connected: say.Connected) -> dict[str, object]:
    return {name: setting.value for name, setting in connected.reading.settings.items()}


@pytest.mark.parametrize("body", sorted(path.stem for path in BODIES.glob("*.txt")))
def test_each_extension_is_read_set_and_released(user: CameraUser, running: Played, body: str) -> None:
    before = read(user.connect(running(body).address))
    assert (before["exposure_s"], before["f_number"], before["iso"]) == (pytest.approx(1 / 200), 11.0, 100)
    assert [len(user.take()), len(user.take())] == [1, 1]
    after = user.apply(f_number=8.0, iso=200)
    assert (after.refused, after.reading.value("f_number"), after.reading.value("iso")) == ({}, 8.0, 200)
    assert user.apply(f_number=11.0, iso=100).refused == {}


def test_a_body_that_is_busy_when_it_is_connected_is_let_go_and_connected_when_it_is_free(
    user: CameraUser, running: Played
) -> None:
    """libgphoto2 keeps the sockets of a body that refused the session, and a body takes one computer at a time."""
    mock = running("extension_0e")
    mock.fault("busy", operation="OpenSession", times=0)
    for _ in range(2):
        failed = user.fail_to_connect(mock.address)
        assert (failed.fault, failed.text) == (Fault.BUSY, "The camera is busy.")
    mock.hands("clear_faults")
    user.connect(mock.address)
    assert len(user.take()) == 1


def test_a_setting_whose_value_is_not_in_its_own_list_ends_no_process(user: CameraUser, running: Played) -> None:
    mock = running("extension_0a")
    user.connect(mock.address)
    mock.hands("set_property", code=0x5005, value=12345)
    mock.hands("set_property", code=0x500A, value=0x8099)
    user.camera.post(say.ReadSettings())
    assert user.until(say.SettingsRead).reading.value("f_number") == 11.0
    assert len(user.take()) == 1
    mock.hands("set_property", code=0x5005, value=7)
    mock.hands("set_property", code=0x500A, value=1)


def test_what_ended_the_process_twice_is_left_out_and_said(user: CameraUser, running: Played) -> None:
    mock = running("no_extension")
    for told in (False, True):
        mock.fault("stall", operation="GetDevicePropDesc")
        user.camera.post(say.Connect(mock.address))
        mock.until_struck()
        pid = user.camera.process_id
        assert pid is not None
        os.kill(pid, signal.SIGSEGV)
        assert user.until(say.Failed).fault is Fault.BROKEN
        assert ("goes on without" in user.until(say.CameraGone).text) == told
    connected = user.connect(mock.address)
    assert "battery_percent" not in connected.reading.settings
    assert len(user.take()) == 1


def test_a_raw_that_comes_late_is_its_frames_though_the_formats_text_is_unread(
    user: CameraUser, running: Played
) -> None:
    mock = running("extension_0a", "--makes", "raw+jpeg")
    user.connect(mock.address)
    mock.hands("set_property", code=0x5004, value=13)
    mock.fault("raw_late", times=2)
    frames = [user.take(), user.take()]
    assert [[file.kind for file in frame] for frame in frames] == [["jpeg", "raw"], ["jpeg", "raw"]]
    assert [len({file.card.name[:8] for file in frame}) for frame in frames] == [1, 1]
    mock.hands("set_property", code=0x5004, value=2)


@pytest.mark.parametrize(("promised", "made"), [(1, "raw+jpeg"), (2, "jpeg")])
def test_what_a_camera_made_counts_not_what_its_formats_text_promises(
    user: CameraUser, running: Played, promised: int, made: str
) -> None:
    user.connect(running("extension_0a", "--makes", made).address)
    for _ in range(2):
        assert len(user.take(promised)) == made.count("+") + 1


@pytest.mark.parametrize("body", ["extension_0a", "extension_0b", "extension_11"])
def test_pictures_in_the_cameras_memory_are_fetched_whole(user: CameraUser, running: Played, body: str) -> None:
    mock = running(body, "--makes", "raw+jpeg")
    user.connect(mock.address)
    mock.fault("target_ignored", times=0)
    for _ in range(2):
        assert sorted(file.kind for file in user.take(2)) == ["jpeg", "raw"]
    notes = [heard.text for heard in user.heard if isinstance(heard, say.CameraNote)]
    assert [text.startswith("This camera keeps pictures in its memory only") for text in notes] == [True]


def test_a_file_that_is_fetched_inside_an_event_has_the_time_that_its_size_takes(
    tmp_path: Path, running: Played
) -> None:
    """A raw of 30 MB at 900 kB/s took longer than a call may; here 0.1 MB at 40 kB/s, and a call of 1 s."""
    mock = running("extension_11", "--makes", "raw")
    limits = CameraLimits(call_s=1.0, no_file_s=30.0, after_complete_s=0.3)
    with CameraUser(tmp_path, limits) as user:
        user.connect(mock.address)
        mock.hands("wire", bytes_per_s=40_000)
        (file,) = user.take(1)
        mock.hands("wire", bytes_per_s=0)
        assert file.bytes > 60_000


def test_a_body_that_ignores_the_capture_target_is_told_before_the_first_release(
    user: CameraUser, running: Played
) -> None:
    user.connect(running("extension_11").address)
    assert "memory only until they are fetched" in user.until(say.CameraNote).text


def test_a_camera_without_a_card_says_so_and_gives_its_pictures_from_memory(user: CameraUser, running: Played) -> None:
    mock = running("extension_0a")
    mock.fault("no_card", times=0)
    reading = user.connect(mock.address).reading
    assert (reading.no_card, reading.value("capture_target")) == (True, "card")
    (finding,) = no_card(Situation(Revision(), Kit(), reading))
    assert finding.remedy is not None
    reading = user.apply(**finding.remedy.settings).reading
    assert (reading.value("capture_target"), no_card(Situation(Revision(), Kit(), reading))) == ("memory", ())
    notes = [heard.text for heard in user.heard if isinstance(heard, say.CameraNote)]
    assert [text.startswith("There is no card in the camera: its pictures are in its memory") for text in notes] == [
        True
    ]
    assert [file.card.folder for file in user.take(1)] == ["/"]


CONDITIONS = {
    1 << 22: "Its mirror is up.",
    1 << 17 | 1 << 8: "Its battery is empty. It is too hot: switch it off until it has cooled.",
    1 << 14: "Its card is not in, or is locked.",
    1 << 2: "Look whether its display is off or its mirror is up.",
}
"""Bits as libgphoto2's config.c has them → what is said of them."""


def test_live_view_that_a_body_refuses_is_explained_and_comes_back(user: CameraUser, running: Played) -> None:
    mock = running("extension_0a")
    user.connect(mock.address)
    for conditions, told in CONDITIONS.items():
        mock.hands("set_property", code=0xD1A4, value=conditions)
        user.camera.post(say.LiveView(True))
        failed = user.until(say.Failed)
        assert (failed.request, failed.connected, failed.text.partition(". ")[2]) == ("LiveView", True, told)
    mock.hands("set_property", code=0xD1A4, value=0)
    user.camera.post(say.LiveView(True))
    assert user.until(say.LiveFrame).jpeg
    user.camera.post(say.LiveView(False))


@pytest.mark.parametrize(("body", "code", "value"), [("extension_0a", 0xD1A4, 1 << 17), ("extension_11", 0xD251, 2)])
def test_a_body_that_is_too_hot_says_so_when_it_makes_no_picture(
    user: CameraUser, running: Played, body: str, code: int, value: int
) -> None:
    mock = running(body)
    user.connect(mock.address)
    mock.hands("set_property", code=code, value=value)
    mock.fault("no_file")
    user.release(1)
    assert "It is too hot" in user.until(say.Failed).text
    mock.hands("set_property", code=code, value=0)


def test_live_view_that_ends_for_heat_says_so(user: CameraUser, running: Played) -> None:
    mock = running("extension_11")
    user.connect(mock.address)
    user.camera.post(say.LiveView(True))
    user.until(say.LiveFrame)
    mock.hands("set_property", code=0xD251, value=2)
    mock.fault("live_view_lost", times=0)
    user.camera.post(say.NextLiveFrame())
    failed = user.until(say.Failed)
    assert (failed.request, failed.connected, failed.text.partition(". ")[2][:14]) == (
        "LiveView",
        True,
        "It is too hot:",
    )
    mock.hands("set_property", code=0xD251, value=0)


def test_a_body_that_went_to_sleep_is_told_by_its_own_setting(user: CameraUser, running: Played) -> None:
    mock = running("extension_0b")
    user.connect(mock.address)
    mock.hands("switch_off")
    assert "switches itself off after 60 s" in user.until(say.CameraGone).text
    mock.hands("switch_on")


def test_a_camera_that_is_always_busy_is_not_said_to_have_fired(user: CameraUser, running: Played) -> None:
    mock = running("extension_0a")
    user.connect(mock.address)
    mock.fault("busy", operation="InitiateCapture", times=0)
    user.release(1)
    failed = user.until(say.Failed)
    assert (failed.request, failed.fired) == ("Release", Fired.UNKNOWN)
    assert not any(isinstance(heard, say.ShutterFired) for heard in user.heard)


def test_a_mode_of_the_body_that_keeps_the_picture_back_is_named(user: CameraUser, running: Played) -> None:
    mock = running("extension_0a")
    user.connect(mock.address)
    mock.hands("set_property", code=0x5013, value=32786)
    mock.fault("no_file")
    user.release(1)
    assert "Mirror lock-up is on" in user.until(say.Failed).text
    mock.hands("set_property", code=0x5013, value=1)


NUMBERS: dict[str, list[tuple[str, int, dict[int, object]]]] = {
    "extension_0a": [
        ("file_format", 0x5004, {0: "jpeg", 4: "raw", 7: "raw+jpeg", 2: "jpeg"}),
        ("exposure_s", 0xD100, {0xFFFFFFFD: None, 655370: 1.0, 65736: 1 / 200}),
        ("f_number", 0x5007, {65534: None, 65535: None, 1100: 11.0}),
        ("battery_percent", 0x5001, {253: None, 80: 80}),
    ],
    "extension_0b": [
        ("file_format", 0xD120, {767: "jpeg", 54271: "jpeg", 3327: "raw", 3075: "raw+jpeg", 1023: "jpeg"}),
    ],
    "extension_0e": [
        ("file_format", 0xD018, {1: "raw", 4: "raw+jpeg", 2: "jpeg"}),
        ("exposure_s", 0x500D, {64000180: 3600.0, 0xFFFFFFFF: None, 4921: 1 / 200}),
        ("iso", 0x500F, {-1: 0, -2: 0, -3: 0, 100: 100}),
    ],
}
"""Body → setting, property, and its numbers with what they stand for; the last is the body's own."""


@pytest.mark.parametrize("body", NUMBERS)
def test_the_numbers_of_a_body_are_read_as_what_they_stand_for(user: CameraUser, running: Played, body: str) -> None:
    """Formats named by size; numbers for bulb, time, no lens, automatic speeds, minutes, and no known level."""
    mock = running(body)
    user.connect(mock.address)
    for setting, code, values in NUMBERS[body]:
        for number, value in values.items():
            mock.hands("set_property", code=code, value=number)
            user.camera.post(say.ReadSettings())
            told = user.until(say.SettingsRead).reading.value(setting)
            assert told == (pytest.approx(value, rel=0.03) if isinstance(value, float) else value), (setting, number)


def test_live_view_that_nobody_uses_ends_by_itself_and_is_begun_again(tmp_path: Path) -> None:
    with quick_shoot(tmp_path, 40, "jpeg", "--body", str(BODIES / "extension_0a.txt")) as quick:
        for passed_s in (0.0, 60 * LIVE_MINUTES + 1):
            quick.clock.passed_s += passed_s
            quick.until(lambda: not quick.shoot.live.on and not quick.mock.hands("state")["live_view"])
            quick.shoot.do(SwitchLiveView(True))
            quick.until(lambda: quick.mock.hands("state")["live_view"])
        assert "nobody focused for 10 minutes; it costs battery and warms the camera" in quick.told()
        quick.shoot.do(SwitchLiveView(False))


def test_bulb_is_not_released_from_here(user: CameraUser, running: Played) -> None:
    mock = running("extension_0a")
    user.connect(mock.address)
    mock.hands("set_property", code=0xD100, value=0xFFFFFFFF)
    user.camera.post(say.ReadSettings())
    assert user.until(say.SettingsRead).reading.value("exposure_s") is None
    user.release(1)
    failed = user.until(say.Failed)
    assert (failed.fired, "not from here" in failed.text) == (Fired.NO, True)
    mock.hands("set_property", code=0xD100, value=65736)


def test_of_two_focus_modes_the_one_that_can_be_set_is(user: CameraUser, running: Played) -> None:
    connected = user.connect(running("extension_0a").address)
    focus = connected.reading.settings["focus_mode"]
    assert (focus.value, focus.read_only) == ("manual", False)
    assert user.apply(focus_mode="af-s").reading.value("focus_mode") == "af-s"
    assert user.apply(focus_mode="manual").reading.value("focus_mode") == "manual"


def test_a_drive_moves_both_ways_and_no_live_picture_is_fetched_at_connect(user: CameraUser, running: Played) -> None:
    mock = running("extension_11")
    drives = user.connect(mock.address).description.focus_drive
    assert (drives, mock.hands("state")["live_view"]) == (True, False)
    user.camera.post(say.LiveView(True))
    user.until(say.LiveFrame)
    user.camera.post(say.DriveFocus(-3))
    assert user.until(say.FocusDriven).steps == -3


def test_a_place_of_the_focus_is_no_drive(user: CameraUser, running: Played) -> None:
    assert not user.connect(running("extension_0e").address).description.focus_drive


def test_on_mains_the_battery_tells_nothing(user: CameraUser, running: Played) -> None:
    mock = running("extension_0a")
    assert read(user.connect(mock.address))["battery_percent"] == 80
    mock.hands("set_property", code=0xD101, value=1)
    user.camera.post(say.ReadSettings())
    battery = user.until(say.SettingsRead).reading.settings["battery_percent"]
    assert (battery.value, battery.shown) == (None, "mains")
    mock.hands("set_property", code=0xD101, value=0)


def test_of_two_batteries_the_lesser_counts_and_both_are_told(user: CameraUser, running: Played) -> None:
    mock = running("extension_0e")
    battery = user.connect(mock.address).reading.settings["battery_percent"]
    assert (battery.value, battery.shown) == (80, "80 %")
    mock.hands("set_property", code=0xD36B, value="90,8,0")
    user.camera.post(say.ReadSettings())
    reading = user.until(say.SettingsRead).reading
    (finding,) = room_for_files(Situation(Revision(), Kit(), reading))
    assert finding.text == "One of the camera's batteries is at 8 % (90 %, 8 %)."
    mock.hands("set_property", code=0xD36B, value="80,-1,-1")


def test_the_least_room_of_two_cards_is_told_and_their_copies_are_one_frames(user: CameraUser, running: Played) -> None:
    mock = running("extension_0a")
    user.connect(mock.address)
    mock.fault("second_card", times=1)
    frame_id = user.release(1)
    complete = user.until(say.FrameComplete)
    assert (complete.frame_id, len(complete.copies)) == (frame_id, 1)
    assert complete.free_bytes is not None
    assert len(user.take(1)) == 1


def test_copies_that_a_second_card_tells_of_later_are_no_releases_on_the_camera(tmp_path: Path) -> None:
    with quick_shoot(tmp_path, 40, "jpeg", "--body", str(BODIES / "extension_0a.txt")) as quick:
        quick.mock.hands("fault", name="second_card", times=2, after_s=5)
        for _ in range(2):
            quick.at_rest(quick.release())
        quick.all_come()
        case = quick.case()
    assert case.by_body == ()
    assert [len(names) for _, _, names in case.frames] == [1, 1]


def test_a_card_to_be_read_some_time_hides_nothing_of_a_frame_whose_process_dies(
    user: CameraUser, running: Played
) -> None:
    mock = running("extension_0a")
    user.connect(mock.address)
    user.camera.post(say.ListCard(when_idle=True))
    assert len(user.take(1)) == 1
    mock.hands("wire", bytes_per_s=1000, from_bytes=5000)  # so that the file is still coming when the process is killed
    frame_id = user.release(1)
    user.until(say.ShutterFired)
    assert user.camera.process_id is not None
    os.kill(user.camera.process_id, signal.SIGKILL)
    failed = user.until(say.Failed)
    assert (failed.request, failed.frame_id, failed.fired) == ("Release", frame_id, Fired.YES)
    assert isinstance(user.hear(), say.CameraGone), "nothing else was owed"
    mock.quick_wire()


def test_a_release_goes_first_while_a_long_folder_is_read(tmp_path: Path) -> None:
    """By the names that were known before; the rest of the folder is asked for with the frame's first file."""
    still = tmp_path / "card" / "DCIM" / "100STILL"
    still.mkdir(parents=True)
    names = [f"STIL{number:04d}.JPG" for number in range(1, 101)]
    for name in names:
        (still / name).write_bytes(b"\xff\xd8\xff\xd9")
    options = ("--body", str(BODIES / "extension_0a.txt"), "--card-folder", str(tmp_path / "card"))
    slow = ("--fault", "slow_listing:times=0,seconds=0.04")
    limits = replace(LIMITS, idle_s=0.0)
    with MockCamera(*options, *slow) as mock, CameraUser(tmp_path, limits) as user:
        user.connect(mock.address)
        known = tuple(CardObject("/store_00010001/DCIM/100STILL", name, 4) for name in names)
        user.camera.post(say.ListCard(when_idle=True, known=known))
        assert user.until(say.ReadingCard).what == "file"
        assert len(user.take(1)) == 1
        assert not any(isinstance(heard, say.CardListed) for heard in user.heard)
        *rest, over = [heard for heard in user.heard if isinstance(heard, say.ReadingCard) and heard.left_s is not None]
        assert {one.frame_id for one in rest} == {"frame-1"}, "its file comes after the folder's others"
        assert [one.done for one in rest] == sorted({one.done for one in rest})
        assert (rest[0].of, over.left_s) == (len(names), 0.0)
        saved = next(heard for heard in user.heard if isinstance(heard, say.FileSaved))
        assert user.heard.index(over) < user.heard.index(saved), "the file comes once the folder is read"
        listed = user.until(say.CardListed)
        assert {card.name for card in listed.objects} == {*names, "STIL0101.JPG"}
        assert mock.hands("state")["objects_told"] <= len(names) + 20, "none is asked for twice"


def test_a_folder_of_unknown_names_says_how_far_it_is_and_a_release_that_lay_meanwhile_fires_nothing(
    tmp_path: Path,
) -> None:
    still = tmp_path / "card" / "DCIM" / "100STILL"
    still.mkdir(parents=True)
    for number in range(1, 41):
        (still / f"STIL{number:04d}.JPG").write_bytes(b"\xff\xd8\xff\xd9")
    options = ("--body", str(BODIES / "extension_0a.txt"), "--card-folder", str(tmp_path / "card"))
    slow = ("--fault", "slow_listing:times=0,seconds=0.05")
    with MockCamera(*options, *slow) as mock, CameraUser(tmp_path, replace(LIMITS, idle_s=0.0, posted_s=0.0)) as user:
        user.connect(mock.address)
        user.camera.post(say.ListCard(when_idle=True))
        assert user.until(say.ReadingCard) == say.ReadingCard(0, 1), "before the first file is asked for"
        frame_id = user.release()
        assert len(user.until(say.CardListed).objects) == 40
        first, *rest = [told for told in user.heard if isinstance(told, say.ReadingCard) and told.left_s is not None]
        assert (first.of, first.frame_id, first.done < 40, rest[-1].left_s) == (40, "", True, 0.0)
        failed = user.until(say.Failed)
        assert (failed.frame_id, failed.fired, failed.connected) == (frame_id, Fired.NO, True)


def test_a_card_of_five_thousand_files_is_not_read_at_connect(tmp_path: Path) -> None:
    """50 ms a file, as public reports have it: reading all would take four minutes, twenty may be asked for."""
    for folder in range(100, 106):
        still = tmp_path / "card" / "DCIM" / f"{folder}STILL"
        still.mkdir(parents=True)
        for number in range(1, 1000 if folder < 105 else 6):
            (still / f"STIL{number:04d}.JPG").write_bytes(b"\xff\xd8\xff\xd9")
    options = ("--body", str(BODIES / "extension_0a.txt"), "--card-folder", str(tmp_path / "card"))
    slow = ("--fault", "slow_listing:times=0,seconds=0.05")
    with MockCamera(*options, *slow) as mock, CameraUser(tmp_path, LIMITS) as user:
        assert user.connect(mock.address).card is None
        assert mock.hands("state")["objects_told"] <= 20
        assert len(user.take(1)) == 1
        user.camera.post(say.ListCard())
        listed = user.until(say.CardListed)
        assert {obj.folder[-8:] for obj in listed.objects} == {"105STILL"}
        assert len(listed.objects) == 6
        assert any(isinstance(heard, say.ReadingCard) for heard in user.heard)
        user.camera.post(say.ListCard(when_idle=True))
        user.camera.close()
        assert user.nothing_more(), "what was to be read some time is no trouble at the end"
