"""The picture's place on the bench: the live picture, the frame's own, or the plan of a set-up without a frame.

A line above the picture says which of the three is shown.
"""

from __future__ import annotations

from collections.abc import Callable
from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content

from session.frame.states import FrameState
from session.plan.report import room_text
from session.set.kit import Kit
from session.set.setup import Arrangement, Region, Revision
from session.units.numbers import mm_text, ratio_text
from tui.screen import panels
from tui.screen.app_port import AppPort
from tui.screen.panel import Panel
from tui.screen.panels import QUIET, cut
from tui.screen.picture_view import PictureView
from tui.screen.side_view import SideView, draw, nearest_ratio, standing
from tui.screen.small_picture import SmallPicture
from tui.words.bench_frame import BenchFrame
from tui.words.harmless import harmless
from tui.words.keys import Where, hint
from tui.words.live_look import WHOLE, Overlay, crop_of
from tui.words.model import BenchModel
from tui.words.wording import FILES_COMING, frame_words

COMING = frozenset({FrameState.RELEASING, FrameState.RECEIVING})


class PicturePlace(Vertical):
    """Holds the pictures that were made small: the newest live one, and that of the file which was asked for last.

    correction  what is to correct against the reference that the live picture is compared with; None: it isn't
    """

    app: AppPort

    def __init__(self, loaded: Callable[[], None]) -> None:
        """loaded: called when a file has been decoded, or can't be"""
        super().__init__(id="left")
        self._loaded = loaded
        self._wanted_path: str | None = None
        self._decoded: tuple[str, SmallPicture | None, str] = ("", None, "")
        self._live: SmallPicture | None = None
        self.correction: str | None = None

    def compose(self) -> ComposeResult:
        yield Panel(id="caption")
        yield PictureView(id="picture")
        yield Panel(id="plan")

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height of the picture on the screen, in the dots that it is painted with."""
        size = self.query_one(PictureView).size
        return size.width, max(1, 2 * size.height)

    @property
    def is_seen(self) -> bool:
        """True while no other screen covers the place."""
        return self.app.screen is self.screen

    def take_live(self, picture: SmallPicture | None, correction: str | None) -> None:
        """Take a live picture that was made small; None leaves the last picture."""
        self._live, self.correction = picture or self._live, correction

    def paint(self, moved: Region | None, instead: SmallPicture | None = None, caption_of: str = "") -> None:
        """Show what the model says, or a picture instead with the caption `caption_of`.

        moved  the region that is being moved over the picture, None while none is
        """
        model = self.app.model
        if instead is not None:
            self.set_class(False, "-unseen")
            self.query_one("#caption", Panel).show(lambda width, height: Content(caption_of[:width]))
            self.query_one(PictureView).show(instead, moved or (model.revision.region if model.revision else None))
            return
        self.query_one("#caption", Panel).show(
            lambda width, height: panels.caption_lines(caption(model), width, height)
        )
        self._paint_plan(moved)
        self._paint_picture(moved)

    def _paint_plan(self, moved: Region | None) -> None:
        """Before the first frame the set-up's plan stands where the picture will."""
        model, revision = self.app.model, self.app.model.revision
        unseen = revision is not None and model.frame is None and not model.live.on and moved is None
        self.set_class(unseen, "-unseen")
        if unseen and revision is not None:
            self.query_one("#plan", Panel).show(
                lambda width, height: panels.stack(set_plan(revision, self.app.kit, width, height))
            )

    def _paint_picture(self, moved: Region | None) -> None:
        model, view = self.app.model, self.query_one(PictureView)
        view.can_be_dragged_over = moved is not None
        region = moved or (model.revision.region if model.revision else None)
        frame = model.frame
        if model.live.on and self._live is not None:
            self._paint_live(view, self._live, moved, region)
            return
        self._live = self.correction = None
        if frame and not frame.whole:
            self.app.read_record(frame.frame_id)
        file = frame.picture if frame else None
        if file is None:
            view.show(None, sentence=FILES_COMING if frame and frame.state in COMING else "no picture yet")
            return
        if file.path != self._wanted_path:
            self._wanted_path = file.path
            self.app.load_picture(file.path, self._keep)
        path, picture, sentence = self._decoded
        if path == file.path:
            sharpest = frame.focus.sharpest_at if frame and frame.focus else None
            own = frame and not (model.is_here(frame) and model.is_here(frame, of_setup=True))
            view.show(picture, frame.region if frame and own else region, sharpest, sentence)

    def _paint_live(
        self, view: PictureView, picture: SmallPicture, moved: Region | None, region: Region | None
    ) -> None:
        """A region that is being moved is shown, whatever else is laid over the picture."""
        look = self.app.model.live.look
        overlay = look.overlay if look.times == WHOLE and moved is None else None
        frame = crop_of(look.overlay, picture.full_width_px, picture.full_height_px) if overlay else moved
        view.show(picture, region if overlay is Overlay.REGION else frame, thirds=overlay is Overlay.THIRDS)

    def _keep(self, path: str, picture: SmallPicture | None, sentence: str) -> None:
        if path == self._wanted_path:
            self._decoded = (path, picture, sentence)
            self._loaded()


