"""The meter over whole passes of a focus ring, by the blur disc of its distance from the best focus."""

from __future__ import annotations

import io
from collections.abc import Iterable
from functools import lru_cache

import numpy as np
import pytest
from PIL import Image

from session.live.decode import LiveGrey, grey
from session.live.meter import (
    FASTEST_PX,
    Advice,
    FocusMeter,
    FocusReading,
    Trend,
)
from session.set.setup import Region
from tests.support.live_pictures import live_jpeg, scene, with_hand
from tests.support.made_pictures import blurred, coded, jpeg_bytes

REGION = Region(0.3, 0.3, 0.4, 0.4)
LIGHT = scene()
FRAME_S = 1 / 15


def picture(off_px: float, seed: int, ev: float = 0.0, noise_codes: float = 1.5) -> LiveGrey:
    return _picture(off_px, seed % 5, ev, noise_codes)


@lru_cache(maxsize=512)
def _picture(off_px: float, seed: int, ev: float, noise_codes: float) -> LiveGrey:
    return grey(live_jpeg(LIGHT, blur_px=abs(off_px), seed=seed, ev=ev, noise_codes=noise_codes))


def turned(offs: Iterable[float], **how: float) -> list[FocusReading]:
    meter = FocusMeter(REGION)
    return [meter.see(picture(off, n, **how), n * FRAME_S) for n, off in enumerate(offs)]


STAY = [-4.0] * 4
PASS = [*STAY, *np.arange(-4.0, 3.01, 0.25), *[3.0] * 4]


def test_best_is_held_where_the_focus_was_with_the_time_since() -> None:
    readings = turned(PASS)
    best_at = max(n for n, reading in enumerate(readings) if reading.best_since_s == 0)
    assert abs(PASS[best_at]) <= 0.5
    assert readings[-1].best_since_s == pytest.approx((len(PASS) - 1 - best_at) * FRAME_S)
    assert readings[-1].best_contrast == readings[best_at].best_contrast
    assert readings[-1].share_of_best is not None
    assert readings[-1].share_of_best < 0.85


def test_past_the_best_is_said_after_it_and_never_before() -> None:
    readings = turned(PASS)
    said = [off for off, reading in zip(PASS, readings, strict=True) if reading.past_best]
    assert said
    assert 0 < said[0] <= 1.75  # half a pixel of blur more than where the fall is deep enough, and three frames
    assert readings[-1].advice == Advice.PAST_THE_BEST


def test_turning_back_takes_the_word_away_again() -> None:
    readings = turned([*PASS, *np.arange(3.0, -0.01, -0.25), *[0.0] * 4])
    assert not readings[-1].past_best
    assert readings[-1].share_of_best == pytest.approx(1, abs=0.02)


def test_falling_from_the_start_is_the_wrong_way_and_not_past_the_best() -> None:
    readings = turned([*[1.0] * 5, *np.arange(1.0, 5.0, 0.25)])
    assert any(reading.advice == Advice.WRONG_WAY for reading in readings)
    assert not any(reading.past_best for reading in readings)


def test_trend_follows_the_ring() -> None:
    readings = turned(PASS)
    assert readings[3].trend is Trend.STEADY
    assert readings[12].trend is Trend.RISING
    assert readings[-8].trend is Trend.FALLING


def test_flicker_of_a_third_of_a_stop_moves_nothing() -> None:
    meter = FocusMeter(REGION)
    evs = 0.3 * np.sin(np.arange(40) * 0.7)
    readings = [meter.see(picture(1.0, n, ev=ev - 0.5), n * FRAME_S) for n, ev in enumerate(evs)]
    shares = [reading.share_of_best for reading in readings if reading.share_of_best is not None]
    assert min(shares) > 0.98
    assert not any(reading.past_best or reading.advice for reading in readings)


@pytest.mark.parametrize("noise_codes", [1.5, 8.0])
def test_noise_alone_is_never_past_the_best(noise_codes: float) -> None:
    readings = turned([-3.0, -2.5, -2.0, -1.5, *[-1.0] * 45], noise_codes=noise_codes)
    assert not any(reading.past_best for reading in readings)


def test_hand_in_the_picture_keeps_the_best_and_says_so() -> None:
    meter = FocusMeter(REGION)
    for n, off in enumerate([*STAY, *np.arange(-4, -0.9, 0.25)]):
        before = meter.see(picture(off, n), n * FRAME_S)
    codes = np.asarray(Image.open(io.BytesIO(live_jpeg(LIGHT, blur_px=1.0))).convert("L"))
    covered = meter.see(grey(jpeg_bytes(with_hand(codes, 0.7))), 2.0)
    after = meter.see(picture(-1.0, 77), 2.1)
    assert covered.contrast is None
    assert covered.advice == Advice.IN_THE_WAY
    assert covered.best_contrast == before.best_contrast
    assert not after.past_best
    assert after.contrast == pytest.approx(before.contrast, rel=0.02)


def test_other_piece_begins_with_a_best_of_its_own_and_the_first_one_keeps_its() -> None:
    meter, other = FocusMeter(REGION), scene("coins.png")
    first = [meter.see(picture(0.0, n), n * FRAME_S) for n in range(5)][-1]
    for n in range(5, 50):
        second = meter.see(grey(live_jpeg(other, seed=n)), n * FRAME_S)
    again = meter.see(picture(0.0, 60), 60 * FRAME_S)
    assert second.best_contrast is not None
    assert second.best_contrast != pytest.approx(first.best_contrast, rel=0.05)
    assert again.best_contrast == pytest.approx(first.best_contrast, rel=0.02)


