"""A plane's place and name, and the way of the drive to it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from session.frame.series_plane import Approach, MovedBy, SeriesToRun
from session.optics.steps import MOST_FRAMES

SERIES = SeriesToRun("an id", 4, 0.88, 1.32, MovedBy.DRIVE, steps_per_mm=100.0)


def test_planes_lie_a_step_apart_away_from_the_side_they_are_come_to_from() -> None:
    assert SERIES.planes_mm == (0.0, 0.88, 1.76, pytest.approx(2.64))
    assert replace(SERIES, approach=Approach.FAR).planes_mm == tuple(-mm for mm in SERIES.planes_mm)


def test_a_plane_is_called_by_its_number_or_by_its_place() -> None:
    assert SERIES.plane(1.76).name == "plane 3 of 4"
    assert SERIES.plane(1.32).name == "plane at 1.32 mm"
    assert SERIES.plane(3.52).name == "plane at 3.52 mm", "beyond the plan"
    assert replace(SERIES, approach=Approach.FAR).plane(-0.88).name == "plane 2 of 4"
    assert SERIES.plane(-0.88).name == "plane at −0.88 mm", "in front of the first"


@pytest.mark.parametrize(
    "told",
    [
        {"plane_mm": 1e308, "step_mm": 1e-3},
        {"step_mm": 5e-324},
        {"plane_mm": float("inf")},
        {"depth_mm": 1e308},
        {"frames": 2**31 - 1},
        {"steps_per_mm": 1e300},
    ],
)
def test_numbers_of_no_series_are_refused_and_end_nothing(told: dict[str, Any]) -> None:
    plane = replace(SERIES.plane(0.88), **told)
    assert plane.name and len(plane.planes_mm) <= MOST_FRAMES
    with pytest.raises(ValueError, match="no plane of a focus series"):
        plane.check()
    SERIES.plane(-3.0).check()


def test_a_ring_turns_less_for_each_further_millimetre_and_the_way_back_is_the_same() -> None:
    """By the thin lens: image distance f(1 + m), object distance f(1 + 1/m)."""
    f, m = 60.0, 1.2
    ring = replace(SERIES, reach_mm=f / m)
    for plane_mm in (-2.0, 1.5, 3.0, 6.0):
        further = f / (f / m + plane_mm)  # the ratio with the object distance f + f/m longer by plane_mm
        # 1/a + 1/b = 1/f at both places
        assert 1 / (f + f / m + plane_mm) + 1 / (f * (1 + further)) == pytest.approx(1 / f)
        extension_mm = f * (m - further) / m**2  # per mm at the first plane the lens moves m² mm
        assert ring.steps_to(plane_mm) == pytest.approx(100 * extension_mm, abs=0.5)
        assert ring.mm_at(ring.steps_to(plane_mm)) == pytest.approx(plane_mm, abs=0.02)
    assert SERIES.steps_to(2.0) == 200 and SERIES.mm_at(200) == 2.0
