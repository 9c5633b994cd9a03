"""A reshoot as steps in the order in which hands work: what was recorded, what is measured now, what is left to do.

The steps are values: they are printed before anything stands, and told again after each frame. Whatever the pictures
can't tell stays open or says so; a step is never called right without a measurement.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from session.frame.camera_messages import Reading
from session.match.recorded_words import recorded_camera, recorded_lens, recorded_place, recorded_things
from session.set.setup import Revision, thing_name
from session.units.value_words import name_words, same_value, value_words


class StepState(StrEnum):
    """What measuring says of a step; the values stand in JSON.

    OPEN       nothing is measured yet
    MATCHES    within its tolerance
    OFF        outside it, and `to_do` says what to do
    CANT_TELL  the picture doesn't tell it, and `to_do` says why
    """

    OPEN = "open"
    MATCHES = "matches"
    OFF = "off"
    CANT_TELL = "can't tell"


@dataclass(frozen=True)
class MatchStep:
    """A step of the reshoot.

    key       stable name for the log: `camera`, `lens`, `place`, `framing`, `focus`, `light key`, `reflector card`,
              `together`, `grey card`, `piece`, `notes`
    name      words for the screen
    recorded  the recorded value in words, with units; "" where nothing was recorded
    measured  what is measured now; "" when nothing is
    to_do     what is left for the hands, with units, and what can't be told; "" when nothing is left
    """

    key: str
    name: str
    recorded: str
    measured: str = ""
    to_do: str = ""
    state: StepState = StepState.OPEN


@dataclass(frozen=True)
class Measured:
    """Everything that is known of the set as it stands now; None or empty where nothing is.

    reading  what the camera says of its settings
    """

    reading: Reading | None = None


NOTHING_MEASURED = Measured()


def match_steps(revision: Revision, measured: Measured = NOTHING_MEASURED) -> tuple[MatchStep, ...]:
    """The steps of building a revision again, in the order in which hands work."""
    things = recorded_things(revision)
    lights = {thing_name(light) for light in revision.lights}
    place = recorded_place(revision)
    sharp = revision.must_be_sharp or "the region"
    steps = [
        _camera(revision, measured.reading),
        MatchStep("lens", "lens", recorded_lens(revision), to_do="put up the lens"),
        *([MatchStep("place", "camera's place", place, to_do="set it up by tape and level")] if place else []),
        MatchStep("framing", "framing", "as in the reference", to_do="release, and see how it compares"),
        MatchStep("focus", "focus", f"on {sharp}", to_do="focus by hand, enlarged"),
        *(MatchStep(name, name, told, to_do="put it up") for name, told in things.items() if name not in lights),
        *(MatchStep(name, name, told, to_do="put it up") for name, told in things.items() if name in lights),
    ]
    if revision.lights:
        steps.append(MatchStep("together", "all lights", "as in the reference", to_do="release with all of them"))
    if revision.grey_patch:
        steps.append(MatchStep("grey card", "grey card", str(revision.grey_patch), to_do="release with it in place"))
    steps.append(MatchStep("piece", "piece", f"sharp on {sharp}", to_do="lay it as in the reference"))
    if revision.notes:
        steps.append(MatchStep("notes", "notes", revision.notes))
    return tuple(steps)


def _camera(revision: Revision, reading: Reading | None) -> MatchStep:
    recorded = recorded_camera(revision)
    if reading is None:
        return MatchStep("camera", "camera", recorded, to_do="set the camera")
    asked = revision.settings.by_name()
    told = {name: reading.value(name) for name in asked}
    off = [name for name, value in told.items() if value is not None and not same_value(name, value, asked[name])]
    unseen = [name for name, value in told.items() if value is None]
    measured = ", ".join(f"{name_words(name)} {value_words(name, told[name])}" for name in asked if name not in unseen)
    left = [f"{name_words(name)} back to {value_words(name, asked[name])}" for name in off]
    left += [f"the camera doesn't tell its {name_words(name)}: {value_words(name, asked[name])}" for name in unseen]
    state = StepState.OFF if off else StepState.CANT_TELL if unseen else StepState.MATCHES
    return MatchStep("camera", "camera", recorded, measured, "; ".join(left), state)
