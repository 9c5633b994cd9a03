"""The true geometry of a picture on the tabletop: the region goes where the piece goes, blur grows out of focus."""

import json
from dataclasses import replace

import pytest

from mock_camera.scene.pieces import PIECES
from mock_camera.table.tabletop import Tabletop, fresh_bench
from mock_camera.table.truth import geometry, table
from mock_camera.table.world import World

PIXELS = (1536, 1024)


def told(bench: Tabletop, pixels: tuple[int, int] = PIXELS, f_number: float = 11.0) -> dict[str, object]:
    return geometry(bench, bench.focus(f_number), pixels)


def number(value: object) -> float:
    assert isinstance(value, int | float)
    return float(value)


def region(bench: Tabletop, pixels: tuple[int, int] = PIXELS) -> tuple[float, float, float, float]:
    value = told(bench, pixels)["region"]
    assert isinstance(value, list)
    left, top, width, height = value
    return left, top, width, height


@pytest.fixture
def bench() -> Tabletop:
    return fresh_bench("bridge", PIXELS[0])


@pytest.mark.parametrize("piece", sorted(PIECES))
def test_as_it_is_set_up_the_region_lies_in_the_picture_in_focus_and_unmoved(piece: str) -> None:
    bench = fresh_bench(piece, PIXELS[0])
    truth = told(bench)
    left, top, width, height = region(bench)
    assert 0 <= left < left + width <= PIXELS[0]
    assert 0 <= top < top + height <= PIXELS[1]
    assert truth["shift_px"] == pytest.approx([0.0, 0.0], abs=1e-3)
    assert number(truth["blur_px"]) == pytest.approx(0.0, abs=1e-6)
    assert number(truth["defocus_mm"]) == 0
    ratio = number(truth["magnification"])
    assert width == pytest.approx(PIECES[piece].region_mm[2] * ratio / bench.pitch_mm, abs=2)


def test_the_region_goes_with_the_piece_by_the_ratio(bench: Tabletop) -> None:
    before = region(bench)
    bench.placement = replace(bench.placement, right_mm=0.5)
    truth = told(bench)
    moved_px = 0.5 * number(truth["magnification"]) / bench.pitch_mm
    assert truth["shift_px"] == pytest.approx([moved_px, 0.0], abs=0.01)
    assert region(bench)[0] - before[0] == pytest.approx(moved_px, abs=1.5)


def test_a_region_beyond_the_picture_has_no_size(bench: Tabletop) -> None:
    bench.placement = replace(bench.placement, right_mm=1000.0)
    assert region(bench)[2] == 0


@pytest.mark.parametrize("f_number", [5.6, 11.0])
def test_out_of_focus_blur_grows_with_the_distance_and_the_opening(bench: Tabletop, f_number: float) -> None:
    blurs = []
    for focus_mm in (0.0, 0.5, 1.0):
        bench.focus_mm = focus_mm
        truth = told(bench, f_number=f_number)
        assert number(truth["blur_px"]) == pytest.approx(number(truth["blur_circle_mm"]) / bench.pitch_mm / 2)
        blurs.append(number(truth["blur_px"]))
    assert blurs[2] == pytest.approx(2 * blurs[1], rel=0.05)
    assert number(told(bench, f_number=2 * f_number)["blur_px"]) == pytest.approx(blurs[2] / 2, rel=0.01)


def test_the_rest_of_the_table_can_be_sent_and_names_every_light(bench: Tabletop) -> None:
    sent = json.loads(json.dumps(table(bench, PIXELS)))
    assert sent["piece"] == "bridge"
    assert sent["sensor_mm"] == pytest.approx([bench.pitch_mm * side for side in PIXELS])
    assert set(sent["lights"]) == set(bench.lights)
    assert all("name" not in light for light in sent["lights"].values())
    assert sent["focus_stops_mm"][0] < 0 < sent["focus_stops_mm"][1]


def test_a_sheet_of_glass_is_told_of_as_long_as_it_is_there() -> None:
    world = World(pixels=(192, 128), piece="card")
    assert world.state()["glass"] is None
    put = world.do("glass", thickness_mm=2)
    assert put == {"thickness_mm": 2.0, "tilt_deg": 45.0, "refractive_index": 1.52, "leans": "across"}
    assert world.do("glass", leans="down", tilt_deg=30) == world.state()["glass"]
    with pytest.raises(ValueError, match="no leans is called 'up': there are across, down"):
        world.do("glass", leans="up")
    world.do("glass", thickness_mm=0)
    assert world.state()["glass"] is None
