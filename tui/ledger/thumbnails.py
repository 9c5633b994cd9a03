"""Small pictures of the log's frames, made in the background, singly, and only of the frames on the screen."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from functools import partial

import numpy as np
from PIL import Image

from session.frame.ports import LogError
from session.picture.preview import UnreadablePicture
from storage.reading.shown_picture import shown_picture
from storage.reading.views import FrameRow
from tui.screen.background import BackgroundApp, Then
from tui.screen.shoot_port import Reader
from tui.screen.small_picture import SmallPicture, small_picture

THUMBNAIL_PX = 96
"""Long side of the pictures that are kept: nearly four pixels for each of the sheet's widest cell. Chosen."""

MOST_KEPT = 400
"""Pictures that are kept, the latest looked at: 400 take 7 MB. Chosen."""

NO_PICTURE = "no picture"
COMING = "…"
SHORT = "stored preview"

Thumbnail = tuple[SmallPicture | None, str]
"""The picture, with words where it is from a stored preview; or the words in its place."""


class Thumbnails:
    """Gives the pictures at hand, and makes the wanted ones; `made` is called after each new picture."""

    def __init__(self, app: BackgroundApp, reader: Reader, made: Callable[[], None]) -> None:
        self._app, self._reader, self._made = app, reader, made
        self._kept: OrderedDict[str, Thumbnail] = OrderedDict()
        self._wanted: Sequence[FrameRow] = ()
        self._busy = False

    def of(self, row: FrameRow) -> Thumbnail:
        """A frame's picture, or words while it is being made."""
        known = self._kept.get(_key(row))
        if known is None:
            return None, COMING
        self._kept.move_to_end(_key(row))
        return known

    def want(self, rows: Sequence[FrameRow]) -> None:
        """Make the pictures of these frames, which are on the screen; earlier wishes are dropped."""
        self._wanted = rows
        self._next()

    def _next(self) -> None:
        row = next((row for row in self._wanted if _key(row) not in self._kept), None)
        if row is not None and not self._busy:
            self._busy = True
            self._app.in_background(partial(self._work, row), f"thumbnail {row.frame_id}")

    def _work(self, row: FrameRow) -> Then:
        """Make the next picture, in the background."""
        try:
            record = self._reader.frame(row.frame_id)
            shown = shown_picture(record) if record else None
            told = SHORT if shown and shown.told else ""
            made: Thumbnail = (_reduce(small_picture(shown.path)), told) if shown else (None, NO_PICTURE)
        except (LogError, UnreadablePicture):
            made = None, "can't be read"
        return partial(self._keep, row, made)

    def _keep(self, row: FrameRow, made: Thumbnail) -> None:
        """Keep the picture made, in the screen's own thread."""
        self._busy = False
        self._kept[_key(row)] = made
        while len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)
        self._made()
        self._next()


def _key(row: FrameRow) -> str:
    """A frame whose files are still to come may have a picture later."""
    return f"{row.frame_id} {row.state}"


def _reduce(picture: SmallPicture) -> SmallPicture:
    image = Image.fromarray(picture.pixels)
    image.thumbnail((THUMBNAIL_PX, THUMBNAIL_PX), Image.Resampling.BOX)
    return SmallPicture(np.asarray(image), picture.full_width_px, picture.full_height_px)
