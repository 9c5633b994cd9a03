"""What a series' map is worth: 30 random pieces on the simulated table, whole and with frames left out.

The pieces, ratios, openings, leans and plans are random; planes by the drive, or on a rail that a hand leaves 0.1 mm
off. The truth is the table's own heights, and its own optics' blur with diffraction (`tests.support.series_truth`).
The limits of `session.series` were chosen on seeds 1 to 14, and 1001 to 1007 showed a fault; those counted here are
2001 and on. With `STILLSET_SERIES=60` as many are tried. Run: python -m pytest -s tests/benchmarks/test_series_rates.py
"""

import math
import os

import numpy as np
import pytest

from session.optics.arrangement import bare
from session.series.coverage_map import COVERED, GAP, UNKNOWN, gaps
from session.series.series_check import SeriesRun
from session.series.series_plan import ONE_FRAME_MM, SeriesLens, series_over
from tests.support.focus_series import FOCAL_LENGTH_MM, LIMIT_PX, random_table
from tests.support.series_truth import by_cells, measured, never_sharp_share, shoot, true_map, truth_of_table

COUNT = int(os.environ.get("STILLSET_SERIES", "30"))
FIRST_SEED = 2001

TRUE_GAP = 0.01
"""Share of the area with detail from which on a place that no frame has sharp is a gap."""

ENDS_OFF = 0.3
"""Both ends of a plan are focused by eye, off by so much of a depth of field, standard deviation. Chosen."""

DRIVE_OFF = 0.025
"""A step of the drive is known to 5 % in 95 of 100 cases."""

MOST_LOOKS = 8


