"""The files that the camera may still bring, of frames that have none: which are waited for, and which were in vain.

This is knowledge of one run about the camera, beside the frame's own state in the log: a frame that is waited for is
`uncertain` or `missing` there all the while, and after the run nobody waits any more.
"""

from __future__ import annotations

from dataclasses import dataclass

from session.frame.camera_messages import CardObject
from session.frame.states import Awaiting, AwaitingEvent, next_awaiting


@dataclass
class _Late:
    """until_s: when the time is over, while the file is waited for. newer: newest file of a frame released later"""

    awaiting: Awaiting = Awaiting.WAITED_FOR
    until_s: float = 0.0
    newer: CardObject | None = None


class LateFiles:
    """The frames whose files come late, by key, in the order in which the waits began.

    made_no_file  frames that the camera released in this run without making a file. No state: it stays true of a
                  frame whatever becomes of it, and says that the frame is not among what the card had before.
    """

    def __init__(self) -> None:
        self._frames: dict[str, _Late] = {}
        self.made_no_file: set[str] = set()

    @property
    def waited_for(self) -> frozenset[str]:
        """Frames whose files the camera may still be writing: none is released meanwhile."""
        return frozenset(key for key, one in self._frames.items() if one.awaiting is Awaiting.WAITED_FOR)

    @property
    def in_vain(self) -> frozenset[str]:
        """Frames that were waited for in vain: their files may come all the same."""
        return frozenset(key for key, one in self._frames.items() if one.awaiting is Awaiting.IN_VAIN)

    @property
    def due_s(self) -> tuple[float, ...]:
        """When the time of each frame that is waited for is over, s of the clock."""
        return tuple(one.until_s for one in self._frames.values() if one.awaiting is Awaiting.WAITED_FOR)

    @property
    def newer_files(self) -> tuple[CardObject | None, ...]:
        """For each frame waited for in vain the newest file of a later frame; None while no later frame has a file."""
        return tuple(one.newer for one in self._frames.values() if one.awaiting is Awaiting.IN_VAIN)

    def wait(self, frame_id: str, until_s: float) -> None:
        """Wait for the frame's file until `until_s` seconds of the clock."""
        if frame_id in self._frames:
            self._move(frame_id, AwaitingEvent.WAIT)
        else:
            self._frames[frame_id] = _Late()
        self._frames[frame_id].until_s = until_s

    def wait_only(self, until_s: dict[str, float]) -> None:
        """Wait for these frames alone, frame_id → s of the clock; all other waits are over."""
        for frame_id in self.waited_for.difference(until_s):
            self._move(frame_id, AwaitingEvent.SETTLED)
        for frame_id, one_s in until_s.items():
            self.wait(frame_id, one_s)

    def may_give_up(self, frame_id: str) -> bool:
        """The frame is waited for, or made no file in this run."""
        return frame_id in self.waited_for or frame_id in self.made_no_file

    def give_up(self, frame_id: str) -> None:
        """The frame's time is over, and nothing came; its file may come all the same."""
        self._move(frame_id, AwaitingEvent.GIVEN_UP)
        self._frames[frame_id].newer = None

    def file_came(self, frame_id: str) -> None:
        """A file of this frame is saved."""
        if frame_id in self._frames:
            self._move(frame_id, AwaitingEvent.CAME)

    def later_frame_has(self, card_object: CardObject) -> None:
        """Note the file of the frame released last: files that earlier frames lack have lower numbers."""
        for one in self._frames.values():
            one.newer = card_object

    def _move(self, frame_id: str, event: AwaitingEvent) -> None:
        one = self._frames[frame_id]
        one.awaiting = next_awaiting(one.awaiting, event)
