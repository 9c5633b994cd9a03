"""Photographs relit and tinted, as the pairs of frame and reference that the checks on light look at."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from session.checks.material.checked_picture import Material, Pair, gather, pair
from tests.support.made_pictures import Light, coded, jpeg_bytes


def material(folder: Path, light: Light, tint: tuple[float, float, float] | Light = (1.0, 1.0, 1.0)) -> Material:
    """Linear light (height, width) in a tint, as a JPEG file opened by the checks."""
    rgb = light[..., None] * np.asarray(tint)
    path = folder / f"{len(list(folder.iterdir()))}.jpg"
    path.write_bytes(jpeg_bytes(coded(rgb, noise_codes=1.5, seed=len(path.name)), quality=92, subsampling=0))
    return gather(str(path))


def changed(folder: Path, before: Light, after: Light, tint: tuple[float, float, float] | Light = (1, 1, 1)) -> Pair:
    """A frame and its reference, linear light (height, width) each; the tint is the frame's."""
    return pair(material(folder, after, tint), material(folder, before))
