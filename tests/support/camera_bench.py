"""A bench to try the mock camera on: cameras before a tiny table, computers with libgphoto2, and hands."""

import threading
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from mock_camera.body.camera_body import BodyOptions
from mock_camera.body.clock import RunningClock
from mock_camera.body.faults import FaultScript
from mock_camera.camera import SimulatedCamera
from mock_camera.wire.control import ControlClient
from tests.support.gphoto_host import GphotoHost
from tests.support.tiny_table import ENCODERS, TinyTable

STARTED_AT = datetime(2026, 3, 2, 10, 0, tzinfo=UTC)


class CameraBench:
    """Everything started on it is closed at the end of the test, in reverse order."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._stack = ExitStack()
        self._stop = threading.Event()

    def start(self, *fault: str, **given: Any) -> SimulatedCamera:
        """Start a camera; `given` are BodyOptions' fields and Camera's own keywords."""
        table = TinyTable()
        body: dict[str, Any] = {"pixels": table.size_px, "shutter_lag_s": 0.0, "buffer_s": 0.0}
        body |= {name: given.pop(name) for name in list(given) if name in BodyOptions.__annotations__}
        faults = FaultScript()
        for text in fault:
            faults.add_text(text)
        clock = RunningClock(STARTED_AT, 1.0, self._stop)
        camera = SimulatedCamera(
            table, ENCODERS, clock, self.folder, options=BodyOptions(**body), faults=faults, **given
        )
        return self._stack.enter_context(camera)

    def host(self, camera: SimulatedCamera) -> GphotoHost:
        """A computer of its own, connected to the camera."""
        host = self._stack.enter_context(GphotoHost())
        host.call("connect", camera.wire.port)
        return host

    def hands(self, camera: SimulatedCamera) -> ControlClient:
        client = ControlClient(camera.control.port)
        self._stack.callback(client.close)
        return client

    def card_file(self, announced: str) -> Path:
        """The file on the card that libgphoto2 announced, /store_.../DCIM/100STILL/NAME."""
        return self.folder / announced[announced.index("DCIM") :]

    def close(self) -> None:
        self._stop.set()
        self._stack.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
