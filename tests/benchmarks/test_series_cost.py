"""What map and preview of a series of 20 frames of 45 megapixels cost beside decoding them at the scale used.

A process of its own, with NumPy on one core as the program runs it, first decodes all frames in colour at the scale on
which they are measured, then measures each as it comes, and makes map and preview. The piece leans: in each frame
another twentieth of it is sharp, what lies beside is blurred the more the farther it lies, and every frame has the size
that the rail gives it and noise of its own, since a sensor's noise isn't blurred.
Run: python -m pytest -s tests/benchmarks/test_series_cost.py
"""

import json
import os
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image, ImageFilter

from session.optics.arrangement import bare
from session.series.breathing import size_at
from session.system.process import ONE_THREAD

FRAMES, WIDTH_PX, HEIGHT_PX = 20, 8256, 5504
STEP_MM = 0.3
LENS = (100.0, 8.0, 1.0)
"""Focal length, f-number, ratio: 100 mm, f/8, 1:1."""

MOST_TIMES, MOST_MB = 1.5, 400.0
BLURS_PX = (0, 2, 4, 7, 12)
"""Half side of the box that blurs what is sharp so many frames on."""

PROGRAM = """
import json, sys, time
from session.optics.arrangement import bare
from session.picture.preview import decode, open_picture
from session.series.plane_frame import reduction_for
from session.series.series_check import SeriesRun
from session.series.series_plan import SeriesLens
folder, limit_px, step_mm, count, lens = json.loads(sys.argv[1])
paths = [f"{folder}/{number}.jpg" for number in range(count)]
reduce = reduction_for(open_picture(paths[0]), limit_px)
def timed(act):
    began = time.process_time()
    given = act()
    return given, time.process_time() - began
def decode_all():
    for path in paths:
        decode(open_picture(path), reduce=reduce, colour=True)
def measure_all():
    for path in paths:
        run.add(path)
_, plain_s = timed(decode_all)
run = SeriesRun(SeriesLens(bare(*lens), 4.36, limit_px), step_mm, by_rail=True, for_preview=True)
_, frames_s = timed(measure_all)
found, map_s = timed(run.coverage)
merged, preview_s = timed(lambda: run.preview(found))
with open("/proc/self/status") as status:  # of this program alone; getrusage counts what the test held at the fork
    peak_mb = next(int(line.split()[1]) for line in status if line.startswith("VmHWM")) / 1000
print(json.dumps([reduce, plain_s, frames_s, map_s, preview_s, peak_mb, merged.picture.shape, found.unknown_share]))
"""


def leaning_series(folder):
    """Write the frames, near to far."""
    chance = np.random.default_rng(3)
    fine = chance.normal(0, 25, (HEIGHT_PX // 4, WIDTH_PX // 4)).repeat(4, 0).repeat(4, 1)
    sharp = Image.fromarray((128 + fine).clip(0, 255).astype(np.uint8))
    blurred = [sharp.filter(ImageFilter.BoxBlur(blur)) for blur in BLURS_PX]
    noise = chance.normal(0, 6, (HEIGHT_PX, WIDTH_PX)).astype(np.float32)
    for number in range(FRAMES):
        shown = blurred[-1].copy()
        for part in range(FRAMES):
            away = abs(part - number)
            if away < len(blurred) - 1:
                left, right = WIDTH_PX * part // FRAMES, WIDTH_PX * (part + 1) // FRAMES
                shown.paste(blurred[away].crop((left, 0, right, HEIGHT_PX)), (left, 0))
        off = (1 - 1 / size_at(bare(*LENS), STEP_MM * number, by_rail=True)) / 2
        box = (off * WIDTH_PX, off * HEIGHT_PX, (1 - off) * WIDTH_PX, (1 - off) * HEIGHT_PX)
        shown = shown.resize((WIDTH_PX, HEIGHT_PX), Image.Resampling.BICUBIC, box)
        codes = (np.asarray(shown) + np.roll(noise, 37 * number, 0)).clip(0, 255).astype(np.uint8)
        Image.fromarray(codes).convert("RGB").save(folder / f"{number}.jpg", quality=92)


@pytest.mark.timeout(1200)
def test_map_and_preview_beside_decoding(tmp_path):
    leaning_series(tmp_path)
    for limit_px in (1.0, 2.0):
        asked = json.dumps([str(tmp_path), limit_px, STEP_MM, FRAMES, LENS])
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM, asked],
            env={**os.environ, **ONE_THREAD},
            capture_output=True,
            text=True,
            check=True,
        )
        reduce, plain_s, frames_s, map_s, preview_s, peak_mb, shape, unknown = json.loads(done.stdout)
        times = (frames_s + map_s + preview_s) / plain_s
        print(
            f"limit {limit_px} px, 1/{reduce}: decoding {plain_s:.2f} s; frames measured {frames_s / plain_s:.2f} "
            f"times that, map {map_s / plain_s:.2f}, preview of {max(shape)} px {preview_s / plain_s:.2f}: "
            f"{times:.2f} in all, {map_s + preview_s:.1f} s of it at the end; "
            f"{peak_mb:.0f} MB at most, can't tell {unknown:.0%}",
            flush=True,
        )
        assert unknown < 0.5
        assert peak_mb <= MOST_MB
        assert times <= MOST_TIMES
