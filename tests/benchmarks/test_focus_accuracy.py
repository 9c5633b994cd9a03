"""How well a known blur is measured on photographs: error, AUC and hits, per preview scale and change.

A collage of twelve of scikit-image's photographs is the full-size picture; none of them was used to choose a
limit (those were camera, coins, astronaut and brick). It is blurred by discs, relit, moved, made noisy, reduced to
a preview and coded; each photograph's middle is a region. Run with `-s` to see the table.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from session.checks.focus.region import RegionBlur, measure
from session.checks.light import brightness
from session.checks.material.check_limits import RELIT_EV
from session.checks.material.checked_picture import Material, gather, pair
from session.set.setup import DEFAULT_BLUR_LIMIT_PX, Region
from tests.support.made_pictures import Light, blurred, coded, jpeg_bytes, moved, photograph, relit

CELL_PX = 400
NAMES = (
    ("coffee.png", "motorcycle_left.png", "rocket.jpg", "gravel.png"),
    ("grass.png", "ihc.png", "retina.jpg", "hubble_deep_field.jpg"),
    ("motorcycle_right.png", "moon.png", "cell.png", "chelsea.png"),
)
WIDTH, HEIGHT = CELL_PX * len(NAMES[0]), CELL_PX * len(NAMES)
SHARP_PX, BLURRED_PX = (0.0, 0.5), (1.5, 2.0, 3.0, 4.0, 6.0)
LIMIT_PX = DEFAULT_BLUR_LIMIT_PX
THRESHOLD_PX = 1.0
"""Half way between what must not and what must be flagged."""

DETAIL_OVER_NOISE = 4.0
"""A region holds detail when what is finer than 10 px stands out of the noise by twice, four times in variance: nine of
the twelve do, from 12 times on; retina, moon and cell have 1.9 times at most."""

USUAL_NOISE_CODES = 2.0

CHANGES = ("untouched", "relit", "moved", "noisy")
PREVIEWS = (1, 2, 4, 8)


@dataclass(frozen=True)
class Case:
    """One region of one frame: its true blur, what was measured, and whether it holds detail to measure by."""

    true_px: float
    found: RegionBlur
    detailed: bool

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


def detail_over_noise(full: Light, region: Region) -> float:
    """Variance of codes in waves shorter than 10 px, against that of the usual noise at the same frequencies."""
    left, top, right, bottom = region.in_pixels(WIDTH, HEIGHT)
    codes = coded(full[top:bottom, left:right], noise_codes=0.0, seed=1).astype(float)
    taper = np.outer(*(np.hanning(side) for side in codes.shape))
    power = np.abs(np.fft.fft2((codes - codes.mean()) * taper)) ** 2 / (taper**2).sum()
    fine = np.hypot(*np.meshgrid(*(np.fft.fftfreq(side) for side in codes.shape), indexing="ij")) > 0.1
    return float(power[fine].mean()) / USUAL_NOISE_CODES**2


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
    references = {reduce: preview(folder, full, reduce, USUAL_NOISE_CODES, 92, 1) for reduce in PREVIEWS}
    detailed = [detail_over_noise(full, region) >= DETAIL_OVER_NOISE for region in regions()]
    for true_px in (*SHARP_PX, *BLURRED_PX):
        soft = blurred(full, true_px)
        for change in CHANGES:
            light, noise = soft, USUAL_NOISE_CODES
            if change == "relit":
                light = relit(soft, rng.uniform(-1, 1), *rng.uniform(-1.5, 1.5, 2))
            if change == "moved":
                right_px, down_px = rng.uniform(-24, 24, 2)
                light = moved(soft, right_px, down_px, turn_deg=rng.uniform(-2, 2))
            if change == "noisy":
                noise = rng.uniform(1, 6)
            for reduce in PREVIEWS:
                quality = int(rng.integers(80, 96))
                frame = preview(folder, light, reduce, noise, quality, int(rng.integers(1 << 30)))
                blurs = measured(frame, references[reduce])
                found[change, reduce] += [Case(true_px, *one) for one in zip(blurs, detailed, strict=True)]
    return found


def measured(frame: Material, reference: Material) -> list[RegionBlur]:
    both = pair(frame, reference)
    found = []
    for region in regions():
        scatter_ev = brightness.measure(frame, region, both).region_scatter_ev or 0.0
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


@dataclass(frozen=True)
class Rates:
    """What became of some cases; NaN where nothing was judged.

    judged   the smaller of the shares of sharp and of blurred regions that were
    area     under the curve; `hits` at one false alarm in a hundred
    false    alarms at the threshold half way between what must not and what must be flagged
    within   share measured within 0.4 px or 15 %
    flagged  what the photographer would be told at the usual limit, of all sharp regions
    """

    judged: float
    area: float
    hits: float
    false: float
    within: float
    flagged: float

    @property
    def reached(self) -> bool:
        return self.judged >= 0.95 and self.area >= 0.998 and self.hits >= 0.98


def rates(found: list[Case]) -> Rates:
    sharp, soft = ([c for c in found if c.true_px in part] for part in (SHARP_PX, BLURRED_PX))
    values = [np.array([c.found.blur_px for c in part if c.judged]) for part in (sharp, soft)]
    told = all(len(part) for part in values)
    errors = [abs(c.found.blur_px - c.true_px) / max(0.4, 0.15 * c.true_px) for c in found if c.judged]
    return Rates(
        judged=min(float(np.mean([c.judged for c in part])) for part in (sharp, soft)),
        area=area_under_curve(*values) if told else float("nan"),
        hits=float((values[1] > np.quantile(values[0], 0.99, method="higher")).mean()) if told else float("nan"),
        false=float((values[0] > THRESHOLD_PX).mean()) if told else float("nan"),
        within=float((np.array(errors) <= 1).mean()) if errors else float("nan"),
        flagged=float(np.mean([c.judged and c.found.blur_px > LIMIT_PX for c in sharp])),
    )


@pytest.mark.timeout(3600)
def test_blur_over_the_default_limit_is_told_from_half_a_pixel(cases: dict[tuple[str, int], list[Case]]) -> None:
    """Asked for are AUC 0.998, 98 % hits at 1 % false alarms, 5 % unjudged at previews down to 1/4, and at 1/8 no more
    than 2 % false alarms. The table says where that is reached, over all regions and over those with detail; what isn't
    stands in tests of its own."""
    print("\nchange     preview  regions      judged   AUC     hits   false   within  flagged")
    for (change, reduce), found in cases.items():
        for name, part in (("all", found), ("with detail", [c for c in found if c.detailed])):
            r = rates(part)
            line = f"{change:10} 1/{reduce}      {name:11}  {r.judged:.3f}    {r.area:.4f}  {r.hits:.3f}  {r.false:.3f}"
            print(f"{line}   {r.within:.3f}   {r.flagged:.3f}", "" if r.reached or reduce == 8 else "  not reached")
    everything = {key: rates(found) for key, found in cases.items()}
    assert all(r.flagged <= (0.02 if reduce == 8 else 0.05) for (_, reduce), r in everything.items())
    detailed = {key: rates([c for c in found if c.detailed]) for key, found in cases.items()}
    assert all(r.reached for (_, reduce), r in detailed.items() if reduce == 1)
    for r in (*everything.values(), *detailed.values()):
        assert math.isnan(r.area) or (r.area >= 0.998 and r.hits >= 0.98), "of those that are judged, at every scale"


def test_at_full_size_five_regions_of_a_hundred_are_unjudged_at_most(
    cases: dict[tuple[str, int], list[Case]],
) -> None:
    """Of all regions, those without detail among them. Not reached at 1 px: 15 to 25 % are unjudged; at 2 px it was."""
    assert all(rates(found).reached for (_, reduce), found in cases.items() if reduce == 1)


def test_at_half_size_five_regions_with_detail_of_a_hundred_are_unjudged_at_most(
    cases: dict[tuple[str, int], list[Case]],
) -> None:
    """Not reached at 1 px, which is half a pixel there: 8 to 11 % are unjudged, of moved ones 89 %."""
    halves = [found for (_, reduce), found in cases.items() if reduce == 2]
    assert all(rates([c for c in found if c.detailed]).reached for found in halves)


def test_at_a_quarter_regions_with_detail_are_judged(cases: dict[tuple[str, int], list[Case]]) -> None:
    """Not reached at 1 px, which is a quarter of a pixel there: all are unjudged."""
    quarters = [found for (change, reduce), found in cases.items() if reduce == 4 and change != "moved"]
    assert all(rates([c for c in found if c.detailed]).area >= 0.998 for found in quarters)


def test_at_full_size_half_way_between_sharp_and_blurred_one_in_a_hundred_is_false_at_most(
    cases: dict[tuple[str, int], list[Case]],
) -> None:
    """Half way is the limit itself. Reached: none."""
    for (change, reduce), found in cases.items():
        if reduce == 1:
            assert rates(found).false <= 0.01, change
            assert rates([c for c in found if c.detailed]).false <= 0.01, change


def test_blur_is_measured_within_its_tolerance_from_half_the_size_on(cases: dict[tuple[str, int], list[Case]]) -> None:
    """Asked for: within 0.4 px or 15 %. Of those that are judged 95 to 99 % are, at full size and at half. Guards."""
    for (change, reduce), found in cases.items():
        if reduce <= 2:
            detailed = rates([c for c in found if c.detailed]).within
            assert detailed >= {1: 0.9, 2: 0.8}[reduce], (change, reduce)
            assert rates(found).within >= {1: 0.8, 2: 0.7}[reduce], (change, reduce)
