"""Going to another piece or view: which arrangement it goes on with, what the camera is set to, and the line about it.

A view owns its set-up. One that was shot before, or for which a set-up was chosen, goes on with that; the same view of
another piece begins from that piece's; a new view begins a set-up of its own, from the present arrangement or from the
camera's settings. What the camera is set to follows only while nobody turned a dial: a dial that was turned is left as
it is, and the rule about drifted settings tells of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from session.frame.ports import Log, LogError, Place, RefusedForGoodError, Standing
from session.plan.waits import safe_hold_off_s
from session.rules.camera_rules import drifted_settings
from session.set.setup import Revision, Settings
from session.shoot.arranging import Arranging
from session.shoot.changes import hand_words, setting_words
from session.shoot.events import PlaceChanged, Said
from session.shoot.state import ShootState

ALL_SETTINGS = tuple(Settings().by_name())


def begin_view(log: Log, place: Place, present: Standing | None, hold_off_s: float) -> Standing:
    """The set-up that a new view begins with; it is in no revision before its first frame. May raise LogError.

    present     the arrangement to begin from; a set-up that has no frame yet moves on to the new view. None: begin
                from the camera's settings
    hold_off_s  wait after a touch that the support needs, for a set-up that begins from nothing
    """
    if present is None:
        number = log.next_setup_number(place)
        return Standing(Revision(setup_number=number, hold_off_s=hold_off_s), "", ALL_SETTINGS)
    if present.revision_id or present.revision.revision > 1:
        number = log.next_setup_number(place)
        return Standing(replace(present.revision, setup_number=number, revision=1))
    return replace(present, piece="")


def standing_words(
    place: Place, standing: Standing, old: Revision | None, *, turned: bool = False, from_camera: bool = False
) -> str:
    """A line on the set-up that goes on: the number, the camera's settings, the changes left to the hands.

    old          what stood before, None when nothing did
    turned       a dial was turned on the camera, so the camera is left as it is
    from_camera  the set-up begins with nothing but what the camera is set to: nothing is to be set or put up
    """
    new = standing.revision
    of = f", as for {standing.piece}" if standing.piece and standing.piece != place.piece else ""
    was = f" (was {old.label})" if old is not None and old.setup_number != new.setup_number else ""
    parts = [f"{place.piece}, {place.view}: set-up {new.label}{was}{of}"]
    if from_camera:
        parts.append("begun with what the camera is set to; no lens or light is in it yet")
    elif old is not None:
        settings, hands = setting_words(old, new), hand_words(old, new)
        if turned:
            parts.append("the camera stays as it was turned")
        elif settings:
            parts.append(f"set on the camera: {', '.join(settings)}")
        if hands:
            parts.append(f"by hand: {', '.join(hands)}")
    return "; ".join(parts) + "."


class Going:
    """Brings a view's own arrangement into force."""

    def __init__(self, state: ShootState, arranging: Arranging, say_reference: Callable[[], None]) -> None:
        self._state = state
        self._arranging = arranging
        self._say_reference = say_reference

    def go_to(self, piece: str, view: str, job: str = "", *, from_camera: bool = False) -> None:
        """The view is on the table, of the present job unless another is named.

        from_camera  a new view begins from the camera's settings, not from what stands

        When the log refuses, everything stays as it is.
        """
        state, old = self._state, self._state.revision
        turned = not state.settings_asked and bool(drifted_settings(state.situation()))
        try:
            place = state.log.open_place(job or state.place.job, piece, view)
            wanted = state.log.standing(place)
            if wanted is None:
                hold_off_s = safe_hold_off_s(state.kit.support_for(""))
                wanted = begin_view(state.log, place, None if from_camera else state.standing, hold_off_s)
            chosen = state.log.choose(place, wanted)
        except RefusedForGoodError as error:  # no name that the log may have
            state.emit(Said(str(error)))
            return
        except LogError as error:
            state.writer.say_refused(str(error))
            return
        state.place = place
        state.building = True
        state.touch()
        state.record("place", f"{place.piece}, {place.view}")
        state.emit(PlaceChanged(place))
        self._arranging.put_in_force(replace(chosen, from_camera=wanted.from_camera), follow=not turned)
        told = replace(state.standing, piece=wanted.piece)
        state.emit(Said(standing_words(place, told, old, turned=turned, from_camera=bool(wanted.from_camera))))
        self._say_reference()
