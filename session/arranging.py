"""Which set-up is in force: its changes become revisions in the log, and its settings go onto the camera."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from session.bench import Bench
from session.cameras import protocol as say
from session.cameras.protocol import Value
from session.events import RevisionChanged
from session.lens_in_use import without_stale_tick
from session.ports import LogError
from session.room_light import with_room_light_carried
from session.setup import Revision


class Arranging:
    """Changes the set-up on the table.

    before, after   what a draft was before its changes, and what it was when they were taken back: no log has it
    """

    def __init__(self, bench: Bench, changed: Callable[[], None]) -> None:
        """`changed` is called when another revision is in force."""
        self._bench = bench
        self._changed = changed
        self.before: list[Revision] = []
        self.after: list[Revision] = []

    def set_camera(self, changes: Mapping[str, Value]) -> None:
        """Put these settings on the camera; the set-up stays as it is."""
        if changes:
            self._bench.settings_asked += 1
            self._bench.post(say.ApplySettings(dict(changes)))

    def restore_settings(self) -> None:
        """Put the set-up's settings on the camera, as far as it offers them and they differ."""
        reading = self._bench.reading
        asked = {
            name: value
            for name, value in self._bench.revision.settings.asked().items()
            if name in reading.settings and not reading.settings[name].read_only
        }
        self.set_camera(asked)  # type: ignore[arg-type]

    def take(self, names: tuple[str, ...]) -> None:
        """Make what the camera says now of these settings part of the set-up."""
        reading, settings = self._bench.reading, self._bench.revision.settings
        told = {name: reading.value(name) for name in names if reading.value(name)}
        self.revise(replace(self._bench.revision, settings=replace(settings, **told)))  # type: ignore[arg-type]

    def begin_draft(self, names: tuple[str, ...]) -> None:
        """A draft takes these settings from the camera; before that there is nothing to go back to."""
        self.take(names)
        self.before.clear()
        self.after.clear()

    def revise(self, wanted: Revision, frame_id: str = "") -> bool:
        """Make a changed arrangement the next revision, log it, and put its settings on the camera.

        frame_id  the frame that showed what changes
        """
        bench = self._bench
        old = bench.revision
        held = with_room_light_carried(without_stale_tick(wanted, old), old)
        new = replace(held, setup_number=old.setup_number, revision=old.revision)
        if new == old:
            return False
        if not bench.is_draft:
            try:
                number = bench.log.next_revision_number(bench.place, old.setup_number)
            except LogError as error:
                bench.writer.refused(f"The change was not taken. {error}")
                return False
            new = replace(new, revision=number)
        return self._log(new, frame_id)

    def new_setup(self, wanted: Revision) -> bool:
        """Start another set-up of this job, revision 1, from the given arrangement."""
        try:
            number = self._bench.log.next_setup_number(self._bench.place)
        except LogError as error:
            self._bench.writer.refused(str(error))
            return False
        self._bench.touch()
        return self._log(replace(wanted, setup_number=number, revision=1))

    def _log(self, revision: Revision, frame_id: str = "") -> bool:
        bench = self._bench
        try:
            revision_id = "" if bench.is_draft else bench.log.save_revision(bench.place, revision)
        except LogError as error:
            bench.writer.refused(f"The change was not taken. {error}")
            return False
        if bench.is_draft:
            self.before.append(bench.revision)
            self.after.clear()
        self.put_in_force(revision, revision_id, frame_id)
        return True

    def put_in_force(self, revision: Revision, revision_id: str, frame_id: str = "") -> None:
        """From now on frames are released by it; it is in the log already, or a draft ("")."""
        bench, old = self._bench, self._bench.revision
        bench.revision, bench.revision_id = revision, revision_id
        if revision.lights != old.lights or revision.passive != old.passive:
            bench.touch()
        if revision.settings != old.settings and bench.description is not None:
            self.restore_settings()
        bench.emit(RevisionChanged(revision, revision_id, frame_id))
        self._changed()
