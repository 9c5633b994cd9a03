"""A picture turned so that a side lies last, and its rows in groups of columns."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from session.checks.band.shadow import GROUPS, SIDES, Band, groups_of, side_last


@pytest.mark.parametrize("side", SIDES)
def test_the_named_side_lies_at_the_end_of_the_rows(side: str) -> None:
    light = np.zeros((30, 50), np.float32)
    edge: Any = {"bottom": np.s_[-1, :], "top": np.s_[0, :], "right": np.s_[:, -1], "left": np.s_[:, 0]}[side]
    light[edge] = 1
    turned = side_last(light, side)
    assert turned.shape == ((30, 50) if side in ("bottom", "top") else (50, 30))
    assert turned[-1].all() and not turned[:-1].any()


@pytest.mark.parametrize("width", [GROUPS, GROUPS + 1, 100, 1399])
def test_groups_are_means_of_all_columns_each_counted_once(width: int) -> None:
    light = np.random.default_rng(width).uniform(size=(7, width)).astype(np.float32)
    groups = groups_of(light)
    assert groups.shape == (7, GROUPS)
    sizes = np.diff(np.linspace(0, width, GROUPS + 1).astype(int))
    assert (groups * sizes).sum(axis=1) == pytest.approx(light.sum(axis=1), rel=1e-5)
    assert groups[:, 0] == pytest.approx(light[:, : sizes[0]].mean(axis=1), rel=1e-5)


def test_a_band_says_whether_it_was_told_without_a_reference() -> None:
    assert not Band("top", 0.1, 0.12, 3.0).by_itself
