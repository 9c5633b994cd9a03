"""Which arrangement is in force: its changes stand in the log, and its settings go onto the camera.

A change makes a draft of the set-up's next revision, and the next frame makes the draft a revision: so changes between
two frames melt into one revision, and a change that is undone or cancelled before a frame leaves no revision.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from session.frame import camera_messages as say
from session.frame.camera_messages import Value
from session.frame.ports import LogError, Standing
from session.set.ambient_kept import with_ambient_carried
from session.set.lens_in_use import without_stale_confirmation
from session.set.setup import Revision
from session.shoot.events import RevisionChanged
from session.shoot.state import ShootState


class Arranging:
    """Changes the arrangement on the table."""

    def __init__(self, state: ShootState, changed: Callable[[], None]) -> None:
        """`changed` is called when another revision is in force."""
        self._state = state
        self._changed = changed

    def set_camera(self, changes: Mapping[str, Value]) -> None:
        """Put these settings on the camera; the set-up stays as it is."""
        if changes:
            self._state.settings_asked += 1
            self._state.post(say.ApplySettings(dict(changes)))

    def restore_settings(self) -> None:
        """Put the set-up's settings on the camera, as far as it offers them and they differ."""
        reading = self._state.reading
        asked = {
            name: value
            for name, value in self._state.revision.settings.by_name().items()
            if name in reading.settings and not reading.settings[name].read_only
        }
        self.set_camera(asked)  # type: ignore[arg-type]

    def take(self, names: tuple[str, ...]) -> None:
        """Make what the camera says now of these settings part of the set-up."""
        reading, settings = self._state.reading, self._state.revision.settings
        told = {name: reading.value(name) for name in names if reading.value(name)}
        self.revise(replace(self._state.revision, settings=replace(settings, **told)))  # type: ignore[arg-type]

    def begin_draft(self) -> None:
        """Take from the camera the settings that the draft left open; no act of a person, so undo passes it by."""
        state = self._state
        names, state.from_camera = state.from_camera, ()
        told = {name: state.reading.value(name) for name in names if state.reading.value(name)}
        if not told:
            return
        settings = replace(state.revision.settings, **told)  # type: ignore[arg-type]
        drafted = Standing(replace(state.revision, settings=settings), state.revision_id)
        try:
            self.put_in_force(state.log.choose(state.place, drafted), follow=False)
        except LogError as error:
            state.writer.say_refused(str(error))
            self.put_in_force(drafted, follow=False)

    def revise(self, wanted: Revision, frame_id: str = "", act: str = "") -> bool:
        """Bring a changed arrangement into force: into the log as a draft, its settings on the camera.

        frame_id  the frame that showed what changes
        act       as in `Log.arrange`
        """
        old = self._state.revision
        held = with_ambient_carried(without_stale_confirmation(wanted, old), old)
        new = replace(held, setup_number=old.setup_number, revision=old.revision)
        return new != old and self._arrange(new, frame_id, act)

    def new_setup(self, wanted: Revision) -> bool:
        """Start another set-up of this job for this view, from the given arrangement."""
        try:
            number = self._state.log.next_setup_number(self._state.place)
        except LogError as error:
            self._state.writer.say_refused(str(error))
            return False
        self._state.touch()
        return self._arrange(replace(wanted, setup_number=number, revision=1))

    def _arrange(self, revision: Revision, frame_id: str = "", act: str = "") -> bool:
        state = self._state
        try:
            wanted = Standing(revision, "", state.from_camera)
            standing = state.log.arrange(state.place, state.standing, wanted, act)
        except LogError as error:
            state.writer.say_refused(f"The change was not taken. {error}")
            return False
        self.put_in_force(replace(standing, from_camera=state.from_camera), frame_id)
        return True

    def put_in_force(self, standing: Standing, frame_id: str = "", *, follow: bool = True) -> None:
        """Release the next frames by this arrangement, which the log has already. `follow`: set the camera likewise.

        What a draft left open is taken from the camera instead, as soon as there is one.
        """
        state, old, revision = self._state, self._state.revision, standing.revision
        state.revision, state.revision_id, state.from_camera = revision, standing.revision_id, standing.from_camera
        if revision.lights != old.lights or revision.passive != old.passive:
            state.touch()
        from_camera = bool(state.from_camera) and state.description is not None
        if follow and not from_camera and revision.settings != old.settings and state.description is not None:
            self.restore_settings()
        state.emit(RevisionChanged(revision, standing.revision_id, frame_id))
        self._changed()
        if from_camera:
            self.begin_draft()
