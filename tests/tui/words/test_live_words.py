"""Live view in words and lines: trend, motion, which part is shown, crops, what is to correct."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.frame.moves import Moves
from session.live.against import Correction
from session.live.decode import Stream
from session.live.meter import Advice, FocusReading, Trend
from session.set.setup import Region
from session.shoot.events import StreamChanged
from tests.support.scripted_table import REVISION
from tui.bench.live_reference import correction_words
from tui.bench.side_panel import STEPS, still_texts, trend_line
from tui.words.live_look import LARGEST, WHOLE, Hold, LiveLook, Overlay, crop_of
from tui.words.live_model import REMEMBERED_S, LiveModel
from tui.words.live_words import FOCUS_LINES, best_text, live_headline, stream_text

PLACE = st.floats(0, 0.98), st.floats(0, 0.98), st.floats(0.01, 1), st.floats(0.01, 1)


# --- trend ------------------------------------------------------------------------------------------


def test_the_newest_stands_at_the_right_and_what_is_missing_stays_blank() -> None:
    line = trend_line([(100.0, 1.0), (100.0 + REMEMBERED_S / 2, 2.0)], 10)
    assert len(line) == 10
    assert line[-1] == STEPS[-1] and line[4] == STEPS[0]
    assert set(line[5:-1]) == {" "}


def test_unsteadiness_alone_looks_flat_and_stands_at_the_top() -> None:
    wobble = [(i / 15, 5.0 * (1 + 0.01 * (-1) ** i)) for i in range(450)]
    assert set(trend_line(wobble, 30)) <= set(STEPS[-2:])


# --- words ------------------------------------------------------------------------------------------


def test_the_best_is_told_with_its_age_and_how_near_it_is() -> None:
    reading = FocusReading(4.3, 4.51, 12.3, 0.955, Trend.RISING, False)
    assert best_text(reading) == "Best so far 4.51, 12 s ago; now 96 % of it, rising."
    assert best_text(replace(reading, contrast=None, share_of_best=None)) == "Best so far 4.51, 12 s ago."
    assert best_text(replace(reading, best_contrast=None)) == ""


@pytest.mark.parametrize(("advice", "large"), list(FOCUS_LINES.items()))
def test_what_the_meter_objects_to_is_the_large_line_but_not_where_a_sweep_goes(advice: Advice, large: str) -> None:
    live = LiveModel(on=True, focus=FocusReading(None, 4.51, 12.3, None, Trend.STEADY, False, advice))
    assert live_headline(live, sweeping=False).large == large
    assert live_headline(live, sweeping=True).large == "SWEEP"


def test_motion_is_told_with_since_when_it_is_within_the_limit() -> None:
    still = Moves(50.0, 0.12, 0.2, 46.8, 46.0)
    assert still_texts(still, REVISION)[0] == "moves ±0.1 px, still for 3 s"
    assert still_texts(replace(still, still_since_s=None, moving_px=3.14), REVISION)[0] == "moves ±3.1 px"
    assert still_texts(replace(still, moving_px=None), REVISION)[0].startswith("being watched")
    assert still_texts(None, REVISION) == ["not seen"]


def test_what_is_to_correct_stands_in_words_and_in_px_mm_degrees_and_scale() -> None:
    words = "Camera 0.08 mm to the left, piece 1.2° clockwise."
    found = Correction(-12.0, 3.1, -0.08, 0.02, None, 1.2, 1.004, False, words)
    told = "Lies 12.0 px (0.08 mm) left, 3.1 px (0.02 mm) low, turned 1.2° anticlockwise, × 1.004."
    assert correction_words(found) == f"{words} {told}"
    unscaled = replace(found, camera_right_mm=None, camera_down_mm=None, text="Camera 12 px to the left.")
    assert "mm" not in correction_words(unscaled)
    assert correction_words(replace(found, matches=True, text="Lies as the reference.")) == "Lies as the reference."


# --- which part, which lines ------------------------------------------------------------------------


@given(*PLACE, st.integers(0, 4), st.tuples(st.integers(1, 200), st.integers(1, 120)))
def test_an_enlarged_part_lies_in_the_picture_and_fills_its_place(
    left: float, top: float, width: float, height: float, presses: int, view_px: tuple[int, int]
) -> None:
    region = Region(left, top, min(width, 1 - left), min(height, 1 - top))
    look = LiveLook()
    for _ in range(presses):
        look.enlarge()
    part = look.part(region, (1024, 680), view_px)
    if look.times == WHOLE:
        assert part is None
        return
    assert part is not None
    middle = region.left + region.width / 2, region.top + region.height / 2
    assert part.left - 1e-9 <= middle[0] <= part.left + part.width + 1e-9
    assert part.top - 1e-9 <= middle[1] <= part.top + part.height + 1e-9
    assert part.width >= region.width / look.times - 1e-9 and part.height >= region.height / look.times - 1e-9
    filled = part.width * 1024 / (part.height * 680) / (view_px[0] / view_px[1])
    assert filled == pytest.approx(1.0) or 1.0 in (part.width, part.height)


def test_enlarging_ends_at_its_largest_and_reducing_at_the_whole() -> None:
    look = LiveLook()
    for _ in range(9):
        look.enlarge()
    assert look.times == LARGEST
    for _ in range(9):
        look.reduce()
    assert look.times == WHOLE


@pytest.mark.parametrize("times", [1, 2, LARGEST])
@pytest.mark.parametrize("hold", Hold)
def test_what_is_shown_of_the_region_is_said_in_the_room_over_a_small_picture(hold: Hold, times: int) -> None:
    """At 80 columns 53 % are the picture's, with a column of margin."""
    assert len(LiveLook(times=times, hold=hold).words()) <= 0.53 * 80 - 1


@pytest.mark.parametrize(
    ("overlay", "ratio"), [(Overlay.SQUARE, 1.0), (Overlay.UPRIGHT, 4 / 5), (Overlay.WIDE, 16 / 9)]
)
@pytest.mark.parametrize("size", [(1024, 680), (680, 1024), (512, 512)])
def test_a_crop_has_its_ratio_and_touches_two_edges(overlay: Overlay, ratio: float, size: tuple[int, int]) -> None:
    crop = crop_of(overlay, *size)
    assert crop is not None
    assert crop.width * size[0] / (crop.height * size[1]) == pytest.approx(ratio)
    assert max(crop.width, crop.height) == pytest.approx(1.0)
    assert crop.left == pytest.approx((1 - crop.width) / 2) and crop.top == pytest.approx((1 - crop.height) / 2)


def test_lines_that_are_no_crop_have_none() -> None:
    assert crop_of(Overlay.REGION, 3, 2) is None and crop_of(Overlay.THIRDS, 3, 2) is None


# --- stream -----------------------------------------------------------------------------------------


def test_a_good_stream_says_nothing_and_each_fault_says_what_it_is() -> None:
    assert stream_text(StreamChanged(Stream.GOOD)) == stream_text(StreamChanged(Stream.NONE)) == ""
    assert "hold-off" in stream_text(StreamChanged(Stream.LOST))
    assert "frozen" in stream_text(StreamChanged(Stream.FROZEN))
    assert "0.8 pictures a second" in stream_text(StreamChanged(Stream.SLOW, rate_per_s=0.8))
