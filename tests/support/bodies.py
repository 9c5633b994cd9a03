"""`python -m tests.support.bodies FOLDER`: play each camera summary of a folder and shoot two frames with it.

The shoot is the product's: controller, log and the camera's process with libgphoto2. One line a body: what was read of
its settings, what stayed unread, what is wrong against the property's own number, and the frames that the log has
whole. Only bodies that list an exposure time and an f-number are played. The result is 1 when
anything is wrong, or a process died of a signal.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from mock_camera.played.bodies import PLAYED
from mock_camera.played.extension import Extension
from mock_camera.ptp.summary import Summary, SummaryError, parse_summary
from session.cameras.camera_limits import CameraLimits
from session.cameras.widgets import is_timed_by_hand
from session.frame.camera_messages import Reading
from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId
from session.frame.states import FrameState
from session.shoot.acts import ApplyRemedy
from session.shoot.events import CameraFound
from tests.support.frame_of_each_file import Quick
from tests.support.mock_process import MockCamera

LIMITS = CameraLimits(no_file_s=8.0)
SPEED = 60
"""Seconds of the played body to a real one."""
EXPOSURE_S = 1 / 60
NOT_FROM_HERE = "not from here"
SLACK = 0.08
"""A nominal value may be off the exact one by it, as 1/60 s is off 1/64 s, or 30 s off 32 s; 1/3 stop is 26 %."""


@dataclass
class Outcome:
    """What came of one body."""

    name: str
    extension: int
    connected: bool = False
    read: list[str] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    frames: int = 0
    trouble: str = ""

    @property
    def died(self) -> bool:
        """A process was ended by a signal."""
        return "(signal" in self.trouble

    @property
    def by_hand(self) -> bool:
        """The body is set to bulb and takes no time: it is refused as it should be."""
        return NOT_FROM_HERE in self.trouble

    def line(self) -> str:
        """One line of the table."""
        state = f"{self.frames} of 2 frames" if self.connected else "not connected"
        state = "by hand only" if self.by_hand else state
        told = f"{self.name:32} 0x{self.extension:02X}  {state:13}  read {len(self.read):2}"
        unread = f"  unread: {', '.join(self.unread)}" if self.unread else ""
        wrong = f"  WRONG: {', '.join(self.wrong)}" if self.wrong else ""
        return f"{told}{unread}{wrong}{'  ' + self.trouble if self.trouble else ''}"


def expected(summary: Summary) -> dict[str, float | None]:
    """The quantities by the properties' own numbers; None where the number stands for none."""
    kind = PLAYED.get(summary.extension, Extension)
    numbers = {one.code: one.value for one in kind.listed_of(summary)}
    found: dict[str, float | None] = {}
    for code, (setting, read) in kind.quantities.items():
        number = numbers.get(code)
        if isinstance(number, int):
            found[setting] = read(number)
    return found


def compare(reading: Reading, wanted: Mapping[str, float | None], outcome: Outcome) -> None:
    """Note which settings were read, which stayed unread, and which are wrong."""
    for name, setting in sorted(reading.settings.items()):
        value = setting.value
        if value is None:
            outcome.unread.append(f"{name} {setting.shown!r}")
            continue
        outcome.read.append(name)
        if name not in wanted:
            continue
        want = wanted[name]
        is_number = isinstance(value, int | float)
        if want is None:
            if not (name == "iso" and value == 0):
                outcome.wrong.append(f"{name} {value} for none")
        elif not is_number or abs(float(value) - want) > SLACK * want + 0.00005 * (name == "exposure_s"):
            outcome.wrong.append(f"{name} {value} for {want:.6g}")


def first_reading(quick: Quick) -> Reading:
    """The settings as the body had them when it was connected, before those of the set-up were sent."""
    return next(event.reading for event in quick.events if isinstance(event, CameraFound))


def set_a_time(quick: Quick) -> None:
    """Where a finger ends the exposure, have the body end it: such a body isn't released from here."""
    exposure = quick.shoot.shoot_state.reading.settings.get("exposure_s")
    if exposure is not None and is_timed_by_hand(exposure.shown):
        times = [float(time) for time in exposure.allowed if isinstance(time, float)]
        wanted = min(times, key=lambda time: abs(time - EXPOSURE_S), default=EXPOSURE_S)
        remedy = Remedy(RemedyKind.SET_CAMERA, "set a time", {"exposure_s": wanted})
        quick.shoot.do(ApplyRemedy(Finding(RuleId.EXPOSURE_MODE, Level.STOP, "By hand.", remedy=remedy)))
        quick.until(lambda: not quick.shoot.shoot_state.settings_asked)


def shoot_two(quick: Quick, outcome: Outcome) -> None:
    """Shoot two frames, whatever the rules say of this body's settings, and count those that the log has whole."""
    for _ in range(2):
        quick.at_rest(quick.release([finding.id for finding in quick.shoot.findings()]))
    quick.until(lambda: quick.shoot.releases.all_done)
    case = quick.case()
    outcome.frames = sum(state is FrameState.LOGGED and bool(names) for _, state, names in case.frames)
    if case.by_body:
        outcome.trouble = f"taken for releases on the camera: {', '.join(case.by_body)}"
    elif outcome.frames < len(case.frames):
        outcome.trouble = quick.told().replace("\n", " ")


def play(path: Path, summary: Summary) -> Outcome:
    """Connect to the body, read it, shoot two frames."""
    outcome = Outcome(path.stem, summary.extension)
    with (
        tempfile.TemporaryDirectory(prefix="body-") as folder,
        MockCamera("--body", str(path), "--time-scale", str(SPEED)) as mock,
    ):
        try:
            quick = Quick(mock, Path(folder) / "shoot", SPEED, LIMITS)
        except AssertionError as error:
            outcome.trouble = str(error).replace("\n", " ")
            return outcome
        try:
            outcome.connected = True
            compare(first_reading(quick), expected(summary), outcome)
            set_a_time(quick)
            shoot_two(quick, outcome)
        except AssertionError as error:
            outcome.trouble = str(error).replace("\n", " ")
        finally:
            quick.close()
    return outcome


def bodies_in(folder: Path) -> Iterator[tuple[Path, Summary]]:
    """The summaries of the folder that list an exposure time and an f-number."""
    for path in sorted(folder.iterdir()):
        try:
            summary = parse_summary(path.read_text(encoding="utf-8", errors="replace"))
        except (SummaryError, OSError):
            continue
        if {"exposure_s", "f_number"} <= expected(summary).keys():
            yield path, summary


def main(arguments: list[str]) -> int:
    """Play every body of the folder; 1 when one died, or was read wrongly."""
    if len(arguments) != 1 or not Path(arguments[0]).is_dir():
        sys.stderr.write("python -m tests.support.bodies FOLDER\n")
        return 2
    outcomes = []
    for path, summary in bodies_in(Path(arguments[0])):
        outcomes.append(play(path, summary))
        sys.stdout.write(outcomes[-1].line() + "\n")
        sys.stdout.flush()
    bad = [one for one in outcomes if one.died or one.wrong]
    counts = {
        "connected": sum(one.connected for one in outcomes),
        "two frames saved and logged": sum(one.frames == 2 for one in outcomes),
        "by hand only": sum(one.by_hand for one in outcomes),
        "died": sum(one.died for one in outcomes),
        "read wrongly": sum(bool(one.wrong) for one in outcomes),
    }
    sys.stdout.write(f"{len(outcomes)} bodies: {', '.join(f'{count} {what}' for what, count in counts.items())}\n")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
