"""One exposure, from the wish to the row in the log, and its states as a table.

A frame gets its number and its row when it is about to be released, so numbers count releases: what the rules
refused or the photographer called off stands in the log's events.

An event that has no entry in `TRANSITIONS` raises `ImpossibleTransitionError` and changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from session.frame.camera_messages import CardObject, Fired
from session.frame.series_plane import SeriesPlane


class FrameState(StrEnum):
    """Where a frame is. Those in `ENDED` don't move any more, save for `missing` which may still be found."""

    ASKED = "asked"
    REFUSED = "refused"
    HELD_OFF = "held off"
    CALLED_OFF = "called off"
    RELEASING = "releasing"
    NOT_FIRED = "not fired"
    UNCERTAIN = "uncertain"
    RECEIVING = "receiving"
    MISSING = "missing"
    SAVED = "saved"
    LOGGED = "logged"


class FrameEvent(StrEnum):
    """The events that move a frame: of the rules, a person, the camera, or the comparison of log, disk and card.

    CAMERA_GONE   the connection to the camera ended
    LOG_REFUSED   the log would not take the frame, so the camera was not asked
    LOST          the camera is there, and handed over too little
    FOUND         a file of the frame is on the card or the disk
    NOT_FOUND     card and disk have nothing of the frame, and nothing tells that the shutter went
    NOT_WHOLE     the shutter went, and a file of the frame is neither on card nor disk
    UNSURE        files of others on the card may be the frame's
    """

    RULES_REFUSE = "rules refuse"
    RULES_PASS = "rules pass"
    CALL_OFF = "call off"
    LOG_REFUSED = "log refused"
    CAMERA_GONE = "camera gone"
    DUE = "due"
    RELEASED_ON_CAMERA = "released on the camera"
    FIRED = "fired"
    DID_NOT_FIRE = "did not fire"
    LOST = "lost"
    ALL_SAVED = "all saved"
    JUDGED = "judged"
    FOUND = "found"
    NOT_FOUND = "not found"
    NOT_WHOLE = "not whole"
    UNSURE = "unsure"


SOUGHT_IN_VAIN = frozenset({FrameEvent.NOT_FOUND, FrameEvent.NOT_WHOLE, FrameEvent.UNSURE})
"""Events that come of looking card and disk through in vain."""


class Judging(StrEnum):
    """How far the checks are with a frame; it goes on beside the frame's own state, since a JPEG is judged at once."""

    NOT_YET = "not yet"
    WITH_THE_JUDGE = "with the judge"
    JUDGED = "judged"


class JudgingEvent(StrEnum):
    """The events that move the judging of a frame."""

    SENT = "sent"
    ANSWERED = "answered"


class Awaiting(StrEnum):
    """How far the waiting for a file is that the camera may still bring, for one run; see `session.shoot.late_files`.

    WAITED_FOR  no frame is released meanwhile
    IN_VAIN     its time was over and nothing came; its file may come all the same
    SETTLED     nothing is expected any more
    """

    WAITED_FOR = "waited for"
    IN_VAIN = "in vain"
    SETTLED = "settled"


class AwaitingEvent(StrEnum):
    """The events that move the waiting for a file."""

    WAIT = "wait"
    GIVEN_UP = "given up"
    CAME = "came"
    SETTLED = "settled"


class Mark(StrEnum):
    """The photographer's choice; the values stand in logs."""

    HERO = "hero"
    SELECT = "select"
    ALTERNATE = "alternate"
    KILL = "kill"


class ReleasedBy(StrEnum):
    """Whether stillset or a hand on the camera let the shutter go."""

    TOOL = "tool"
    BODY = "body"


