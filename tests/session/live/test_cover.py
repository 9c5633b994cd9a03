"""A hand over the region, a changed set, and what is neither: focusing, flicker, a small shake."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from session.live.cover import MOST_SCENES, SETTLED_S, Cover, Sight
from session.live.decode import LiveGrey, grey
from session.set.setup import Region
from tests.support.live_pictures import live_grey, live_jpeg, scene, with_hand
from tests.support.made_pictures import jpeg_bytes

REGION = Region(0.3, 0.3, 0.3, 0.3)
LIGHT = scene()
FRAME_S = 1 / 15
SETTLED_FRAMES = int((SETTLED_S + 0.3) / FRAME_S)


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
    pictures = [live_grey(other, seed=n) for n in range(SETTLED_FRAMES)]
    pictures = [live_grey(LIGHT, seed=1), *pictures, live_grey(LIGHT)]
    sights = watched(*pictures)
    before, new, back = sights[0], sights[-2], sights[-1]
    assert not any(sight.clear for sight in sights[1 : int((SETTLED_S - 0.2) / FRAME_S)])
    assert new.clear
    assert new.scene != before.scene
    assert back == before


def test_hand_that_rests_and_goes_so_slowly_that_it_is_a_scene_leaves_the_old_one_as_it_was() -> None:
    tip = 0.28  # just enough at the rim to count, so that what it leaves differs little from the scene with it
    leaving = [hand(share) for share in np.linspace(tip, 0.0, 41)]
    sights = watched(live_grey(LIGHT), *[hand(tip)] * SETTLED_FRAMES, *leaving, live_grey(LIGHT, seed=99))
    assert sights[SETTLED_FRAMES] == Sight(True, sights[0].scene + 1)
    assert all(sight.clear for sight in sights[SETTLED_FRAMES:])
    assert sights[-1] == sights[0]


def test_scene_comes_back_after_others_and_the_one_unseen_for_longest_is_forgotten() -> None:
    others = [live_grey(scene(name)) for name in ("camera.png", "coins.png", "brick.png", "page.png")]
    first, cover = live_grey(LIGHT), Cover(REGION)
    frames = [first, *others[0:1] * SETTLED_FRAMES, *others[1:2] * SETTLED_FRAMES, *others[2:3] * SETTLED_FRAMES, first]
    sights = [cover.see(picture, number * FRAME_S) for number, picture in enumerate(frames)]
    assert [sights[SETTLED_FRAMES * n].scene - sights[0].scene for n in range(MOST_SCENES)] == list(range(MOST_SCENES))
    assert sights[-1] == sights[0]
    for number, picture in enumerate(others[3:4] * SETTLED_FRAMES, len(frames)):
        last = cover.see(picture, number * FRAME_S)
    begun = [sights[0].scene + n for n in range(MOST_SCENES + 1)]
    assert last == Sight(True, begun[-1])
    assert [cover.may_return(scene) for scene in begun] == [True, False, True, True, True]


def test_another_size_is_another_scene_at_once() -> None:
    sights = watched(live_grey(LIGHT), grey(jpeg_bytes(np.full((240, 320), 90, np.uint8))))
    assert sights[1].clear
    assert sights[1].scene != sights[0].scene


def test_scene_of_another_size_never_comes_back() -> None:
    other = scene("camera.png")
    small = [grey(jpeg_bytes(np.full((240, 320), code, np.uint8))) for code in (90, 90)]
    stripes = grey(jpeg_bytes(np.tile(np.repeat(np.array([20, 220], np.uint8), 40), (240, 4))))
    sights = watched(live_grey(LIGHT), *[live_grey(other, seed=n) for n in range(SETTLED_FRAMES)], *small, stripes)
    assert not sights[-1].clear
    assert sights[-1].scene == sights[-2].scene
