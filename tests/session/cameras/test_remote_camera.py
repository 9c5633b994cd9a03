"""The parent's side of the camera's process, where no camera is needed."""

from __future__ import annotations

import queue
import subprocess
import sys
from pathlib import Path

import pytest

from session.cameras.home import NO_CACHE, environment, home, prepare
from session.cameras.remote_camera import RemoteCamera
from session.frame import camera_messages as say
from session.frame.camera_messages import Fault, Fired
from session.system.process import import_path

DEADLINE_S = 30.0


@pytest.mark.parametrize(
    "request_",
    [
        say.ReadSettings(),
        say.ApplySettings({"iso": 100}),
        say.Release("frame-1", "/nowhere", "frame-1"),
        say.Fetch("frame-1", "/nowhere", "frame-1", ()),
        say.ListCard(),
        say.LiveView(True),
        say.DriveFocus(1),
    ],
)
def test_before_a_camera_is_connected_every_request_fails_at_once_and_nothing_fires(request_: say.Request) -> None:
    heard: queue.Queue[say.Message] = queue.Queue()
    camera = RemoteCamera(heard.put)
    camera.post(request_)
    failed = heard.get(timeout=DEADLINE_S)
    camera.close()
    assert isinstance(failed, say.Failed)
    assert (failed.request, failed.fault) == (type(request_).__name__, Fault.LOST)
    assert (failed.fired, failed.connected) == (Fired.NO, False)
    assert camera.process_id is None


def test_it_may_be_closed_twice_and_from_its_own_messages() -> None:
    heard: queue.Queue[say.Message] = queue.Queue()

    def receive(message: say.Message) -> None:
        camera.close()
        heard.put(message)

    camera = RemoteCamera(receive)
    camera.post(say.ListCard())
    heard.get(timeout=DEADLINE_S)
    camera.close()
    camera.close()


@pytest.mark.parametrize(
    "module",
    [
        "frame.camera_messages",
        *(
            f"cameras.{name}"
            for name in ("remote_camera", "usb_search", "result_codes", "saving", "widgets", "camera_address")
        ),
    ],
)
def test_the_program_itself_never_loads_libgphoto2(module: str) -> None:
    code = f"import sys, session.{module}; sys.exit('gphoto2' in sys.modules)"
    assert subprocess.run([sys.executable, "-P", "-c", code], env=_environment(), check=False).returncode == 0


@pytest.mark.parametrize("module", ["camera_process", "detect"])
def test_a_process_of_ours_started_by_hand_says_so_and_ends(module: str) -> None:
    run = subprocess.run(
        [sys.executable, "-P", "-m", f"session.cameras.{module}"],
        env=_environment(),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=False,
    )
    assert (run.returncode, run.stdout) == (2, b"")
    by_hand = "this module serves another process and isn't started by hand: STILLSET_PIPE is None\n"
    assert run.stderr.decode() == by_hand


def _environment() -> dict[str, str]:
    return {"PYTHONPATH": import_path("session")}


def test_libgphoto2_is_told_not_to_answer_from_memory_and_its_other_settings_stay(tmp_path: Path) -> None:
    settings = tmp_path / "gphoto" / "settings"
    prepare(tmp_path)
    settings.write_text("ptp2_ip=guid=aa\n")
    prepare(tmp_path)
    prepare(tmp_path)
    assert settings.read_text() == f"ptp2_ip=guid=aa\n{NO_CACHE}\n"
    assert environment(tmp_path)["XDG_CONFIG_HOME"] == str(tmp_path)


def test_a_home_that_cannot_be_written_to_is_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_bytes(b"")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    folder = home(tmp_path / "file" / "home")
    assert folder.parent == tmp_path
    assert (folder / "gphoto" / "settings").read_text() == f"{NO_CACHE}\n"
