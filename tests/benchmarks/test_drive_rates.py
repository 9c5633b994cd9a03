"""What a sweep of the focus drive says that its steps are worth: live view of random pieces on the simulated table.

17 places, a quarter to three fifths of a depth of field apart at the open aperture, from the near side; the drive's
step and the play of 30 steps are the table's own. The doubts of `session.series.way_measured` were read from seeds 4001
to 4010; those counted here are 4101 and on. The second test measures a drive as the bench does, over the real
libgphoto2: peak, span and play are found by the program.
Run: python -m pytest -s tests/benchmarks/test_drive_rates.py --ignore-glob=
"""

import io
import math
import os
from datetime import UTC, datetime

import numpy as np
import pytest
from PIL import Image

from mock_camera.table.world import Shot
from session.live.sweep import Range
from session.optics.arrangement import bare
from session.series.plane_frame import live_plane_frame
from session.series.series_plan import ONE_FRAME_MM, SeriesLens
from session.series.way_measured import measure_way
from session.set.setup import Arrangement, Region, Settings
from session.shoot.acts import MeasureDrive, Revise
from session.shoot.events import DriveMeasured
from tests.support.focus_series import FOCAL_LENGTH_MM, LIMIT_PX, PIXELS, RUN_UP_STEPS, random_table
from tests.support.live_hands import depth_mm
from tests.support.live_shoot import LiveShoot
from tests.support.mock_process import MockCamera

COUNT = int(os.environ.get("STILLSET_DRIVES", "10"))
FIRST_SEED, PLACES = 4101, 17
WIDEST = 2.8


def swept(seed):
    """The step truly, and as measured, mm."""
    chance = np.random.default_rng(seed + 5)
    table = random_table(seed)
    step_mm = float(np.exp(chance.uniform(math.log(0.004), math.log(0.02))))
    table.world.do("step_mm", mm=step_mm)
    table.world.do("backlash", steps=30)
    table.world.do("ambient", ev=-3)
    lens = SeriesLens(bare(FOCAL_LENGTH_MM, WIDEST, table.magnification), 1000 * table.pitch_mm, LIMIT_PX)
    apart = max(1, round(float(chance.uniform(0.25, 0.6)) * lens.sharp(ONE_FRAME_MM).depth_mm / step_mm))
    table.world.drive_focus(-(PLACES // 2) * apart - RUN_UP_STEPS)
    table.world.drive_focus(RUN_UP_STEPS)
    frames = []
    for number in range(PLACES):
        shot = Shot(1 / 200, WIDEST, 100, datetime(2026, 11, 2, 9, tzinfo=UTC), number + 1)
        seen = Image.open(io.BytesIO(table.world.live_frame(shot, 11.0 + number, size=PIXELS))).convert("L")
        frames.append(live_plane_frame(np.asarray(seen), PIXELS[0]))
        table.world.drive_focus(apart)
    return step_mm, measure_way([number * apart for number in range(PLACES)], frames, lens, by_rail=False)


@pytest.mark.timeout(3600)
def test_a_step_of_the_drive_after_one_sweep():
    off = []
    for seed in range(FIRST_SEED, FIRST_SEED + COUNT):
        step_mm, found = swept(seed)
        assert found is not None
        off.append(found.way.mm_per_place / step_mm - 1)
        blur = found.by_blur.mm_per_place / step_mm - 1 if found.by_blur else math.nan
        print(
            f"{seed}: {off[-1]:+.3f} ± {found.way.sd_share:.3f}, blur alone {blur:+.3f}, {found.contradicted=}",
            flush=True,
        )
    print(f"within 5 %: {sum(abs(one) <= 0.05 for one in off)} of {len(off)}, worst {max(map(abs, off)):.3f}")
    assert max(map(abs, off)) < 0.1


@pytest.mark.timeout(600)
@pytest.mark.parametrize(("step_mm", "play_steps"), [(0.01, 30), (0.004, 150)])
def test_one_sweep_at_the_bench_tells_what_a_step_is_worth_and_its_play(tmp_path, step_mm, play_steps):
    """Truth is the simulated table's own step and play; in the end the focus is back at the peak.

    The kit is the demo's, whose first body has the sensor and the pixels of this camera.
    """
    with MockCamera("--pixels", "1536x1024") as mock:
        mock.hands("step_mm", mm=step_mm)
        mock.hands("backlash", steps=play_steps)
        table = mock.hands("state")["table"]
        ratio = float(table["magnification"])
        left, top, width, height = (float(v) for v in table["region"])
        region = Region(left / 1536, top / 1024, width / 1536, height / 1024)
        arrangement = Arrangement("", float(table["focal_length_mm"]), ratio)
        settings = Settings(1 / 200, float(table["widest_f_number"]))
        with LiveShoot(tmp_path, mock.address) as live:
            live.do(Revise({"region": region, "arrangement": arrangement, "settings": settings}))
            live.do(MeasureDrive(Range()))
            event = live.until(lambda event: isinstance(event, DriveMeasured))
            assert isinstance(event, DriveMeasured) and event.drive is not None
        print(f"{event.drive} for {1 / step_mm:.0f} steps a mm and {play_steps} steps of play")
        assert event.drive.steps_per_mm == pytest.approx(1 / step_mm, rel=0.05)
        assert event.drive.play_steps == pytest.approx(play_steps, abs=5)
        assert abs(float(mock.hands("look")["defocus_mm"])) <= 0.25 * depth_mm(ratio)
