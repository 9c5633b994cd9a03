"""The set as it stands, measured from pictures: the newest frame against the reference, solos against old solos.

Pictures are named by their paths, which may be those of small stored copies: every picture is reduced to the same size
before it is compared, so that a copy of 700 px tells nearly as much as the original.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from session.match.camera_framing import Distances, Laid, alike_in_shape, lay
from session.match.key_to_fill import KeyToFill, key_of, key_to_fill, levels_in_region
from session.match.laid_picture import LaidPicture, lay_picture, over_ambient
from session.match.light_match import LightAlone, alone, compare_light
from session.match.match_steps import NOTHING_MEASURED, Measured
from session.match.other_body import arrangement_on
from session.match.solo_picture import SoloPicture, read_solo_picture
from session.match.step_words import FRAMED_PX
from session.optics.framing import field_mm
from session.picture.displacement import Motion
from session.picture.preview import UnreadablePicture
from session.set.lens_in_use import lens_in_use
from session.set.setup import Arrangement, Revision

Read = Callable[[str], SoloPicture]

TOO_LITTLE = "the frame shows too little of the reference; bring the piece to its place and size by eye, and focus"


@dataclass(frozen=True)
class LitPictures:
    """Paths of the pictures of one time: all lights together, each light alone by its name, ambient alone."""

    together: str | None = None
    solos: Mapping[str, str] = field(default_factory=dict)
    ambient: str | None = None


def measure_set(
    revision: Revision,
    sensor_width_mm: float | None,
    then: LitPictures,
    now: LitPictures,
    known: Measured = NOTHING_MEASURED,
    read: Read = read_solo_picture,
) -> Measured:
    """What is known, with what the pictures tell of framing and light.

    read             reads a picture from a path; `read_solo_picture`, or one that keeps what it read
    sensor_width_mm  its long side, of the body of then; None when the kit doesn't know it
    then             the reference and its solos; `now` the newest frame and the newest solos
    """
    if then.together is None or now.together is None:
        return known
    try:
        before, after = _read("the reference", then.together, read), _read("the frame", now.together, read)
        lens = lens_in_use(_arrangement_now(revision, known), revision.settings.f_number or 1.0)
    except ValueError as error:
        return _untold(known, str(error))
    if sensor_width_mm is None:
        return _untold(known, "the kit doesn't know the sensor of the body that shot the reference")
    shape = before.light.shape
    if not alike_in_shape(shape, after.light.shape):
        return _untold(known, "the pictures' sides are in another ratio; set the camera's as before")
    # the sensor's long side lies along the height of an upright picture
    width_mm = field_mm(sensor_width_mm, revision.arrangement.magnification) * min(1.0, shape[1] / shape[0])
    pupil_mm = lens.entrance_pupil_distance_mm
    found = lay(before.light, after.light, width_mm, Distances(pupil_mm, pupil_mm - lens.pupil_mm))
    if found is None:
        return _untold(known, TOO_LITTLE)
    light = compare_light(lay_picture(before, shape, Motion()), lay_picture(after, shape, found.motion))
    before_alone, after_alone = _solos_of(then, shape, Motion(), read), _solos_of(now, shape, found.motion, read)
    solos = _solos(revision, found, before_alone, after_alone, width_mm, known.asked_mm)
    known = replace(known, framing=found.framing, no_framing="", light=light, solos=solos)
    ratios = _ratios(revision, before_alone, after_alone)
    return replace(known, ratio_then=ratios[0], ratio_now=ratios[1]) if ratios else known


def _arrangement_now(revision: Revision, known: Measured) -> Arrangement:
    """The lens as it stands now: a substitute, or another body's sensor, which takes in the field at another ratio."""
    if known.lens_now is not None:
        return known.lens_now
    if known.body_then is None or known.body_now is None:
        return revision.arrangement
    return arrangement_on(revision.arrangement, known.body_then, known.body_now)


def _untold(known: Measured, why: str) -> Measured:
    """What is known without the pictures, and why they tell nothing."""
    return replace(known, framing=None, light=None, solos={}, no_framing=why, ratio_then=None, ratio_now=None)


def _read(what: str, path: str, read: Read) -> SoloPicture:
    """The picture at a path. Raises UnreadablePicture with a clause that begins with `what`."""
    try:
        return read(path)
    except UnreadablePicture as error:
        raise UnreadablePicture(f"{what} {error}") from None


@dataclass(frozen=True, eq=False)
class _Alone:
    """The solos of one time that can be opened, by their lights, and ambient alone; laid onto the reference."""

    solos: Mapping[str, LaidPicture]
    ambient: LaidPicture | None


def _solos_of(pictures: LitPictures, shape: tuple[int, ...], motion: Motion, read: Read) -> _Alone:
    solos = {name: lay_picture(one, shape, motion) for name, one in _open(pictures.solos, shape, read).items()}
    return _Alone(solos, _ambient(pictures, shape, motion, read))


def _solos(
    revision: Revision, laid: Laid, then: _Alone, now: _Alone, width_mm: float, asked_mm: Mapping[str, float]
) -> dict[str, LightAlone]:
    """The comparison of every light whose two solos, of then and of now, can be opened."""
    framed, down_deg = laid.framing.features_px <= FRAMED_PX, revision.view_down_deg
    return {
        name: alone(
            name,
            then.solos,
            then.ambient,
            one,
            now.ambient,
            revision.lights,
            width_mm,
            down_deg,
            framed=framed,
            asked_mm=asked_mm.get(name),
        )
        for name, one in now.solos.items()
        if name in then.solos
    }


def _ratios(revision: Revision, then: _Alone, now: _Alone) -> tuple[KeyToFill, KeyToFill] | None:
    """The lighting ratio of then and of now, over the same pixels; None where a light's solo or ambient alone lacks."""
    names = [light.name for light in revision.lights]
    if then.ambient is None or now.ambient is None or not all({*names} <= one.solos.keys() for one in (then, now)):
        return None
    pictures = [then.ambient, now.ambient, *(one.solos[name] for one in (then, now) for name in names)]
    counted = np.all([picture.counted for picture in pictures], axis=0)
    levels = []
    for one, ambient in ((then, then.ambient), (now, now.ambient)):
        over = {name: over_ambient(one.solos[name], ambient) for name in names}
        levels.append(levels_in_region(over, counted, revision.region))
    if not levels[0] or not levels[1]:
        return None
    key = key_of(levels[0])
    before, after = key_to_fill(levels[0], key), key_to_fill(levels[1], key)
    return (before, after) if before and after else None


def _open(paths: Mapping[str, str], shape: tuple[int, ...], read: Read) -> dict[str, SoloPicture]:
    """The pictures that can be laid onto the reference; a light without one stays unmeasured."""
    opened = {}
    for name, path in paths.items():
        try:
            picture = read(path)
        except UnreadablePicture:
            continue
        if alike_in_shape(shape, picture.light.shape):
            opened[name] = picture
    return opened


def _ambient(pictures: LitPictures, shape: tuple[int, ...], motion: Motion, read: Read) -> LaidPicture | None:
    found = _open({"ambient": pictures.ambient} if pictures.ambient else {}, shape, read)
    return lay_picture(found["ambient"], shape, motion) if found else None
