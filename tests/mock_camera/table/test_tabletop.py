"""The table as values: the ring's stops, the motor's slack, what fires and what it leaves in the capacitor."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mock_camera.scene.pieces import PIECES
from mock_camera.table.lights import FlashHead
from mock_camera.table.tabletop import AMBIENT_EV, SYNC_TIME_S, FocusDrive, Tabletop, fresh_bench
from mock_camera.table.values import RefusedValueError

quick = settings(max_examples=40)


@pytest.fixture
def bench() -> Tabletop:
    return fresh_bench("bridge", 1536)


@pytest.mark.parametrize("piece", sorted(PIECES))
def test_a_fresh_set_has_one_light_and_the_room_six_stops_under_it(piece: str) -> None:
    bench = fresh_bench(piece, 1536)
    assert list(bench.lights) == ["key"] and bench.focus_mm == 0
    flash, room = bench.flash_lux_seconds(), bench.room.lux * SYNC_TIME_S
    assert math.log2(room / flash) == pytest.approx(AMBIENT_EV)


def test_a_piece_that_nobody_has_is_refused_with_those_there_are() -> None:
    with pytest.raises(RefusedValueError) as refused:
        fresh_bench("ring", 1536)
    assert str(refused.value) == f"No piece is called 'ring': there are {', '.join(PIECES)}."


@quick
@given(st.lists(st.integers(-50, 50), max_size=12), st.integers(0, 30))
def test_the_motor_swallows_its_slack_and_nothing_else(turns: list[int], slack: int) -> None:
    drive, wanted = FocusDrive(backlash_steps=slack), 0
    moved = 0.0
    for steps in turns:
        wanted += steps
        moved += drive.moved_mm(steps)
        assert 0 <= drive.slack_steps <= slack
        assert abs(moved / drive.step_mm - wanted) <= slack + 1e-9


@quick
@given(st.integers(1, 40))
def test_turned_round_the_motor_first_takes_up_its_slack(slack: int) -> None:
    drive = FocusDrive(backlash_steps=slack)
    drive.moved_mm(1000)
    assert drive.moved_mm(-slack) == 0
    assert drive.moved_mm(-1) == pytest.approx(-drive.step_mm)


def test_the_ring_stops_at_either_end_and_says_so(bench: Tabletop) -> None:
    near, far = bench.focus_stops_mm()
    assert near < 0 < far
    assert bench.turn_focus_to(near) and bench.turn_focus_to(far)
    assert not bench.turn_focus_to(far + 0.01) and bench.focus_mm == far
    assert not bench.turn_focus_to(near - 5) and bench.focus_mm == near


def test_a_flash_that_fired_is_empty_and_charges_again(bench: Tabletop) -> None:
    key = bench.lights["key"]
    assert bench.fire(key, 10.0) == pytest.approx(2.0**key.power_ev)
    assert bench.charge(key, 10.0) == 0.0
    assert bench.fire(key, 10.001) == 0.0, "asked at once it doesn't strike"
    full_s = key.recycling_time_s * 2.0**key.power_ev
    assert bench.charge(key, 10.0 + full_s / 2) == pytest.approx(2.0**key.power_ev / 2)
    assert bench.fire(key, 10.0 + full_s) == pytest.approx(2.0**key.power_ev)


@pytest.mark.parametrize("off", [{"on": False}, {"fires": False}])
def test_a_head_that_is_off_or_without_a_trigger_keeps_its_charge(bench: Tabletop, off: dict[str, bool]) -> None:
    head = FlashHead("rim", **off)  # type: ignore[arg-type]
    assert bench.fire(head, 10.0) == 0.0 and bench.charge(head, 10.0) == pytest.approx(2.0**head.power_ev)
    bench.lights["rim"] = head
    assert bench.flash_lux_seconds() == pytest.approx(fresh_bench("bridge", 1536).flash_lux_seconds())


def test_without_any_light_the_room_is_told_by_that_of_a_fresh_set(bench: Tabletop) -> None:
    as_fresh = bench.room_for(AMBIENT_EV)
    bench.lights.clear()
    assert bench.flash_lux_seconds() == 0 and bench.room_for(AMBIENT_EV) == pytest.approx(as_fresh)


def test_a_right_exposure_of_white_comes_out_at_full_scale(bench: Tabletop) -> None:
    """C = 250 of a meter for incident light (ISO 2720): 250·N²/S lux seconds."""
    assert bench.linear_per_lux_second(100, 16.0) * 250 * 16**2 / 100 == pytest.approx(1.0)


def test_layers_are_drawn_afresh_only_for_a_size_that_changed_by_a_step(bench: Tabletop) -> None:
    still = bench.drawn_pose()
    bench.turn_focus_to(0.05)
    assert bench.drawn_pose() == still, "what is left is done on the finished picture"
    bench.turn_focus_to(bench.focus_stops_mm()[1])
    assert bench.drawn_pose() != still
