"""How much blurrier one picture of a piece is than another, as the radius of a disc.

A patch out of focus is the sharp patch under a disc: at spatial frequency f (cycles/px) its contrast falls by
H(f, r) = 2·J1(x)/x, x = 2π·f·r, so its energy by H². The energies of frame and reference are compared in
bands of frequency, and the radius is the one whose H² explains their ratios best, with the gain left free:

    E_frame(band) ≈ g · mean over the band of [H²(f, r) · (E_reference(f) − noise)] + noise

- Light drops out: contrast is relative to its local mean, and the free gain g takes what relighting does to
  the piece's relief at all frequencies alike.
- Noise is measured in the flattest places of each picture and stands in the model: a band that shows only
  noise tells nothing, instead of telling 'sharp'. The measure errs for all bands alike, and what a little more noise
  leaves of the finest bands looks like a little blur, so it is left free as well, within its own error.
- Moving drops out nearly: energies know no position. The patch needs only to hold the same content.
- The reverse is fitted too, reference = frame under a disc; then the radius counts as negative.

The blur is relative: with a reference that is itself out of focus by r₀, a frame out by r₁ measures √(r₁² − r₀²).
Stacks of patches are measured at once: the region is one patch or a few, the map is many.

Source of H: transfer function of a uniform disc, e.g. Goodman, Introduction to Fourier Optics. The fit is our
own; tests/benchmarks/test_focus_rates.py shows what it is worth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.optics.diffraction import transfer_of_disc
from session.picture.linear_light import LIGHT_PER_CODE, LINEAR, ONE_CODE

Floats = NDArray[np.float64]
Window = tuple[slice, slice]

LOWEST_WAVES = 2.5
"""Bands begin at this many waves across the patch: fewer are the taper's own doing. Chosen on synthetic pictures."""

HIGHEST_CYCLES_PER_PX = 0.5
"""Nyquist; the corners of the spectrum beyond hold mostly noise and aliasing."""

BAND_RATIO = 1.35
"""Upper to lower edge of a band: some ten bands between the two limits above."""

BIN_RATIO = 1.03
"""Upper to lower edge of a fine bin, in which the reference's energy is weighed with H² before it is summed into
bands, so that a striped piece, all energy at one frequency, is predicted rightly."""

HANN_SPREAD = 2.25
"""Neighbouring bins that a two-dimensional Hann taper ties together: 1.5², its noise bandwidth."""

DOUBT, RELIT_DOUBT = 0.02, 0.12
"""Standard deviation, in the logarithm of energy, by which any band may leave the model besides noise; the second
when shading changed its pattern. Measured on four photographs on which no benchmark counts the focus (camera, coins,
astronaut, brick), where what is coarser than 8 px left it by 0.02 at most, and with moved lights of the mock camera."""

GRID_DOUBT, MOVED_GRID_DOUBT, CODING_DOUBT = 0.1, 0.3, 0.2
"""Standard deviations added to DOUBT at the finest frequency, less with the cube of frequency: for the piece's place
between the pixels, the second when it was moved or turned; and for JPEG coding at quality 80, at finer quality as much
less as its quantisation steps are. Measured on the same photographs at full, half and quarter size, coded at quality 80
to 95: moved and turned by up to 24 px and 2°, 0.03 at 0.24 cycles/px, 0.06 to 0.09 at 0.3 to 0.37, 0.1 to 0.2 at 0.45.
"""

STEP_AT_80 = 33.0
"""Mean of the luma steps at quality 80 in the standard's example tables (T.81 table K.1, scaled by 0.4) over the
finer half of the frequencies."""

CONTENT_DOUBT = 0.01
"""Share of a band's energy that comes and goes at a patch's edges when the piece moved a little. On these photographs
none was seen beside the noise (0.02 to 0.04 in the logarithm of the coarsest bands, where this alone makes 0.05)."""

NOISE_DOUBT = 0.25
"""Relative standard deviation of the noise estimate: it varies over the picture with brightness and coding. Guessed."""

