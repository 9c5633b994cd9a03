"""Error of the drift measured, side by side with scikit-image's phase correlation and log-polar registration.

Photographs that scikit-image ships, at the overview's size of a picture four times as large; shifts to 5 % of the
long side, turns to 3°, light changed by up to 1 EV, with and without a gradient. No limit was chosen on the
pictures used here but for coffee and coins (see `registration`). Run with `-s` to see the errors.
"""

from __future__ import annotations

import numpy as np
import pytest
from skimage.registration import phase_cross_correlation
from skimage.transform import rotate, warp_polar

from session.picture.displacement import motion_between
from session.picture.linear_light import LINEAR
from session.picture.registration import shift_between
from tests.support.made_pictures import Light, coded, moved, photograph, relit, through_jpeg

SIZE = (900, 600)
NAMES = ("astronaut.png", "camera.png", "chelsea.png", "coffee.png", "coins.png", "motorcycle_left.png", "brick.png")
CASES = 6


def seen(light: Light, seed: int) -> np.ndarray:
    return LINEAR[through_jpeg(coded(light, noise_codes=2.0, seed=seed), quality=90)]


def by_scikit_image(reference: np.ndarray, frame: np.ndarray, turned: bool) -> tuple[float, float, float]:
    """(right, down, turn) by the library's documented way: turn by the log-polar spectrum, then the shift."""
    turn_deg = 0.0
    if turned:
        window = np.hanning(reference.shape[0])[:, None] * np.hanning(reference.shape[1])[None]
        polar = []
        for picture in (reference, frame):
            spectrum = np.abs(np.fft.fftshift(np.fft.fft2((picture - picture.mean()) * window)))
            half = warp_polar(np.log1p(spectrum), radius=200, output_shape=(3600, 400), scaling="log")[:1800]
            polar.append(half)
        turn_deg = -float(phase_cross_correlation(*polar, upsample_factor=20, normalization=None)[0][0]) / 10
        frame = rotate(frame, turn_deg, mode="reflect", preserve_range=True)
    back = phase_cross_correlation(reference, frame, upsample_factor=50)[0]
    angle = np.deg2rad(turn_deg)
    right, down = -back[1], -back[0]
    return (
        np.cos(angle) * right - np.sin(angle) * down,
        np.sin(angle) * right + np.cos(angle) * down,
        turn_deg,
    )


@pytest.mark.timeout(1200)
@pytest.mark.parametrize("kind", ["shifted", "shifted and turned"])
def test_drift_is_within_a_tenth_of_a_pixel_and_no_worse_than_the_library(kind: str) -> None:
    chance = np.random.default_rng(20)
    ours, theirs = [], []
    for name in NAMES:
        picture = photograph(name, SIZE) * 0.5
        reference = seen(picture, 0)
        for case in range(CASES):
            right, down = chance.uniform(-0.05, 0.05, 2) * SIZE[0]
            turn_deg = chance.uniform(-3, 3) if "turned" in kind else 0.0
            gradients = chance.uniform(-1, 1, 2) if case % 2 else (0.0, 0.0)
            frame = seen(relit(moved(picture, right, down, turn_deg), chance.uniform(-1, 1), *gradients), case + 1)
            found = motion_between(reference, frame, shift_between(reference, frame))
            assert found is not None, (name, case)
            motion = found[0]
            ours.append((motion.right_px - right, motion.down_px - down, motion.turn_deg - turn_deg))
            library = by_scikit_image(reference, frame, "turned" in kind)
            theirs.append((library[0] - right, library[1] - down, library[2] - turn_deg))
    for who, errors in (("ours", ours), ("scikit-image", theirs)):
        off = np.hypot(*np.array(errors)[:, :2].T)
        turn = np.abs(np.array(errors)[:, 2])
        print(f"{kind}, {who}: shift off by {np.median(off):.3f} px median, {off.max():.3f} at most;", end=" ")
        print(f"turn off by {np.median(turn):.4f}° median, {turn.max():.4f}° at most; {len(off)} cases")
    ours_px, theirs_px = (np.hypot(*np.array(errors)[:, :2].T) for errors in (ours, theirs))
    assert ours_px.max() < 0.1
    assert np.median(ours_px) <= np.median(theirs_px) + 0.02
