"""How often the side of a miss is told on a piece that lies aslant to the camera, and how often rightly.

Frames of the simulated camera: a flat label, a bridge with relief, and type, which lean by 10 to 15° as they do to a
camera that looks down at 75 to 80°, sharp in the reference, then focused 0.1 to 0.8 mm off. Nothing was chosen on these
seeds. Run: python -m pytest -s tests/benchmarks/test_miss_side_rates.py
"""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from mock_camera.body.encode import encode_jpeg
from mock_camera.table.world import Shot, World
from session.checks.focus import focus_verdict
from session.checks.light import brightness
from session.checks.material.checked_picture import gather, pair
from session.set.setup import Arrangement, Region, Revision, Settings

PIXELS = (1536, 1024)
SEEDS = range(501, 521)
LEAST_RIGHT = 0.95


def told_side(seed, piece, folder, square_but_said_deg=None):
    """The true miss, mm (+ = farther), the verdict, and the side that was told.

    square_but_said_deg  the piece faces the camera, and the set-up tells this angle all the same
    """
    chance = np.random.default_rng([seed, 8])
    lean_deg = 0.0 if square_but_said_deg else float(chance.uniform(10, 15))
    off_mm = float(chance.uniform(0.1, 0.8) * chance.choice([-1, 1]))
    f_number = float(chance.choice([5.6, 8.0]))
    world = World(seed=seed, pixels=PIXELS, piece=piece)
    world.do("light", name="key", power_ev=-2.6 - 2 * math.log2(11 / f_number))
    world.do("lean", tilt_deg=lean_deg, raised_deg=90.0)
    told: Any = world.state()["region"]
    left, top, width, height = told

    def shot(number):
        path = folder / f"{piece}{seed}-{number}.jpg"
        one = Shot(1 / 200, f_number, 100, datetime(2026, 11, 2, 9, tzinfo=UTC), number)
        path.write_bytes(encode_jpeg(world.expose(one, 100.0 * number), one))
        return gather(str(path), PIXELS[0])

    reference = shot(1)
    world.do("turn_focus", mm=off_mm)
    both = pair(shot(2), reference)
    revision = Revision(
        region=Region(left / PIXELS[0], top / PIXELS[1], width / PIXELS[0], height / PIXELS[1]),
        arrangement=Arrangement(magnification=1.0),
        settings=Settings(f_number=f_number),
        view_down_deg=square_but_said_deg or 90 - lean_deg,
    )
    now = brightness.measure(both.frame, revision.region, both)
    found = focus_verdict.judge(both, revision, now, f_number=f_number, sensor_width_mm=24.0)
    return off_mm, found.focus, found.side


@pytest.mark.timeout(1800)
def test_the_side_that_is_told_is_right(tmp_path):
    right, wrong, missed, surely = 0, 0, 0, 0
    for piece in ("label", "bridge", "type"):
        for seed in SEEDS:
            off_mm, focus, side = told_side(seed, piece, tmp_path)
            missed += focus.blur_px is not None and focus.verdict != "sharp"
            if side is not None:
                surely += side.surely
                right += side.nearer == (off_mm < 0)
                wrong += side.nearer != (off_mm < 0)
            print(piece, seed, round(off_mm, 2), focus.verdict, focus.defocus_mm, side, flush=True)
    print(f"{missed} misses: side told {right + wrong} times, {surely} surely, {wrong} wrongly")
    assert right >= LEAST_RIGHT * (right + wrong)
    assert right + wrong > 0


@pytest.mark.timeout(1800)
def test_of_pieces_that_face_the_camera_though_the_set_up_says_otherwise_no_side_is_told(tmp_path):
    told = 0
    for piece in ("label", "bridge", "type"):
        for seed in SEEDS:
            for said_deg in (45.0, 75.0):
                off_mm, focus, side = told_side(seed, piece, tmp_path, said_deg)
                told += side is not None
                if side is not None:
                    print(piece, seed, said_deg, round(off_mm, 2), focus.verdict, focus.defocus_mm, side, flush=True)
    print(f"{told} sides told of {2 * 3 * len(SEEDS)} frames of pieces that don't lie so")
    assert told <= 0.05 * 2 * 3 * len(SEEDS)
