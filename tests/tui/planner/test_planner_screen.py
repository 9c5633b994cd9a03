"""The planner screen by real keys, and its side view to scale."""

import asyncio
import math
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import pytest

from session.frame import camera_messages as say
from session.plan.kit_search import rank_plans
from session.plan.planned_revision import as_revision
from session.plan.wish import Wish
from session.set.kit import demo_kit
from session.set.setup import Revision
from session.shoot.events import CameraFound
from session.units.numbers import mm_text
from tests.support.memory_log import PLACE
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, Running, bench
from tests.support.scripted import Studio
from tests.support.scripted_table import CAMERA, READING, FixedClock, ScriptedTable
from tui.bench.picture_place import set_plan
from tui.planner.planner_screen import PlannerScreen, plan_line
from tui.planner.view_text import plan_details
from tui.planner.wish_lines import FIRST_WISH, LINES, series
from tui.screen.panels import aperture_text
from tui.screen.side_view import RIGHT_MARGIN_COLUMNS, side_view

KIT = demo_kit()
MOVEMENT = Wish(28, 28, 2.4, delivered_pixels=2400, blur_radius_on_piece_mm=0.015)


def planner(at: Running) -> PlannerScreen:
    screen = at.app.screen
    assert isinstance(screen, PlannerScreen)
    return screen


def plan_for(wish: Wish = MOVEMENT, place: int = 0):
    return rank_plans(KIT, wish).plans[place]


@pytest.mark.parametrize("width", [60, 80, 120, 160])
@pytest.mark.parametrize("place", [0, 5, 40])
def test_distances_along_the_axis_are_drawn_to_scale(width, place):
    plan = plan_for(place=place)
    drawn = side_view(plan, width, 15)
    middle = drawn.lines[15 // 2]
    plane = width - RIGHT_MARGIN_COLUMNS
    sensor = middle.index("▌")
    assert (plane - sensor) * drawn.mm_a_column == pytest.approx(plan.mounting.track_mm, abs=drawn.mm_a_column)
    front = max(line.rindex("│") for line in drawn.lines if "│" in line)
    free_mm = (plane - front) * drawn.mm_a_column
    assert free_mm == pytest.approx(plan.mounting.working_distance_mm, abs=1.5 * drawn.mm_a_column)


@pytest.mark.parametrize(("width", "height"), [(30, 5), (80, 7), (80, 24), (200, 60)])
def test_the_drawing_fills_its_place_exactly(width, height):
    for wish in (MOVEMENT, Wish(11, 11, 4, delivered_pixels=2000, plate="2 mm glass")):
        drawn = side_view(plan_for(wish), width, height)
        assert [len(line) for line in drawn.lines] == [width] * height


@pytest.mark.parametrize(("width", "height"), [(0, 0), (5, 2), (29, 4)])
def test_where_there_is_no_room_nothing_is_drawn(width, height):
    drawn = side_view(plan_for(), width, height)
    assert "".join(drawn.lines).strip() == ""


def test_a_plate_is_drawn_tilted_and_lights_beyond_the_drawing_are_named_with_their_distance():
    drawn = side_view(plan_for(Wish(28, 28, 2.4, delivered_pixels=2400, plate="2 mm glass")), 100, 20)
    assert sum(line.count("╲") for line in drawn.lines) > 10
    assert any(word.startswith("key ") and word.endswith(" mm") for word in drawn.beyond)


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
        assert planner(at).wish == replace(FIRST_WISH, body=KIT.body[0].name)
        await at.press("escape", "down", "down", "down", "t")
        await at.type("9")
        await at.press("enter")
        assert "only 2.4 mm deep" in at.text
        assert planner(at).wish == replace(FIRST_WISH, body=KIT.body[0].name)


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


@pytest.mark.parametrize("wish", [MOVEMENT, Wish(11, 11, 4, delivered_pixels=2000, plate="2 mm glass")])
def test_rows_of_the_ranking_differ_visibly_at_80_columns_and_are_whole_at_120(wish):
    plans = rank_plans(KIT, wish).plans
    assert len(plans) > 50
    rows = [plan_line(0, plan, KIT, 54) for plan in plans]  # 80 columns without the wishes and the gap
    assert max(map(len, rows)) <= 54
    parts = {(plan.build.body.name, plan.build.label): row for plan, row in zip(plans, rows, strict=True)}
    assert len(set(parts.values())) == len(parts)
    for plan in plans:
        row = plan_line(0, plan, KIT, 84)  # 120 columns likewise
        assert plan.build.lens.name in row and plan.build.body.name in row and "…" not in row
        added = [f"{tube.extension_mm:g}" for tube in plan.build.tubes]
        assert not added or row.index("+".join(added)) < row.index(plan.build.lens.name)


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


def test_a_mirror_like_piece_smaller_than_the_lens_in_it_stays_dark():
    plan = plan_for(Wish(11, 9, 0.5, blur_radius_on_piece_mm=0.02, surface="mirror"))
    assert plan.reflection.dark_radius_mm > math.hypot(11, 9) / 2
    assert "shows the lens all over, and stays dark" in " ".join(text for _, text in plan_details(plan))


def test_what_a_mirror_like_piece_shows_over_a_plate_is_told_with_size_and_place():
    wish = Wish(11, 9, 0.5, blur_radius_on_piece_mm=0.02, plate="2 mm glass", surface="mirror", lights=("fill",))
    plan = plan_for(wish)
    told = " ".join(text for _, text in plan_details(plan))
    shown = plan.reflection
    assert shown.panel_distance_mm == plan.lights[0].distance_mm
    assert f"at least {mm_text(shown.panel_width_mm)} × {mm_text(shown.panel_height_mm)}" in told
    assert "small softbox fills" in told and "by its luminance" in told
    assert plan_for(replace(wish, surface="matt")).reflection is None


def test_plan_tells_each_lights_role_and_what_would_do_instead():
    plan = plan_for(replace(MOVEMENT, lights=("key", "fill", "rim=-1@120")))
    told = dict(plan_details(plan))
    assert "−2 EV beside the key" in told["light fill"]
    assert "behind, it lights the edge only" in told["light rim"]
    alone = list(plan_details(plan_for()))
    assert [label for label, _ in alone if label.startswith("light ")] == ["light key"]
    assert any(label == "or instead" and " alone, " in text for label, text in alone)
