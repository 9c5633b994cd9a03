"""A hand over the region, a changed set, and what is neither: focusing, flicker, a small shake."""

from __future__ import annotations

import io

import numpy as np
import pytest
from live_pictures import live_grey, live_jpeg, scene, with_hand
from made_pictures import jpeg_bytes
from PIL import Image

from session.live.cover import SETTLED_S, Cover, Sight
from session.live.decode import LiveGrey, grey
from session.setup import Region

REGION = Region(0.3, 0.3, 0.3, 0.3)
LIGHT = scene()
FRAME_S = 1 / 15


def hand(share: float, seed: int = 0) -> LiveGrey:
    codes = np.asarray(Image.open(io.BytesIO(live_jpeg(LIGHT, seed=seed))).convert("L"))
    return grey(jpeg_bytes(with_hand(codes, share)))


def watched(*pictures: LiveGrey) -> list[Sight]:
    cover = Cover(REGION)
    return [cover.see(picture, number * FRAME_S) for number, picture in enumerate(pictures)]


@pytest.mark.parametrize("share", [0.35, 0.5, 0.8, 1.2])
def test_hand_over_the_region_is_seen_in_its_first_frame(share: float) -> None:
    sights = watched(*[live_grey(LIGHT, seed=n) for n in range(5)], hand(share))
    assert [sight.clear for sight in sights] == [True] * 5 + [False]


@pytest.mark.parametrize("share", [0.05, 0.12, 0.2])
def test_hand_beside_the_region_hides_nothing(share: float) -> None:
    assert all(sight.clear for sight in watched(live_grey(LIGHT), *[hand(share, n) for n in range(5)]))


def test_hand_that_leaves_again_leaves_the_scene_as_it_was() -> None:
    sights = watched(live_grey(LIGHT), *[hand(0.6, n) for n in range(10)], live_grey(LIGHT, seed=99))
    assert sights[-1] == sights[0]


def test_hand_that_comes_slowly_is_seen_before_it_hides_a_tenth_of_the_region() -> None:
    shares = np.linspace(0.0, 0.6, 30)
    sights = watched(live_grey(LIGHT), *[hand(share) for share in shares])
    first = next(n for n, sight in enumerate(sights) if not sight.clear) - 1
    assert shares[first] < REGION.left + 0.1 * REGION.width


def test_focusing_from_six_pixels_of_blur_is_no_hand() -> None:
    radii = np.concatenate([np.linspace(6, 0, 25), np.linspace(0, 6, 25)])
    assert all(sight.clear for sight in watched(*[live_grey(LIGHT, blur_px=r) for r in radii]))


@pytest.mark.parametrize("how", [{"ev": 0.3}, {"ev": -0.38}, {"right_px": 1.5, "down_px": -1.0}, {"noise_codes": 8.0}])
def test_flicker_shake_and_noise_are_no_hand(how: dict[str, float]) -> None:
    assert all(sight.clear for sight in watched(live_grey(LIGHT), live_grey(LIGHT, seed=1, **how)))


def test_change_that_stays_is_a_new_scene_and_the_old_one_comes_back_with_its_number() -> None:
    other = scene("camera.png")
    frames = int((SETTLED_S + 0.3) / FRAME_S)
    pictures = [live_grey(LIGHT, seed=1)] + [live_grey(other, seed=n) for n in range(frames)] + [live_grey(LIGHT)]
    sights = watched(*pictures)
    before, new, back = sights[0], sights[-2], sights[-1]
    assert not any(sight.clear for sight in sights[1 : int((SETTLED_S - 0.2) / FRAME_S)])
    assert new.clear
    assert new.scene != before.scene
    assert back == before


def test_another_size_is_another_scene_at_once() -> None:
    sights = watched(live_grey(LIGHT), grey(jpeg_bytes(np.full((240, 320), 90, np.uint8))))
    assert sights[1].clear
    assert sights[1].scene != sights[0].scene


def test_scene_of_another_size_never_comes_back() -> None:
    other, frames = scene("camera.png"), int((SETTLED_S + 0.3) / FRAME_S)
    small = [grey(jpeg_bytes(np.full((240, 320), code, np.uint8))) for code in (90, 90)]
    stripes = grey(jpeg_bytes(np.tile(np.repeat(np.array([20, 220], np.uint8), 40), (240, 4))))
    sights = watched(live_grey(LIGHT), *[live_grey(other, seed=n) for n in range(frames)], *small, stripes)
    assert not sights[-1].clear
    assert sights[-1].scene == sights[-2].scene
