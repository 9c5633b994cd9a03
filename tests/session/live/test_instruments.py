"""All instruments together on one stream, with its mishaps."""

from __future__ import annotations

import numpy as np
import pytest

from session.live.decode import Stream
from session.live.instruments import PIXELS_ACROSS, Instruments, LiveReading
from session.set.setup import Region
from tests.support.live_pictures import live_jpeg, scene
from tests.support.made_pictures import jpeg_bytes

LIGHT = scene()
REGION = Region(0.3, 0.3, 0.4, 0.4)


def fed(instruments: Instruments, jpeg: bytes, at_s: float, region: Region = REGION) -> LiveReading:
    return instruments.see(jpeg, at_s, region, pixels_across=5120, limit_px=0.5)


def running(count: int = 20, instruments: Instruments | None = None, first_s: float = 0.0) -> Instruments:
    instruments = instruments or Instruments()
    if not first_s:
        instruments.begin(0.0)
    for n in range(count):
        fed(instruments, live_jpeg(LIGHT, seed=int(100 * first_s) + n), first_s + n / 15)
    return instruments


def test_good_frame_reads_focus_and_motion_in_sensor_px() -> None:
    instruments = running()
    reading = fed(instruments, live_jpeg(LIGHT, right_px=1.0, seed=99), 20 / 15)
    assert reading.stream is Stream.GOOD
    assert reading.focus is not None
    assert reading.focus.contrast is not None
    assert reading.moves is not None
    assert reading.moves.moving_px == pytest.approx(5.0, rel=0.1)  # half of 1 live px, 10 sensor px each


def test_unknown_sensor_is_taken_for_a_fine_one() -> None:
    instruments = running()
    reading = instruments.see(
        live_jpeg(LIGHT, right_px=1.0, seed=99), 20 / 15, REGION, pixels_across=None, limit_px=0.5
    )
    assert reading.moves is not None
    # what was seen before counts in its own scale and lies at the origin
    assert reading.moves.moving_px == pytest.approx(0.5 * PIXELS_ACROSS / 512, rel=0.15)


@pytest.mark.parametrize(
    ("jpeg", "stream"),
    [(b"junk", Stream.BROKEN), (jpeg_bytes(np.zeros((340, 512), np.uint8)), Stream.BLACK)],
)
def test_bad_frame_reads_nothing_and_the_next_good_one_everything(jpeg: bytes, stream: Stream) -> None:
    instruments = running()
    bad = fed(instruments, jpeg, 1.4)
    good = fed(instruments, live_jpeg(LIGHT, seed=50), 1.5)
    assert bad.stream is stream
    assert bad.focus is None
    assert bad.moves is None
    assert good.stream is Stream.GOOD
    assert good.focus is not None
    assert good.focus.contrast is not None


def test_frozen_stream_says_nothing_about_stillness() -> None:
    instruments = running()
    jpeg = live_jpeg(LIGHT, seed=77)
    readings = [fed(instruments, jpeg, 1.4 + n / 15) for n in range(40)]
    assert all(reading.moves is None for reading in readings[1:])
    assert readings[-1].stream is Stream.FROZEN


def test_slow_stream_shows_focus_and_no_stillness() -> None:
    instruments = Instruments()
    instruments.begin(0.0)
    for n in range(6):
        reading = fed(instruments, live_jpeg(LIGHT, seed=n), float(n))
    assert reading.stream is Stream.SLOW
    assert reading.moves is None
    assert reading.focus is not None


def test_other_size_is_taken_up_and_the_first_size_again() -> None:
    instruments = running()
    small = jpeg_bytes(np.asarray(np.random.default_rng(1).integers(60, 200, (240, 320)), np.uint8))
    other = fed(instruments, small, 1.4)
    assert other.resized
    assert other.focus is not None
    assert other.moves is not None
    assert other.moves.still_since_s is None
    running(20, instruments, first_s=1.5)
    back = fed(instruments, live_jpeg(LIGHT, seed=5), 3.0)
    assert not back.resized
    assert back.moves is not None
    assert back.moves.still_since_s == pytest.approx(1.5)


def test_new_region_has_a_meter_of_its_own() -> None:
    instruments = running()
    assert len(instruments.focus_history()) == 20
    reading = fed(instruments, live_jpeg(LIGHT, seed=60), 1.4, Region(0.1, 0.1, 0.3, 0.3))
    assert reading.focus is not None
    assert len(instruments.focus_history()) == 1


def test_best_is_forgotten_on_request() -> None:
    instruments = running()
    instruments.forget_best()
    assert instruments.focus_history() == ()
