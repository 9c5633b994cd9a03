"""What judging a picture costs beside a plain script, as CPU seconds.

    python -m tests.support.judge_cost REFERENCE FRAME

A program of its own, so that NumPy's matrix products run on one core, as they do in the judge's process.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from time import process_time

import cv2
import numpy as np

from session.checks.focus.focus_verdict import judge as judge_focus
from session.checks.focus.map import sharpest_place
from session.checks.judge.all_checks import judge
from session.checks.judge.judge_process import RememberedReference
from session.checks.light.brightness import measure as measure_exposure
from session.checks.material.checked_picture import gather, pair
from session.frame.ports import Assignment
from session.picture.preview import decode, open_picture
from session.set.setup import Arrangement, Region, Revision

WIDTH = 8256
ROUNDS = 7
REGION = Region(0.4, 0.4, 0.2, 0.2)


def best_s(*acts: Callable[[], object]) -> list[float]:
    """CPU seconds of the best round of each act, done in turn."""
    taken: list[list[float]] = [[] for _ in acts]
    for _ in range(ROUNDS):
        for act, times in zip(acts, taken, strict=True):
            begun = process_time()
            act()
            times.append(process_time() - begun)
    return [min(times) for times in taken]


def plain(path: str) -> float:
    """A full colour decode and the Laplacian's variance, as a script would take them."""
    picture = cv2.imdecode(np.frombuffer(Path(path).read_bytes(), np.uint8), cv2.IMREAD_COLOR)
    assert picture is not None
    return float(cv2.Laplacian(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), cv2.CV_64F).var())


def assignment(reference: str, frame: str) -> Assignment:
    revision = Revision(region=REGION, arrangement=Arrangement(magnification=0.5))
    return Assignment(
        "f", frame, "jpeg", revision, {}, True, reference_path=reference, sensor_width_mm=36.0, pixels_across=WIDTH
    )


def main() -> None:
    """Print the costs as one JSON object."""
    cv2.setNumThreads(1)
    reference, frame = sys.argv[1:]
    remembered = RememberedReference()
    asked = assignment(reference, frame)
    source = open_picture(frame)

    def focus() -> None:
        limit_px = asked.revision.blur_limit_px
        both = pair(gather(frame, WIDTH, limit_px), remembered(reference, WIDTH, limit_px))
        now = measure_exposure(both.frame, REGION, both)
        judge_focus(both, asked.revision, now, sensor_width_mm=36.0)
        sharpest_place(both)

    parts = {
        "plain script": lambda: plain(frame),
        "bare entropy decode (1/8 grey)": lambda: decode(source, reduce=8),
        "focus: region and map": focus,
        "all checks": lambda: judge(asked, remembered),
    }
    print(json.dumps(dict(zip(parts, best_s(*parts.values()), strict=True))))


if __name__ == "__main__":
    main()
