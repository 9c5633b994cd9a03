"""A table with nothing but numbered noise on it: for tests of the body and the wire, not of the picture."""

from io import BytesIO

import numpy as np
from PIL import Image

from mock_camera.body.picture_source import Encoders
from mock_camera.table.imaging import ReleasedPicture
from mock_camera.table.world import Shot

END_STOP_STEPS = 500


class TinyTable:
    """Picture source whose pictures are noise seeded by the shot's number. Keeps what it was asked for."""

    def __init__(self, size_px: tuple[int, int] = (192, 128)) -> None:
        self.size_px = size_px
        self.focus_steps = 0
        self.shots: list[Shot] = []
        self.live_asked: list[tuple[float, tuple[float, float]]] = []

    def expose(self, shot: Shot, now_s: float) -> ReleasedPicture:
        self.shots.append(shot)
        width, height = self.size_px
        rgb = np.random.default_rng(shot.number).integers(0, 256, (height, width, 3), dtype=np.uint8)
        return ReleasedPicture(
            rgb, np.zeros((height, width), np.uint16), {"number": shot.number, "exposed_at_s": now_s}
        )

    def live_frame(
        self,
        shot: Shot,
        now_s: float,
        *,
        size: tuple[int, int] = (1024, 680),
        zoom: float = 1.0,
        centre: tuple[float, float] = (0.5, 0.5),
    ) -> bytes:
        self.live_asked.append((zoom, centre))
        out = BytesIO()
        Image.new("L", size, len(self.live_asked) % 255 + 1).save(out, "JPEG")
        return out.getvalue()

    def drive_focus(self, steps: int) -> bool:
        if abs(self.focus_steps + steps) > END_STOP_STEPS:
            return False
        self.focus_steps += steps
        return True

    def do(self, name: str, /, **values: object) -> dict[str, object]:
        raise ValueError(f"Nobody can {name} here.")

    def state(self) -> dict[str, object]:
        return {"focus_steps": self.focus_steps}


def encode(picture: ReleasedPicture, file_type: str) -> bytes:
    out = BytesIO()
    Image.fromarray(picture.rgb).save(out, file_type)
    return out.getvalue()


ENCODERS = Encoders(
    jpeg=lambda picture, shot: encode(picture, "JPEG"), raw=lambda picture, shot: encode(picture, "TIFF")
)
