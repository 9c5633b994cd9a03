"""The progress of an order: the frames shot for each view, the views to go, and the next view.

A view is done by a good frame: one that was saved, shows all the lights, and isn't killed. A frame that the
checks found soft, missed or with a flaw counts only when the photographer marked it hero, select or alternate: the eye
decides.
"""

from __future__ import annotations

from dataclasses import dataclass

from session.frame.finding import FocusVerdict, Verdict, focus_is_open
from session.frame.states import FrameState, Mark
from session.order.client_order import Order, OrderedPiece
from session.units.names import name_key

KEPT_MARKS = (Mark.HERO, Mark.SELECT, Mark.ALTERNATE)


@dataclass(frozen=True)
class ShotFrame:
    """The facts of a frame that count for the order.

    measures_light  not all lights were to fire
    is_reference    approved by eye as the frame that others are compared with
    is_plane        one plane of a focus series
    """

    number: int
    state: FrameState
    mark: str | None
    focus_verdict: FocusVerdict | None
    verdict: Verdict | None
    measures_light: bool
    is_reference: bool = False
    is_plane: bool = False

    @property
    def is_good(self) -> bool:
        """Whether the view is done with this frame."""
        if self.measures_light or self.mark == Mark.KILL or self.state not in (FrameState.SAVED, FrameState.LOGGED):
            return False
        if self.mark in KEPT_MARKS:
            return True
        return self.verdict is not Verdict.FLAWED and self.focus_verdict not in (FocusVerdict.SOFT, FocusVerdict.MISSED)


@dataclass(frozen=True)
class ViewProgress:
    """A view of the order with its frames. `wanted`: the order asks for it still."""

    piece: OrderedPiece
    view: str
    frames: tuple[ShotFrame, ...] = ()
    wanted: bool = True

    @property
    def is_done(self) -> bool:
        return any(frame.is_good for frame in self.frames)

    @property
    def heroes_not_judged(self) -> tuple[int, ...]:
        """Numbers of the heroes of whose focus no check has said anything, and one should have; see `focus_is_open`."""
        return tuple(
            frame.number
            for frame in self.frames
            if frame.mark == Mark.HERO
            and focus_is_open(
                frame.focus_verdict,
                is_reference=frame.is_reference,
                no_picture=frame.measures_light or frame.is_plane,
            )
        )

    @property
    def heroes(self) -> tuple[int, ...]:
        """Numbers of the frames that are marked hero."""
        return tuple(frame.number for frame in self.frames if frame.mark == Mark.HERO)


@dataclass(frozen=True)
class Progress:
    """An order and what was shot for it, view by view in the order's own order."""

    order: Order
    views: tuple[ViewProgress, ...]

    @property
    def to_go(self) -> tuple[ViewProgress, ...]:
        """Views that are wanted and have no good frame."""
        return tuple(view for view in self.views if view.wanted and not view.is_done)

    def of(self, piece: str, view: str) -> ViewProgress | None:
        """The view of these names, matched without case; None for a view outside the order."""
        here = (name_key(piece), name_key(view))
        return next((one for one in self.views if (name_key(one.piece.name), name_key(one.view)) == here), None)

    def piece_number(self, piece: str) -> int | None:
        """The piece's place in the order, from 1; None for a piece outside the order."""
        keys = [name_key(one.name) for one in self.order.pieces]
        return keys.index(name_key(piece)) + 1 if name_key(piece) in keys else None

    def next_to_go(self, piece: str, view: str) -> ViewProgress | None:
        """The order's next view to go after this view, and from the start again; None when no view is left."""
        here = (name_key(piece), name_key(view))
        keys = [(name_key(one.piece.name), name_key(one.view)) for one in self.views]
        at = keys.index(here) + 1 if here in keys else 0
        waiting = [one for one in (*self.views[at:], *self.views[:at]) if one.wanted and not one.is_done]
        return next((one for one in waiting if (name_key(one.piece.name), name_key(one.view)) != here), None)
