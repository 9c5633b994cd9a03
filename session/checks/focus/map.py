"""Where in the frame it became sharper than in the reference: that is where the focus went."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from session.checks.focus.measure import PatchEnergies, Window, patch_energies, relative_blur
from session.checks.material.check_limits import SHARPER_PX
from session.checks.material.checked_picture import Material, Pair
from session.picture.noise import noise_of

TILE_PX = 64
"""Side of a tile of the overview: some 70 to 200 tiles a picture. Chosen."""

_LUMA = np.array([77, 150, 29], np.uint16)
"""Weights of R, G and B in luma, 256 for one. ITU-R BT.601, as JPEG uses it."""


def sharpest_place(both: Pair) -> tuple[float, float] | None:
    """The middle of the tile that gained most, (x, y) as shares of the frame, 0 to 1; None when no tile surely did."""
    if not both.same_size:
        return None
    times = both.reference.overview.scale / both.reference.small_scale
    right, down = (round(s * times) if both.shift.found else 0 for s in (both.shift.right_px, both.shift.down_px))
    ours = both.reference.remember("luma", (), lambda: _codes(both.reference))
    theirs = _codes(both.frame)
    height, width = ours.shape
    corners = [
        (top, left)
        for top in range(max(0, -down), height - max(0, down) - TILE_PX + 1, TILE_PX)
        for left in range(max(0, -right), width - max(0, right) - TILE_PX + 1, TILE_PX)
    ]
    if not corners:
        return None
    before = both.reference.remember(
        "map", tuple(corners), lambda: _energies(both.reference, ours, [_tile(top, left) for top, left in corners])
    )
    now = _energies(both.frame, theirs, [_tile(top + down, left + right) for top, left in corners])
    blur = relative_blur(before, now)
    sharper = (blur.radius_px < -float(SHARPER_PX)) & (blur.radius_px + 2 * blur.sd_px < 0)
    if not sharper.any():
        return None
    top, left = corners[int(np.where(sharper, blur.radius_px, np.inf).argmin())]
    return (left + right + TILE_PX / 2) / width, (top + down + TILE_PX / 2) / height


def place_text(place: tuple[float, float]) -> str:
    """A place, (x, y) as shares of the frame, in words: `in the middle`, `at the upper left`, `at the right`."""
    across = ("left", "", "right")[min(2, int(place[0] * 3))]
    along = ("upper", "", "lower")[min(2, int(place[1] * 3))]
    if not across and not along:
        return "in the middle"
    if across and along:
        return f"at the {along} {across}"
    return f"at the {across or {'upper': 'top', 'lower': 'bottom'}[along]}"


def _energies(material: Material, codes: NDArray[np.uint8], windows: list[Window]) -> PatchEnergies:
    steps = material.coding_of(material.overview)
    return patch_energies(codes, windows, noise_of(codes, steps), steps)


def _codes(material: Material) -> NDArray[np.uint8]:
    luma: NDArray[np.uint8] = ((material.overview.pixels @ _LUMA) >> 8).astype(np.uint8)
    return luma


def _tile(top: int, left: int) -> Window:
    return slice(top, top + TILE_PX), slice(left, left + TILE_PX)
