"""What log and frames tell of a reshoot: read, then measured, as one value for the match screen, text and report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from session.frame.camera_messages import Reading, Setting
from session.frame.ports import Place
from session.frame.step_said import StepSaid
from session.match.match_steps import (
    NOTHING_MEASURED,
    MatchStep,
    Measured,
    StepState,
    light_of_step,
    match_steps,
)
from session.match.reshoot_steps import CHECKS_KEY, Reshoot, ReshootStep, reshoot_steps
from session.match.solo_picture import PicturesKept
from session.match.solo_series import SeriesFrame
from session.match.substitutes import SubstitutedSet, Substitutes, substitutes_in_kit, substitutes_said
from session.match.then_and_now import STRUCK, begun_since
from session.set.kit import Kit
from session.set.setup import Revision
from session.set.things import Body
from storage.reading.shown_picture import ShownPicture, shown_picture
from storage.reading.views import FrameFilter, FrameRecord, SetPicture
from tui.shell.measured_set import FrameReader, SetPictures, body_of, measured_set, reference_of, set_pictures
from tui.shell.repeated_series import NO_SERIES, RepeatedSeries, repeated_series

INSTANT = timedelta(microseconds=1)
"""The log's clock tells no two moments that lie closer apart."""

BY_CAMERA = ("camera", CHECKS_KEY)
"""Steps that no picture is measured for: the camera says its settings itself."""


@dataclass(frozen=True)
class ReshootLogged:
    """What the log has of a reshoot, before anything is measured.

    said       the words in force on its steps
    worked_at  when frames of the job were released, from the first of these words on
    reference  the frame that the set is compared with; None without one
    pictures   what the set is measured from; None where nothing is there, or nothing was asked of the frames
    earlier    what it was measured from before the last long pause in the reshoot; None where nothing was shot then
    """

    said: Sequence[StepSaid]
    worked_at: Sequence[datetime]
    reference: FrameRecord | None = None
    pictures: SetPictures | None = None
    earlier: SetPictures | None = None
    set_pictures: Sequence[SetPicture] = ()
    series: RepeatedSeries = NO_SERIES

    @property
    def last_at(self) -> datetime | None:
        """When the last of it was said or shot; None where nothing was."""
        shot = self.pictures.frame if self.pictures else None
        return max((*(one.at for one in self.said), *((shot.asked_at,) if shot else ())), default=None)


@dataclass(frozen=True)
class MatchLook:
    """The steps as they stand now.

    measured   what the frames told of them
    pictures   what that was measured from; None where nothing was; `earlier` before the last long pause
    measured_earlier  what these told
    set_pictures      pictures of the set, as somebody attached them
    series     the focus series of the reference's view, and the one that was shot again
    reference  the frame that the set is compared with; None without one
    shown      the file that the reference is shown by, its own or its stored preview; None without a picture
    instead    what stands in the place of things of then
    wanted     the set-up with these; None before the log was read
    body_then  the body that shot the reference; None where the kit doesn't know it
    """

    steps: tuple[ReshootStep, ...] = ()
    measured: Measured = NOTHING_MEASURED
    pictures: SetPictures | None = None
    reference: FrameRecord | None = None
    shown: ShownPicture | None = None
    measured_earlier: Measured = NOTHING_MEASURED
    earlier: SetPictures | None = None
    set_pictures: Sequence[SetPicture] = ()
    instead: Substitutes = field(default_factory=Substitutes)
    wanted: Revision | None = None
    body_then: Body | None = None
    series: RepeatedSeries = NO_SERIES


@dataclass
class MatchMemory:
    """What the match screen knows, kept for as long as the program runs: leaving the screen loses nothing.

    kept  pictures that were read
    shot  the frames that `found` was measured from, as the screen told them apart
    went_on  what was said to stand in things' places was put in force
    reads, measures  a reading goes on, which alone may use `kept`; and it measures frames that weren't measured yet
    """

    found: MatchLook = field(default_factory=MatchLook)
    kept: PicturesKept = field(default_factory=PicturesKept)
    shot: object = None
    went_on: bool = False
    reads: bool = False
    measures: bool = False


def read_reshoot(
    reader: FrameReader,
    place: Place,
    reshoot: Reshoot,
    kit: Kit,
    upto: datetime | None = None,
    measures: bool = True,
) -> ReshootLogged:
    """What the log has of the reshoot of a piece and view.

    upto      frames asked for later don't count; None: all count
    measures  False: only what was said is read
    Raises LogError.
    """
    said = reader.steps_said(place, reshoot.revision_id)
    reference = reference_of(reader, place, reshoot.revision.setup_number)
    first = min((one.at for one in said), default=None)
    since = FrameFilter(job=place.job, since=first)
    worked_at = [row.asked_at for row in reader.frames(since)] if first else []
    pictures = earlier = None
    if measures and reference is not None:
        begun_at = begun_since(reshoot.begun_at, (one.at for one in said if not one.elsewhere), worked_at)
        pictures = set_pictures(reader, kit, reshoot.revision, reference, place, begun_at, upto)
        if begun_at is not None and pictures is not None:
            shot = (*pictures.solos.values(), *((pictures.frame,) if pictures.frame else ()))
            now_from = min((begun_at, *(one.asked_at for one in shot)))
            begun_before = begun_since(None, (one.at for one in said if one.at < now_from), worked_at)
            upto_then = now_from - INSTANT
            before = set_pictures(reader, kit, reshoot.revision, reference, place, begun_before, upto_then)
            stood = before is not None and before.frame is not None and now_from - before.frame.asked_at <= STRUCK
            earlier = before if stood else None
    of_set = reader.set_pictures(place.job, reshoot.revision)
    series = repeated_series(reader, place, reference) if reference is not None else NO_SERIES
    return ReshootLogged(said, worked_at, reference, pictures, earlier, of_set, series)


