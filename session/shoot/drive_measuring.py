"""The focus drive measured by a sweep in live view: from pictures of known places to steps a mm and play in the kit.

The change of the picture's size tells what a step is worth; `stillset series drive` asks the blur as well, which takes
seconds. What was measured holds in this run at once, and goes into the kit file when somebody asks for it.
"""

from __future__ import annotations

from session.live.drive_sweep import DriveSwept
from session.series.plane_frame import live_plane_frame
from session.series.series_plan import series_lens
from session.series.way_measured import backlash, way_by_size
from session.set.kit import KitError, LensDrive
from session.set.setup import Arrangement
from session.shoot.events import DriveMeasured, KitChanged, Said
from session.shoot.state import ShootState
from session.units.numbers import percent_text, play_text, ratio_text, steps_text

LONGEST_NAME = 50
"""Letters of a lens's name in that of its drive: a name in the kit has at most 80. Chosen."""

NOTHING_TOLD = "The drive could not be measured: too little of the picture has detail by which its size is told."


class DriveMeasuring:
    """What a sweep told of the drive of the lens on the camera, and its way into the kit."""

    def __init__(self, state: ShootState) -> None:
        self._state = state
        self.found: LensDrive | None = None

    def on_swept(self, swept: DriveSwept) -> str:
        """Tell from a sweep what a step is worth, and the drive's play, by an event; returns the sentence on it."""
        try:
            found = self._drive_of(swept)
        except ValueError as error:
            return f"The drive could not be measured: {error}"
        if isinstance(found, str):
            return found
        self.found = found
        self._state.emit(DriveMeasured(found))
        return _words(found)

    def keep(self) -> bool:
        """Put what was measured into the kit file; says what was kept, and why not where it could not be."""
        state, found = self._state, self.found
        if found is None:
            state.emit(Said("No drive was measured."))
            return False
        if not found.lens:
            state.emit(Said("The set-up names no lens, so its drive can't be kept with it: choose the lens first."))
            return False
        if state.keep_drive is None:
            state.emit(Said("The demo's kit can't be changed; start with --kit and a file of your own."))
            return False
        try:
            state.kit = state.keep_drive(found)
        except KitError as error:
            state.emit(Said(str(error)))
            return False
        self.found = None
        text = f"{found.name}: {_numbers(found)}"
        state.record("drive", text)
        state.emit(KitChanged(state.kit))
        state.emit(DriveMeasured(None))
        state.emit(Said(f"Kept with the kit: the drive of {text}."))
        return True

    def _drive_of(self, swept: DriveSwept) -> LensDrive | str:
        """The drive, or the sentence on why it isn't told. Raises ValueError where the set-up lacks a number."""
        state = self._state
        arrangement, body = state.revision.arrangement, state.body
        frames = [live_plane_frame(codes, body.pixels_across if body else codes.shape[1]) for codes in swept.pictures]
        way = way_by_size(swept.places, frames, series_lens(state.revision, state.kit, body), by_rail=False)
        if way is None or swept.out is None or swept.back is None:
            return NOTHING_TOLD
        play = backlash(swept.out.at_steps, swept.out.at_sd_steps, swept.back.at_steps, swept.back.at_sd_steps)
        steps_per_mm = 1 / way.mm_per_place
        return LensDrive(
            name=_name(arrangement),
            lens=arrangement.lens,
            magnification=arrangement.magnification,
            extension_mm=arrangement.extension_mm,
            converter=arrangement.converter,
            dioptres=arrangement.dioptres,
            steps_per_mm=steps_per_mm,
            steps_per_mm_sd=steps_per_mm * way.sd_share,
            play_steps=max(0.0, float(round(play.steps))),
            measured_on=state.clock.now().date(),
        )


def _name(arrangement: Arrangement) -> str:
    """`macro 100 at 1:1`, with what stands behind the lens."""
    parts = [f"{arrangement.lens[:LONGEST_NAME] or 'lens'} at {ratio_text(arrangement.magnification)}"]
    if arrangement.extension_mm:
        parts.append(f"{arrangement.extension_mm:g} mm tubes")
    if arrangement.converter != 1:
        parts.append(f"{arrangement.converter:g}x")
    if arrangement.dioptres:
        parts.append(f"{arrangement.dioptres:g} dpt")
    return " + ".join(parts)


def _numbers(found: LensDrive) -> str:
    """`118 steps a mm ± 5 %, play 31 steps`."""
    sure = f" ± {percent_text(found.steps_per_mm_sd / found.steps_per_mm)}" if found.steps_per_mm_sd else ""
    return f"{steps_text(found.steps_per_mm)} steps a mm{sure}, {play_text(found.play_steps)}"


def _words(found: LensDrive) -> str:
    return f"Measured at {ratio_text(found.magnification)}: {_numbers(found)}."
