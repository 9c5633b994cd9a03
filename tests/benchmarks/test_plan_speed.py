"""What a search of a whole kit costs, and what it would cost with the transfer function worked out at each stop.

Four bodies, twelve lenses, five arrangements each, six lights. The other side is the same search with the curve of
`session.optics.sharpness` replaced by the wave optics that it was read from, in turn with ours.

    pytest tests/benchmarks/test_plan_speed.py -s
"""

from __future__ import annotations

import statistics
from time import process_time

import pytest

from session.optics import sharpness
from session.optics.aperture import combined_blur_mm, depth_with_diffraction_mm
from session.optics.diffraction import mtf50, waves_at_mtf50
from session.plan import stops
from session.plan.arrangements import builds
from session.plan.kit_search import rank_plans
from session.plan.wish import Wish
from tests.support.plan_kits import FULL_KIT

ROUNDS = 5
LEAST_RATIO = 1.5
"""By how much the curve has to be quicker than the integrals, to be worth having."""

KIT = FULL_KIT.model_copy(update={"tube": FULL_KIT.tube[:1], "converter": ()})


def exact_depth_mm(blur_mm: float, opening: float, wavelength_um: float) -> float:
    """As sharpness.depth_mm: at life size the opening is the effective f-number, and piece and sensor are alike."""
    return depth_with_diffraction_mm(opening, 1.0, blur_mm, wavelength_um)


def exact_blur_mm(depth_mm: float, opening: float, wavelength_um: float, astigmatism_mm: float = 0.0) -> float:
    return combined_blur_mm((depth_mm + abs(astigmatism_mm)) / (2 * opening), opening, wavelength_um)


def seconds(wish: Wish) -> tuple[float, tuple[float, ...]]:
    """CPU time of one search with nothing remembered of the last one, and the winner's rank."""
    mtf50.cache_clear()
    waves_at_mtf50.cache_clear()
    began = process_time()
    found = rank_plans(KIT, wish)
    return process_time() - began, found.plans[0].rank


def test_the_curve_makes_a_search_quicker_than_the_integrals_do(monkeypatch: pytest.MonkeyPatch) -> None:
    assert sum(1 for _ in builds(KIT)) == 4 * 12 * 5
    ours, exact = [], []
    for turn in range(ROUNDS):
        wish = Wish(
            20 + 3 * turn, 25, 2.4 + 0.1 * turn, delivered_pixels=2400, blur_radius_on_piece_mm=0.015 + 0.0005 * turn
        )
        spent_s, rank = seconds(wish)
        ours.append(spent_s)
        with monkeypatch.context() as patched:
            patched.setattr(sharpness, "depth_mm", exact_depth_mm)
            patched.setattr(stops, "blur_at_ends_mm", exact_blur_mm)
            spent_s, exact_rank = seconds(wish)
        exact.append(spent_s)
        assert rank[:5] == pytest.approx(exact_rank[:5], abs=1e-3)
    ratio = statistics.median(exact) / statistics.median(ours)
    print(
        f"search {ours[0]:.3f} s CPU the first time, then {min(ours):.3f}; by integrals {min(exact):.3f}: {ratio:.1f}"
    )
    assert ratio > LEAST_RATIO