S, E = FrameState, FrameEvent
TRANSITIONS: dict[tuple[FrameState, FrameEvent], FrameState] = {
    (S.ASKED, E.RULES_REFUSE): S.REFUSED,
    (S.ASKED, E.RULES_PASS): S.HELD_OFF,
    (S.ASKED, E.RELEASED_ON_CAMERA): S.RELEASING,
    (S.HELD_OFF, E.RULES_REFUSE): S.REFUSED,  # a dial was turned while the frame waited
    (S.HELD_OFF, E.LOG_REFUSED): S.REFUSED,
    (S.HELD_OFF, E.CAMERA_GONE): S.REFUSED,
    (S.HELD_OFF, E.CALL_OFF): S.CALLED_OFF,
    (S.HELD_OFF, E.DUE): S.RELEASING,
    (S.RELEASING, E.FIRED): S.RECEIVING,
    (S.RELEASING, E.DID_NOT_FIRE): S.NOT_FIRED,
    (S.RELEASING, E.LOST): S.UNCERTAIN,
    (S.RELEASING, E.CAMERA_GONE): S.UNCERTAIN,
    (S.RELEASING, E.FOUND): S.RECEIVING,
    (S.RELEASING, E.NOT_FOUND): S.NOT_FIRED,
    (S.RELEASING, E.NOT_WHOLE): S.MISSING,
    (S.RELEASING, E.UNSURE): S.UNCERTAIN,
    (S.UNCERTAIN, E.FOUND): S.RECEIVING,
    (S.UNCERTAIN, E.NOT_FOUND): S.NOT_FIRED,
    (S.UNCERTAIN, E.NOT_WHOLE): S.MISSING,
    (S.UNCERTAIN, E.UNSURE): S.UNCERTAIN,
    (S.RECEIVING, E.ALL_SAVED): S.SAVED,
    (S.RECEIVING, E.LOST): S.MISSING,
    (S.RECEIVING, E.CAMERA_GONE): S.MISSING,
    (S.RECEIVING, E.FOUND): S.RECEIVING,
    (S.RECEIVING, E.NOT_WHOLE): S.MISSING,
    (S.MISSING, E.FOUND): S.RECEIVING,
    (S.MISSING, E.NOT_WHOLE): S.MISSING,
    (S.SAVED, E.JUDGED): S.LOGGED,
}

JUDGING: dict[tuple[Judging, JudgingEvent], Judging] = {
    (Judging.NOT_YET, JudgingEvent.SENT): Judging.WITH_THE_JUDGE,
    (Judging.WITH_THE_JUDGE, JudgingEvent.ANSWERED): Judging.JUDGED,
}

AWAITING: dict[tuple[Awaiting, AwaitingEvent], Awaiting] = {
    (Awaiting.WAITED_FOR, AwaitingEvent.WAIT): Awaiting.WAITED_FOR,
    (Awaiting.WAITED_FOR, AwaitingEvent.GIVEN_UP): Awaiting.IN_VAIN,
    (Awaiting.WAITED_FOR, AwaitingEvent.CAME): Awaiting.WAITED_FOR,  # until the card was read once more
    (Awaiting.WAITED_FOR, AwaitingEvent.SETTLED): Awaiting.SETTLED,
    (Awaiting.IN_VAIN, AwaitingEvent.WAIT): Awaiting.WAITED_FOR,
    (Awaiting.IN_VAIN, AwaitingEvent.GIVEN_UP): Awaiting.IN_VAIN,
    (Awaiting.IN_VAIN, AwaitingEvent.CAME): Awaiting.SETTLED,
    (Awaiting.SETTLED, AwaitingEvent.WAIT): Awaiting.WAITED_FOR,
    (Awaiting.SETTLED, AwaitingEvent.GIVEN_UP): Awaiting.IN_VAIN,
    (Awaiting.SETTLED, AwaitingEvent.CAME): Awaiting.SETTLED,
}

ENDED = frozenset({S.REFUSED, S.CALLED_OFF, S.NOT_FIRED, S.MISSING, S.LOGGED})
UNSETTLED = frozenset({S.RELEASING, S.UNCERTAIN, S.RECEIVING, S.MISSING, S.SAVED})
"""States in which a crash may have left a frame, or in which a file may still turn up."""

SHUTTER: dict[FrameState, Fired] = {
    S.RELEASING: Fired.UNKNOWN,
    S.UNCERTAIN: Fired.UNKNOWN,
    S.RECEIVING: Fired.YES,
    S.MISSING: Fired.YES,
    S.SAVED: Fired.YES,
    S.LOGGED: Fired.YES,
}
"""State → whether the shutter went; in all other states it did not go."""


