"""The body's needs of the table before the lens: pictures, live pictures, focus, and hands.

`World` is the real one. The body knows it by these two shapes only, so that tests of the protocol
can put something tiny in its place.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from mock_camera.table.imaging import ReleasedPicture
from mock_camera.table.world import Shot


class PictureSource(Protocol):
    """The table, its lights and the lens."""

    def expose(self, shot: Shot, now_s: float) -> ReleasedPicture:
        """Let the shutter go at `now_s` seconds, firing what flash is connected; the picture and its true values."""

    def live_frame(
        self,
        shot: Shot,
        now_s: float,
        *,
        size: tuple[int, int] = (1024, 680),
        zoom: float = 1.0,
        centre: tuple[float, float] = (0.5, 0.5),
    ) -> bytes:
        """JPEG of what the sensor sees by continuous light at `now_s` seconds.

        size    (width, height) of the JPEG, px
        zoom    magnification of the view, 1 = the whole frame
        centre  of the view, as shares of width and height
        """

    def drive_focus(self, steps: int) -> bool:
        """Turn the focus motor, + away from the camera; False when it met the end stop."""

    def do(self, name: str, /, **values: object) -> dict[str, object]:
        """Do an act of the hands on the set. Raises ValueError with a sentence."""

    def state(self) -> dict[str, object]:
        """Everything true of the set now, as JSON-like values."""


@dataclass(frozen=True)
class Encoders:
    """How a picture becomes a file."""

    jpeg: Callable[[ReleasedPicture, Shot], bytes]
    raw: Callable[[ReleasedPicture, Shot], bytes]
