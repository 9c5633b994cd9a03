"""Live view and the focus motor that works in it.

A live picture is formed by a thread of its own. When it takes longer than FRAME_WAIT_S the host is told
DeviceBusy and gets that picture at its next try, so the wire never falls silent.
"""

from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as StillFormingError

from mock_camera.body.camera_body import CameraBody
from mock_camera.body.thumbs import black_jpeg
from mock_camera.ptp.codes import Response

LIVE_SIZE_PX = (1024, 680)
FRAME_WAIT_S = 0.1
MOTOR_WAIT_S = 1.0
"""How long the motor waits for a picture that is being formed; below any host's patience."""


class Viewfinder:
    """Live view of one body. Call `close` at the end."""

    def __init__(self, body: CameraBody) -> None:
        self._body = body
        self._centre = (0.5, 0.5)
        self._last = b""
        self._frames = 0
        self._at_end_stop = False
        self._starts_refused = 0
        self._slow_until_s: float | None = None
        self._forming: Future[bytes] | None = None
        self._former = ThreadPoolExecutor(1, thread_name_prefix="viewfinder")

    def switch(self, on: bool) -> Response:
        """Start or end live view."""
        if on and self._body.battery_critical():
            return Response.GeneralError
        if on and self._starts_refused:
            self._starts_refused -= 1
            return Response.GeneralError
        self._body.live_view = on
        self._body.tell_changed("live_view")
        return Response.OK

    def frame(self) -> tuple[Response, bytes]:
        """Next live picture, a JPEG."""
        body = self._body
        lost = body.faults.take("live_view_lost") if body.live_view else None
        if lost:
            self._starts_refused = int(lost.number("starts_refused"))
            self.switch(False)
        if not body.live_view:
            return Response.NotLiveView, b""
        if body.shutter_open() or self._is_slow():
            return Response.DeviceBusy, b""
        if self._last and body.faults.take("live_view_frozen"):
            return Response.OK, self._last
        if body.faults.take("live_view_black"):
            return Response.OK, black_jpeg(LIVE_SIZE_PX)
        self._forming = self._forming or self._former.submit(self._form, self._size())
        try:
            self._last = self._forming.result(FRAME_WAIT_S)
        except StillFormingError:
            return Response.DeviceBusy, b""
        self._forming = None
        return Response.OK, self._last

    def _is_slow(self) -> bool:
        """True while a late picture's time isn't over yet."""
        now_s = self._body.clock.now_s()
        if self._slow_until_s is None:
            slow = self._body.faults.take("live_view_slow")
            if slow is None:
                return False
            self._slow_until_s = now_s + slow.number("seconds")
        if now_s < self._slow_until_s:
            return True
        self._slow_until_s = None
        return False

    def _size(self) -> tuple[int, int]:
        other = self._body.faults.take("live_view_resized")
        return (round(other.number("width")), round(other.number("height"))) if other else LIVE_SIZE_PX

    def _form(self, size: tuple[int, int]) -> bytes:
        """Runs in the forming thread."""
        body = self._body
        self._frames += 1
        with body.table_lock:
            return body.source.live_frame(
                body.shot(self._frames),
                body.clock.now_s(),
                size=size,
                zoom=float(body.setting("live_view_zoom")),
                centre=self._centre,
            )

    def forget(self) -> None:
        """Something moved: a picture begun before is not shown any more."""
        self._forming = None

    def centre_on(self, x_px: int, y_px: int) -> Response:
        """Centre of the enlarged live picture, in px of the live picture at no enlargement."""
        width, height = LIVE_SIZE_PX
        if not (0 <= x_px < width and 0 <= y_px < height):
            return Response.InvalidParameter
        self._centre = (x_px / width, y_px / height)
        self.forget()
        return Response.OK

    def drive_focus(self, steps: int) -> Response:
        """Focus motor, + away from the camera; only in live view, as bodies have it.

        That it met the end stop is the answer to the next `ready`, when the motor has come to rest.
        """
        body = self._body
        if not body.live_view:
            return Response.NotLiveView
        if body.shutter_open() or not body.table_lock.acquire(timeout=MOTOR_WAIT_S):
            return Response.DeviceBusy
        try:
            self._at_end_stop = not body.source.drive_focus(steps)
        finally:
            body.table_lock.release()
        self.forget()
        return Response.OK

    def ready(self) -> Response:
        """Whether the body is at rest; an end stop met on the way is told once."""
        if self._body.shutter_open():
            return Response.DeviceBusy
        at_end_stop, self._at_end_stop = self._at_end_stop, False
        return Response.FocusDriveEnd if at_end_stop else Response.OK

    def close(self) -> None:
        self._former.shutdown(cancel_futures=True)
