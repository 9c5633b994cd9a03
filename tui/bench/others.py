"""Region and grey patch are moved, settings are changed, a place is chosen, the ambient light is measured."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from textual.content import Content

from session.set.setup import Region
from session.shoot.acts import AskRelease, GoTo, JudgeAnew, Revise
from session.units.names import name_key
from session.units.numbers import percent_text
from session.units.refusals import UnreadableTextError
from storage.reading.views import KnownView
from tui.bench.mode import Desk
from tui.bench.setting_lines import LINES
from tui.screen.panels import CHOSEN, QUIET, cut, heading
from tui.words.adjust import half_of, moved_region, sized_region
from tui.words.harmless import harmless
from tui.words.keys import Where

WHOLE = Region(0.0, 0.0, 1.0, 1.0)

HALVES = tuple(
    Content.assemble((digits, "bold"), (f"  {words}", QUIET))
    for digits, words in (
        ("7 8 9", "half of it, where"),
        ("4 5 6", "the digit stands;"),
        ("1 2 3", "0 the whole;"),
        ("mouse", "draw it"),
    )
)

_DIRECTIONS = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}


class _Draft:
    """A mode whose draft is nothing until it is kept."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    def region(self) -> Region | None:
        return None

    def drag(self, region: Region) -> None:
        """It shows no region that could be drawn."""

    def let_go(self) -> None:
        """Nothing was kept, so nothing is lost."""

    def act_cancel(self, key: str) -> None:
        self._desk.begin(None)


class RegionMode(_Draft):
    """The rectangle that must be sharp, moved and sized over the picture."""

    where = Where.REGION

    def __init__(self, desk: Desk, region: Region) -> None:
        super().__init__(desk)
        self._region = region
        self._untouched = True

    def panel(self, width: int, height: int) -> list[Content]:
        return [heading("REGION"), Content("What must be sharp."), *self._measures(), *HALVES]

    def _measures(self) -> list[Content]:
        found = self._region
        size = f"{percent_text(found.width)} × {percent_text(found.height)} of the picture"
        middle = f"middle at {percent_text(found.left + found.width / 2)}, {percent_text(found.top + found.height / 2)}"
        return [Content(size), Content.styled(middle, QUIET)]

    def region(self) -> Region | None:
        return self._region

    def drag(self, region: Region) -> None:
        self._set(region)

    def act_half(self, key: str) -> None:
        """Half of the picture at first, then half of that."""
        whole = self._untouched or key == "0"
        self._set(WHOLE if key == "0" else half_of(WHOLE if whole else self._region, int(key)))

    def act_move(self, key: str) -> None:
        self._set(moved_region(self._region, *_DIRECTIONS[key]))

    def act_size(self, key: str) -> None:
        steps = -1 if key == "minus" else 1
        self._set(sized_region(self._region, steps, steps))

    def act_shape(self, key: str) -> None:
        self._set(sized_region(self._region, *_DIRECTIONS[key.removeprefix("shift+")]))

    def act_keep(self, key: str) -> None:
        self._revise({"region": self._region})

    def _revise(self, changes: dict[str, object]) -> None:
        """Keep the change, and have the frame on show judged by it."""
        self._desk.post(Revise(changes))
        frame = self._desk.model.frame
        file = frame.picture if frame else None
        if frame and file and frame.focus:
            self._desk.post(JudgeAnew(frame.frame_id, frame.number, file))
        self._desk.begin(None)

    def _set(self, region: Region) -> None:
        self._region, self._untouched = region, False
        self._desk.repaint()


class PatchMode(RegionMode):
    """Where a grey card lies in the picture, for the colour check."""

    where = Where.PATCH

    def panel(self, width: int, height: int) -> list[Content]:
        words = "Something grey that stays in the picture, best a card; the colour check looks there."
        return [heading("GREY PATCH"), Content(words), *self._measures(), *HALVES]

    def act_keep(self, key: str) -> None:
        self._take(self._region)

    def act_strike(self, key: str) -> None:
        self._take(None)

    def _take(self, patch: Region | None) -> None:
        self._revise({"grey_patch": patch})


class AmbientMode(_Draft):
    """Waits until somebody says that the lights of the set are off."""

    where = Where.AMBIENT

    def panel(self, width: int, height: int) -> list[Content]:
        lines = (
            "Switch off the flashes and lamps of the set.",
            "Leave the room as it is when you release.",
            "One frame is released and measured against the reference.",
        )
        return [heading("AMBIENT"), *(Content(line) for line in lines)]

    def act_lights_off(self, key: str) -> None:
        self._desk.model.release_asked()
        self._desk.post(AskRelease(ambient=True))
        self._desk.begin(None)


