"""200 logs of 1,000 frames with 1 to 16 flipped bits each: what the read commands say, and what a rescue brings over.

Takes some 25 minutes. Each trial's damage comes from its number alone; no limit was fitted to them. Run apart:
`python -m pytest tests/benchmarks/test_flipped_bits.py -s -q --ignore-glob=`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.flipped_bits import READS, answers, trial
from tests.support.station_logs import station

pytestmark = pytest.mark.timeout(7200)

FRAMES, TRIALS = 1000, 200


def test_two_hundred_damaged_logs(tmp_path: Path) -> None:
    sound = tmp_path / "sound" / "log.sqlite"
    sound.parent.mkdir()
    station(sound, "Movement", frames=FRAMES)
    told = answers(sound)
    trials = [trial(number, sound, told, tmp_path / "trial") for number in range(TRIALS)]
    tracebacks, silent, less = (
        [one for found in trials for one in getattr(found, name)] for name in ("tracebacks", "silent", "less_than_dump")
    )
    lost = sorted(found.lost for found in trials if found.seen)
    unseen = sum(bool(found.changed) for found in trials if not found.seen)
    print(
        f"\n{TRIALS} logs, {TRIALS * len(READS)} commands: {len(tracebacks)} tracebacks. Damage is seen in {len(lost)}"
        f" logs, {len(silent)} of their answers are altered in silence; {unseen} of the others show a changed letter or"
        f" digit. {len(less)} rescues bring less than a dump; rows lost in a rescue:"
        f" {lost[len(lost) // 2]} in the middle, {lost[-1]} at most"
    )
    assert (tracebacks, silent, less) == ([], [], [])
