"""The pictures beside the frame on the match screen: the reference, and the pictures of the set, one at a time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from textual.app import ComposeResult
from textual.containers import Vertical

from session.set.setup import Region
from tui.screen import panels
from tui.screen.app_port import AppPort
from tui.screen.panel import Panel
from tui.screen.picture_view import PictureView
from tui.screen.small_picture import SmallPicture
from tui.shell.match_look import MatchLook
from tui.words.harmless import harmless


@dataclass(frozen=True)
class PictureBeside:
    """A picture that may stand beside the frame.

    path    None where there is none, which `sentence` tells
    region  that must be sharp, of the reference
    """

    caption: str
    path: str | None = None
    region: Region | None = None
    sentence: str = ""


class PicturesBeside(Vertical):
    """Shows one picture of the set or the reference, under a line that names the picture."""

    app: AppPort

    def __init__(self, loaded: Callable[[], None]) -> None:
        """loaded: called when a file has been decoded, or can't be"""
        super().__init__(id="right")
        self._loaded = loaded
        self._at = 0
        self._pictures: tuple[PictureBeside, ...] = (PictureBeside("REFERENCE"),)
        self._wanted_path = ""
        self._decoded: tuple[str, SmallPicture | None, str] = ("", None, "")

    def compose(self) -> ComposeResult:
        yield Panel(id="of-reference")
        yield PictureView(id="reference")

    @property
    def count(self) -> int:
        return len(self._pictures)

    @property
    def here(self) -> PictureBeside:
        """The picture on show."""
        return self._pictures[self._at]

    def step(self, by: int) -> None:
        """Go on to another picture, after the last to the first."""
        self._at = (self._at + by) % self.count

    def paint(self, look: MatchLook, piece: str, setup: str) -> None:
        """Show the picture on show as log and files have it now.

        piece, setup  on the table, and the label of what is built again: others are named
        """
        self._pictures = (_reference(look, piece, setup), *_of_set(look, setup))
        self._at = min(self._at, self.count - 1)
        one, view = self.here, self.query_one(PictureView)
        more = f" · {self._at + 1} of {self.count}" if self.count > 1 else ""
        self.query_one("#of-reference", Panel).show(
            lambda width, height: panels.caption_lines(f"{one.caption}{more}", width, height)
        )
        if one.path is None:
            view.show(None, sentence=one.sentence)
            return
        if one.path != self._wanted_path:
            self._wanted_path = one.path
            self.app.load_picture(one.path, self._keep, "reference")
        kept, picture, sentence = self._decoded
        if kept == one.path:
            view.show(picture, one.region, sentence=sentence)

    def _keep(self, path: str, picture: SmallPicture | None, sentence: str) -> None:
        if path == self._wanted_path:
            self._decoded = (path, picture, sentence)
            self._loaded()


def _reference(look: MatchLook, piece: str, setup: str) -> PictureBeside:
    reference, shown = look.reference, look.shown
    if reference is None:
        return PictureBeside("REFERENCE", sentence="no reference yet")
    of_piece = harmless(reference.piece, 24) if piece and reference.piece != piece else ""
    of_setup = f"set-up {reference.setup}" if reference.setup != setup else ""
    told = shown.told if shown else ""
    parts = (f"REFERENCE {reference.number}", of_piece, told, of_setup)
    caption = " · ".join(part for part in parts if part)
    return PictureBeside(caption, shown.path if shown else None, reference.region, "no picture")


def _of_set(look: MatchLook, setup: str) -> list[PictureBeside]:
    """The pictures of the set; a picture that was changed since it was stored is named and not shown."""
    found = []
    for one in look.set_pictures:
        caption = f"SET, PICTURE {one.number}" + (f" · of {one.setup}" if one.setup != setup else "")
        found.append(PictureBeside(caption, one.path if one.whole else None, sentence="not as it was stored"))
    return found
