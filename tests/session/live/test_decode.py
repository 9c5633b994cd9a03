"""Live frames that are whole, and all the ways in which they or their stream aren't."""

from __future__ import annotations

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from session.live.decode import BrokenFrameError, Stream, StreamWatch, grey
from tests.support.live_pictures import SIZE_PX, live_jpeg, scene
from tests.support.made_pictures import jpeg_bytes

WHOLE = live_jpeg(scene())


def black(size: tuple[int, int] = SIZE_PX) -> bytes:
    return jpeg_bytes(np.zeros(size[::-1], np.uint8))


def play(*frames: tuple[float, bytes]) -> StreamWatch:
    """A watch to which these frames came at these times."""
    watch = StreamWatch()
    watch.begin(0.0)
    for at_s, jpeg in frames:
        if watch.is_repeated(jpeg):
            watch.note_repeated(at_s)
            continue
        try:
            watch.fresh(jpeg, grey(jpeg), at_s)
        except BrokenFrameError:
            watch.note_broken(jpeg, at_s)
    return watch


def fresh(count: int, first_s: float = 0.0, every_s: float = 1 / 15) -> list[tuple[float, bytes]]:
    """So many different pictures."""
    light = scene()
    return [(first_s + number * every_s, live_jpeg(light, seed=number)) for number in range(count)]


def test_grey_is_what_pillow_makes_of_the_luma() -> None:
    """Pillow's own conversion of the whole decode: Y of the JPEG against 0.299 R + 0.587 G + 0.114 B (ITU-R BT.601)."""
    colour = Image.open(io.BytesIO(WHOLE)).convert("RGB").convert("L")
    found = grey(WHOLE)
    assert found.shape == SIZE_PX[::-1]
    assert np.abs(found.codes.astype(int) - np.asarray(colour)).max() <= 2


def test_small_picture_holds_the_means_of_blocks() -> None:
    found = grey(WHOLE)
    side = found.times
    assert side == SIZE_PX[1] // 110
    block = found.codes[5 * side : 6 * side, 7 * side : 8 * side]
    assert found.small[5, 7] == pytest.approx(block.mean(), abs=0.51)  # Pillow rounds to whole codes


@pytest.mark.parametrize(
    ("jpeg", "clause"),
    [
        (b"", "cut off or damaged"),
        (b"no picture", "cut off or damaged"),
        (WHOLE[: len(WHOLE) // 2], "cut off or damaged"),
        (jpeg_bytes(np.zeros((60, 90), np.uint8)), "90 × 60 pixels"),
        (jpeg_bytes(np.zeros((100, 4000), np.uint8)), "4000 × 100 pixels"),
    ],
    ids=["nothing", "no JPEG", "half", "thumbnail", "strip"],
)
def test_frame_that_is_no_live_picture_is_refused_with_a_clause(jpeg: bytes, clause: str) -> None:
    with pytest.raises(BrokenFrameError, match=clause):
        grey(jpeg)


def test_other_formats_are_no_live_pictures() -> None:
    out = io.BytesIO()
    Image.new("L", SIZE_PX, 100).save(out, "PNG")
    with pytest.raises(BrokenFrameError):
        grey(out.getvalue())


@settings(max_examples=60)
@given(st.integers(0, len(WHOLE) - 1), st.binary(min_size=1, max_size=12))
def test_damaged_bytes_give_a_picture_or_a_clause_and_nothing_else(at: int, junk: bytes) -> None:
    damaged = WHOLE[:at] + junk + WHOLE[at + len(junk) :]
    try:
        assert grey(damaged).codes.ndim == 2
    except BrokenFrameError as error:
        assert str(error)


def test_steady_stream_says_nothing() -> None:
    watch = play(*fresh(40))
    assert watch.state(39 / 15) is Stream.GOOD
    assert watch.rate_per_s(39 / 15) == pytest.approx(15, rel=0.05)


def test_stream_that_never_comes_is_said_to_be_lost_after_two_seconds() -> None:
    watch = play()
    assert watch.state(1.9) is Stream.NONE
    assert watch.state(2.1) is Stream.LOST


def test_lost_stream_is_said_and_forgotten_when_it_comes_back() -> None:
    watch = play(*fresh(15))
    assert watch.state(1.0) is Stream.GOOD
    assert watch.state(3.1) is Stream.LOST
    for at_s, jpeg in fresh(3, first_s=5.0):
        watch.fresh(jpeg, grey(jpeg), at_s)
    assert watch.state(5.2) is not Stream.LOST


def test_same_bytes_again_and_again_are_a_frozen_stream() -> None:
    last = fresh(15)[-1][1]
    watch = play(*fresh(15), *[(1.0 + n / 15, last) for n in range(40)])
    assert watch.state(1.0 + 39 / 15) is Stream.FROZEN


def test_one_frame_a_second_is_slow_with_its_rate_and_not_lost() -> None:
    watch = play(*fresh(6, every_s=1.0))
    assert watch.state(5.5) is Stream.SLOW
    assert watch.rate_per_s(5.2) == pytest.approx(0.9, abs=0.15)


def test_one_frame_a_second_repeated_in_between_is_slow_too() -> None:
    frames = [(n + k / 10, jpeg) for n, (_, jpeg) in enumerate(fresh(6)) for k in range(10)]
    assert play(*frames).state(5.9) is Stream.SLOW


def test_black_and_broken_frames_are_said_until_a_good_one_comes() -> None:
    assert play(*fresh(5), (0.5, black())).state(0.5) is Stream.BLACK
    assert play(*fresh(5), (0.5, WHOLE[:500])).state(0.5) is Stream.BROKEN
    for bad in (black(), WHOLE[:500]):
        assert play(*fresh(5), (0.5, bad), *fresh(1, first_s=0.6)).state(0.6) is Stream.GOOD


def test_picture_of_a_dark_set_with_one_lamp_in_it_is_not_black() -> None:
    dim = np.zeros(SIZE_PX[::-1], np.uint8)
    dim[100:160, 200:260] = 40
    assert not grey(jpeg_bytes(dim)).is_black


def test_change_of_size_is_told() -> None:
    watch = StreamWatch()
    small = jpeg_bytes(np.full((240, 320), 90, np.uint8))
    assert not watch.fresh(WHOLE, grey(WHOLE), 0.0)
    assert watch.fresh(small, grey(small), 0.1)
    assert not watch.fresh(small + b" ", grey(small), 0.2)
