"""The planner screen by real keys, and its side view to scale."""

import asyncio
import threading
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import pytest

from session.frame import camera_messages as say
from session.plan.kit_search import Ranked, rank_plans
from session.plan.nearest_wish import NearestWish, met_wish, nearest_wish
from session.plan.planned_revision import as_revision
from session.plan.wish import Wish
from session.set.kit import Kit, demo_kit
from session.set.setup import Revision
from session.shoot.events import CameraFound
from session.units.numbers import mm_text
from tests.support.memory_log import PLACE
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, Running, bench
from tests.support.scripted import Studio
from tests.support.scripted_table import CAMERA, READING, FixedClock, ScriptedTable
from tui.bench.picture_place import set_plan
from tui.planner import planner_screen
from tui.planner.planner_screen import PlannerScreen
from tui.planner.view_text import plan_details
from tui.planner.wish_lines import FIRST_WISH, LINES, series
from tui.screen.panels import aperture_text

KIT = demo_kit()
EXAMPLE = replace(FIRST_WISH, body=KIT.body[0].name, delivered_pixels=1020.0)
"""A square piece upright on a sensor of 1536 by 1024 px takes 1024 px at most with its margin, in tens 1020."""

MOVEMENT = Wish(28, 28, 2.4, delivered_pixels=2400, blur_radius_on_piece_mm=0.015)


def planner(at: Running) -> PlannerScreen:
    screen = at.app.screen
    assert isinstance(screen, PlannerScreen)
    return screen


def test_every_line_of_the_wish_reads_steps_and_can_be_typed():
    for line in LINES:
        assert line.text(FIRST_WISH)
        for steps in (-1, 1):
            try:
                stepped = line.step(FIRST_WISH, steps, KIT)
            except ValueError as error:
                assert str(error).endswith((".", "?"))
            else:
                assert isinstance(stepped, Wish)


def test_steps_are_about_ten_a_decade():
    steps = series(1, 100)
    assert steps[0] == 1
    assert steps[-1] == 100
    assert len(steps) == 21
    assert all(later / earlier < 1.4 for earlier, later in pairwise(steps))


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])
async def test_results_follow_a_key_within_one_paint(size):
    async with bench(ScriptedTable(), FixedClock(), size) as at:
        await at.press("m")
        assert isinstance(at.app.screen, PlannerScreen)
        assert "its depth      2.4 mm" in at.text
        assert "3×" in at.text
        await at.press("down", "down")
        await at.pilot.press("right")  # one key, one turn of the loop, no waiting for workers
        await asyncio.sleep(0)
        await at.pilot.pause()
        assert "its depth      3.0 mm" in at.text
        assert planner(at).wish.relief_mm == 3.0
        await at.press("t")
        await at.type("20")
        await at.press("enter")
        assert planner(at).wish.relief_mm == 20
        assert f"{planner(at).found.plans[0].stop.series.frames}×" in at.text


def of_camera(model: str, serial: str = "unknown") -> CameraFound:
    return CameraFound(replace(CAMERA, model=model, serial=serial), READING, None)


@pytest.mark.parametrize(("model", "serial"), [("Wendle 36", "unknown"), ("PTP/IP Camera", "serial of the 36")])
async def test_it_begins_with_the_connected_body_and_says_when_a_plan_is_for_another(model, serial):
    numbers = {"Wendle 36": "serial of the 36"}
    bodies = tuple(body.model_copy(update={"serial": numbers.get(body.name, "")}) for body in KIT.body)
    async with bench(
        ScriptedTable(kit=KIT.model_copy(update={"body": bodies})), FixedClock(), LARGE, of_camera(model, serial)
    ) as at:
        await at.press("m")
        assert {plan.build.body.name for plan in planner(at).found.plans} == {"Wendle 36"}
        assert "the bench has" not in at.text
        body_line = next(i for i, line in enumerate(LINES) if line.name == "body")
        await at.press(*["down"] * body_line, "t")
        await at.type("Wendle 16")
        await at.press("enter")
        assert "This is for Wendle 16; the bench has Wendle 36." in at.text


