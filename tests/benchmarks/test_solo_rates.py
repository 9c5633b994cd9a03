"""How surely a series of solos is found clean, or a single fault in it is told, on random sets of the mock camera.

Two or three lights stand anywhere, with any shaper and tint, as strong as one another up to a quarter, before three
kinds of piece, one of them flat. The limits of `light_sum` were found on other seeds. Run with `-s` to see the rates.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from session.match.light_sum import LightSum, light_sum
from tests.support.solo_sets import solo_set

SEEDS = range(50001, 50101)


def outcome(found: LightSum, name: str) -> str:
    """`fits`, `named`, `not named`, or `wrong`, for a fault of this light's solo."""
    told = {one for finding in found.findings for one in finding.names}
    return "fits" if found.fits else "not named" if not told else "named" if told == {name} else "wrong"


@pytest.mark.timeout(7200)
def test_clean_series_fit_and_single_faults_are_told(tmp_path: Path) -> None:
    told: dict[str, Counter[str]] = {}
    for seed in SEEDS:
        made = solo_set(tmp_path, seed)
        chance = np.random.default_rng(seed + 1)
        name, towards_deg = str(chance.choice(made.names)), float(chance.uniform(0, 360))
        together, solos, ambient = made.together(), made.solos(), made.picture()
        cases = {"clean": solos, "misfired": solos | {name: ambient}}
        for change_ev in (0.2, -0.2):
            made.power_ev[name] += change_ev
            cases[f"{change_ev:+.1f} EV"] = solos | {name: made.picture(name)}
            made.power_ev[name] -= change_ev
        made.move_piece(0.5, towards_deg)
        cases["moved 0.5 px"] = solos | {name: made.picture(name)}
        for case, shot in cases.items():
            told.setdefault(case, Counter())[outcome(light_sum(together, shot, ambient), name)] += 1
        for path in tmp_path.glob("*.jpg"):
            path.unlink()
    for case, counts in told.items():
        print(f"{case:14}", ", ".join(f"{word} {count}" for word, count in counts.items()))
    assert told["clean"]["fits"] >= 0.99 * len(SEEDS)
    faults = [counts for case, counts in told.items() if case != "clean"]
    assert sum(counts["fits"] for counts in faults) <= 0.01 * len(SEEDS) * len(faults)
    assert sum(counts["wrong"] for counts in faults) <= 0.02 * len(SEEDS) * len(faults)
