"""How well a known blur is measured on photographs: error, AUC and hits, per preview scale and change.

A collage of twelve of scikit-image's photographs is the full-size picture; none of them was used to choose a
limit (those were camera, coins, astronaut and brick). It is blurred by discs, relit, moved, made noisy, reduced to
a preview and coded; each photograph's middle is a region. Run with `-s` to see the table.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from made_pictures import Light, blurred, coded, jpeg_bytes, moved, photograph, relit

from session.checks import exposure
from session.checks.focus_region import RegionBlur, measure
from session.checks.limits import RELIT_EV
from session.checks.material import Material, gather, pair
from session.setup import Region

CELL_PX = 400
NAMES = (
    ("coffee.png", "motorcycle_left.png", "rocket.jpg", "gravel.png"),
    ("grass.png", "ihc.png", "retina.jpg", "hubble_deep_field.jpg"),
    ("motorcycle_right.png", "moon.png", "cell.png", "chelsea.png"),
)
WIDTH, HEIGHT = CELL_PX * len(NAMES[0]), CELL_PX * len(NAMES)
SHARP_PX, BLURRED_PX = (0.0, 0.5), (2.0, 3.0, 4.0, 6.0)
LIMIT_PX = 2.0
THRESHOLD_PX = 1.25
"""Half way between what must not and what must be flagged."""

CHANGES = ("untouched", "relit", "moved", "noisy")
PREVIEWS = (1, 2, 4, 8)


@dataclass(frozen=True)
class Case:
    """One region of one frame: what it was blurred by, and what was measured."""

    true_px: float
    found: RegionBlur

    @property
    def judged(self) -> bool:
        return self.found.tells(LIMIT_PX)


def cell(name: str) -> Light:
    """The middle of a photograph, scaled down where it is much larger than a cell."""
    light = photograph(name)
    times = min(light.shape) / CELL_PX
    if times > 1.5 or times < 1:
        height, width = (round(side / times) for side in light.shape)
        light = photograph(name, (width, height))
    top, left = ((side - CELL_PX) // 2 for side in light.shape)
    return light[top : top + CELL_PX, left : left + CELL_PX]


def regions() -> list[Region]:
    """The middle of each photograph, 240 px each way."""
    rows, columns = len(NAMES), len(NAMES[0])
    return [
        Region((column + 0.2) / columns, (row + 0.2) / rows, 0.6 / columns, 0.6 / rows)
        for row in range(rows)
        for column in range(columns)
    ]


def preview(folder: Path, light: Light, reduce: int, noise: float, quality: int, seed: int) -> Material:
    """The picture as a camera's preview of that scale."""
    height, width = light.shape
    small = light.reshape(height // reduce, reduce, width // reduce, reduce).mean(axis=(1, 3))
    path = folder / "frame.jpg"
    path.write_bytes(jpeg_bytes(coded(small, noise_codes=noise, seed=seed), quality=quality))
    return gather(str(path), WIDTH)


def frames(folder: Path, full: Light, rng: np.random.Generator) -> dict[tuple[str, int], list[Case]]:
    """Every change at every preview scale under every blur, over all regions."""
    found: dict[tuple[str, int], list[Case]] = defaultdict(list)
    references = {reduce: preview(folder, full, reduce, 2.0, 92, 1) for reduce in PREVIEWS}
    for true_px in (*SHARP_PX, *BLURRED_PX):
        soft = blurred(full, true_px)
        for change in CHANGES:
            light, noise = soft, 2.0
            if change == "relit":
                light = relit(soft, rng.uniform(-1, 1), *rng.uniform(-1.5, 1.5, 2))
            if change == "moved":
                light = moved(soft, *rng.uniform(-24, 24, 2), turn_deg=rng.uniform(-2, 2))
            if change == "noisy":
                noise = rng.uniform(1, 6)
            for reduce in PREVIEWS:
                quality = int(rng.integers(80, 96))
                frame = preview(folder, light, reduce, noise, quality, int(rng.integers(1 << 30)))
                found[change, reduce] += [Case(true_px, blur) for blur in measured(frame, references[reduce])]
    return found


def measured(frame: Material, reference: Material) -> list[RegionBlur]:
    both = pair(frame, reference)
    found = []
    for region in regions():
        scatter_ev = exposure.measure(frame, region, both).region_scatter_ev or 0.0
        found.append(measure(both, region, LIMIT_PX, relit=scatter_ev > RELIT_EV))
    return found


def area_under_curve(sharp: np.ndarray, soft: np.ndarray) -> float:
    """Share of pairs in which the soft region measures blurrier (Mann and Whitney's statistic)."""
    return float((soft[:, None] > sharp[None]).mean() + 0.5 * (soft[:, None] == sharp[None]).mean())


@pytest.fixture(scope="module")
def cases(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, int], list[Case]]:
    full = 0.6 * np.vstack([np.hstack([cell(name) for name in row]) for row in NAMES])
    folder, rng = tmp_path_factory.mktemp("collage"), np.random.default_rng(20)
    total: dict[tuple[str, int], list[Case]] = defaultdict(list)
    for _ in range(2):
        for key, found in frames(folder, full, rng).items():
            total[key] += found
    return total