class SettingsMode(_Draft):
    """Exposure time, aperture, ISO and the rest of the set-up's numbers, one a line."""

    where = Where.SETTINGS

    def __init__(self, desk: Desk) -> None:
        assert desk.model.revision is not None
        super().__init__(desk)
        self._before = self._draft = desk.model.revision
        self._at = 0

    def panel(self, width: int, height: int) -> list[Content]:
        lines = [heading("SETTINGS", f"of set-up {self._draft.label}")]
        room = max(1, height - len(lines))
        first = max(0, min(len(LINES) - room, self._at - room // 2))  # the chosen one always stands in the panel
        for i, line in enumerate(LINES[first : first + room], first):
            changed = line.text(self._draft) != line.text(self._before)
            text = cut(f"{line.label:<14} {'*' if changed else ' '} {harmless(line.text(self._draft), 60)}", width)
            lines.append(Content.styled(text, CHOSEN if i == self._at else ""))
        return lines

    def act_line(self, key: str) -> None:
        self._at = (self._at + (1 if key == "down" else -1)) % len(LINES)
        self._desk.repaint()

    def act_change(self, key: str) -> None:
        steps = 1 if key == "right" else -1
        self._draft = LINES[self._at].step(self._draft, steps, self._desk.model.reading, self._desk.kit)
        self._desk.repaint()

    def act_type(self, key: str) -> None:
        line = LINES[self._at]

        def take(text: str) -> None:
            self._draft = line.with_value(self._draft, line.from_typed(text), self._desk.kit)
            self._desk.repaint()

        self._desk.ask(line.label, take)

    def act_keep(self, key: str) -> None:
        draft = self._draft
        if draft != self._before:
            changed: dict[str, Any] = {
                name: getattr(draft, name) for name in (line.group or line.name for line in LINES)
            }
            self._desk.post(Revise(changed))
        self._desk.begin(None)


class PlacesMode(_Draft):
    """The job's pieces and views; a new one can be named."""

    where = Where.PLACES

    def __init__(self, desk: Desk, known: Sequence[KnownView]) -> None:
        """known  in the order in which they are shown"""
        super().__init__(desk)
        self._known = list(known)
        place = desk.model.place
        here = (place.piece, place.view) if place else ("", "")
        names = [(one.piece, one.view) for one in self._known]
        self._at = names.index(here) if here in names else 0

    def panel(self, width: int, height: int) -> list[Content]:
        first = max(0, min(len(self._known) - (height - 1), self._at - (height - 1) // 2))
        lines = [heading("PIECES AND VIEWS", f"{len(self._known)}")]
        for i, known in enumerate(self._known[first : first + height - 1], first):
            text = cut(f"{harmless(known.piece, 60)} · {harmless(known.view, 60)}", width)
            lines.append(Content.styled(text, CHOSEN if i == self._at else ""))
        return lines

    def act_line(self, key: str) -> None:
        if self._known:
            self._at = (self._at + (1 if key == "down" else -1)) % len(self._known)
            self._desk.repaint()

    def act_go(self, key: str) -> None:
        if self._known:
            chosen = self._known[self._at]
            self._go(chosen.piece, chosen.view)

    def act_name(self, key: str) -> None:
        chosen = self._known[self._at].piece if self._known else ""

        def take_piece(piece: str) -> None:
            piece = piece or chosen
            if not piece:
                raise UnreadableTextError("a piece needs a name")

            def take_view(view: str) -> None:
                if not view:
                    raise UnreadableTextError("a view needs a name")
                self._go(piece, view)

            self._desk.ask(f"view of {piece}", take_view)

        self._desk.ask(f"piece; enter alone: {harmless(chosen, 30)}" if chosen else "piece", take_piece)

    def _go(self, piece: str, view: str) -> None:
        begun = {name_key(known.view) for known in self._known if known.begun}
        if name_key(view) in begun:
            self._desk.post(GoTo(piece, view))
            self._desk.begin(None)
        else:
            self._desk.begin(NewViewMode(self._desk, piece, view))


class NewViewMode(_Draft):
    """A view that nothing was shot for yet: does it begin from the present arrangement?"""

    where = Where.NEW_VIEW

    def __init__(self, desk: Desk, piece: str, view: str) -> None:
        """The place isn't in the log before the answer."""
        super().__init__(desk)
        self._piece, self._view = piece, view

    def panel(self, width: int, height: int) -> list[Content]:
        names = f"{harmless(self._piece, 60)} · {harmless(self._view, 60)}"
        revision = self._desk.model.revision
        stands = f"set-up {revision.label}" if revision else "the set-up"
        return [heading("NEW VIEW"), Content(cut(names, width)), Content(cut(f"Begin from {stands} as it is?", width))]

    def act_from_present(self, key: str) -> None:
        self._begin_view(from_camera=False)

    def act_from_camera(self, key: str) -> None:
        self._begin_view(from_camera=True)

    def _begin_view(self, *, from_camera: bool) -> None:
        self._desk.post(GoTo(self._piece, self._view, from_camera))
        self._desk.begin(None)
