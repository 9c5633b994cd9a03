"""A frame under way, in memory: from the photographer's wish to the last word of the checks."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import PurePath

from session.frame.camera_messages import CardObject, Fired, SavedFile, Setting
from session.frame.finding import Finding, RuleId
from session.frame.frame_facts import FrameFacts
from session.frame.ports import Agreement, Assignment, Place, Reference
from session.frame.states import (
    ENDED,
    SHUTTER,
    FrameEvent,
    FrameState,
    Judging,
    JudgingEvent,
    NewFrame,
    next_judging,
    next_state,
)
from session.rules.situation import Situation
from session.set.lights_in_use import guide_numbers_m
from session.set.setup import Revision
from session.shoot.events import CameraWait
from session.units.file_kinds import FORMATS, FileKind

THE_REFERENCE = "it is the reference itself; other frames are compared with it"

FILES_OF_FORMAT = {name: len(kinds) for name, kinds in FORMATS.items()}
"""The setting `file_format` → how many files a frame then has."""


def files_of_format(setting: Setting | None) -> int:
    """The number of files that the camera's format promises, 0 for an unreadable text; two sizes are two JPEGs."""
    if setting is None:
        return 0
    count = FILES_OF_FORMAT.get(str(setting.value), 0)
    return 2 if count == 1 and "+" in setting.shown else count


@dataclass
class Flight:
    """A frame that isn't at rest yet.

    frame         the frame that was asked for; its `Intent` as soon as the log has it
    asked_s       when the release was asked for, None for a release on the camera
    objects       card objects announced for it that are not saved yet
    saved_before  names of its files that were saved before it was taken up
    expected_files  how many files the set format makes, 0 when unknown
    """

    frame: NewFrame
    place: Place
    revision: Revision
    state: FrameState = FrameState.ASKED
    findings: tuple[Finding, ...] = ()
    files: list[SavedFile] = field(default_factory=list)
    objects: tuple[CardObject, ...] = ()
    saved_before: tuple[str, ...] = ()
    expected_files: int = 0
    asked_s: float | None = None
    waits_until_s: float | None = 0.0
    waits_for: RuleId | CameraWait | None = None
    judging: Judging = Judging.NOT_YET

    @property
    def frame_id(self) -> str:
        return self.frame.frame_id

    @property
    def number(self) -> int:
        """The frame's number in its job."""
        return self.frame.number

    def move(self, event: FrameEvent) -> None:
        """Take the event by the table; ImpossibleTransitionError when it has no entry, and nothing changes."""
        self.state = next_state(self.state, event)

    def move_judging(self, event: JudgingEvent) -> None:
        """Take the event of the judge, likewise."""
        self.judging = next_judging(self.judging, event)

    def facts(self, text: str = "") -> FrameFacts:
        """The frame's facts now. text: the sentence about the frame's state"""
        fired = SHUTTER.get(self.state, Fired.NO)
        frame = self.frame
        return FrameFacts(
            frame.frame_id,
            frame.number,
            self.state,
            frame.released_by,
            fired,
            text=text,
            ambient=frame.ambient,
            solo=frame.solo,
            series=frame.series,
        )

    @property
    def is_over(self) -> bool:
        """The frame is at rest, or waits for the camera to be back, and no judgement of it is on its way."""
        at_rest = self.state in ENDED or self.state is FrameState.UNCERTAIN
        return at_rest and self.judging is not Judging.WITH_THE_JUDGE

    @property
    def file_names(self) -> tuple[str, ...]:
        """The names of the frame's files on the disk, each once."""
        return tuple(dict.fromkeys((*self.saved_before, *(PurePath(file.path).name for file in self.files))))

    def file_to_judge(self, *, complete: bool) -> SavedFile | None:
        """The JPEG as soon as the JPEG is here; a raw only when nothing else will come."""
        jpeg = next((file for file in self.files if file.kind == FileKind.JPEG), None)
        if jpeg or not complete:
            return jpeg
        return next((file for file in self.files if file.kind == FileKind.RAW), None)

    def assignment(
        self,
        file: SavedFile,
        situation: Situation,
        reference: Reference | None,
        expected: Reference | None,
        *,
        agreement: Agreement | None = None,
        building: bool = False,
    ) -> Assignment:
        """The frame with file, reference and set-up, for the judge.

        situation   the rules' situation of the frame's revision
        reference   of the frame's set-up and piece; may be this frame itself
        expected    the set-up's reference for another piece, where this piece has none
        agreement   the client's standard for the view
        building    the set is being built again
        """
        body = situation.body
        itself = reference is not None and reference.frame_id == self.frame_id
        return Assignment(
            frame_id=self.frame_id,
            path=file.path,
            kind=file.kind,
            revision=self.revision,
            asked=self.revision.settings.by_name(),
            flash_used=bool(situation.flashes),
            reference_path=reference.path if reference and not itself else None,
            expected_path=expected.path if expected else None,
            sensor_width_mm=body.sensor_width_mm if body else None,
            pixels_across=body.pixels_across if body else None,
            wholly_open_s=situation.wholly_open_s,
            expected_bytes=file.bytes,
            guide_numbers_m=guide_numbers_m(self.revision, situation.kit),
            building=building,
            ambient=self.frame.ambient,
            solo=self.frame.solo,
            in_series=self.frame.series is not None,
            why_alone=THE_REFERENCE if itself else "" if reference else self._why_alone(expected),
            agreement=agreement,
        )

    def _why_alone(self, expected: Reference | None) -> str:
        setup = f"set-up {self.revision.setup_number:02d}"
        if expected is None:
            return f"{setup} has no reference yet; look at it enlarged"
        return f"{self.place.piece} is new in {setup} and has no reference yet; look at it enlarged"
