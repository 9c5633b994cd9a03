"""Array types, and working through a large array in slabs that stay in the processor's cache."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.floating[Any]]
"""Real values; float32 wherever there is one per pixel."""
Spectrum: TypeAlias = NDArray[np.complexfloating[Any, Any]]

SLAB_ROWS = 48


def slabs(height: int) -> Iterator[slice]:
    """Row slices that cover `height` rows."""
    for top in range(0, height, SLAB_ROWS):
        yield slice(top, min(top + SLAB_ROWS, height))


def half_size(full: Floats) -> Floats:
    """Mean of each 2 x 2 block of an (h, w) array with even sides."""
    mean: Floats = full[::2, ::2] + full[1::2, ::2]
    mean += full[::2, 1::2]
    mean += full[1::2, 1::2]
    mean *= np.float32(0.25)
    return mean
