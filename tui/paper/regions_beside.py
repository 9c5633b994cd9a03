"""The regions of a view's frames, pixel for pixel, on a page without script: each is shown and hidden by a click.

Those that are shown stand beside each other at one size and place: the view's hero, else its first frame, is the
pattern, and where the content of the pattern's region is found in another frame, that is cut out there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from html import escape

import numpy as np
from numpy.typing import NDArray

from session.checks.drift.same_place import same_place
from session.picture.preview import Box, UnreadablePicture, decode, open_picture
from session.set.setup import Region
from storage.reading.shown_picture import ShownPicture, shown_picture, shown_pictures
from storage.reading.views import FrameRecord
from tui.paper.held_picture import jpeg_address
from tui.words.harmless import harmless

REGION_PX = 640
"""Longest side of a region that is held, the middle of a larger one: three stand beside each other on a screen of 1920
px, and 500 frames come to some 45 MB. Chosen."""

STYLE = """
.beside { display: flex; gap: 3mm; overflow-x: auto; position: relative; z-index: 1; background: #fff }
.beside { width: max-content; max-width: min(96vw, calc(50vw + 93mm)) }
.beside input { position: absolute; opacity: 0 } .beside figure { display: none; width: auto; flex: none }
.beside input:checked + figure { display: block }
.beside img { display: block; width: auto; height: auto; max-width: none; border: 0 }
label { cursor: pointer; text-decoration: underline; display: inline-block; padding: .3em 0 }
@media print { .beside, label { display: none } }
"""


def opener(record: FrameRecord) -> str:
    """The words to be clicked, beside the frame's small picture."""
    return f'<br><label for="{_name(record)}">region 1:1</label>'


def strip(frames: Sequence[FrameRecord], verdict: Callable[[FrameRecord], str]) -> Iterator[str]:
    """The regions of a view's frames, one after the other; a picture that can't be read is said."""
    pattern = next((one for one in frames if one.mark == "hero"), frames[0])
    first = shown_picture(pattern)
    yield '<div class="beside">\n'
    for record in frames:
        cut, place = _cut(record, first, pattern.region)
        mark = f' <span class="mark">{escape(record.mark)}</span>' if record.mark else ""
        words = f"<b>{record.number}</b> {escape(harmless(verdict(record)))}{mark}{place}"
        if cut is None:
            shown = '<div class="none">no picture</div>'
        else:
            height, width = cut.shape[:2]
            size = f'width="{width}" height="{height}"'
            shown = f'<img alt="region of frame {record.number}" {size} src="{jpeg_address(cut)}">'
        yield (
            f'<input type="checkbox" id="{_name(record)}"><figure>{shown}<figcaption>{words}'
            f' <label for="{_name(record)}">close</label></figcaption></figure>\n'
        )
    yield "</div>\n"


def _name(record: FrameRecord) -> str:
    return f"region-{record.number}"


def _cut(record: FrameRecord, first: ShownPicture | None, region: Region) -> tuple[NDArray[np.uint8] | None, str]:
    """The frame's region, (height, width, 3) sRGB codes, None without a picture; words where it isn't registered."""
    for shown in shown_pictures(record):
        try:
            source = open_picture(shown.path)
            box = _middle_of(Box(*record.region.in_pixels(source.full_width_px, source.full_height_px)))
            told = f", {shown.told}: no fine detail" if shown.told else ""
            if first is not None and shown != first:
                found = _place_in(first.path, shown.path, region)
                box, told = (found, told) if found else (box, f"{told}, the same part of the picture only")
            return _pixels(shown.path, box), told
        except UnreadablePicture:
            continue
    return None, ""


def _place_in(first: str, path: str, region: Region) -> Box | None:
    """Where the pattern's region lies in this picture, full-size px; beyond its edges too. None: not found."""
    try:
        place, source = same_place(first, path, region), open_picture(first)
    except UnreadablePicture:  # of either; the frame's own is told of when its region is cut out
        return None
    if not place.registered:
        return None
    left, top, right, bottom = region.in_pixels(source.full_width_px, source.full_height_px)
    across, down = place.moved_px
    found = _middle_of(Box(left + across, top + down, right + across, bottom + down))
    shows = found.left < source.full_width_px and found.top < source.full_height_px
    return found if shows and found.right > 0 and found.bottom > 0 else None


def _middle_of(box: Box) -> Box:
    across, down = max(0, box.width - REGION_PX) // 2, max(0, box.height - REGION_PX) // 2
    return Box(box.left + across, box.top + down, box.right - across, box.bottom - down)


def _pixels(path: str, box: Box) -> NDArray[np.uint8]:
    """A rectangle of the picture, pixel for pixel, white beyond its edges. Raises UnreadablePicture."""
    source = open_picture(path)
    left, top = max(0, box.left), max(0, box.top)
    right, bottom = min(source.full_width_px, box.right), min(source.full_height_px, box.bottom)
    inside: NDArray[np.uint8] = decode(source, reduce=1, box=Box(left, top, right, bottom), colour=True).pixels
    if (left, top, right, bottom) == (box.left, box.top, box.right, box.bottom):
        return inside
    scale = inside.shape[1] / (right - left)
    whole = np.full((round(box.height * scale), round(box.width * scale), 3), 255, np.uint8)
    down, across = round((top - box.top) * scale), round((left - box.left) * scale)
    fitting = inside[: whole.shape[0] - down, : whole.shape[1] - across]
    whole[down : down + fitting.shape[0], across : across + fitting.shape[1]] = fitting
    return whole