GAIN_DOUBT = 1.5
"""Standard deviation of the logarithm of g; e^1.5 is a change of contrast by 2.1 times. Keeps the fit from
taking a huge blur for a flat light. Guessed."""

DETAIL_OVER_NOISE = 0.7
"""A band of the sharper picture counts when its energy stands out of the noise by at least this many times it."""

LOCAL = 4
"""A patch's contrast is taken against the mean over this fraction of its side: waves longer than that are light."""

SINGLE_STEP = 2
"""A single patch tries every second radius, 0.2 px apart: half of its own standard deviation, which is seldom below
0.4 px. Chosen."""

GAIN_STEPS = 5
ROBUST = 4.0
"""Cost of a residual of z standard deviations: ROBUST·log(1 + z²/ROBUST), so one odd band doesn't decide."""


@dataclass(frozen=True, eq=False)
class PatchEnergies:
    """Energies of a stack of patches, contrast² per mode.

    energy     (patches, bins) mean over the modes of each fine bin
    modes      (bins,) independent modes in each bin
    noise      (patches,) energy of the noise, the same at all frequencies
    frequency  (bins,) cycles/px
    band_at    (bands,) index of each band's first bin
    coding     what JPEG coding may change the finest energies by, in the logarithm
    """

    energy: Floats
    modes: Floats
    noise: Floats
    frequency: Floats
    band_at: NDArray[np.intp]
    coding: float


@dataclass(frozen=True)
class Changes:
    """Known changes between two pictures besides blur, for which energies may differ more.

    relit  shading changed its pattern
    moved  the piece or the camera moved or turned
    """

    relit: bool = False
    moved: bool = False


NOTHING = Changes()


@dataclass(frozen=True, eq=False)
class RelativeBlur:
    """Radius of the disc for each patch (or one for all), px at hand; negative: sharper than the reference.

    radius_px, sd_px  (patches,) or (1,) when pooled
    misfit            cost per band; about 1 when the model holds
    """

    radius_px: Floats
    sd_px: Floats
    misfit: Floats


def patch_energies(
    codes: NDArray[np.uint8], windows: Sequence[Window], noise_variance: float, steps: tuple[int, ...] = ()
) -> PatchEnergies:
    """Energies of the windows of a grey picture.

    codes           (height, width) sRGB code values
    windows         (rows, columns) slices, all of one size, at least 32 px each way
    noise_variance  of the picture, code²
    steps           the 64 luma quantisation steps of its JPEG; () when it was averaged down since
    """
    codes, windows = _around(codes, windows)
    light = LINEAR[codes]
    mean = _local_mean(light, _size(windows[0])) + np.float32(4 * ONE_CODE)
    height, width = _size(windows[0])
    layout = _layout(height, width)
    taper = np.outer(np.hanning(height + 2)[1:-1], np.hanning(width + 2)[1:-1]).astype(np.float32)
    weight = float((taper**2).sum())
    contrast = _stack(light / mean - 1, windows) * taper
    contrast -= contrast.sum(axis=(1, 2), keepdims=True) / taper.sum() * taper
    power = np.abs(np.fft.rfft2(contrast)) ** 2 / weight
    flat = power.reshape(len(windows), -1)[:, layout.order] * layout.weights
    energy = np.add.reduceat(flat, layout.bin_at, axis=1) / np.add.reduceat(layout.weights, layout.bin_at)
    noise = ((_stack(LIGHT_PER_CODE[codes] / mean, windows) * taper) ** 2).sum(axis=(1, 2), dtype=np.float64)
    return PatchEnergies(
        energy=energy,
        modes=layout.modes,
        noise=noise * noise_variance / weight,
        frequency=layout.frequency,
        band_at=layout.band_at,
        coding=CODING_DOUBT * _coarseness(steps),
    )


def _coarseness(steps: tuple[int, ...]) -> float:
    """Mean luma step of the finer half of the frequencies, against that of quality 80."""
    if len(steps) != 64:
        return 0.0
    down, right = np.divmod(np.arange(64), 8)
    return float(np.array(steps)[down + right >= 7].mean()) / STEP_AT_80


