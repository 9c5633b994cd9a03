"""Working through large arrays: slabs that cover every row once, and means of blocks."""

import numpy as np
import pytest

from mock_camera.scene.arrays import SLAB_ROWS, half_size, slabs


@pytest.mark.parametrize("height", [0, 1, SLAB_ROWS - 1, SLAB_ROWS, SLAB_ROWS + 1, 1000])
def test_slabs_cover_every_row_once_in_order(height: int) -> None:
    rows = [row for part in slabs(height) for row in range(part.start, part.stop)]
    assert rows == list(range(height))
    assert all(0 < part.stop - part.start <= SLAB_ROWS for part in slabs(height))


def test_half_size_is_the_mean_of_each_block() -> None:
    full = np.random.default_rng(1).uniform(size=(6, 8)).astype(np.float32)
    small = half_size(full)
    assert small == pytest.approx(full.reshape(3, 2, 4, 2).mean((1, 3)), abs=1e-6)
    assert small.mean() == pytest.approx(full.mean(), abs=1e-6)
