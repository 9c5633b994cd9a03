"""A reshoot as steps in the order in which hands work: the recorded value, the measured one, the work left.

The steps are values: they are printed before anything stands, and told again after each frame. Whatever the pictures
can't tell stays open or says so; a step is never called right without a measurement.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from session.checks.judge.examined import Examined
from session.frame.camera_messages import Reading
from session.match.camera_framing import Framing
from session.match.key_to_fill import KeyToFill, then_and_now_words
from session.match.light_match import LightAlone, LightCompared
from session.match.light_words import light_told, together_told
from session.match.recorded_words import recorded_camera, recorded_lens, recorded_place, recorded_things
from session.match.solo_series import SeriesFrame
from session.match.step_words import (
    StepWords,
    distance_told,
    focus_told,
    framing_told,
    grey_card_told,
    piece_told,
)
from session.set.setup import Arrangement, Revision, thing_name
from session.set.things import Body
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

    reading           what the camera says of its settings
    body_then, body_now   as the kit has them
    lens_now          how the lens stands in the place of that of then; None for the same lens
    asked_mm          distances at which substitutes want lights, by their names; those of then aren't among them
    frame             the newest frame since the set is built again, which is measured
    examined          the judge's measurements of the newest frame against the reference
    framing           of that frame against the reference
    no_framing        the reason, a clause, where a frame is there and its framing can't be told; else ""
    light             of that frame by ninths
    solos             each light by its solo of now and of before, by its name
    ratio_then, ratio_now   lighting ratio in the region, by the solos of all lights and ambient alone of both times
    """

    reading: Reading | None = None
    body_then: Body | None = None
    body_now: Body | None = None
    lens_now: Arrangement | None = None
    asked_mm: Mapping[str, float] = field(default_factory=dict)
    frame: SeriesFrame | None = None
    examined: Examined | None = None
    framing: Framing | None = None
    no_framing: str = ""
    light: LightCompared | None = None
    solos: Mapping[str, LightAlone] = field(default_factory=dict)
    ratio_then: KeyToFill | None = None
    ratio_now: KeyToFill | None = None


NOTHING_MEASURED = Measured()


def match_steps(
    revision: Revision, measured: Measured = NOTHING_MEASURED, wanted: Revision | None = None
) -> tuple[MatchStep, ...]:
    """The steps of building a revision again, in the order in which hands work.

    wanted  the set-up with its substitutes, whose settings, power and distances count now; None without any
    """
    wanted = wanted or revision
    sharp = revision.must_be_sharp or "the region"
    place = recorded_place(revision)
    steps = [
        _camera(revision, wanted, measured),
        MatchStep("lens", "lens", recorded_lens(revision), to_do="put up the lens"),
        *([_place(place, measured)] if place else []),
        _framing(measured),
        _step_with(
            MatchStep("focus", "focus", f"on {sharp}", to_do="focus by hand, enlarged"),
            focus_told(measured.examined) if measured.examined else None,
        ),
        *_things(revision, wanted, measured),
    ]
    if revision.lights:
        together = MatchStep("together", "all lights", "as in the reference", to_do="release with all of them")
        steps.append(_step_with(together, _together(wanted, measured)))
    if revision.grey_patch:
        card = MatchStep("grey card", "grey card", str(revision.grey_patch), to_do="release with it in place")
        steps.append(_step_with(card, grey_card_told(measured.examined) if measured.examined else None))
    piece = MatchStep("piece", "piece", f"sharp on {sharp}", to_do="lay it as in the reference")
    steps.append(_step_with(piece, piece_told(measured.examined) if measured.examined else None))
    if revision.notes:
        steps.append(MatchStep("notes", "notes", revision.notes))
    return tuple(steps)


def light_of_step(key: str, revision: Revision) -> str:
    """The name of the light that a step is about; "" for any other step."""
    return next((light.name for light in revision.lights if thing_name(light) == key), "")


def _together(revision: Revision, measured: Measured) -> StepWords | None:
    if measured.light is None:
        return None
    features_px = measured.framing.features_px if measured.framing else 0.0
    told = together_told(measured.light, revision.lights, measured.solos, features_px)
    if measured.ratio_then is None or measured.ratio_now is None:
        return told
    parts = (told.measured, then_and_now_words(measured.ratio_then, measured.ratio_now))
    return replace(told, measured="; ".join(part for part in parts if part))


def _step_with(step: MatchStep, told: StepWords | None) -> MatchStep:
    """The step with what was measured; as it was where nothing is."""
    if told is None:
        return step
    state = StepState.CANT_TELL if told.matches is None else StepState.MATCHES if told.matches else StepState.OFF
    return replace(step, measured=told.measured, to_do=told.to_do, state=state)


def _place(recorded: str, measured: Measured) -> MatchStep:
    step = MatchStep("place", "camera's place", recorded, to_do="set it up by tape and level")
    return _step_with(step, distance_told(measured.framing) if measured.framing else None)


def _framing(measured: Measured) -> MatchStep:
    step = MatchStep("framing", "framing", "as in the reference", to_do="release, and see how it compares")
    if measured.framing is not None:
        return _step_with(step, framing_told(measured.framing))
    return _step_with(step, StepWords("", f"can't tell: {measured.no_framing}", None) if measured.no_framing else None)


def _things(revision: Revision, wanted: Revision, measured: Measured) -> list[MatchStep]:
    """A step for each thing of the set; lights last, since reflectors, flags and glass change their light."""
    recorded = recorded_things(revision)
    steps = {name: MatchStep(name, name, told, to_do="put it up") for name, told in recorded.items()}
    for light in wanted.lights:
        found, name = measured.solos.get(light.name), thing_name(light)
        steps[name] = _step_with(steps.pop(name), light_told(light, found, measured.solos) if found else None)
    return list(steps.values())


def _camera(revision: Revision, wanted: Revision, measured: Measured) -> MatchStep:
    step = MatchStep("camera", "camera", recorded_camera(revision), to_do="set the camera")
    reading = measured.reading
    if reading is None:
        return step
    then, asked = revision.settings.by_name(), wanted.settings.by_name()
    told = {name: reading.value(name) for name in asked}
    off = [name for name, value in told.items() if value is not None and not same_value(name, value, asked[name])]
    unseen = [name for name, value in told.items() if value is None]
    now = ", ".join(f"{name_words(name)} {value_words(name, told[name])}" for name in asked if name not in unseen)
    left = [f"{name_words(name)} {_way(then.get(name), asked[name])} {value_words(name, asked[name])}" for name in off]
    left += [f"the camera doesn't tell its {name_words(name)}: {value_words(name, asked[name])}" for name in unseen]
    state = StepState.OFF if off else StepState.CANT_TELL if unseen else StepState.MATCHES
    return replace(step, measured=now, to_do="; ".join(left), state=state)


def _way(then: object, asked: object) -> str:
    """`back to` a value of then, `to` the value that a substitute asks for."""
    return "back to" if then == asked else "to"