async def test_with_a_camera_that_the_kit_does_not_know_it_begins_with_the_body_that_the_rules_count_with():
    async with bench(ScriptedTable(), FixedClock(), LARGE, of_camera("somebody else's")) as at:
        await at.press("m")
        assert {plan.build.body.name for plan in planner(at).found.plans} == {KIT.body[0].name}


@pytest.mark.parametrize("wish", [MOVEMENT, Wish(8, 8, 2, delivered_pixels=2400)])
def test_planner_and_bench_write_stop_and_room_before_the_lens_alike(wish):
    for plan in rank_plans(KIT, wish).plans:
        revision = as_revision(plan, Revision())
        told = " ".join(dict(plan_details(plan)).values())
        assert aperture_text(revision.settings.f_number, revision) in told
        at_bench = " ".join(line.plain for line in set_plan(revision, KIT, 200, 20))
        room_mm = plan.mounting.working_distance_mm
        assert room_mm is not None and f"{mm_text(room_mm)} from the lens to the plane of focus" in at_bench
        assert f"{mm_text(room_mm)} to the plane of focus" in told


async def test_what_can_not_be_meant_is_said_and_the_old_wish_stands():
    async with bench(ScriptedTable(), FixedClock(), SMALL) as at:
        await at.press("m", "t")
        await at.type("0")
        await at.press("enter")
        assert "must be from" in at.text
        assert planner(at).wish == EXAMPLE
        await at.press("escape", "down", "down", "down", "t")
        await at.type("9")
        await at.press("enter")
        assert "only 2.4 mm deep" in at.text
        assert planner(at).wish == EXAMPLE


async def test_the_plan_is_handed_to_the_set_up_and_to_the_camera():
    async with played_bench() as at:
        await at.press("m", "full_stop")
        plan = planner(at).found.plans[1]
        await at.press("enter")
        assert not isinstance(at.app.screen, PlannerScreen)
        revised = at.revision
        assert revised.settings.f_number == plan.stop.f_number
        assert revised.arrangement.lens == plan.build.lens.name
        assert revised.depth_needed_mm == plan.wish.depth_mm
        assert at.studio.camera.last(say.ApplySettings).changes["f_number"] == plan.stop.f_number
        assert at.studio.log.standing(PLACE).revision == revised


async def test_the_example_that_the_planner_begins_with_can_be_met_by_the_body_that_stands():
    async with bench(ScriptedTable(), FixedClock(), SMALL) as at:
        await at.press("m")
        assert planner(at).wish == EXAMPLE
        assert "✗" not in at.text and "1 ✓" in at.text
        assert "f wish" not in at.text
    async with bench(ScriptedTable(), FixedClock(), SMALL, of_camera("Wendle 36")) as at:
        await at.press("m")
        assert planner(at).wish == replace(FIRST_WISH, body="Wendle 36")


async def test_where_nothing_meets_the_wish_one_line_says_what_to_give_up_and_a_key_wishes_that():
    async with bench(ScriptedTable(), FixedClock(), SMALL) as at:
        await at.press("m", *["down"] * line_of("delivered_pixels"), "t")
        await at.type("2400")
        await at.press("enter")
        said = " ".join(at.text.split())
        assert (
            "! Nothing meets the whole wish. Nearest: 1020 px instead of 2400. With Wendle 36 all of it holds." in said
        )
        assert "nearest first" in said and "f wish 1020 px instead of 2400" in said
        await at.press("full_stop")
        assert "fails by 1.2 stops: 1024 pixels across the delivered picture, 2400 are wanted." in at.text
        await at.press("f")
        assert planner(at).wish == EXAMPLE
        assert "Everything asked for holds." in at.text and "f wish" not in at.text
        await at.press("f")
        assert planner(at).wish == EXAMPLE