def relative_blur(
    reference: PatchEnergies, frame: PatchEnergies, changes: Changes = NOTHING, *, pooled: bool = False
) -> RelativeBlur:
    """Radius by which the frame's patches are blurrier than the reference's, of patches of one size.

    pooled  one radius for all patches, each with a gain of its own
    """
    radii = _radii(float(reference.frequency[0]))[:: 1 if pooled else SINGLE_STEP]
    blurrier = _costs(reference, frame, radii, changes)
    sharper = _costs(frame, reference, radii, changes)
    costs = np.concatenate([sharper[:, :0:-1], np.minimum(blurrier, sharper)[:, :1], blurrier[:, 1:]], axis=1)
    signed = np.concatenate([-radii[:0:-1], radii])
    if pooled:
        # the mean, not the sum: what relighting does to one patch it does to all
        costs = costs.mean(axis=0, keepdims=True)
    return _minimum(signed, costs, float(len(reference.band_at)))


def choose_patches(patches: PatchEnergies, which: NDArray[np.bool_]) -> PatchEnergies:
    """The patches where the mask `which`, (patches,), is true."""
    return replace(patches, energy=patches.energy[which], noise=patches.noise[which])


def detectability(
    reference: PatchEnergies, frame: PatchEnergies, radius_px: float, changes: Changes = NOTHING
) -> float:
    """How many standard deviations apart a blur of this radius, px, would stand, given the detail and both noises."""
    expected = _predict_energy(reference, np.array([radius_px]))[:, 0] + frame.noise[:, None]
    cost = _fit(_predict_energy(reference, np.zeros(1)), reference, frame, expected[:, None, :], changes)
    return float(np.sqrt(cost.mean()))


@dataclass(frozen=True, eq=False)
class _Layout:
    """Which bins of a half spectrum, flattened, make up which fine bin."""

    order: NDArray[np.intp]
    weights: Floats
    bin_at: NDArray[np.intp]
    modes: Floats
    frequency: Floats
    band_at: NDArray[np.intp]


