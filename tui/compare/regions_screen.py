"""A screen with two to four regions beside each other, enlarged at one scale and place, and their numbers beneath."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.events import Resize

from session.checks.drift.same_place import SamePlace, same_place
from session.picture.preview import Box, UnreadablePicture
from session.set.setup import Region
from storage.reading.shown_picture import ShownPicture, shown_picture
from storage.reading.views import FrameRecord
from tui.screen.app_port import AppPort
from tui.screen.keyed import KeyedScreen
from tui.screen.layout import LOOKS_EVERY_S
from tui.screen.panel import Make, Panel
from tui.screen.panels import cut, heading, key_line, said_lines, stack
from tui.screen.picture_view import PictureView
from tui.screen.small_picture import (
    SmallPicture,
    box_picture,
    enlarge,
    fitted_cells,
    middle_box,
    region_box,
    scale_words,
)
from tui.words.harmless import harmless
from tui.words.keys import Facts, rows_to_show

LARGEST = 32
"""Times that the region is enlarged at most, by doubling. Chosen: a region of 1650 px is then 52 px wide."""

LEAST_TEXT_ROWS = 7
"""Rows that the pictures leave to the text: a heading, and the few numbers that matter most. Chosen."""

BRIEFLY = "stored preview"
"""In place of FROM_PREVIEW where more follows: at 80 columns a side leaves its words 29."""

MOST_SIDES = 4
"""At 80 columns each then has 19. Chosen."""


@dataclass(frozen=True)
class Side:
    """The region of one of the frames.

    sentence  stands in the picture's place, or says what stands in for it
    picture   the region, as fine as is kept; None where `sentence` stands in its place
    middle    of the region, pixel for pixel
    """

    sentence: str = ""
    picture: SmallPicture | None = None
    middle: SmallPicture | None = None


class RegionsScreen(KeyedScreen):
    """A screen with regions and their names side by side, and a text under them that can be scrolled."""

    CSS = """
    RegionsScreen .side { width: 1fr; margin-right: 1; }
    RegionsScreen .name { height: 1; }
    RegionsScreen #told { height: 1fr; }
    RegionsScreen #text { height: auto; }
    RegionsScreen #said { height: 1; display: none; }
    RegionsScreen #said.-said { display: block; }
    RegionsScreen #keys { height: 1; background: $panel; }
    """

    app: AppPort

    def __init__(self, names: Sequence[str]) -> None:
        super().__init__()
        self._times = 1.0
        self._pixels = False
        """The middle of the regions is shown, a pixel to half a cell."""
        self._names = names
        self._sides: Sequence[Side] = [Side("is being read"), *[Side()] * (len(names) - 1)]
        self._cuts: list[tuple[str, Box]] = []
        self._places: list[SamePlace | None] = []
        """Where the first region lies in each of the others; None where it could not be sought."""

    def compose(self) -> ComposeResult:
        with Horizontal(id="pictures"):
            for i in range(MOST_SIDES):
                with Vertical(classes="side", id=f"side{i}"):
                    yield Panel(id=f"name{i}")
                    yield PictureView(id=f"picture{i}")
        with VerticalScroll(id="told"):
            yield Panel(id="text")
        yield Panel(id="said")
        yield Panel(id="keys")

    def on_mount(self) -> None:
        self.set_interval(LOOKS_EVERY_S, self.look_round)
        for panel in self.query(".side Panel"):
            panel.add_class("name")
        self.query_one("#told").focus()
        self._show_sides()

    def facts(self) -> Facts:
        return Facts(picture=any(side.picture for side in self._sides))

    def look_round(self) -> None:
        """Show the passing sentence, which fades."""
        if not self.is_open:
            return
        model = self.app.model
        model.fade(self.app.clock.monotonic_s())
        text, said = harmless(model.passing, 300), self.query_one("#said", Panel)
        said.set_class(bool(text), "-said")
        said.styles.height = max(1, len(said_lines(text, self.size.width)))
        said.show(lambda width, height: stack([Content(line) for line in said_lines(text, width)]))

    def on_resize(self, event: Resize) -> None:
        self._give_room(*event.size)

    def read_sides(self, records: Sequence[FrameRecord | None], region: Region) -> None:
        """Decode the region of the first in all of them; for a thread in the background."""
        shown = [shown_picture(record) if record else None for record in records]
        self._places, self._cuts = [_place_in(shown[0], other, region) for other in shown[1:]], []
        boxes = _boxes(self._places)
        self._sides = [
            self._side(one, region, box) if record else Side("no other frame to compare with")
            for record, one, box in zip(records, shown, boxes, strict=True)
        ]

    def _side(self, shown: ShownPicture | None, region: Region, box: Box | None) -> Side:
        if shown is None:
            return Side("no picture")
        try:
            box = box or region_box(shown.path, region)
            picture = box_picture(shown.path, box)
            middle = picture if middle_box(box) == box else box_picture(shown.path, middle_box(box))
        except UnreadablePicture as error:
            return Side(f"the file {error}")
        self._cuts.append((shown.path, box))
        return Side(shown.told, picture, middle)

    def show_all(self, names: Sequence[str], make: Make) -> None:
        """The regions that were read, and the text beneath; nothing once the screen was left."""
        if not self.is_open:
            return
        self._names = names
        self._show_sides()
        self.show_text(make)

    def say(self, sentence: str) -> None:
        """A sentence instead of everything; nothing once the screen was left."""
        if not self.is_open:
            return
        self._sides = [Side()] * len(self._names)
        self._show_sides()
        self.show_text(lambda width, height: Content(sentence))

    def show_text(self, make: Make) -> None:
        text = self.query_one("#text", Panel)
        text.show(make)
        text.refresh(layout=True)

    def _show_sides(self) -> None:
        for i in range(MOST_SIDES):
            self.query_one(f"#side{i}").display = i < len(self._sides)
        for i, (name, side) in enumerate(zip(self._names, self._sides, strict=True)):
            view = self.query_one(f"#picture{i}", PictureView)
            shown, part = self._part_of(side, view)
            view.show(shown, sentence="" if shown else side.sentence)
            extent = f"{part}: {shown.full_width_px} × {shown.full_height_px} px" if shown else ""
            place = self._place_words(i) if i and shown else ""
            stands_in = side.sentence if shown else ""
            aside = f"{BRIEFLY}, {place}" if stands_in and place else stands_in or place or extent
            self.query_one(f"#name{i}", Panel).show(partial(_name_line, self.label(i, name), aside))
        self._give_room(*self.size)
        rows, words = rows_to_show(self.where, self.facts()), {"back": "back · ↑ ↓ to read on"}
        self.query_one("#keys", Panel).show(lambda width, height: key_line(rows, words, width, height))

    def label(self, side: int, name: str) -> str:
        """The words over a picture, which begin with the side's name."""
        return name

    def _part_of(self, side: Side, view: PictureView) -> tuple[SmallPicture | None, str]:
        """What is shown of a region, and the word for it: `region`, `1/4 region`, `1:1`."""
        if side.picture is None or side.middle is None:
            return None, ""
        if not self._pixels:
            part = "region" if self._times == 1 else f"1/{self._times:g} region"
            return enlarge(side.picture, self._times), part
        columns = fitted_cells(side.middle, *view.size)[0]
        shown = enlarge(side.middle, max(1.0, side.middle.pixels.shape[1] / columns))
        return shown, scale_words(shown, *view.size)

    def _place_words(self, side: int) -> str:
        """How far the first region's content lies off in this picture; "" unless both could be opened."""
        place = self._places[side - 1] if side <= len(self._places) else None
        if place is None:
            return ""
        if not place.registered:
            return "too unlike to be laid on it"
        right, down = place.moved_px
        moved = f"{_far(right, 'right', 'left')}, {_far(down, 'down', 'up')}"
        return moved if right or down else "at the same place"

    def _give_room(self, width: int, height: int) -> None:
        """The pictures get the rows that they fill at full width, the text all others."""
        shapes = [side.picture.pixels.shape for side in self._sides if side.picture]
        column = width // max(2, len(self._sides)) - 1
        wanted = max((round(column * high / wide / 2) for high, wide, _ in shapes), default=2)
        self.query_one("#pictures").styles.height = 1 + max(2, min(wanted, height - LEAST_TEXT_ROWS - 2))

    # --- keys -------------------------------------------------------------------------------------

    def act_back(self, key: str) -> None:
        self.dismiss()

    def act_help(self, key: str) -> None:
        self.app.show_help(self.where)

    def act_size(self, key: str) -> None:
        self._pixels = False
        self._times = max(1.0, self._times / 2) if key == "minus" else min(LARGEST, self._times * 2)
        self._show_sides()

    def act_pixels(self, key: str) -> None:
        self._pixels = not self._pixels
        self._show_sides()

    def act_viewer(self, key: str) -> None:
        if self._cuts:
            name = " and ".join(self._names[: len(self._cuts)]).lower().replace(" ", "-")
            self.app.show_cuts_in_viewer(self._cuts, name)


