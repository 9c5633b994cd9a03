"""A build focused to a ratio: the equivalent lens, the working distance, the track.

Only the ratio, the pupils and the parts' lengths count here; light and sharpness follow in `best_stop`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from session.optics.arrangement import EquivalentLens
from session.optics.closeup import entrance_pupil_distance_mm
from session.optics.framing import reversed_working_distance_mm
from session.plan.arrangements import Build
from session.plan.wish import NoPlanError
from session.set.kit import KitLacksError
from session.set.lens_in_use import lens_in_use
from session.set.setup import Arrangement

LEAST_RATIO = 0.01
"""Below 1:100 nothing is close up. Chosen."""

BISECTIONS = 30
"""Halvings of the focus range: to a billionth of it."""


@dataclass(frozen=True)
class Mounted:
    """A build focused to one ratio.

    own_ratio            what the lens by itself is focused to
    arrangement          the same as a set-up has it
    lens                 the one lens it acts as, at f/1: its effective f-number is what f/N is multiplied by
    working_distance_mm  piece to the foremost rim (or to the mount of a reversed lens); None when not known
    track_mm             piece to sensor; None when not known
    """

    build: Build
    own_ratio: float
    arrangement: Arrangement
    lens: EquivalentLens
    working_distance_mm: float | None
    track_mm: float | None

    @property
    def magnification(self) -> float:
        """Image over piece, of the whole."""
        return self.arrangement.magnification

    @property
    def focal_length_mm(self) -> float:
        """Focal length of the lens by itself at this focus, mm."""
        return self.arrangement.focal_length_mm


def mount_build(build: Build, wanted_ratio: float) -> Mounted:
    """The build at the wanted ratio, or as near to it as it comes.

    Raises ValueError where it forms no close-up picture, or the kit tells too little or nonsense.
    """
    return _focus_build(build, build.own_ratio_for(wanted_ratio))


def focus_farther(mounting: Mounted, working_distance_mm: float) -> Mounted | None:
    """The same build focused farther away, so that just this working distance, mm, is left.

    None where the build can't be focused so far away.
    """
    build, low, high = mounting.build, 0.0, mounting.own_ratio
    if not _leaves(build, low, working_distance_mm):
        return None
    for _ in range(BISECTIONS):
        middle = (low + high) / 2
        low, high = (middle, high) if _leaves(build, middle, working_distance_mm) else (low, middle)
    return _focus_build(build, low) if (build.ratio(low) or 0.0) >= LEAST_RATIO else None


def _focus_build(build: Build, own: float) -> Mounted:
    ratio = build.ratio(own)
    if ratio is None:
        raise KitLacksError(
            f"the kit lacks flange_distance_mm of {build.body.name}, or where {build.lens.name} looks out from."
        )
    if ratio < LEAST_RATIO:
        why = "the lens is too long to be reversed on so little" if build.ring else "closest_magnification isn't known"
        raise NoPlanError(f"it forms no close-up picture: {why}.")
    focal_mm = build.focal_length_mm(own)
    arrangement = Arrangement(
        lens=build.lens.name,
        focal_length_mm=focal_mm,
        magnification=ratio,
        pupil_magnification=build.pupil_magnification,
        reversed=build.ring is not None,
        extension_mm=build.extension_mm,
        dioptres=build.supplementary.dioptres if build.supplementary else 0.0,
        gap_mm=build.gap_mm(focal_mm),
        converter=build.converter.factor if build.converter else 1.0,
    )
    room_mm = _working_distance_mm(build, own)
    behind_mm = _rim_to_sensor_mm(build, own, ratio, focal_mm)
    track_mm = None if room_mm is None or behind_mm is None else room_mm + behind_mm
    return Mounted(build, own, arrangement, lens_in_use(arrangement, 1.0), room_mm, track_mm)


def _leaves(build: Build, own: float, room_mm: float) -> bool:
    there_mm = _working_distance_mm(build, own)
    return there_mm is not None and there_mm >= room_mm


def _working_distance_mm(build: Build, own: float) -> float | None:
    lens, focal_mm = build.lens, build.focal_length_mm(own)
    if build.ring:
        flange_mm, ratio = build.body.flange_distance_mm, build.ratio(own)
        return None if flange_mm is None or ratio is None else reversed_working_distance_mm(focal_mm, flange_mm, ratio)
    behind_lens = own + build.extension_mm / focal_mm
    inside_mm = build.front_to_pupil_mm()
    if behind_lens == 0:
        room_mm: float | None = math.inf
    elif inside_mm is None:
        room_mm = None
    else:
        room_mm = entrance_pupil_distance_mm(focal_mm, behind_lens, lens.pupil_magnification) - inside_mm
    if build.supplementary is None or room_mm is None:
        return room_mm
    # The close-up lens, thin, on the front rim: it brings what the lens is focused to nearer.
    return 1 / (build.supplementary.dioptres / 1000 + 1 / room_mm) if room_mm else 0.0


def _rim_to_sensor_mm(build: Build, own: float, ratio: float, focal_mm: float) -> float | None:
    gap_mm = build.lens.principal_gap_mm
    if build.ring:
        flange_mm = build.body.flange_distance_mm
        # Mount to the principal plane next to it, then both planes' gap, then the image distance.
        return None if flange_mm is None else focal_mm - flange_mm + gap_mm + focal_mm * (1 + ratio)
    plane_mm = build.front_to_plane_mm(focal_mm)
    if plane_mm is None:
        return None
    behind_lens = own + build.extension_mm / focal_mm
    return plane_mm + gap_mm + focal_mm * (1 + behind_lens) + (build.converter.length_mm if build.converter else 0.0)
