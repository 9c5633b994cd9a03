"""Live view of the mock camera, its focus drive, and what hands can do."""

import io
import math
from typing import Any

import numpy as np
import pytest
from PIL import Image
from skimage.registration import phase_cross_correlation

from mock_camera.table.hand import veil
from mock_camera.table.world import World
from tests.support.still_life import green, grey, linear, shot, square_centres


def luma(data: bytes) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.asarray(Image.open(io.BytesIO(data)).convert("L"), np.float64)


@pytest.fixture
def world() -> World:
    return World(pixels=(384, 256))


SIZE = (240, 160)


def test_live_frame_is_a_jpeg_of_the_size_asked(world: World) -> None:
    for size in ((240, 160), (250, 167)):
        assert Image.open(io.BytesIO(world.live_frame(shot(), 1.0, size=size))).size == size


def test_live_frame_shows_the_same_view_as_the_picture() -> None:
    world = World(pixels=(384, 256), piece="card")  # flat: no shadows that would differ
    live = square_centres((luma(world.live_frame(shot(), 1.0, size=SIZE)) / 255) ** 2.2)
    picture = square_centres(linear(world.expose(shot(), 2.0)))
    shown = (live + 0.5) * 384 / SIZE[0] - 0.5
    distances = [float(np.hypot(*(picture - centre).T).min()) for centre in shown]
    assert len(distances) > 8
    assert max(distances) < 0.2


def test_live_frames_of_a_still_bench_differ_by_noise_only(world: World) -> None:
    first, second = (luma(world.live_frame(shot(), t, size=SIZE)) for t in (1.0, 1.1))
    assert 0 < (first - second).std() < 6
    assert abs((first - second).mean()) < 0.3


def test_live_frame_moves_with_the_vibration(world: World) -> None:
    still = luma(world.live_frame(shot(), 1.0, size=SIZE))
    world.do("touch", strength_um=600, frequency_hz=4, damping_ratio=0.02, direction_deg=90, now_s=2.0)
    moved = luma(world.live_frame(shot(), 2.05, size=SIZE))
    truth = world.do("look", now_s=2.05 + 1 / 120)
    found, _, _ = phase_cross_correlation(still[10:-10, 10:-10], moved[10:-10, 10:-10], upsample_factor=50)
    down = truth["shake_shift_px"][1] * SIZE[0] / 384  # type: ignore[index]
    assert -found[0] == pytest.approx(down, abs=0.15)
    assert down > 2


def test_enlarged_view_shows_the_part_asked_for_enlarged(world: World) -> None:
    told: Any = world.state()["region"]
    x, y, w, h = told
    centre = ((x + w / 2) / 384, (y + h / 2) / 256)
    world.do("turn_focus", mm=-0.5)
    whole = Image.open(io.BytesIO(world.live_frame(shot(), 1.0, size=(768, 512)))).convert("L")
    near = luma(world.live_frame(shot(), 1.0, size=SIZE, zoom=4, centre=centre))
    left, top = centre[0] * 768 - 96, centre[1] * 512 - 64
    cut = np.asarray(whole.resize(SIZE, box=(left, top, left + 192, top + 128)), np.float64)
    found, _, _ = phase_cross_correlation(cut, near, upsample_factor=20)
    assert np.abs(found).max() < 0.3
    assert np.corrcoef(cut.ravel(), near.ravel())[0, 1] > 0.95


