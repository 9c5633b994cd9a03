"""A set-up before its first frame: what is to be put up, in words, and from the side where the kit knows enough."""

from __future__ import annotations

from textwrap import wrap

from textual.content import Content

from session.plan.report import room_text
from session.set.kit import Kit
from session.set.setup import Arrangement, Revision
from session.units.numbers import mm_text, ratio_text
from tui.screen.panels import QUIET, cut
from tui.screen.side_view import SideView, draw, standing
from tui.words.harmless import harmless


def set_plan(revision: Revision, kit: Kit, width: int, height: int) -> list[Content]:
    """Drawing above, words below; the drawing goes first where there is too little room."""
    scene = standing(revision, kit)
    words = [lens_text(revision.arrangement), added_text(revision.arrangement)]
    words += [room_text(scene.front_mm) if scene and scene.front_mm else ""]
    told = [Content(part) for word in words for part in wrap(word, max(8, width))]
    view = draw(scene, width, height - len(told) - 1) if scene else SideView((), 0.0, ())
    if not view.mm_a_column:
        return told[: max(0, height)]
    beyond = " · ▲▼ stand farther off" if view.beyond else ""  # how far, the lights beside it say
    scale = f"a column {mm_text(view.mm_a_column)}{beyond}"
    return [*(Content(line) for line in view.lines), Content.styled(cut(scale, width), QUIET), *told]


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
