"""A frame's second judgement, after the region or the grey patch of the set-up was moved.

The earlier judgement stays in the log; the new judgement follows, with an event on the places looked at.
"""

from __future__ import annotations

from collections import defaultdict, deque
from dataclasses import dataclass, replace

from session.frame.camera_messages import SavedFile
from session.frame.ports import Judgement, LogError
from session.frame.states import Judging
from session.set.setup import Region
from session.shoot.events import BeingJudgedAnew, FrameJudged, Said
from session.shoot.flight import Flight
from session.shoot.releasing import Releases, post_to_judge
from session.shoot.state import ShootState
from session.units.numbers import percent_text


@dataclass(frozen=True)
class _Asked:
    number: int
    region: Region
    grey_patch: Region | None


class JudgingAnew:
    """The frames with a new judgement on the way."""

    def __init__(self, state: ShootState, releases: Releases) -> None:
        self._state = state
        self._releases = releases
        self._asked: defaultdict[str, deque[_Asked]] = defaultdict(deque)

    def ask(self, frame_id: str, number: int, file: SavedFile) -> None:
        """Judge a frame with the set-up's present region and grey patch, and all else as at the frame's release.

        file   the one of its files to look at
        A frame of another set-up, piece or view is left as it is, and so is one that measures light alone.
        """
        state = self._state
        try:
            origin = state.log.origin(frame_id)
        except LogError as error:
            state.emit(Said(str(error)))
            return
        now = state.revision
        elsewhere = origin.place != state.place or origin.revision.setup_number != now.setup_number
        if origin.intent.measures or elsewhere:
            return
        revision = replace(origin.revision, region=now.region, grey_patch=now.grey_patch)
        self._asked[frame_id].append(_Asked(number, now.region, now.grey_patch))
        state.emit(BeingJudgedAnew(frame_id, number))
        post_to_judge(state, Flight(origin.intent, origin.place, revision), file)

    def on_judged(self, judgement: Judgement) -> bool:
        """Keep a second judgement, asked for by `ask`; False for a frame's first."""
        flight = self._releases.flight(judgement.frame_id)
        if not self._asked[judgement.frame_id] or (flight is not None and flight.judging is not Judging.JUDGED):
            return False
        asked, state = self._asked[judgement.frame_id].popleft(), self._state
        focus = judgement.focus
        text = f"frame {asked.number} judged anew with {_place_text(asked.region)}: {focus.verdict}"
        state.write(
            state.log.frame_judged_anew,
            judgement.frame_id,
            judgement.findings,
            focus,
            asked.region,
            asked.grey_patch,
            text,
        )
        state.emit(FrameJudged(judgement.frame_id, asked.number, judgement.findings, focus, anew=True))
        return True


def _place_text(region: Region) -> str:
    """`the region 20 % × 20 % at 40 %, 40 %`: width, height, left and top."""
    width, height, left, top = (percent_text(side) for side in (region.width, region.height, region.left, region.top))
    return f"the region {width} × {height} at {left}, {top}"
