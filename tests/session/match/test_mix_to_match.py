"""The powers that bring the reference's light back, against powers of the mock camera's lights that were changed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from session.match.mix_to_match import mix_to_match
from tests.support.solo_sets import POWER_EV, solo_set


@pytest.mark.parametrize(("seed", "moved_px"), [(4002, 0.0), (4004, 12.0)])
def test_powers_that_were_changed_since_the_reference_are_told_back(tmp_path: Path, seed: int, moved_px: float) -> None:
    """Also of a piece that lies 12 px elsewhere: the new one never lies as the old one."""
    made = solo_set(tmp_path, seed, count=2)
    reference = made.together()
    changed = {"key": -0.7, "fill": 0.4}
    made.power_ev = {name: POWER_EV + changed[name] for name in made.names}
    made.move_piece(moved_px, 30.0)
    found = mix_to_match(reference, made.solos(), made.picture())
    assert found is not None and found.largest_ev < 0.1
    for name, ev in found.changes_ev.items():
        assert ev == pytest.approx(-changed[name], abs=0.1), "what hands can set"


def test_a_light_that_gave_nothing_then_is_told_as_off_and_burnt_or_unlike_pictures_tell_nothing(
    tmp_path: Path,
) -> None:
    made = solo_set(tmp_path, 4002, count=2)
    solos, ambient, key_alone = made.solos(), made.picture(), made.picture("key")
    found = mix_to_match(key_alone, solos, ambient)
    assert found is not None and abs(found.changes_ev["key"]) < 0.1 and found.changes_ev["fill"] < -4
    burnt = replace(key_alone, burnt=np.ones_like(key_alone.burnt))
    assert mix_to_match(burnt, solos, ambient) is None
    upright = replace(key_alone, light=key_alone.light.T)
    assert mix_to_match(upright, solos, ambient) is None
