"""The powers that bring the reference's light back, against powers of the mock camera's lights that were changed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from session.match.mix_to_match import mix_to_match
from tests.support.solo_sets import POWER_EV, solo_set


def test_powers_that_were_changed_since_the_reference_are_told_back(tmp_path: Path) -> None:
    """Of a piece that lies 12 px elsewhere, since the new one never lies as the old one; more in the benchmark."""
    made = solo_set(tmp_path, 4004, count=2)
    reference = made.together()
    changed = {"key": -0.7, "fill": 0.4}
    made.power_ev = {name: POWER_EV + changed[name] for name in made.names}
    made.move_piece(12.0, 30.0)
    solos, ambient = made.solos(), made.picture()
    found = mix_to_match(reference, solos, ambient)
    assert found is not None and found.largest_ev < 0.1
    for name, ev in found.changes_ev.items():
        assert ev == pytest.approx(-changed[name], abs=0.1), "what hands can set"

    key_alone = solos["key"]
    without_fill = mix_to_match(key_alone, solos, ambient)
    assert without_fill is not None and abs(without_fill.changes_ev["key"]) < 0.1
    assert without_fill.changes_ev["fill"] < -4, "a light that gave nothing then is told as off"
    burnt = replace(key_alone, burnt=np.ones_like(key_alone.burnt))
    assert mix_to_match(burnt, solos, ambient) is None
    upright = replace(key_alone, light=key_alone.light.T)
    assert mix_to_match(upright, solos, ambient) is None