def test_focus_shows_in_the_live_view_and_is_best_at_the_region(world: World) -> None:
    x, y, w, h = (v * SIZE[0] // 384 for v in world.state()["region"])  # type: ignore[attr-defined]
    detail = []
    for mm in (-1.0, -0.3, 0.0, 0.3, 1.0):
        world.do("turn_focus", to_mm=mm)
        region = luma(world.live_frame(shot(), 1.0, size=SIZE))[y : y + h, x : x + w]
        detail.append(float(np.var(np.diff(region, axis=1))))
    assert int(np.argmax(detail)) == 2


def test_flicker_changes_the_brightness_of_live_frames_by_its_depth(world: World) -> None:
    world.do("modelling", ev=-20)
    world.do("ambient", lux=2000, flicker_hz=1.0, flicker_depth=0.23)
    bright, dim = (luma(world.live_frame(shot(), t, size=SIZE)).mean() for t in (1.0, 1.5))
    ev = [math.log2(((v / 255 + 0.055) / 1.055) ** 2.4) for v in (bright, dim)]
    # 1.23 / 0.77 in linear light; the mean of codes tells it roughly
    assert ev[0] - ev[1] == pytest.approx(math.log2(1.23 / 0.77), abs=0.08)


def test_focus_drive_steps_move_the_plane_and_stop_at_the_end(world: World) -> None:
    assert world.drive_focus(40)
    assert world.state()["defocus_mm"] == pytest.approx(0.40)
    assert world.drive_focus(-60)
    assert world.state()["defocus_mm"] == pytest.approx(-0.20)
    assert not world.drive_focus(-100_000)
    told: Any = world.state()["focus_stops_mm"]
    near, _ = told
    assert world.state()["defocus_mm"] == near


def test_backlash_swallows_the_first_steps_after_turning_round(world: World) -> None:
    world.do("backlash", steps=30)
    world.drive_focus(100)
    start = float(world.state()["focus_mm"])  # type: ignore[arg-type]
    world.drive_focus(-30)
    assert world.state()["focus_mm"] == pytest.approx(start)
    world.drive_focus(-10)
    assert world.state()["focus_mm"] == pytest.approx(start - 0.10)
    world.drive_focus(40)
    assert world.state()["focus_mm"] == pytest.approx(start)


def test_camera_moved_back_takes_the_plane_of_focus_along(world: World) -> None:
    world.do("move_camera", away_mm=0.7)
    state = world.state()
    assert state["defocus_mm"] == pytest.approx(-0.7)
    # 200 mm from the entrance pupil at 1:1
    assert state["magnification"] == pytest.approx(200 / 200.7, rel=1e-6)


def test_hand_in_the_picture_hides_the_piece_where_it_reaches(world: World) -> None:
    world.do("turn_focus", mm=-0.2)
    before = green(world.expose(shot(), 1))
    world.do("hand", reach=0.4, side="right")
    after = green(world.expose(shot(), 10))
    # smooth skin where it covers, nothing changed where it doesn't
    assert np.diff(after[130:150, 320:370], axis=1).std() < 0.2 * np.diff(before[130:150, 320:370], axis=1).std() + 0.02
    assert np.abs(after[:, :150] - before[:, :150]).mean() < 0.01
    assert veil(96, 64, 0.0, "right").max() < 0.6


def test_coloured_light_colours_the_picture_and_keeps_its_brightness() -> None:
    world = World(pixels=(192, 128), piece="card")
    neutral = world.expose(shot(), 1)
    world.do("light", name="key", red=1.3, blue=0.7)
    warm = world.expose(shot(), 10)
    assert warm.rgb[..., 0].mean() > neutral.rgb[..., 0].mean() + 5
    assert warm.rgb[..., 2].mean() < neutral.rgb[..., 2].mean() - 5
    assert grey(warm) == pytest.approx(grey(neutral), rel=0.02)


def test_piece_can_be_changed_and_stays_in_focus(world: World) -> None:
    assert world.do("piece", name="type")["piece"] == "type"
    truth = world.expose(shot(), 1).truth
    assert truth["blur_px"] == pytest.approx(0)
    assert world.state()["piece"] == "type"


def test_set_put_down_again_by_hand_is_a_little_off_and_the_same_for_the_same_seed() -> None:
    first, second, other = (World(pixels=(64, 64)).do("detune", seed=s) for s in (3, 3, 4))
    assert first == second
    assert first != other
    place = first["placement"]
    assert 0 < abs(place["right_mm"]) <= 1  # type: ignore[index]


@pytest.mark.parametrize(
    ("name", "values", "sentence"),
    [
        ("wave", {}, "Nothing is called 'wave'"),
        ("touch", {"strength": 3}, "touch takes no strength"),
        ("touch", {"damping_ratio": 1.5}, "damping_ratio is 1.5, it must lie within 0.0001 and 0.99"),
        ("light", {}, "light needs name"),
        ("light", {"name": "key", "distance_mm": 0}, "distance_mm is 0, it must lie within"),
        ("light", {"name": "key", "power_ev": float("nan")}, "power_ev is a number, not nan"),
        ("light", {"name": "key", "fires": 1}, "fires is true or false, not 1"),
        ("light", {"name": "key", "shaper": "bucket"}, "no shaper is called 'bucket'"),
        ("remove_light", {"name": "rim"}, "no name is called 'rim'"),
        ("turn_focus", {}, "turn_focus needs mm"),
        ("piece", {"name": "ring"}, "no name is called 'ring'"),
        ("arrangement", {"magnification": "1:1"}, "magnification is a number, not '1:1'"),
        ("backlash", {"steps": -1}, "steps is -1"),
    ],
)
def test_unknown_names_and_values_are_refused_in_one_sentence(
    world: World, name: str, values: dict[str, object], sentence: str
) -> None:
    before = world.state()
    with pytest.raises(ValueError, match=r".") as refusal:
        world.do(name, **values)
    assert sentence in str(refusal.value)
    assert world.state() == before


@pytest.mark.parametrize("pixels", [(1000, 667), (32, 32)])
def test_pixel_counts_that_cannot_be_drawn_are_refused(pixels: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match="both must be even and at least 64"):
        World(pixels=pixels)


@pytest.mark.parametrize("pixels", [(330, 222), (500, 334), (600, 400)])
def test_any_even_pixel_count_gives_pictures_and_live_frames(pixels: tuple[int, int]) -> None:
    world = World(pixels=pixels)
    world.do("turn_focus", mm=0.5)
    assert world.expose(shot(), 1).rgb.shape == (pixels[1], pixels[0], 3)
    assert Image.open(io.BytesIO(world.live_frame(shot(), 2, size=pixels))).size == pixels
