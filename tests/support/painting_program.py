"""`python -m tests.support.painting_program ours|half-cell FRAMES OUT`: paints fresh colour pictures as fast as can be.

Both kinds stand alone on the screen of one and the same app. Writes JSON to OUT: frames, seconds, processor seconds.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from time import monotonic, process_time
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from textual.app import App, ComposeResult

from tui.screen.picture_view import PictureView
from tui.screen.small_picture import SmallPicture

KEPT = 24
"""Pictures made before the clock starts, so that none looks like the one before."""

WARM_UP = 10


def fresh_pictures(seed: int = 1) -> list[NDArray[np.uint8]]:
    """Bright, striped, slightly noisy metal at the size of a live picture decoded small, in other light each time."""
    random = np.random.default_rng(seed)
    y, x = np.mgrid[0:160, 0:240]
    made = []
    for _ in range(KEPT):
        light = 120 + 60 * np.sin((x + y * 0.6 + random.uniform(0, 60)) / 18)
        toned = light[..., None] * np.array([1.0, 0.93, 0.8]) + random.normal(0, 6, (160, 240, 3))
        made.append(np.clip(toned, 0, 255).astype(np.uint8))
    return made


class Painting(App[None]):
    """One widget; the next picture goes in when the last one has been painted."""

    CSS = "Painting #picture { width: 100%; height: 100%; }"

    def __init__(self, kind: str, frames: int) -> None:
        super().__init__()
        self._kind, self._left = kind, frames + WARM_UP
        if kind == "half-cell":
            # asks the terminal when imported, so before the app reads what the terminal says
            from textual_image.widget import HalfcellImage

            self._half_cells = HalfcellImage
        self._frames = frames
        self._pictures = fresh_pictures()
        self._images = [Image.fromarray(picture) for picture in self._pictures]
        self._small = [SmallPicture(picture, 240, 160) for picture in self._pictures]
        self.outcome: dict[str, float] = {}

    def compose(self) -> ComposeResult:
        if self._kind == "ours":
            yield PictureView(id="picture")
        else:
            yield self._half_cells(id="picture")

    def on_mount(self) -> None:
        self._widget: Any = self.query_one("#picture")
        self.call_after_refresh(self._next)

    def _next(self) -> None:
        if self._left == self._frames:
            self._began = monotonic(), process_time()
        if self._left == 0:
            began_s, cpu_s = self._began
            self.outcome = {"frames": self._frames, "s": monotonic() - began_s, "cpu_s": process_time() - cpu_s}
            self.exit()
            return
        self._left -= 1
        at = self._left % KEPT
        if self._kind == "ours":
            self._widget.show(self._small[at])
        else:
            self._widget.image = self._images[at]
        self.call_after_refresh(self._next)


if __name__ == "__main__":
    kind, frames, out = sys.argv[1:]
    app = Painting(kind, int(frames))
    app.run(mouse=False)
    Path(out).write_text(json.dumps(app.outcome))