def measured_look(
    logged: ReshootLogged,
    reshoot: Reshoot,
    kit: Kit,
    reading: Reading | None,
    now: datetime,
    memory: MatchMemory | None = None,
    body_now: Body | None = None,
    others: Substitutes | None = None,
) -> MatchLook:
    """The steps, measured, which takes a second or more.

    reading  the camera's settings as it says them now, or as it said them at the frame; None where nobody knows
    body_now the body that is connected; None: that of the newest frame
    others   substitutes besides those that somebody said
    memory   what was found before: the same pictures are neither measured nor read twice
    """
    memory = memory or MatchMemory()
    revision, known, reference = reshoot.revision, memory.found, logged.reference
    times = [*logged.worked_at, *(one.at for one in logged.said)]
    instead = substitutes_said(logged.said, times, now).with_others(others or Substitutes())
    body_then = body_of(kit, reference)
    body_now = body_now or (logged.pictures.body_now if logged.pictures else None)
    if body_then and body_now and body_now != body_then and not instead.body:
        instead = replace(instead, body=body_now.name)
    stands = substitutes_in_kit(revision, kit, body_then, instead)
    logged = _as_it_stands(logged, revision, stands)
    known_pairs = ((known.pictures, known.measured), (known.earlier, known.measured_earlier))

    def measure(pictures: SetPictures | None) -> Measured:
        if pictures is None:
            return NOTHING_MEASURED
        found = next((measured for one, measured in known_pairs if one == pictures), None)
        return found or measured_set(kit, revision, pictures, memory.kept.read)

    before = measure(logged.earlier)
    measured = replace(measure(logged.pictures), reading=reading)
    if logged.pictures != known.pictures:
        memory.kept.drop_others()
    told_now = match_steps(revision, measured, stands.revision)
    steps = reshoot_steps(revision, told_now, logged.said, logged.worked_at, now)
    of_before = match_steps(revision, before, stands.revision) if logged.earlier else ()
    steps_before = {step.key: step for step in of_before}

    def with_frames(one: ReshootStep) -> ReshootStep:
        one = replace(one, instead=stands.told.get(one.step.key, ()))
        shot = _frame_of(one.step, revision, measured, logged.pictures)
        step = steps_before.get(one.step.key)
        if step is None or step.state is StepState.OPEN or one.step.state is not StepState.OPEN:
            return replace(one, shot=shot)
        earlier = ReshootStep(step, shot=_frame_of(step, revision, before, logged.earlier))
        return replace(one, shot=shot, earlier=earlier)

    shown = shown_picture(reference) if reference else None
    told = tuple(with_frames(one) for one in steps)
    return MatchLook(
        told,
        measured,
        logged.pictures,
        reference,
        shown,
        before,
        logged.earlier,
        logged.set_pictures,
        instead,
        stands.revision,
        body_then,
        logged.series,
    )


def _as_it_stands(logged: ReshootLogged, revision: Revision, stands: SubstitutedSet) -> ReshootLogged:
    """The same, its pictures shot with the substitutes: another lens, lights at another distance."""
    lens = stands.revision.arrangement if stands.has_other_lens else None
    asked_mm = {
        light.name: now.distance_mm
        for light in revision.lights
        if (now := stands.revision.light(light.name)) and now.distance_mm and now.distance_mm != light.distance_mm
    }
    pictures, earlier = (
        one and replace(one, lens_now=lens, asked_mm=asked_mm) for one in (logged.pictures, logged.earlier)
    )
    return replace(logged, pictures=pictures, earlier=earlier)


def _frame_of(
    step: MatchStep, revision: Revision, measured: Measured, pictures: SetPictures | None
) -> SeriesFrame | None:
    """The frame that a step's measured value is of: the light's own solo, or the newest with all lights."""
    if pictures is None or step.state is StepState.OPEN or step.key in BY_CAMERA:
        return None
    light = light_of_step(step.key, revision)
    return pictures.solos.get(light) if light in measured.solos else pictures.frame


def look(
    reader: FrameReader,
    place: Place,
    reshoot: Reshoot,
    kit: Kit,
    reading: Reading | None,
    now: datetime,
    memory: MatchMemory | None = None,
    measures: bool = True,
    body_now: Body | None = None,
) -> MatchLook:
    """Read words, frames and reference, and measure; the arguments as above. Raises LogError."""
    logged = read_reshoot(reader, place, reshoot, kit, measures=measures)
    return measured_look(logged, reshoot, kit, reading, now, memory, body_now)


def look_back(
    logged: ReshootLogged, reshoot: Reshoot, kit: Kit, now: datetime, others: Substitutes | None = None
) -> MatchLook:
    """The steps at a time, measured by the frames alone: the camera as it said of itself at the newest frame.

    others  substitutes besides those that somebody said
    """
    record = logged.pictures.record if logged.pictures else None
    told = record.camera if record else {}
    reading = Reading({name: Setting(name, value, "") for name, value in told.items()}) if told else None
    return measured_look(logged, reshoot, kit, reading, now, others=others)
