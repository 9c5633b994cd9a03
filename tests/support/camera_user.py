"""Someone who uses a camera through `RemoteCamera` and waits for what it says, for tests on the real libgphoto2."""

from __future__ import annotations

import queue
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

from session.cameras.camera_limits import CameraLimits
from session.cameras.remote_camera import RemoteCamera
from session.frame import camera_messages as say

M = TypeVar("M")

DEADLINE_S = 60.0
"""For any message; only a failing test waits so long."""

QUICK_LIMITS = CameraLimits(posted_s=60.0, no_file_s=8.0, after_complete_s=0.3)
"""A simulated camera that is done is never late, so that tests needn't wait for what never comes; before it is done it
may be slow, on a machine that is busy with other things."""


class CameraUser:
    """A camera process with everything that it has said; frames are saved in `folder`."""

    def __init__(self, folder: Path, limits: CameraLimits = QUICK_LIMITS) -> None:
        self.folder = folder / "frames"
        self._messages: queue.Queue[say.Message] = queue.Queue()
        self.heard: list[say.Message] = []
        self._frames = 0
        self.camera = RemoteCamera(
            self._messages.put, limits=limits, folder=folder / "home", errors_path=str(folder / "errors.txt")
        )

    def hear(self) -> say.Message:
        """The next message."""
        message = self._messages.get(timeout=DEADLINE_S)
        self.heard.append(message)
        return message

    def until(self, kind: type[M]) -> M:
        """The next message of this kind; `Failed` of another request than it ends the test."""
        while True:
            message = self.hear()
            if isinstance(message, kind):
                return message
            if isinstance(message, say.Failed):
                raise AssertionError(message)

    def nothing_more(self) -> bool:
        """Whether nothing is waiting to be heard; only after `close` does that mean that nothing comes."""
        return self._messages.empty()

    def connect(self, address: str = "") -> say.Connected:
        """Connect, and what the camera says."""
        self.camera.post(say.Connect(address))
        return self.until(say.Connected)

    def fail_to_connect(self, address: str = "") -> say.Failed:
        """Connect where that can't be done."""
        self.camera.post(say.Connect(address))
        return self.until(say.Failed)

    def release(self, expected_files: int = 0) -> str:
        """Ask for a release; its frame id, which is its stem too."""
        self._frames += 1
        frame_id = f"frame-{self._frames}"
        self.camera.post(say.Release(frame_id, str(self.folder), frame_id, expected_files))
        return frame_id

    def take(self, expected_files: int = 0) -> list[say.SavedFile]:
        """Release, and the files in the order in which they were saved."""
        frame_id = self.release(expected_files)
        assert self.until(say.ShutterFired).frame_id == frame_id
        return self.files_of(frame_id)

    def files_of(self, frame_id: str) -> list[say.SavedFile]:
        """What is saved until the frame is complete."""
        files = []
        while True:
            message = self.hear()
            if isinstance(message, say.FileSaved):
                assert message.frame_id == frame_id
                files.append(message.file)
            elif isinstance(message, say.FrameComplete):
                assert message.frame_id == frame_id
                return files
            elif isinstance(message, say.Failed | say.CameraGone):
                raise AssertionError(message)

    def apply(self, **changes: Any) -> say.SettingsRead:
        """Set these, and what the camera says of it."""
        self.camera.post(say.ApplySettings(changes))
        while True:
            message = self.until(say.SettingsRead)
            if not message.by_hand:
                return message

    def names(self) -> list[str]:
        """Of everything in the folder of frames."""
        return sorted(place.name for place in self.folder.iterdir()) if self.folder.exists() else []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.camera.close()