class ImpossibleTransitionError(RuntimeError):
    """An event came that the frame's state has no entry for; nothing was changed."""


def next_state(state: FrameState, event: FrameEvent) -> FrameState:
    """The state after the event. Raises ImpossibleTransitionError when the table has no entry."""
    try:
        return TRANSITIONS[state, event]
    except KeyError:
        raise ImpossibleTransitionError(f"a frame that is {state} can't take {event.value!r}") from None


def next_judging(judging: Judging, event: JudgingEvent) -> Judging:
    """The state of the judging after an event. Raises ImpossibleTransitionError when the table has no entry."""
    try:
        return JUDGING[judging, event]
    except KeyError:
        raise ImpossibleTransitionError(
            f"a frame whose judging is {judging.value!r} can't take {event.value!r}"
        ) from None


def next_awaiting(awaiting: Awaiting, event: AwaitingEvent) -> Awaiting:
    """The state of the waiting after an event. Raises ImpossibleTransitionError when the table has no entry."""
    try:
        return AWAITING[awaiting, event]
    except KeyError:
        raise ImpossibleTransitionError(
            f"a frame whose file is {awaiting.value!r} can't take {event.value!r}"
        ) from None


@dataclass(frozen=True)
class NewFrame:
    """A frame that is asked for, before the log has it.

    frame_id     unique for ever (UUID text)
    number       in its job, 0 before the frame has one; another release may take it while the frame waits
    revision_id  the log's key of the set-up's revision in force
    overrulings  rule id → reason
    ambient      released with the lights off, to measure the ambient light
    solo         the light that alone fires, by its name; "" for none in particular
    series       its plane in a focus series, None for a frame that is in none
    """

    frame_id: str
    number: int
    revision_id: str
    released_by: ReleasedBy = field(default=ReleasedBy.TOOL, kw_only=True)
    overrulings: dict[str, str] = field(default_factory=dict, kw_only=True)
    ambient: bool = field(default=False, kw_only=True)
    solo: str = field(default="", kw_only=True)
    series: SeriesPlane | None = field(default=None, kw_only=True)

    @property
    def measures(self) -> str:
        """The light that the frame measures instead of showing the view: `ambient`, `solo key`; else ""."""
        return "ambient" if self.ambient else f"solo {self.solo}" if self.solo else ""


@dataclass(frozen=True)
class Intent(NewFrame):
    """A new frame as the log has it before the camera hears of it, under the number that it keeps.

    folder,stem  files are saved as folder/stem.EXT; folder is absolute
    overrulings  those of them that were needed
    """

    camera_serial: str
    folder: str
    stem: str
    asked_at: datetime

    @property
    def state(self) -> FrameState:
        """The state in which the log begins the frame."""
        if self.released_by is ReleasedBy.BODY:
            return next_state(FrameState.ASKED, FrameEvent.RELEASED_ON_CAMERA)
        return next_state(FrameState.HELD_OFF, FrameEvent.DUE)


@dataclass(frozen=True)
class LoggedFrame:
    """A frame that is in the log, with what the log knows of its files: left in the middle, or at rest.

    expected   card objects that were announced for it and are not saved
    saved      names (with extension) of its files that are saved already
    saved_objects   the card objects that these were
    expected_files  how many files the set format makes, 0 when unknown
    sought          card and disk were looked through in vain since the frame went missing: from now on only a file
                    known to be the frame's settles the frame, so that no later frame's file is swallowed. Not a state:
                    the log keeps the time of the look, which the last event alone decides (`SOUGHT_IN_VAIN`), written
                    in the statement that moves the frame
    """

    intent: Intent
    state: FrameState
    fired: Fired
    expected: tuple[CardObject, ...] = ()
    saved: tuple[str, ...] = ()
    saved_objects: tuple[CardObject, ...] = ()
    expected_files: int = 0
    sought: bool = False

    @property
    def frame_id(self) -> str:
        return self.intent.frame_id

    @property
    def number(self) -> int:
        """The frame's number in its job."""
        return self.intent.number
