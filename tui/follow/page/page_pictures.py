"""JPEGs for a tablet: the whole picture as fine as its screen can show, or the region pixel for pixel.

A frame's own file may hold 25 MB. What is sent holds some hundred kilobytes, is made once for all who look on, and
carries nothing of the file but pixels.
"""

from __future__ import annotations

import asyncio
import io
from collections import OrderedDict
from dataclasses import dataclass

from PIL import Image

from session.picture.preview import Box, UnreadablePicture, decode, open_picture, overview_reduction
from session.set.setup import Region
from tui.follow.page.worker import Worker

WHOLE_PX, MOST_WHOLE_PX = 1600, 2400
"""Long side of the whole picture: at least, and at most. 1180 points at two pixels a point are 2360. Chosen."""

MOST_REGION_PX = 3000
"""Side of the region at most; of a larger one the middle is sent, still pixel for pixel. Chosen: 9 million pixels are
some 3 MB, more than a tablet shows without moving it."""

WHOLE_QUALITY, REGION_QUALITY = 88, 95
"""Of the JPEGs sent. The region keeps full colour resolution too, so that it is as sharp as the file. Chosen."""

KEPT_BYTES = 32_000_000
"""Most bytes of finished pictures that are kept; the oldest goes first. Chosen."""


@dataclass(frozen=True)
class Cut:
    """A JPEG with its caption."""

    jpeg: bytes
    caption: str


@dataclass(frozen=True)
class Wanted:
    """A picture that may be asked for. region: None for the whole."""

    frame_id: str
    path: str
    region: Region | None


class Pictures:
    """Makes pictures in one thread, so that memory for a single decode is enough, and keeps the newest."""

    def __init__(self, kept_bytes: int = KEPT_BYTES) -> None:
        self._worker = Worker("pictures")
        self._kept: OrderedDict[Wanted, Cut] = OrderedDict()
        self._kept_bytes = kept_bytes
        self._making: dict[Wanted, asyncio.Future[Cut]] = {}

    async def cut(self, wanted: Wanted) -> Cut:
        """The wanted picture, made once however many ask for it. Raises UnreadablePicture with a clause."""
        kept = self._kept.get(wanted)
        if kept is not None:
            self._kept.move_to_end(wanted)
            return kept
        making = self._making.get(wanted)
        if making is None:
            making = self._making[wanted] = self._worker.do(lambda: make(wanted))
            making.add_done_callback(lambda done: self._keep(wanted, done))
        return await asyncio.shield(making)

    def _keep(self, wanted: Wanted, done: asyncio.Future[Cut]) -> None:
        del self._making[wanted]
        if done.cancelled() or done.exception() is not None:
            return
        self._kept[wanted] = done.result()
        while len(self._kept) > 1 and sum(len(cut.jpeg) for cut in self._kept.values()) > self._kept_bytes:
            self._kept.popitem(last=False)


def make(wanted: Wanted) -> Cut:
    """Decode and encode it. Raises UnreadablePicture with a clause."""
    try:
        return region_cut(wanted.path, wanted.region) if wanted.region else whole_cut(wanted.path)
    except MemoryError:
        raise UnreadablePicture("takes more memory than there is") from None


def whole_cut(path: str) -> Cut:
    """The whole picture, reduced while decoding."""
    source = open_picture(path)
    found = decode(source, reduce=overview_reduction(source, WHOLE_PX), colour=True)
    image = Image.fromarray(found.pixels)
    image.thumbnail((MOST_WHOLE_PX, MOST_WHOLE_PX), Image.Resampling.LANCZOS)
    return Cut(_jpeg(image, WHOLE_QUALITY, "4:2:0"), "tap the frame: region at 1:1")


def region_cut(path: str, region: Region) -> Cut:
    """The region pixel for pixel; of a raw with a smaller preview, of the preview."""
    source = open_picture(path)
    box = _at_most(Box(*region.in_pixels(source.full_width_px, source.full_height_px)), MOST_REGION_PX)
    found = decode(source, colour=True, box=box)
    name = "region" if box == Box(*region.in_pixels(source.full_width_px, source.full_height_px)) else "its middle"
    scale = "1:1" if found.scale == 1 else f"1:{1 / found.scale:.1f}, as fine as the raw's preview is"
    image = Image.fromarray(found.pixels)
    return Cut(_jpeg(image, REGION_QUALITY, "4:4:4"), f"{name} at {scale}, {image.width} × {image.height} px")


def _at_most(box: Box, most_px: int) -> Box:
    wide, high = min(box.width, most_px), min(box.height, most_px)
    left, top = box.left + (box.width - wide) // 2, box.top + (box.height - high) // 2
    return Box(left, top, left + wide, top + high)


def _jpeg(image: Image.Image, quality: int, subsampling: str) -> bytes:
    file = io.BytesIO()
    image.save(file, "JPEG", quality=quality, subsampling=subsampling)
    return file.getvalue()