def _place_in(first: ShownPicture | None, other: ShownPicture | None, region: Region) -> SamePlace | None:
    if first is None or other is None:
        return None
    try:
        return same_place(first.path, other.path, region)
    except UnreadablePicture:  # told of the side that it is about
        return None


def _boxes(places: Sequence[SamePlace | None]) -> list[Box | None]:
    """What of the first picture all others show too, and the same content in each, full-size px; None: the region."""
    found = [place for place in places if place is not None and place.registered]
    if not found:
        return [places[0].one if places and places[0] else None, *(place.other if place else None for place in places)]
    left, top = max(place.one.left for place in found), max(place.one.top for place in found)
    right, bottom = min(place.one.right for place in found), min(place.one.bottom for place in found)
    if left >= right or top >= bottom:
        return [None] * (len(places) + 1)
    boxes: list[Box | None] = [Box(left, top, right, bottom)]
    for place in places:
        across, down = place.moved_px if place and place.registered else (0, 0)
        moved = Box(left + across, top + down, right + across, bottom + down)
        boxes.append(None if place is None else moved if place.registered else place.other)
    return boxes


def _far(px: int, after: str, before: str) -> str:
    return f"{abs(px)} px {after if px >= 0 else before}"


def _name_line(name: str, aside: str, width: int, height: int) -> Content:
    return heading(name, cut(aside, max(0, width - len(name) - 2)))
