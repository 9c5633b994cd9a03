"""Live view, and the focus motor that is used with it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from time import monotonic

from session.cameras.libgphoto import Gphoto
from session.cameras.result_codes import CameraError
from session.cameras.taking import Say
from session.cameras.widgets import Widget
from session.frame.camera_messages import NO_FOCUS_DRIVE, NO_LIVE_VIEW, Fault, LiveFrame

VIEWFINDER = "viewfinder"
FOCUS_DRIVES = ("manualfocusdrive", "manualfocus")
LIVE_WIDGETS = (VIEWFINDER, *FOCUS_DRIVES)
SMALLEST_STEP = re.compile(r"(near|far)\s*1", re.IGNORECASE)
MOST_FAILURES = 5
"""One after the other; a body that ended live view by itself needs some to begin it again."""
END_STOP_CODE = -113


class Live:
    """Sends a frame whenever the last one was used, so that there is never a backlog, and always the newest."""

    def __init__(self, camera: Gphoto, widgets: Mapping[str, Widget], say: Say) -> None:
        self._camera = camera
        self._say = say
        offered = [widgets[name] for name in FOCUS_DRIVES if name in widgets]
        self._drive = next(filter(moves_both_ways, offered), None)
        self._has_viewfinder = VIEWFINDER in widgets
        self.offered = camera.claims_live_view()
        self._on = False
        self._last_was_used = True
        self._failures = 0

    @property
    def drives_focus(self) -> bool:
        """Whether the camera has a focus motor that can be moved by steps."""
        return self._drive is not None

    @property
    def is_on(self) -> bool:
        """Whether live view is wanted."""
        return self._on

    @property
    def wants_frame(self) -> bool:
        """Whether a frame is to be sent now."""
        return self._on and self._last_was_used

    def switch(self, on: bool) -> None:
        """Raises CameraError, NOT_OFFERED from a camera that has no live view."""
        if on and not self.offered:
            raise CameraError(Fault.NOT_OFFERED, NO_LIVE_VIEW)
        was_on, self._on, self._last_was_used = self._on, on, True
        self._failures = 0
        if was_on and not on and self._has_viewfinder:
            self._camera.set(VIEWFINDER, "0")

    def note_used(self) -> None:
        """The last frame was used; the next is wanted."""
        self._last_was_used = True

    def send_frame(self) -> None:
        """Raises CameraError when live view can't go on; then it is off."""
        try:
            jpeg = self._camera.live_frame()
        except CameraError as error:
            self._failures += error.fault is not Fault.BUSY
            if error.fault is Fault.NOT_OFFERED:
                self._on = self.offered = False
                raise error.but(text=NO_LIVE_VIEW) from error
            if error.connected and self._failures < MOST_FAILURES:
                return
            self._on = False
            raise
        self._failures = 0
        if jpeg:
            self._say(LiveFrame(jpeg, monotonic()))
            self._last_was_used = False

    def drive(self, steps: int) -> None:
        """Move the focus, + away from the camera. Raises CameraError, END_STOP when it can't go so far."""
        if self._drive is None:
            raise CameraError(Fault.NOT_OFFERED, NO_FOCUS_DRIVE)
        try:
            for text in _settings_for(steps, self._drive):
                self._camera.set(self._drive.name, text)
        except CameraError as error:
            if error.code == END_STOP_CODE:
                raise error.but(fault=Fault.END_STOP, text="The focus is at its end stop.") from error
            if error.connected and not self._on:
                raise error.but(fault=Fault.REFUSED, text="The focus can be driven in live view only.") from error
            raise


def moves_both_ways(widget: Widget) -> bool:
    """True if the widget is a drive: counts steps on both sides of zero, or near and far. A place is no drive."""
    if widget.read_only:
        return False
    if widget.span is not None:
        return widget.span[0] < 0 < widget.span[1]
    ways = {match[1].casefold() for text in widget.choices if (match := SMALLEST_STEP.fullmatch(text))}
    return ways == {"near", "far"}


def _settings_for(steps: int, drive: Widget) -> list[str]:
    """The texts to set in turn: whole steps where the camera takes a number, else its smallest."""
    if drive.span is not None:
        least, greatest, _ = drive.span
        texts = []
        while steps:
            part = int(max(least, min(greatest, steps)))
            texts.append(str(part))
            steps -= part
        return texts
    smallest = {match[1].casefold(): text for text in drive.choices if (match := SMALLEST_STEP.fullmatch(text))}
    step = smallest.get("far" if steps > 0 else "near")
    if step is None:
        raise CameraError(Fault.NOT_OFFERED, NO_FOCUS_DRIVE)
    return [step] * abs(steps)