@lru_cache(maxsize=8)
def _layout(height: int, width: int) -> _Layout:
    frequency = np.hypot(np.fft.fftfreq(height)[:, None], np.fft.rfftfreq(width)[None]).ravel()
    weights = np.full((height, width // 2 + 1), 2.0)
    weights[:, 0] = 1.0  # the half spectrum holds these columns whole, all others stand for two
    if width % 2 == 0:
        weights[:, -1] = 1.0
    step = 1 / min(height, width)
    edges = [LOWEST_WAVES * step]
    while edges[-1] < HIGHEST_CYCLES_PER_PX:
        edges.append(max(edges[-1] + step, edges[-1] * BIN_RATIO))
    edges[-1] = HIGHEST_CYCLES_PER_PX
    number = np.digitize(frequency, edges) - 1
    order = np.argsort(number, kind="stable")
    order = order[(number[order] >= 0) & (number[order] < len(edges) - 1)]
    bin_at = np.flatnonzero(np.diff(number[order], prepend=-1))
    lower = np.array(edges)[number[order][bin_at]]
    chosen = weights.ravel()[order]
    total = np.add.reduceat(chosen, bin_at)
    centre = np.add.reduceat(frequency[order] * chosen, bin_at) / total
    band = np.floor(np.log(lower / lower[0]) / np.log(BAND_RATIO) + 1e-9)
    band_at = np.flatnonzero(np.diff(band, prepend=-1))
    return _Layout(order, chosen, bin_at, total / 2 / HANN_SPREAD, centre, band_at)


def _size(window: Window) -> tuple[int, int]:
    rows, columns = window
    return rows.stop - rows.start, columns.stop - columns.start


def _local_side(patch: tuple[int, int]) -> int:
    return max(4, min(patch) // LOCAL)


def _around(codes: NDArray[np.uint8], windows: Sequence[Window]) -> tuple[NDArray[np.uint8], list[Window]]:
    """The part of the picture that the windows and their local means need, and the windows' places in the part."""
    side = _local_side(_size(windows[0]))
    reach = 2 * side  # more than the interpolation looks at on either side
    spans = []
    for axis in (0, 1):
        first, last = min(w[axis].start for w in windows), max(w[axis].stop for w in windows)
        spans.append(
            slice(max(0, first - reach) // side * side, min(codes.shape[axis], -(-last // side) * side + reach))
        )
    down, right = (span.start for span in spans)
    shifted = [
        (slice(rows.start - down, rows.stop - down), slice(columns.start - right, columns.stop - right))
        for rows, columns in windows
    ]
    return codes[spans[0], spans[1]], shifted


def _stack(values: NDArray[np.float32], windows: Sequence[Window]) -> NDArray[np.float32]:
    return np.stack([values[window] for window in windows])


def _local_mean(light: NDArray[np.float32], patch: tuple[int, int]) -> NDArray[np.float32]:
    """Light averaged over blocks of a quarter of a patch, and interpolated between them.

    Bilinear: bicubic undershoots beside bright edges, and where the mean falls to nothing light over mean makes fine
    detail that no blur takes away.
    """
    side = _local_side(patch)
    height, width = light.shape
    small = Image.fromarray(light).reduce(side)
    # the last blocks are cut by the picture's edge: scale as if they were whole, so that blocks stay in place
    whole = small.resize((small.width * side, small.height * side), Image.Resampling.BILINEAR)
    mean: NDArray[np.float32] = np.maximum(np.asarray(whole)[:height, :width], 0)
    return mean


def _radii(lowest_cycles_per_px: float) -> Floats:
    """Radii to try: every 0.1 px, from 3 px on every 5 %, up to where even the lowest band has all but gone."""
    largest = 0.5 / lowest_cycles_per_px
    coarse = 3 * 1.05 ** np.arange(max(1, int(np.log(max(largest, 3.2) / 3) / np.log(1.05))))
    return np.concatenate([np.arange(0, 30) / 10, coarse])


@lru_cache(maxsize=64)
def _energy_share(radii: tuple[float, ...], frequency: tuple[float, ...]) -> Floats:
    """H² for each radius and frequency."""
    passed: Floats = transfer_of_disc(2 * np.outer(radii, frequency)) ** 2
    return passed


def _predict_energy(sharp: PatchEnergies, radii: Floats) -> Floats:
    """Band energies of the sharp patches under each disc, noise taken off; (patches, radii, bands)."""
    passed = _energy_share(tuple(radii), tuple(sharp.frequency))
    detail = (sharp.energy - sharp.noise[:, None]) * sharp.modes
    weighed = np.add.reduceat(detail[:, None, :] * passed[None], sharp.band_at, axis=2)
    return np.asarray(weighed / np.add.reduceat(sharp.modes, sharp.band_at))


def _band_energy(patches: PatchEnergies) -> Floats:
    total = np.add.reduceat(patches.energy * patches.modes, patches.band_at, axis=1)
    return np.asarray(total / np.add.reduceat(patches.modes, patches.band_at))


def _costs(sharp: PatchEnergies, blurred: PatchEnergies, radii: Floats, changes: Changes) -> Floats:
    """Misfit of 'blurred is sharp under a disc', (patches, radii)."""
    return _fit(_predict_energy(sharp, radii), sharp, blurred, _band_energy(blurred)[:, None, :], changes)


def _fit(predicted: Floats, sharp: PatchEnergies, blurred: PatchEnergies, measured: Floats, changes: Changes) -> Floats:
    """Cost of each prediction (patches, radii, bands) with the gain that suits it best; (patches, radii)."""
    detail = _predict_energy(sharp, np.zeros(1))
    own_noise = sharp.noise[:, None, None]
    floor = np.minimum(
        blurred.noise[:, None, None], measured
    )  # JPEG coding takes noise away where there is little else
    counts = detail > DETAIL_OVER_NOISE * own_noise
    detail = np.where(counts, detail, 1.0)
    predicted = np.where(counts, np.maximum(predicted, 1e-4 * detail), 0.0)
    middle = np.add.reduceat(sharp.frequency * sharp.modes, sharp.band_at)
    modes = np.add.reduceat(sharp.modes, sharp.band_at)
    anywhere = RELIT_DOUBT if changes.relit else DOUBT
    at_nyquist = (MOVED_GRID_DOUBT if changes.moved else GRID_DOUBT) + max(sharp.coding, blurred.coding)
    systematic = (anywhere + at_nyquist * (2 * middle / modes) ** 3) ** 2
    cost: Floats = np.zeros(predicted.shape[:2])
    log_gain = np.zeros((*predicted.shape[:2], 1))
    noisier = np.zeros_like(log_gain)
    for _ in range(GAIN_STEPS + 1):
        light = np.exp(log_gain) * predicted
        model = light + floor
        share = light / model
        noisy = own_noise / (detail + own_noise) + floor / model
        variance = systematic + 2 / np.maximum(modes, 1.0) * np.minimum(CONTENT_DOUBT + 2 * noisy, 1.0)
        by_noise = NOISE_DOUBT * np.hypot(floor / model, own_noise / detail * share)
        residual = np.log(measured / model) - noisier * by_noise
        squares = residual**2 / variance
        weight = counts / variance / (1 + squares / ROBUST)
        cost = (counts * ROBUST * np.log1p(squares / ROBUST)).sum(axis=2)
        cost += (log_gain[..., 0] / GAIN_DOUBT) ** 2 + noisier[..., 0] ** 2
        # one step of Newton's for gain and noise together
        slope = (weight * share * residual).sum(axis=2, keepdims=True) - log_gain / GAIN_DOUBT**2
        slope_noise = (weight * by_noise * residual).sum(axis=2, keepdims=True) - noisier
        curve = (weight * share**2).sum(axis=2, keepdims=True) + 1 / GAIN_DOUBT**2
        curve_noise = (weight * by_noise**2).sum(axis=2, keepdims=True) + 1
        both = (weight * share * by_noise).sum(axis=2, keepdims=True)
        determinant = curve * curve_noise - both**2
        log_gain = np.clip(log_gain + (curve_noise * slope - both * slope_noise) / determinant, -5, 5)
        noisier = np.clip(noisier + (curve * slope_noise - both * slope) / determinant, -5, 5)
    return cost


def _minimum(radii: Floats, costs: Floats, bands: float) -> RelativeBlur:
    """The radius of least cost, and how far it may move until the cost has grown by 1 (or by the misfit)."""
    best = costs.argmin(axis=1)
    least = costs[np.arange(len(costs)), best]
    misfit = least / max(bands - 2, 1.0)
    radius = np.array([_vertex(radii, row, at) for row, at in zip(costs, best, strict=True)])
    near = costs <= (least + np.maximum(1.0, misfit))[:, None]
    low = np.array([radii[row].min() for row in near])
    high = np.array([radii[row].max() for row in near])
    step = np.array([radii[min(at + 1, len(radii) - 1)] - radii[max(at - 1, 0)] for at in best]) / 4
    return RelativeBlur(radius, np.maximum((high - low) / 2, step), misfit)


def _vertex(radii: Floats, costs: Floats, at: int) -> float:
    """Vertex of the parabola through the lowest place and its neighbours; near no blur, where the cost goes
    with the square of the radius, the place itself."""
    if not 0 < at < len(radii) - 1 or abs(radii[at]) < 0.5:
        return float(radii[at])
    x, y = radii[at - 1 : at + 2], costs[at - 1 : at + 2]
    left, right = (y[1] - y[0]) / (x[1] - x[0]), (y[2] - y[1]) / (x[2] - x[1])
    curve = (right - left) / (x[2] - x[0])
    return float(x[1] - (left + right) / 2 / (2 * curve)) if curve > 0 else float(x[1])