def look(series, kept):
    """What was told of some frames of a series, and how it was, as numbers."""
    _, found, missing = measured(series, kept)
    true = true_map(series, kept[len(kept) // 2])
    planes = np.array([series.true_mm[number] for number in kept])
    off_mm = np.abs(true.depth_mm[None] - planes[:, None, None]).min(axis=0)
    detail = by_cells(true.detail, found)
    blurred = by_cells((series.table.total_blur_px(off_mm) > LIMIT_PX) & true.detail, found)
    depth = by_cells(true.depth_mm, found)
    with_detail = detail.mean(axis=2) > 0.2
    in_gap = with_detail & (blurred.sum(axis=2) > detail.sum(axis=2) / 2)
    middle = np.array(
        [
            [np.median(cell[has]) if has.any() else np.nan for cell, has in zip(row, having, strict=True)]
            for row, having in zip(depth, detail, strict=True)
        ]
    )
    spread = np.ptp(np.where(detail, depth, middle[..., None]), axis=2)
    single = with_detail & (found.state != UNKNOWN) & (spread < series.plan.step_mm / 2)
    count = np.arange(len(planes))
    measured_mm = np.array(found.planes_mm)
    told_at, truly_at = np.interp(found.depth_mm, measured_mm, count), np.interp(middle, planes, count)
    covered, open_cells = found.state == COVERED, found.state == GAP
    return {
        "covered_said": not missing,
        "gap_share": float(blurred.sum() / max(1, detail.sum())),
        "sharp_of_covered": float(1 - blurred[covered].sum() / max(1, detail[covered].sum())),
        "falsely_covered": float((covered & in_gap).mean()),
        "gap_cells": float(in_gap.mean()),
        "gap_cells_told": float((open_cells & in_gap).mean()),
        "false_gap": float((open_cells & with_detail & (blurred.sum(axis=2) == 0)).mean()),
        "within_half_step": [int((np.abs(told_at - truly_at)[single] <= 0.5).sum()), int(single.sum())],
        "frames_asked": sum(gap.frames for gap in missing),
        "plane_mm": float(np.abs(np.array(found.planes_mm) - (planes - planes[0])).max()),
        "unknown_with_detail": float((with_detail & (found.state == UNKNOWN)).sum() / max(1, with_detail.sum())),
    }


@pytest.mark.timeout(7200)
def test_what_is_told_of_random_series(tmp_path):
    whole, cut = [], []
    for seed in range(FIRST_SEED, FIRST_SEED + COUNT):
        folder = tmp_path / str(seed)
        folder.mkdir()
        series = shoot(random_table(seed), folder)
        count = len(series.paths)
        if count < 3:
            continue
        whole.append((count, look(series, list(range(count)))))
        left_out = [[count - 1], [0]] + ([[count // 2]] if count > 3 else []) + ([[2, 1]] if count > 4 else [])
        for gone in left_out:
            cut.append((count, look(series, [number for number in range(count) if number not in gone])))
        print(seed, count, whole[-1][1], flush=True)
    right, told = (sum(one["within_half_step"][k] for _, one in whole + cut) for k in (0, 1))
    wanted = sum(count for count, _ in whole)
    asked = sum(one["frames_asked"] for _, one in whole)
    with_gap = [one for _, one in cut if one["gap_share"] > TRUE_GAP]
    missed = [one for one in with_gap if one["covered_said"]]
    said = [one for _, one in whole + cut if one["covered_said"]]
    print(f"{len(whole)} whole series, {len(cut)} with frames left out, {len(with_gap)} of them with a gap")
    print(f"sharpest frame within half a step: {right / told:.4f} of {told} cells")
    print(f"truly sharp of what is told covered, whole: {np.mean([one['sharp_of_covered'] for _, one in whole]):.4f}")
    print(f"the same with frames left out: {np.mean([one['sharp_of_covered'] for one in with_gap]):.4f}")
    print(f"said to be covered: {len(said)}; of those truly under 99 %: {sum(one['gap_share'] > 0.01 for one in said)}")
    print(f"gaps not told: {len(missed)} of {len(with_gap)}, {[round(one['gap_share'], 3) for one in missed]}")
    covered = sum(one["covered_said"] for _, one in whole)
    print(f"whole series said covered: {covered}; frames more asked: {asked / wanted:.3f}")
    print(f"planes off by {np.median([one['plane_mm'] for _, one in whole]):.3f} mm (median of the worst of each)")
    print(f"cells with detail that can't be told: {np.mean([one['unknown_with_detail'] for _, one in whole]):.3f}")
    assert right / told >= 0.95
    assert len(missed) <= 0.1 * len(with_gap)


def shot_until_covered(seed, folder):
    """Plan a series by ends that were focused by eye, shoot, check, shoot what is missing, until nothing is.

    Returns what was said and how it was, after each look.
    """
    table = random_table(seed)
    true = truth_of_table(table, folder)
    chance = np.random.default_rng(seed + 1_000_000)
    lens = SeriesLens(bare(FOCAL_LENGTH_MM, table.f_number, table.magnification), 1000 * table.pitch_mm, LIMIT_PX)
    depth_mm = lens.sharp(ONE_FRAME_MM).depth_mm
    off_mm = ENDS_OFF * depth_mm * chance.normal(size=2)
    near_mm, far_mm = float(table.shown_mm.min()), float(table.shown_mm.max())
    plan = series_over(max(far_mm - near_mm + off_mm[1] - off_mm[0], 1.01 * depth_mm), lens)
    wrong_by = DRIVE_OFF * float(chance.normal())
    table.world.do("backlash", steps=30)
    run = SeriesRun(lens, plan.step_mm, by_rail=table.by_rail, for_preview=False)
    first_mm = near_mm + float(off_mm[0]) + plan.planes_mm[0]
    wanted = [plane_mm - plan.planes_mm[0] for plane_mm in plan.planes_mm]
    planes: list[float] = []
    looks: list[dict[str, bool | float]] = []
    while wanted and len(looks) < MOST_LOOKS:
        for at_mm in wanted:
            path, place_mm = folder / f"{len(planes)}.jpg", first_mm + at_mm
            planes.append(
                table.expose(path, place_mm) if table.by_rail else table.expose_by_drive(path, place_mm, wrong_by)
            )
            run.add(str(path), at_mm)
        missing = gaps(run.coverage(), plan.step_mm)
        wanted = [at_mm for gap in missing for at_mm in gap.planes_mm]
        looks.append({"said_covered": not missing, "never_sharp": never_sharp_share(table, true, planes)})
    return {
        "seed": seed,
        "by_rail": table.by_rail,
        "frames": len(planes),
        "planned": len(plan.planes_mm),
        "least": len(series_over(far_mm - near_mm, lens).planes_mm),
        "slices": math.ceil((far_mm - near_mm) / depth_mm),
        "looks": looks,
    }


@pytest.mark.timeout(14400)
def test_series_that_are_shot_until_they_are_covered(tmp_path):
    series = []
    for seed in range(FIRST_SEED, FIRST_SEED + COUNT):
        folder = tmp_path / str(seed)
        folder.mkdir()
        series.append(shot_until_covered(seed, folder))
        print(series[-1], flush=True)
    assert_covered(series)


def assert_covered(series):
    """Print what a whole lot of series came to, and hold it to what is documented."""
    covered = [one for one in series if one["looks"][-1]["said_covered"]]
    wrongly = [one for one in covered if one["looks"][-1]["never_sharp"] > TRUE_GAP]
    looks = [look for one in series for look in one["looks"]]
    open_looks = [look for look in looks if look["never_sharp"] > TRUE_GAP]
    missed = [look for look in open_looks if look["said_covered"]]
    frames, least, slices = (sum(one[key] for one in series) for key in ("frames", "least", "slices"))
    print(f"{len(series)} series, {len(covered)} said to be covered in the end, {len(wrongly)} of them wrongly")
    print(f"{len(looks)} looks, a true gap in {len(open_looks)}, not told in {len(missed)}")
    print(f"worst of those covered: {max(one['looks'][-1]['never_sharp'] for one in covered):.4f} never sharp")
    print(f"frames: {frames / least:.3f} of the planner's least, {frames / slices:.3f} of slices side by side")
    for by_rail in (True, False):
        some = [one for one in series if one["by_rail"] is by_rail]
        print(f"  by rail {by_rail}: {sum(one['frames'] for one in some) / sum(one['least'] for one in some):.3f}")
    assert len(wrongly) <= 0.02 * len(covered)
    assert len(covered) >= 0.98 * len(series)
