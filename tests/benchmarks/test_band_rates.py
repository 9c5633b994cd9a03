"""How often the shutter's shadow is found, and how often something else is taken for it, on photographs.

The limits of `band_alone` were chosen on every other of scikit-image's pictures, by name, from the first; here run
those from the second on, whole and cropped, shaded along the sides to which curtains travel. Run with `-s`.
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest
import skimage.data
from made_pictures import Light, coded, jpeg_bytes, moved, photograph, relit, shadowed

from session.checks import band
from session.checks.material import Material, gather, pair
from session.checks.shadow import Band

LEFT_OUT = {"logo.png", "microaneurysms.png", "phantom.png", "horse.png", "chessboard_RGB.png", "clock_motion.png"}
"""Drawings and pictures of a few pixels."""

SIZE = (768, 512)
CROPS = 8
SHADOWS = ((0.03, 1.0, 0.0), (0.05, 2.0, 0.0), (0.3, 5.0, 0.03), (0.43, 6.0, 0.06), (0.8, 5.0, 0.03))
"""Share, EV and softness of the edge."""


def held_out() -> list[str]:
    folder = Path(skimage.data.__file__).parent
    names = sorted(path.name for path in folder.iterdir() if path.suffix in (".png", ".jpg"))
    return [name for name in names if name not in LEFT_OUT][1::2]


def cropped(light: Light, rng: np.random.Generator) -> Light:
    """A part of the picture at 3:2, scaled to one size by repeating and averaging rows and columns."""
    height, width = light.shape
    tall = int(min(height, width / 1.5) * rng.uniform(0.5, 1))
    wide = int(tall * 1.5)
    top, left = int(rng.integers(0, height - tall + 1)), int(rng.integers(0, width - wide + 1))
    rows = top + (np.arange(SIZE[1]) * tall) // SIZE[1]
    columns = left + (np.arange(SIZE[0]) * wide) // SIZE[0]
    return light[rows][:, columns]


def file_of(folder: Path, light: Light, seed: int) -> Material:
    path = folder / "frame.jpg"
    path.write_bytes(jpeg_bytes(coded(light, noise_codes=1.5, seed=seed)))
    return gather(str(path))


@pytest.mark.timeout(3600)
def test_shadows_are_found_and_photographs_are_not_taken_for_them(tmp_path: Path) -> None:
    rng = np.random.default_rng(31)
    found: dict[tuple[str, tuple[float, float, float]], list[Band | None]] = defaultdict(list)
    false: dict[str, list[bool]] = defaultdict(list)
    for name in held_out():
        for _ in range(CROPS):
            light = cropped(photograph(name), rng)
            reference = file_of(tmp_path, light, 1)
            other = relit(moved(light, *rng.uniform(-15, 15, 2)), rng.uniform(-1, 0.3), *rng.uniform(-1, 1, 2))
            frame = file_of(tmp_path, other, 2)
            false["with reference"].append(band.find(frame, pair(frame, reference), None) is not None)
            false["alone"].append(band.find(frame, None, None) is not None)
            for shadow in SHADOWS:
                side = str(rng.choice(["bottom", "top"]))
                shaded = file_of(tmp_path, shadowed(other, side, *shadow), 3)
                for way, both in (("with reference", pair(shaded, reference)), ("alone", None)):
                    told = band.find(shaded, both, None)
                    found[way, shadow].append(told if told and told.side == side else None)
    print(f"\n{len(held_out())} photographs, {CROPS} crops each")
    for way, alarms in false.items():
        print(f"{way:16} false alarms {np.mean(alarms):.3f}")
    for (way, shadow), bands in found.items():
        errors = [abs(told.share - shadow[0]) for told in bands if told]
        rate, within = np.mean([told is not None for told in bands]), np.mean(np.array(errors) <= 0.01)
        print(f"{way:16} share {shadow[0]:.2f}, {shadow[1]:.0f} EV: found {rate:.3f}, share within 1 % in {within:.3f}")
    assert np.mean(false["with reference"]) <= 0.005
    assert np.mean(false["alone"]) <= 0.02
    for (way, shadow), bands in found.items():
        if way == "with reference":
            assert np.mean([told is not None for told in bands]) >= 0.9, shadow
