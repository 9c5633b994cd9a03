"""The series of solos of a set-up: all lights together, each light alone, the ambient light alone, and its frames."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, replace
from datetime import datetime
from enum import StrEnum

import numpy as np

from session.frame.states import Mark
from session.match.key_to_fill import KeyToFill, key_to_fill, levels_in_region
from session.match.light_sum import FrameNumbers, LightSum, light_sum
from session.match.solo_picture import SoloPicture, read_solo_picture
from session.picture.preview import UnreadablePicture
from session.set.setup import PassiveItem, PlacedLight, Region, Revision
from session.units.refusals import ImpossibleNumbersError

FEWEST_LIGHTS = 2
"""With one light all together is its solo already."""

Read = Callable[[str], SoloPicture]


class StepKind(StrEnum):
    """The kinds of frame in a series."""

    TOGETHER = "all together"
    SOLO = "alone"
    AMBIENT = "ambient alone"


@dataclass(frozen=True)
class SeriesFrame:
    """A frame that may be one of a series.

    path  the picture's file; None for a frame whose picture can't be opened
    """

    frame_id: str
    number: int
    asked_at: datetime
    revision: Revision
    path: str | None
    solo: str = ""
    ambient: bool = False
    mark: str | None = None


@dataclass(frozen=True)
class SeriesStep:
    """A place in the series, and the frame that fills the place, if there is one yet.

    light  the light that alone fires; "" for all together and for ambient
    """

    kind: StepKind
    light: str = ""
    frame: SeriesFrame | None = None

    @property
    def name(self) -> str:
        """`all together`, `key alone`, `ambient alone`."""
        return f"{self.light} {self.kind}".strip()


def has_series(revision: Revision) -> bool:
    """Whether the set has so many lights that solos tell more than all together."""
    return len(revision.lights) >= FEWEST_LIGHTS


def steps_of_series(revision: Revision, frames: Iterable[SeriesFrame]) -> tuple[SeriesStep, ...]:
    """The steps of the revision's series in the order in which hands switch, with the newest frames that count.

    frames  of the set-up and the view, in any order; those of another arrangement of the light are left out

    Any frame with all lights may stand for all together; that nearest in time to the newest solo does.
    """
    usable = [one for one in frames if one.path and one.mark != Mark.KILL and same_light(one.revision, revision)]
    usable.sort(key=lambda one: (one.asked_at, one.number))
    by_light = {one.solo: one for one in usable if one.solo}
    ambient = next((one for one in reversed(usable) if one.ambient), None)
    single = [one for one in (*by_light.values(), ambient) if one is not None]
    whole = [one for one in usable if not one.solo and not one.ambient]
    together = whole[-1] if whole else None
    if whole and single:
        newest = max(single, key=lambda one: one.asked_at)
        together = min(whole, key=lambda one: abs(one.asked_at - newest.asked_at))
    return (
        SeriesStep(StepKind.TOGETHER, frame=together),
        *(SeriesStep(StepKind.SOLO, light.name, by_light.get(light.name)) for light in revision.lights),
        SeriesStep(StepKind.AMBIENT, frame=ambient),
    )


def same_light(one: Revision, other: Revision) -> bool:
    """Whether frames of both revisions show the same light through the same lens; notes and region don't count.

    A value that was told later, by tape or by somebody, is no change: only values that both revisions hold can differ.
    """
    parts, others = _things(one), _things(other)
    return (
        _apart_from_things(one) == _apart_from_things(other)
        and len(parts) == len(others)
        and all(map(_may_be_same, parts, others))
    )


def _apart_from_things(revision: Revision) -> Revision:
    settings = replace(revision.settings, file_format=None)
    return Revision(settings=settings, arrangement=revision.arrangement, body=revision.body)


def _things(revision: Revision) -> tuple[PlacedLight | PassiveItem, ...]:
    return (*revision.lights, *revision.passive)


def _may_be_same(one: PlacedLight | PassiveItem, other: PlacedLight | PassiveItem) -> bool:
    if type(one) is not type(other):
        return False
    pairs = {f.name: (getattr(one, f.name), getattr(other, f.name)) for f in fields(one) if f.name != "note"}
    if None in pairs.get("turned_deg", ()):
        del pairs["turned_to"]
    return all(mine == theirs or None in (mine, theirs) for mine, theirs in pairs.values())


def sum_of_series(steps: Iterable[SeriesStep], read: Read = read_solo_picture) -> LightSum:
    """Compare all together with the sum of the solos; raises as `pictures_of_series` and `light_sum` do."""
    steps = tuple(steps)
    return light_sum(*pictures_of_series(steps, read), numbers_of_series(steps))


def ratio_of_series(steps: Iterable[SeriesStep], region: Region, read: Read = read_solo_picture) -> KeyToFill | None:
    """The lighting ratio in the region, by the solos; None without ambient alone or a light's solo.

    read  how pictures are read, so that one that is asked for twice can be kept
    Raises UnreadablePicture with a clause that names the frame.
    """
    lit = [step for step in steps if step.kind is not StepKind.TOGETHER]
    if any(step.frame is None or step.frame.path is None for step in lit):
        return None
    pictures = {step.light: _picture_of(step, read) for step in lit}
    ambient = pictures.pop("")
    if any(picture.light.shape != ambient.light.shape for picture in pictures.values()):
        return None
    counted = ~np.any([picture.burnt for picture in pictures.values()], axis=0)
    over = {name: picture.channels - ambient.channels for name, picture in pictures.items()}
    levels = levels_in_region(over, counted, region)
    return key_to_fill(levels) if levels else None


def numbers_of_series(steps: Iterable[SeriesStep]) -> FrameNumbers:
    """The numbers of a series' frames, as findings name them."""
    found = {(step.kind, step.light): step.frame.number for step in steps if step.frame}
    solos = {light: number for (kind, light), number in found.items() if kind is StepKind.SOLO}
    return FrameNumbers(found.get((StepKind.TOGETHER, "")), solos, found.get((StepKind.AMBIENT, "")))


def pictures_of_series(
    steps: Iterable[SeriesStep], read: Read = read_solo_picture
) -> tuple[SoloPicture, Mapping[str, SoloPicture], SoloPicture]:
    """The pictures of all together, of the solos by their lights, and of ambient; every step must have its frame.

    Raises UnreadablePicture with a clause that names the frame, and ImpossibleNumbersError when a frame is missing, or
    of another size.
    """
    solos, alone = {}, {}
    for step in steps:
        picture = _picture_of(step, read)
        if step.light:
            solos[step.light] = picture
        else:
            alone[step.kind] = picture
    if len({picture.light.shape for picture in (*solos.values(), *alone.values())}) > 1:
        raise ImpossibleNumbersError("of one frame of the series differs in size; shoot all with one setting")
    return alone[StepKind.TOGETHER], solos, alone[StepKind.AMBIENT]


def _picture_of(step: SeriesStep, read: Read) -> SoloPicture:
    """The picture of a step's frame; raises as `pictures_of_series` does."""
    if step.frame is None or step.frame.path is None:
        raise ImpossibleNumbersError(f"the series has no frame of {step.name}")
    try:
        return read(step.frame.path)
    except UnreadablePicture as error:
        raise UnreadablePicture(f"of frame {step.frame.number} {error}") from None