def test_region_without_detail_says_so() -> None:
    flat = grey(jpeg_bytes(np.full((340, 512), 120, np.uint8)))
    assert FocusMeter(REGION).see(flat, 0.0).advice == Advice.NO_DETAIL


def test_frames_that_move_too_fast_are_left_out() -> None:
    meter = FocusMeter(REGION)
    assert meter.see(picture(0.0, 1), 0.0, moved_px=FASTEST_PX * 1.1).contrast is None
    assert meter.see(picture(0.0, 2), 0.1, moved_px=FASTEST_PX * 0.9).contrast is not None


def test_history_is_what_was_seen_and_forgetting_begins_anew() -> None:
    meter = FocusMeter(REGION)
    readings = [meter.see(picture(-2 + n / 4, n), n * FRAME_S) for n in range(6)]
    history = meter.history()
    assert [at_s for at_s, _ in history] == pytest.approx([n * FRAME_S for n in range(6)])
    assert [value for _, value in history] == pytest.approx([reading.contrast for reading in readings])
    meter.forget()
    assert meter.history() == ()
    assert meter.see(picture(-3.0, 9), 1.0).best_contrast is None


def test_a_best_that_was_forgotten_comes_back_unless_a_higher_one_was_seen_since() -> None:
    meter = FocusMeter(REGION)
    assert not meter.forget() and not meter.restore()
    for n, off in enumerate(PASS):
        best = meter.see(picture(off, n), n * FRAME_S).best_contrast
    assert meter.forget()
    for n in range(6):
        lower = meter.see(picture(-3.0, n), (len(PASS) + n) * FRAME_S).best_contrast
    assert best is not None and lower is not None and lower < best
    assert meter.restore()
    assert meter.see(picture(-3.0, 1), 4.0).best_contrast == best
    assert not meter.restore()
    assert meter.forget()
    for n in range(6):
        higher = meter.see(picture(0.0, n, noise_codes=4.0), 5.0 + n * FRAME_S).best_contrast
    assert higher is not None and higher > best
    assert meter.restore()
    assert meter.see(picture(-3.0, 1), 6.0).best_contrast == higher


def test_edge_of_a_hand_that_hides_a_little_is_not_past_the_best() -> None:
    """Too little for a block to show it, enough to lower the contrast, as two pixels of blur would."""
    meter, edge = FocusMeter(REGION), picture(-2.5, 3)
    codes = np.asarray(Image.open(io.BytesIO(live_jpeg(LIGHT, blur_px=1.0))).convert("L"))
    hand = grey(jpeg_bytes(with_hand(codes, 0.7)))
    near = [picture(-1.0, n) for n in range(8)]
    coming_near = [picture(off, n) for n, off in enumerate([*STAY, *np.arange(-4, -0.9, 0.25)])]
    pictures = [*coming_near, *near, edge, *[hand] * 10, edge, *near]
    readings = [meter.see(frame, n * FRAME_S) for n, frame in enumerate(pictures)]
    assert any(reading.advice == Advice.IN_THE_WAY for reading in readings)
    assert not any(reading.past_best for reading in readings)


def letter(off_px: float, n: int, tip_px: int = 0) -> LiveGrey:
    """A large letter's outline; a soft veil of the paper's own tone lies over its top stroke when `tip_px` is given."""
    light = np.full((340, 512), 0.6, np.float64)
    light[120:190, 250:320] = 0.1
    light[125:185, 255:315] = 0.6
    codes = coded(blurred(light, abs(off_px)), noise_codes=1.5, seed=n % 5).astype(np.float64)
    if tip_px:
        cover = 1 / (1 + np.exp((np.arange(340) - tip_px) / 6))[:, None]
        codes = codes * (1 - cover) + codes[20, 20] * cover
    return grey(jpeg_bytes(np.rint(codes).astype(np.uint8)))


def test_tip_of_a_hand_that_the_coarse_picture_does_not_show_is_in_the_way_and_not_past_the_best() -> None:
    meter = FocusMeter(Region(200 / 512, 90 / 340, 130 / 512, 170 / 340))
    coming = [letter(off, n) for n, off in enumerate([*STAY, *np.arange(-4, -0.9, 0.25), *[-1.0] * 5])]
    tip = [letter(1.0, n, tip_px=124) for n in range(8)]
    leaving = [letter(1.0, n) for n in range(4)]
    passing = [letter(off, n) for n, off in enumerate([*np.arange(-0.75, 0.1, 0.25), *np.arange(0.25, 3.1, 0.25)])]
    readings = [meter.see(frame, n * FRAME_S) for n, frame in enumerate([*coming, *tip, *leaving, *passing])]
    hidden = readings[len(coming) + 2 : len(coming) + len(tip)]
    assert all(reading.share_of_best is not None and reading.share_of_best < 0.9 for reading in hidden)
    assert {reading.advice for reading in hidden} == {Advice.IN_THE_WAY}
    assert not any(reading.past_best for reading in readings[: len(coming) + len(tip) + len(leaving)])
    assert readings[-1].past_best