async def test_keys_go_on_while_the_nearest_wish_is_looked_for_and_only_the_newest_wish_is_answered(monkeypatch):
    asked: list[float | None] = []
    go_on = threading.Event()

    def held_up(kit: Kit, wish: Wish, found: Ranked) -> NearestWish | None:
        assert threading.current_thread() is not threading.main_thread()
        asked.append(wish.delivered_pixels)
        assert go_on.wait(60)
        return nearest_wish(kit, wish, found)

    def example(kit: Kit, wish: Wish, found: Ranked) -> Wish | None:
        assert threading.current_thread() is not threading.main_thread()
        return met_wish(kit, wish, found)

    monkeypatch.setattr(planner_screen, "nearest_wish", held_up)
    monkeypatch.setattr(planner_screen, "met_wish", example)
    async with bench(ScriptedTable(), FixedClock(), SMALL) as at:
        await at.press("m", *["down"] * line_of("delivered_pixels"), "t")
        try:
            await at.pilot.press(*"2400", "enter", "t", *"2000", "enter", "t", *"3000", "enter")
            await at.pilot.pause()
            assert planner(at).wish.delivered_pixels == 3000
            said = " ".join(at.text.split())
            assert "! Nothing meets the whole wish. The nearest wish is being looked for." in said
            assert "nearest first" in said and "f wish" not in said
        finally:
            go_on.set()
        await at.settle()
        await at.settle()
        assert asked == [2400, 3000], "one look at a time, the next one for the newest wish"
        assert "Nearest: 1020 px instead of 3000." in " ".join(at.text.split())


async def test_cautions_stand_where_light_and_glass_are_planned():
    async with bench(ScriptedTable(), FixedClock(), LARGE) as at:
        await at.press("m", *["down"] * line_of("plate"), "right")
        assert "2 mm glass" in at.text
        assert "Mind capacitor" in at.text
        assert "glass" in at.text.split("Mind", 1)[1]
        assert "manuals decide" in at.text
        await at.press("question_mark", "end")
        assert "never open a head or pack" in at.text
        await at.press("escape", "escape")
        assert not isinstance(at.app.screen, PlannerScreen)


async def test_the_wish_of_a_view_is_kept_when_the_planner_is_left_and_the_prompt_shows_the_old_value():
    studio = Studio()
    reader = SimpleNamespace(
        frames=lambda *args, **named: iter(()),
        kept_wish=lambda place: studio.log.wishes.get(place.view_id),
        places=lambda job="": (),
        progress=lambda job: None,
    )
    async with played_bench(studio, reader=reader) as at:
        await at.press("m", "t")
        assert "piece width, now 28" in at.text
        await at.press("3", "1", "enter", "escape")
        assert studio.log.wishes[PLACE.view_id]["piece_width_mm"] == 31.0
        await at.press("m")
        await at.settle()
        assert "31.0 mm" in at.text or "31 mm" in at.text


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_no_caution_is_cut_and_the_plan_is_named_in_full(size):
    async with bench(ScriptedTable(), FixedClock(), size) as at:
        await at.press("m")
        for _ in range(20):
            text = " ".join(at.text.split())
            plan = planner(at)._chosen
            assert "the makers' manuals decide." in text
            assert f"{plan.build.label}, {plan.build.body.name}" in text
            await at.press("full_stop")


def line_of(name: str) -> int:
    return next(place for place, line in enumerate(LINES) if line.name == name)


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])
async def test_lights_are_chosen_by_keys_or_typed_with_level_and_angle(size):
    async with bench(ScriptedTable(), FixedClock(), size) as at:
        await at.press("m", *["down"] * line_of("lights"))
        assert "one flash" in at.text
        await at.press("right", "right")
        assert planner(at).wish.lights == ("rim",)
        await at.press("t")
        await at.type("key, fill=-1, rim@120")
        await at.press("enter")
        assert planner(at).wish.lights == ("key", "fill=-1", "rim@120")
        assert [light.name for light in planner(at).found.plans[0].lights] == ["key", "fill", "rim"]
        assert "key, fill" in at.text
        await at.press("t")
        await at.type("lamp")
        await at.press("enter")
        assert "The kit has no light 'lamp'" in at.text


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])
async def test_for_a_mirror_like_piece_the_planner_says_what_it_shows(size):
    async with bench(ScriptedTable(), FixedClock(), size) as at:
        await at.press("m", *["down"] * line_of("surface"), "right", "right")
        assert planner(at).wish.surface == "mirror"
        assert "shows the lens: wholly dark to a radius of" in at.text
        shown = planner(at).found.plans[0].reflection
        assert shown is not None and shown.dark_radius_mm is not None
        assert mm_text(shown.dark_radius_mm) in at.text
