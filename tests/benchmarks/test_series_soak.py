"""A focus series by the camera's own drive over the real libgphoto2, cut at each of its frames; takes minutes.

The cable is pulled while the shutter is open and while a file comes, the card fills up, the program and the camera's
process are killed: at each frame in turn. Each time the same command is given again, with the focus back on the first
plane, until the series is whole. Run apart:
`python -m pytest tests/benchmarks/test_series_soak.py -s -q --ignore-glob=`. The same over a scripted camera is
tests/session/shoot/test_series_shoot.py.
"""

from __future__ import annotations

import os
import signal
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.support.mock_process import MockCamera
from tests.support.stillset_program import CAMERA, StillsetHome, children, until_ended

pytestmark = pytest.mark.timeout(3600)

FRAMES, MOST_RUNS = 4, 6
FAULTS: dict[str, dict[str, object]] = {
    "cable in a transfer": {"name": "cable_cut", "when": "transfer", "after_bytes": 4000},
    "cable in the exposure": {"name": "cable_cut", "when": "exposure"},
    "card full": {"name": "card_full"},
    "card full while writing": {"name": "card_full", "when": "writing"},
}
KILLED = ("the program", "the camera's process", "both")


@pytest.fixture(scope="module")
def mock() -> Iterator[MockCamera]:
    with MockCamera("--pixels", "384x256") as mock:
        yield mock


@pytest.mark.parametrize("cut", range(FRAMES))
@pytest.mark.parametrize("mishap", [*FAULTS, *KILLED])
def test_a_series_that_is_cut_at_any_frame_goes_on_without_shooting_again_what_is_good(
    tmp_path: Path, mock: MockCamera, mishap: str, cut: int
) -> None:
    mock.reset()
    mock.hands("turn_focus", to_mm=0.0)
    home, before = StillsetHome(tmp_path), mock.hands("state")["releases"]
    if mishap in FAULTS:
        mock.fault(**FAULTS[mishap], after=cut)  # type: ignore[arg-type]
        series(home, mock)
    else:
        kill_at(home, mock, mishap, cut)
    runs = 1
    while len(good(home)) < FRAMES:
        runs += 1
        assert runs <= MOST_RUNS, [frame["state"] for frame in home.frames()]
        mock.hands("clear_faults")
        mock.hands("turn_focus", to_mm=0.0)
        series(home, mock)
    shot, releases = home.frames(), mock.hands("state")["releases"] - before
    twice = {plane: count for plane, count in good(home).items() if count > 1}
    print(f"{mishap} at frame {cut + 1}: whole after {runs} runs, {releases} releases, {len(shot)} frames in the log")
    assert not twice, "a plane with a good frame was shot again"
    assert releases <= len(good(home)) + 1, "only what may not have been saved is shot once more"
    assert {frame["state"] for frame in shot} <= {"logged", "not fired", "missing", "refused", "called off"}


def options(mock: MockCamera) -> tuple[str, ...]:
    lens = (
        "--lens",
        "Longmere 100 close-up",
        "--magnification",
        "1",
        "--f-number",
        "4",
        "--hold-off-s",
        "0",
        "--light",
        "key",
    )
    plan = ("--frames", str(FRAMES), "--by", "drive", "--steps-per-mm", "100", "--yes", "--json")
    return ("series", "run", "--camera", mock.address, *lens, *plan)


def series(home: StillsetHome, mock: MockCamera) -> int:
    return home.run(*options(mock)).code


def kill_at(home: StillsetHome, mock: MockCamera, victim: str, cut: int) -> None:
    """Begin the series, and kill the victim once `cut` frames have brought a file and the next is on its way."""
    with home.start(*options(mock)) as program:
        program.until(f"Plane {cut + 1} of {FRAMES} is being shot.")
        cameras = children(program.pid, CAMERA)
        if victim != "the camera's process":
            program.kill()
        if victim != "the program":
            for camera in cameras:
                os.kill(camera, signal.SIGKILL)
        for camera in cameras:
            until_ended(camera)
        program.ended()


def good(home: StillsetHome) -> Counter[Any]:
    """Plane of the series → its frames that are saved."""
    saved = [frame for frame in home.frames() if frame["state"] in ("saved", "logged") and frame["series"]]
    return Counter(round(frame["series"]["plane_mm"], 3) for frame in saved)
