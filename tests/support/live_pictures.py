"""Live frames for tests without the simulated camera: photographs as small JPEGs, moved, blurred and lit as told."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from session.live.decode import LiveGrey, grey
from tests.support.made_pictures import Light, blurred, coded, jpeg_bytes, photograph

SIZE_PX = (512, 340)


def scene(name: str = "coffee.png") -> Light:
    """A photograph, linear light, larger than a live picture by 20 px all around, so that it may be moved."""
    return photograph(name, (SIZE_PX[0] + 40, SIZE_PX[1] + 40))


def live_jpeg(
    light: Light,
    *,
    right_px: float = 0.0,
    down_px: float = 0.0,
    blur_px: float = 0.0,
    ev: float = 0.0,
    noise_codes: float = 1.0,
    seed: int = 0,
) -> bytes:
    """The middle of a scene, its content moved by cubic splines, blurred by a disc, brighter by `ev`."""
    shown = blurred(light, blur_px)
    if right_px or down_px:
        splines = _splines(light) if not blur_px else ndimage.spline_filter(shown, mode="nearest")
        shown = ndimage.shift(splines, (down_px, right_px), order=3, mode="nearest", prefilter=False)
    shown = shown[20:-20, 20:-20] * 2.0**ev
    return jpeg_bytes(coded(shown, noise_codes=noise_codes, seed=seed), quality=85)


_SPLINES: dict[int, tuple[Light, Light]] = {}


def _splines(light: Light) -> Light:
    """Spline coefficients of a scene, worked out once; the scene is kept so that its identity stays its own."""
    if id(light) not in _SPLINES:
        _SPLINES[id(light)] = light, ndimage.spline_filter(light, mode="nearest")
    return _SPLINES[id(light)][1]


def live_grey(light: Light, **how: float) -> LiveGrey:
    """The same, decoded."""
    return grey(live_jpeg(light, **how))  # type: ignore[arg-type]


def with_hand(codes: np.ndarray, share: float, code: int = 120) -> np.ndarray:
    """A copy with an even, soft-edged patch over the left `share` of the picture."""
    across = np.arange(codes.shape[1]) / codes.shape[1]
    cover = 1 / (1 + np.exp(np.clip((across - share) / 0.015, -50, 50)))
    covered: np.ndarray = np.rint(codes * (1 - cover) + code * cover).astype(np.uint8)
    return covered