def caption(model: BenchModel) -> str:
    """`FRAME 43 · sharp · hero · reference 41`, or what is shown without a frame."""
    frame = model.frame
    if model.live.on:
        return model.live.look.words()
    if frame is None:
        return f"PLAN OF SET-UP {model.revision.label} · side view" if model.revision else ""
    place = model.place
    piece = frame.piece if place and frame.piece != place.piece else ""
    view = frame.view if place and frame.view != place.view else ""
    of = harmless(", ".join(name for name in (piece, view) if name), 24)
    parts = [f"FRAME {frame.number}", of, frame_words(frame), frame.mark or "", _reference_words(frame)]
    return " · ".join(part for part in parts if part)


def _reference_words(frame: BenchFrame) -> str:
    """The frame's own reference, that of its set-up and piece."""
    if not frame.whole:
        return ""
    if frame.reference is None:
        return "no reference"
    if frame.is_reference:
        return "" if frame_words(frame) == "reference" else "the reference"
    return f"reference {frame.reference}"


def set_plan(revision: Revision, kit: Kit, width: int, height: int) -> list[Content]:
    """Drawing above, words below; the drawing goes first where there is too little room."""
    scene = standing(revision, kit)
    words = [lens_text(revision.arrangement), added_text(revision.arrangement)]
    words += [room_text(scene.front_mm) if scene and scene.front_mm else _no_room_text(revision, kit)]
    told = [Content(part) for word in words for part in wrap(word, max(8, width))]
    view = draw(scene, width, height - len(told) - 1) if scene else SideView((), 0.0, ())
    if not view.mm_a_column:
        return told[: max(0, height)]
    beyond = " · ▲▼ stand farther off" if view.beyond else ""  # how far, the lights beside it say
    scale = f"a column {mm_text(view.mm_a_column)}{beyond}"
    return [*(Content(line) for line in view.lines), Content.styled(cut(scale, width), QUIET), *told]


def _no_room_text(revision: Revision, kit: Kit) -> str:
    """Why no distance is told, where the photographer can mend it."""
    lens, way = revision.arrangement.lens, hint(Where.BENCH, "settings")
    if not lens:
        taken = ratio_text(revision.arrangement.magnification)
        return f"Which lens it is wasn't said; all mm go by the ratio {taken}. Lens and ratio: {way}"
    nearest = nearest_ratio(revision, kit)
    if nearest is None:
        return ""
    wanted = ratio_text(revision.arrangement.magnification)
    ends = f"{harmless(lens, 40)} as put up comes to {ratio_text(nearest)}, not {wanted}."
    return f"{ends} Lens and ratio: {way}"


def lens_text(arrangement: Arrangement) -> str:
    """`Longmere 100 close-up, 1:2`; the focal length where the lens has no name."""
    name = harmless(arrangement.lens, 40) or f"{arrangement.focal_length_mm:g} mm lens"
    return f"{name}, {ratio_text(arrangement.magnification)}{', reversed' if arrangement.reversed else ''}"


def added_text(arrangement: Arrangement) -> str:
    """`with 36 mm of tubes, close-up lens +3 dpt`; "" when nothing is added."""
    extension = "to the mount" if arrangement.reversed else "of tubes"
    parts = [
        f"{mm_text(arrangement.extension_mm)} {extension}" if arrangement.extension_mm else "",
        f"close-up lens +{arrangement.dioptres:g} dpt" if arrangement.dioptres else "",
        f"converter {arrangement.converter:g}×" if arrangement.converter != 1 else "",
    ]
    words = ", ".join(part for part in parts if part)
    return f"with {words}" if words else ""
