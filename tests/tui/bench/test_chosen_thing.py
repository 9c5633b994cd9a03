"""A light, reflector, flag or glass by keys: put up, placed, changed, struck, each visit one act."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from session.frame import camera_messages as say
from session.set.setup import PassiveItem, PlacedLight, Revision
from tests.support.memory_log import PLACE
from tests.support.played_bench import CHARGED_S, played_bench
from tests.support.scripted import Studio
from tui.bench.bench_screen import BenchScreen

TWO_LIGHTS = Revision(
    lights=(PlacedLight("key", -2.0, 600.0, 45.0, 35.0, "tube"), PlacedLight("rim", -3.0, 410.0, 120.0, 20.0))
)


async def test_a_light_set_by_keys_is_in_force_before_the_release_that_follows() -> None:
    async with played_bench() as at:
        await at.press("1", "plus", "space")
        light = at.revision.light("key")
        assert light is not None and light.power_ev == pytest.approx(-5 / 3, abs=1e-4)
        await at.wait(CHARGED_S)
        asked = at.studio.camera.last(say.Release)
        made = at.studio.log.keys[at.studio.log.rows[asked.frame_id]["intent"].revision_id]
        assert made.light("key") == light


@pytest.fixture
def settling(monkeypatch: pytest.MonkeyPatch) -> list[tuple[float, Callable[[], None]]]:
    """What the bench planned to do later, as (delay, act), instead of a timer."""
    planned: list[tuple[float, Callable[[], None]]] = []

    def later(screen: BenchScreen, delay_s: float, act: Callable[[], None]) -> Callable[[], None]:
        planned.append((delay_s, act))
        return planned.clear

    monkeypatch.setattr(BenchScreen, "later", later)
    return planned


async def test_a_light_change_takes_force_by_itself_a_moment_later(
    settling: list[tuple[float, Callable[[], None]]],
) -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("1", "full_stop")
        ((delay_s, put_in_force),) = settling
        assert delay_s == 1.0
        assert at.revision == TWO_LIGHTS
        put_in_force()
        assert at.revision.light("key").distance_mm == 610.0


async def test_many_presses_are_one_change_of_the_arrangement(
    settling: list[tuple[float, Callable[[], None]]],
) -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("2", "minus", "minus", "right", "up", "comma", "enter")
        assert len(at.studio.log.acts) == 1
        rim = at.revision.light("rim")
        assert (rim.distance_mm, rim.azimuth_deg, rim.elevation_deg) == (400.0, 115.0, 25.0)


async def test_a_light_change_is_cancelled_by_escape_even_after_it_took_force_and_leaves_nothing_to_undo(
    settling: list[tuple[float, Callable[[], None]]],
) -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("1", "plus")
        settling[0][1]()
        assert at.revision.lights != TWO_LIGHTS.lights
        await at.press("escape")
        assert at.revision.lights == TWO_LIGHTS.lights
        assert not at.studio.log.can_undo(PLACE), "what is changed while a light is chosen is one act"


async def test_a_light_of_the_kit_comes_into_the_set_and_goes_out_again() -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("3")  # key and rim stand in the set, the kit's third is next
        await at.press("d")
        await at.type("410")
        await at.press("enter", "m")
        await at.type("120 left/20")
        await at.press("enter", "enter")
        assert at.revision.light("fill") == PlacedLight("fill", 0.0, 410.0, 120.0, 20.0)
        await at.press("1", "delete", "enter")
        assert [light.name for light in at.revision.lights] == ["rim", "fill"]


async def test_a_reflector_is_put_up_placed_sized_and_struck_as_one_act_each() -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("0")
        await at.type("reflector white card 210 x 297")
        await at.press("enter", "d")
        await at.type("410")
        await at.press("enter", "m")
        await at.type("120 left/20")
        await at.press("enter", "left", "full_stop", "enter")
        card = PassiveItem("bounce", "white card", 420.0, 125.0, 20.0, "", 210.0, 297.0)
        assert at.revision.passive == (card,)
        assert len(set(at.studio.log.acts)) == 1
        await at.press("3", "t")
        await at.type("45 left")
        await at.press("enter", "enter")
        card = replace(card, turned_deg=45.0, turned_to="left")
        assert at.revision.passive == (card,)
        await at.press("1", "w")
        await at.type("600 x 900")
        await at.press("enter", "enter")
        assert at.revision.lights[0] == replace(TWO_LIGHTS.lights[0], width_mm=600.0, height_mm=900.0)
        await at.press("3", "s")  # key and rim, then what stands in the set besides
        await at.type("105 x 148.5")
        await at.press("enter", "enter")
        assert at.revision.passive == (replace(card, width_mm=105.0, height_mm=148.5),)
        await at.press("3", "delete", "enter")
        assert at.revision.passive == ()
        await at.press("z")
        assert at.revision.passive != ()


async def test_what_is_put_up_and_cancelled_leaves_nothing_and_a_slip_is_told() -> None:
    async with played_bench(Studio(revision=TWO_LIGHTS)) as at:
        await at.press("0")
        await at.type("flag")
        await at.press("enter", "escape")
        assert at.revision == TWO_LIGHTS and not at.studio.log.can_undo(PLACE)
        await at.press("0")
        await at.type("mirror")
        await at.press("enter")
        assert "begins with reflector, flag, glass" in at.flat


async def test_a_light_s_place_is_typed_as_the_tape_measured_it() -> None:
    """To the piece, to the lens, up from the table, and sideways as a check; by vectors in tests/session/set."""
    camera = Revision(lights=(PlacedLight("key", -2.0),), working_distance_mm=300, view_down_deg=30)
    async with played_bench(Studio(revision=camera)) as at:
        await at.press("1", "d")
        assert "key: mm, or its place by tape" in at.text and "like 620 540 300 left" in at.flat
        assert "like 300 left 200 front 400 up." in at.flat, "nothing of it is cut at 80 columns"
        await at.type("620 540 300 left 410")
        await at.press("enter")
        assert "By tape: 71° left (±2°) · 29° up. Sideways is 102 mm less than the others give" in at.flat
        await at.press("d")
        await at.type("620 1500 300 left")
        await at.press("enter")
        assert "is 320 mm to 816 mm from the lens, not 1500 mm" in at.flat
        await at.press("escape", "enter")
        placed = PlacedLight("key", -2.0, 620, 71, 29, distance_sd_mm=5.8, azimuth_sd_deg=1.9, elevation_sd_deg=0.7)
        assert at.revision.lights == (placed,)


async def test_a_measure_nobody_took_is_asked_for_and_not_made_up() -> None:
    bare = Revision(lights=(PlacedLight("key", -2.0),))
    async with played_bench(Studio(revision=bare)) as at:
        await at.press("1", "full_stop")
        assert "key: mm, or its place by tape" in at.text
        await at.type("near")
        await at.press("enter")
        assert "Distance is a number in mm, not 'near'." in at.text
        assert at.revision == bare


async def test_a_blank_note_is_a_dash() -> None:
    """Another log, or an archive, may hold a note of nothing but spaces."""
    blank = Revision(lights=(PlacedLight("key", -2.0, 600.0, 45.0, 35.0, shaper=" ", note=" "),))
    async with played_bench(Studio(revision=blank)) as at:
        await at.press("1")
        assert "LIGHT key" in at.text and "note —" in at.flat