@pytest.mark.timeout(3600)
def test_blur_of_two_pixels_is_told_from_half_a_pixel(cases: dict[tuple[str, int], list[Case]]) -> None:
    """AUC, hits and false alarms are those of judged regions, at the threshold half way; `flagged` counts what the
    photographer would be told at the usual limit, among all sharp regions. 'Not reached' names what falls short of
    AUC 0.998, 98 % hits at 1 % false alarms, 5 % unjudged: three of the photographs (retina, moon, cell) hold no
    detail of a few pixels, so that a quarter of all regions can't show the blur from half the size on."""
    print("\nchange     preview  judged: sharp blurred   AUC     hits   false   error: within, median   flagged")
    missed = []
    for (change, reduce), found in cases.items():
        sharp, soft = ([c for c in found if c.true_px in part] for part in (SHARP_PX, BLURRED_PX))
        shares = [float(np.mean([c.judged for c in part])) for part in (sharp, soft)]
        values = [np.array([c.found.blur_px for c in part if c.judged]) for part in (sharp, soft)]
        flagged = float(np.mean([c.judged and c.found.blur_px > LIMIT_PX for c in sharp]))
        line = f"{change:10} 1/{reduce}              {shares[0]:.3f} {shares[1]:.3f}"
        reached = reduce == 8 or min(shares) >= 0.95
        if len(values[0]) and len(values[1]):
            area = area_under_curve(*values)
            false, hits = (float((part > THRESHOLD_PX).mean()) for part in values)
            errors = np.array(
                [abs(c.found.blur_px - c.true_px) / max(0.4, 0.15 * c.true_px) for c in found if c.judged]
            )
            line += (
                f"   {area:.4f}  {hits:.3f}  {false:.3f}   {float((errors <= 1).mean()):.3f}, {np.median(errors):.2f}"
            )
            reached &= reduce == 8 or (area >= 0.998 and hits >= 0.98 and false <= 0.01)
        line += f"   {flagged:.3f}"
        print(line, "" if reached else "  not reached")
        if flagged > 0.05 or (reduce == 1 and not reached and min(shares) >= 0.95):
            missed.append(line)
    assert not missed, missed


def test_blur_is_measured_within_its_tolerance_from_half_the_size_on(cases: dict[tuple[str, int], list[Case]]) -> None:
    """Asked for: within 0.4 px or 15 %. Reached: 92 to 97 % of the judged regions at full size, 81 to 89 % at half. A
    guard against falling, under the lowest of them."""
    for (change, reduce), found in cases.items():
        if reduce <= 2:
            errors = [abs(c.found.blur_px - c.true_px) / max(0.4, 0.15 * c.true_px) for c in found if c.judged]
            assert float(np.mean(np.array(errors) <= 1)) >= {1: 0.8, 2: 0.7}[reduce], (change, reduce)
