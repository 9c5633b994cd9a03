"""A piece and a view of the job are chosen by keys, or a new one is named and begun."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from session.shoot.acts import GoTo
from session.units.names import name_key
from session.units.refusals import UnreadableTextError
from storage.reading.views import KnownView
from tui.bench.mode import BenchPort, Draft
from tui.screen.ledger_text import HERE_SIGN
from tui.screen.panels import CHOSEN, cut, hanging_lines, heading
from tui.words.harmless import harmless
from tui.words.keys import Where
from tui.words.order_words import view_state


class PlacesMode(Draft):
    """The job's pieces and views; a new one can be named."""

    where = Where.PLACES

    def __init__(self, bench: BenchPort, known: Sequence[KnownView]) -> None:
        """known  in the order in which they are shown"""
        super().__init__(bench)
        self._known = list(known)
        place = bench.model.place
        here = (place.piece, place.view) if place else ("", "")
        names = [(one.piece, one.view) for one in self._known]
        self._at = names.index(here) if here in names else 0

    def panel(self, width: int, height: int) -> list[Content]:
        first = max(0, min(len(self._known) - (height - 1), self._at - (height - 1) // 2))
        lines = [heading("PIECES AND VIEWS", f"{len(self._known)}")]
        for i, known in enumerate(self._known[first : first + height - 1], first):
            names = f"{harmless(known.piece, 60)} · {harmless(known.view, 60)}"
            state = f"{self._state(known):<8}" if self._bench.model.progress else ""
            text = cut(f"{HERE_SIGN if i == self._at else ' '}{state}{names}", width)
            lines.append(Content.styled(text, CHOSEN if i == self._at else ""))
        return lines

    def _state(self, known: KnownView) -> str:
        """`done`, `hero 42`, `to go`; "" for a view outside the order."""
        progress = self._bench.model.progress
        view = progress.of(known.piece, known.view) if progress else None
        if view is None:
            return ""
        return f"hero {view.heroes[0]}" if len(view.heroes) == 1 else view_state(view)

    def act_line(self, key: str) -> None:
        if self._known:
            self._at = (self._at + (1 if key == "down" else -1)) % len(self._known)
            self._bench.repaint()

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

            self._bench.ask(f"view of {piece}", take_view)

        self._bench.ask(f"piece; enter alone: {harmless(chosen, 30)}" if chosen else "piece", take_piece)

    def _go(self, piece: str, view: str) -> None:
        go_to_view(self._bench, self._known, piece, view)


def go_to_view(bench: BenchPort, known: Sequence[KnownView], piece: str, view: str) -> None:
    """Go to a view; for a view new to the job ask first which set-up the view begins from."""
    begun = {name_key(one.view) for one in known if one.begun}
    if name_key(view) in begun:
        bench.post(GoTo(piece, view))
        bench.begin(None)
    else:
        bench.begin(NewViewMode(bench, piece, view))


class NewViewMode(Draft):
    """A view that nothing was shot for yet: does it begin from the present arrangement?"""

    where = Where.NEW_VIEW

    def __init__(self, bench: BenchPort, piece: str, view: str) -> None:
        """The place isn't in the log before the answer."""
        super().__init__(bench)
        self._piece, self._view = piece, view

    def panel(self, width: int, height: int) -> list[Content]:
        names = f"{harmless(self._piece, 60)} · {harmless(self._view, 60)}"
        revision = self._bench.model.revision
        stands = f"set-up {revision.label}" if revision else "the set-up"
        lines = [*hanging_lines(names, width), *hanging_lines(f"Begin from {stands} as it is?", width)]
        return [heading("NEW VIEW"), *(Content(line) for line in lines)]

    def act_from_present(self, key: str) -> None:
        self._begin_view(from_camera=False)

    def act_from_camera(self, key: str) -> None:
        self._begin_view(from_camera=True)

    def _begin_view(self, *, from_camera: bool) -> None:
        self._bench.post(GoTo(self._piece, self._view, from_camera))
        self._bench.begin(None)
