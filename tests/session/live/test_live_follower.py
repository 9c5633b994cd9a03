"""Following hands: what the follower takes and refuses; how exactly it follows is told by test_against."""

from functools import cache

import numpy as np
import pytest

from session.live.decode import LiveGrey, grey
from session.live.live_follower import Follower
from session.picture.displacement import Motion
from tests.support.made_pictures import coded, jpeg_bytes, photograph

WIDE = photograph("coffee.png", (560, 400))


@cache
def live(right: int = 0, down: int = 0, times: float = 1.0, height: int = 320) -> LiveGrey:
    part = WIDE[40 - down : 40 - down + height, 40 - right : 520 - right]
    return grey(jpeg_bytes(coded(np.clip(part * times, 0, 1), noise_codes=1.0), quality=90))


@cache
def follower() -> Follower:
    return Follower(live())


@pytest.mark.parametrize(("right", "down"), [(0, 0), (3, -2), (-5, 4)])
def test_a_shift_is_told_in_pixels_of_the_live_picture(right: int, down: int) -> None:
    found = follower().motion(live(right, down), Motion())
    assert found is not None
    assert (found.right_px, found.down_px) == (pytest.approx(right, abs=0.3), pytest.approx(down, abs=0.3))
    assert abs(found.turn_deg) < 0.1
    assert found.scale == pytest.approx(1, abs=2e-3)


@pytest.mark.parametrize("times", [0.5, 0.8, 1.25])
def test_other_light_is_no_motion(times: float) -> None:
    found = follower().motion(live(times=times), Motion())
    assert found is not None
    assert abs(found.right_px) < 0.5
    assert abs(found.down_px) < 0.5


def test_a_start_nearby_leads_to_the_same_motion() -> None:
    found = [follower().motion(live(4, 3), start) for start in (Motion(), Motion(6, 2), Motion(4, 3, 0.2, 1.002))]
    assert None not in found
    places = [(one.right_px, one.down_px) for one in found if one is not None]
    assert np.ptp(places, axis=0).max() < 0.1


@pytest.mark.parametrize("codes", ["black", "grey", "noise", "upside down"])
def test_a_picture_of_something_else_is_not_followed(codes: str) -> None:
    chance = np.random.default_rng(5)
    shape = live().codes.shape
    other = {
        "black": np.zeros(shape),
        "grey": np.full(shape, 120),
        "noise": chance.integers(0, 255, shape),
        "upside down": live().codes[::-1, ::-1],
    }[codes]
    assert follower().motion(grey(jpeg_bytes(other.astype(np.uint8), quality=90)), Motion()) is None


def test_a_picture_of_another_size_is_refused_with_both_sizes() -> None:
    with pytest.raises(ValueError, match=r"320.*280|280.*320"):
        follower().motion(live(height=280), Motion())
