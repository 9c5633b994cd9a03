"""Real libgphoto2 in a child process, for tests that drive the mock camera as a computer would.

Over PTP/IP libgphoto2 closes descriptor 0 when it hangs up, and a call can hang for ever. So it runs
in a child whose standard input is the null device, is spoken to through two pipes, and is killed when
an answer takes longer than its limit.
"""

import contextlib
import hashlib
import json
import os
import select
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Self

CALL_LIMIT_S = 20.0
MODEL = "PTP/IP Camera"


class GphotoError(Exception):
    """libgphoto2 returned this error code."""

    def __init__(self, code: int) -> None:
        super().__init__(f"libgphoto2 returned {code}")
        self.code = code


class HungError(Exception):
    """A call outlasted its limit; the child has been killed."""


class GphotoHost:
    """A computer with libgphoto2 on it. `call("set", "iso", "200")` runs a function named do_set in the child."""

    def __init__(self) -> None:
        self._settings = tempfile.TemporaryDirectory(prefix="gphoto-settings-")
        asks, self._asks = os.pipe()
        self._answers, answers = os.pipe()
        self._process = subprocess.Popen(
            [sys.executable, __file__, str(asks), str(answers)],
            stdin=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            pass_fds=(asks, answers),
            env={**os.environ, "XDG_CONFIG_HOME": self._settings.name, "LC_ALL": "C"},
        )
        os.close(asks)
        os.close(answers)
        self._lines = b""

    def ask(self, name: str, *arguments: object) -> None:
        """Begin a call and don't wait for its answer."""
        os.write(self._asks, json.dumps([name, *arguments]).encode() + b"\n")

    def kill(self) -> None:
        """End at once, in the middle of whatever it does."""
        self._process.kill()
        self._process.wait()

    def call(self, name: str, *arguments: object, limit_s: float = CALL_LIMIT_S) -> Any:
        """Answer of the child. Raises GphotoError, or HungError after `limit_s`."""
        self.ask(name, *arguments)
        deadline_s = time.monotonic() + limit_s
        while b"\n" not in self._lines:
            ready, _, _ = select.select([self._answers], [], [], max(0.0, deadline_s - time.monotonic()))
            part = os.read(self._answers, 65536) if ready else b""
            if not part:
                self._process.kill()
                raise HungError(f"{name} gave no answer within {limit_s} s")
            self._lines += part
        line, _, self._lines = self._lines.partition(b"\n")
        answer = json.loads(line)
        if "error" in answer:
            raise GphotoError(answer["error"])
        return answer["value"]

    def files_of_release(self, until: str = "complete", for_s: float = 10.0) -> list[str]:
        """Paths announced until `until`, in order."""
        return [data for kind, data in self.call("events", for_s, until) if kind == "file"]

    def close(self) -> None:
        os.close(self._asks)
        try:
            self._process.wait(timeout=3)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        os.close(self._answers)
        self._settings.cleanup()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def child(asks: int, answers: int) -> None:
    """Run calls from `asks` until it closes."""
    import gphoto2 as gp

    camera = gp.Camera()

    def do_connect(port: int) -> None:
        nonlocal camera
        camera = gp.Camera()
        abilities = gp.CameraAbilitiesList()
        abilities.load()
        ports = gp.PortInfoList()
        ports.load()
        camera.set_abilities(abilities[abilities.lookup_model(MODEL)])
        camera.set_port_info(ports[ports.lookup_path(f"ptpip:127.0.0.1:{port}:{port}")])
        camera.init()

    def do_again() -> None:
        with contextlib.suppress(gp.GPhoto2Error):
            camera.exit()
        camera.init()

    def do_exit() -> None:
        camera.exit()

    def leaves(widget: Any) -> Iterator[Any]:
        if widget.get_type() in (gp.GP_WIDGET_WINDOW, gp.GP_WIDGET_SECTION):
            for index in range(widget.count_children()):
                yield from leaves(widget.get_child(index))
        else:
            yield widget

    def do_widgets() -> dict[str, Any]:
        listing = (gp.GP_WIDGET_RADIO, gp.GP_WIDGET_MENU)
        return {
            leaf.get_name(): {
                "value": leaf.get_value(),
                "choices": list(leaf.get_choices()) if leaf.get_type() in listing else [],
                "readonly": bool(leaf.get_readonly()),
            }
            for leaf in leaves(camera.get_config())
        }

    def do_get(name: str) -> Any:
        return camera.get_single_config(name).get_value()

    def do_set(name: str, value: Any) -> Any:
        widget = camera.get_single_config(name)
        widget.set_value(value)
        camera.set_single_config(name, widget)
        return do_get(name)

    def do_trigger() -> None:
        camera.trigger_capture()

    def do_capture() -> str:
        path = camera.capture(gp.GP_CAPTURE_IMAGE)
        return f"{path.folder}/{path.name}"

    def do_events(for_s: float, until: str) -> list[list[Any]]:
        names = {gp.GP_EVENT_FILE_ADDED: "file", gp.GP_EVENT_CAPTURE_COMPLETE: "complete"}
        names |= {gp.GP_EVENT_UNKNOWN: "other", gp.GP_EVENT_FOLDER_ADDED: "folder"}
        seen: list[list[Any]] = []
        deadline_s = time.monotonic() + for_s
        while time.monotonic() < deadline_s:
            kind, data = camera.wait_for_event(200)
            if kind == gp.GP_EVENT_TIMEOUT:
                continue
            text = f"{data.folder}/{data.name}" if kind == gp.GP_EVENT_FILE_ADDED else str(data)
            seen.append([names[kind], text])
            if names[kind] == until or (until and until in text):
                break
        return seen

    def do_fetch(path: str, part: str = "normal") -> dict[str, Any]:
        folder, name = path.rsplit("/", 1)
        kinds = {"normal": gp.GP_FILE_TYPE_NORMAL, "preview": gp.GP_FILE_TYPE_PREVIEW}
        file = camera.file_get(folder, name, kinds[part])
        data = bytes(memoryview(file.get_data_and_size()))
        listed = camera.file_get_info(folder, name).file.size
        return {
            "bytes": len(data),
            "sha256": hashlib.sha256(data).hexdigest(),
            "listed_bytes": listed,
            "mime": file.get_mime_type(),
        }

    def do_preview() -> dict[str, Any]:
        file = camera.capture_preview()
        data = bytes(memoryview(file.get_data_and_size()))
        return {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest(), "start": data[:2].hex()}

    def do_storage() -> dict[str, int]:
        store = camera.get_storageinfo()[0]
        return {"free_kib": store.freekbytes, "capacity_kib": store.capacitykbytes}

    def do_files(folder: str = "/") -> list[str]:
        found = [f"{folder.rstrip('/')}/{name}" for name, _ in camera.folder_list_files(folder)]
        for name, _ in camera.folder_list_folders(folder):
            found += do_files(f"{folder.rstrip('/')}/{name}")
        return found

    def do_delete(path: str) -> None:
        camera.file_delete(*path.rsplit("/", 1))

    calls: dict[str, Callable[..., Any]] = {
        name.removeprefix("do_"): call for name, call in locals().items() if name.startswith("do_")
    }
    with os.fdopen(asks) as asked, os.fdopen(answers, "w") as answered:
        for line in asked:
            name, *arguments = json.loads(line)
            try:
                answer = {"value": calls[name](*arguments)}
            except gp.GPhoto2Error as error:
                answer = {"error": error.code}
            answered.write(json.dumps(answer) + "\n")
            answered.flush()


def main() -> None:
    child(int(sys.argv[1]), int(sys.argv[2]))


if __name__ == "__main__":
    sys.path = [entry for entry in sys.path if Path(entry).resolve() != Path(__file__).resolve().parent]
    main()
