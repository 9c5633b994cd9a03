"""`python -m mock_camera` as a whole: start, end, and real pictures through real libgphoto2."""

import hashlib
import signal
import subprocess
import sys
from pathlib import Path

import exifread
import pytest
from PIL import Image

from tests.support.gphoto_host import GphotoHost
from tests.support.mock_camera_program import MockCameraProgram

SMALL = ("--pixels", "192x128", "--shutter-lag-s", "0", "--buffer-s", "0")
STEPPED = ("--step-s", "5", "--date-time", "2026-03-02T10:00:00+01:00")


def test_program_tells_its_ports_and_ends_when_its_standard_input_closes() -> None:
    program = MockCameraProgram(*SMALL, "--serial", "IOW-42")
    assert program.output["pid"] == program.process.pid
    assert program.output["serial"] == "IOW-42"
    assert program.hands.do("state")["releases"] == 0
    assert program.close() == 0


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_program_ends_cleanly_on_a_signal(number: signal.Signals) -> None:
    with MockCameraProgram(*SMALL) as program:
        program.process.send_signal(number)
        assert program.process.wait(20) == 0


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="needs Linux's table of sockets")
def test_only_loopback_is_listened_on() -> None:
    with MockCameraProgram(*SMALL) as program:
        ports = {f"{int(str(program.output[name])):04X}" for name in ("ptpip", "control")}
        lines = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
        listening = [words[1] for words in lines if words[3] == "0A"]
        assert {address for address in listening if address[-4:] in ports} == {f"0100007F:{port}" for port in ports}


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (("--fault", "gremlin"), "There is no fault 'gremlin'"),
        (("--pixels", "big"), "--pixels"),
        (("--pixels", "190x127"), "both must be even"),
        (("--time-scale", "0"), "--time-scale"),
        (("--piece", "ring"), "--piece"),
    ],
)
def test_wrong_option_ends_with_a_sentence_and_code_2(options: tuple[str, ...], sentence: str) -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "mock_camera", *options], capture_output=True, text=True, timeout=30, check=False
    )
    assert ended.returncode == 2
    assert sentence in ended.stderr
    assert "Traceback" not in ended.stderr


def test_port_that_is_taken_and_a_card_that_cannot_be_written_are_told_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with MockCameraProgram(*SMALL) as program:
        for options in (("--port", str(program.port)), ("--card-folder", str(tmp_path / "file"))):
            ended = subprocess.run(
                [sys.executable, "-m", "mock_camera", *options], capture_output=True, text=True, timeout=30, check=False
            )
            assert ended.returncode == 1
            assert ended.stderr.startswith("The camera can't start: ")


def shoot(folder: Path) -> dict[str, str]:
    """Two releases with a touch and a turned ring between them; hashes of the files on the card."""
    options = (*SMALL, *STEPPED, "--seed", "7", "--format", "raw+jpeg")
    with MockCameraProgram(*options, card_folder=folder) as program, GphotoHost() as host:
        host.call("connect", program.port)
        host.call("trigger")
        host.files_of_release()
        program.hands.do("turn_focus", mm=0.4)
        program.hands.do("turn_dial", setting="f_number", value=8)
        program.hands.do("touch")
        host.call("trigger")
        host.files_of_release()
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.rglob("STIL*")}


def test_same_seed_and_commands_give_the_same_bytes_on_a_stepped_clock(tmp_path: Path) -> None:
    first, second = shoot(tmp_path / "first"), shoot(tmp_path / "second")
    assert len(first) == 4
    assert first == second


def test_picture_with_its_exif_comes_through_and_hands_change_what_is_true(tmp_path: Path) -> None:
    with MockCameraProgram(*SMALL, "--format", "raw+jpeg", card_folder=tmp_path) as program, GphotoHost() as host:
        host.call("connect", program.port)
        host.call("set", "shutterspeed2", "1/125")
        host.call("trigger")
        raw, jpeg = host.files_of_release()
        for announced in (raw, jpeg):
            path = tmp_path / announced[announced.index("DCIM") :]
            assert host.call("fetch", announced)["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()
            with path.open("rb") as file:
                tags = exifread.process_file(file, details=False)
            assert str(tags["EXIF ExposureTime"]) == "1/125"
            assert str(tags["EXIF FNumber"]) == "11"
        with Image.open(tmp_path / jpeg[jpeg.index("DCIM") :]) as picture:
            assert picture.size == (192, 128)
        program.hands.do("turn_focus", mm=1.0)
        assert program.hands.do("light", name="key", power_ev=-3)["power_ev"] == -3
        host.call("trigger")
        host.files_of_release()
        before, after = (program.hands.do("truth", object=name) for name in ("STIL0001", "STIL0002"))
        assert after["defocus_mm"] == pytest.approx(float(str(before["defocus_mm"])) + 1.0, abs=1e-6)


def test_live_view_of_the_real_table_arrives(tmp_path: Path) -> None:
    with MockCameraProgram(*SMALL) as program, GphotoHost() as host:
        host.call("connect", program.port)
        frame = host.call("preview")
        for _ in range(50):
            if frame["bytes"]:
                break
            frame = host.call("preview")  # the first picture of a new piece takes a while to form
        assert frame["start"] == "ffd8"
        assert host.call("preview")["sha256"] != frame["sha256"]
