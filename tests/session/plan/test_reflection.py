"""What a mirror-like piece shows, against rays reflected one by one; and the words for it."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.plan.arrangements import Build
from session.plan.kit_search import rank_plans
from session.plan.mounting import mount_build
from session.plan.ranked_plan import Plan
from session.plan.reflection import Reflection, reflection_of, reflection_texts, satin_text
from session.plan.stops import tried_stops
from session.plan.wish import Wish
from session.set.kit import Light
from session.units.numbers import mm_text
from session.units.surfaces import Surface
from tests.support.plan_kits import BODY, FULL_KIT, LENSES

LENS = next(lens for lens in LENSES if lens.name == "100 close-up")
SIDE_MM = 20.0


def shown(
    width_mm: float = SIDE_MM, ratio: float = 1.0, rim_mm: float | None = 60.0, **more: object
) -> Reflection | None:
    lens = LENS.model_copy(update={"front_diameter_mm": rim_mm})
    mounting = mount_build(Build(BODY, lens), ratio)
    wish = Wish.from_fields(
        {
            "piece_width_mm": width_mm,
            "piece_height_mm": SIDE_MM,
            "blur_radius_on_piece_mm": 0.02,
            "surface": "mirror",
            **more,
        }
    )
    return reflection_of(mounting, tried_stops(mounting, wish)[0], wish, None, ())


def plan_for(**more: object) -> Plan:
    wish = Wish.from_fields(
        {"piece_width_mm": 28.0, "piece_height_mm": 28.0, "relief_mm": 1.0, "blur_radius_on_piece_mm": 0.02, **more}
    )
    kit = FULL_KIT.model_copy(update={"body": (BODY,), "lens": (LENS,), "tube": (), "light": (*FULL_KIT.light, BOX)})
    return rank_plans(kit, wish).plans[0]


BOX = Light(name="box", guide_number_m=50, distance_mm=600, source_size_mm=300)


@settings(max_examples=25)
@given(st.floats(2, 100), st.floats(0.3, 1.0))
def test_every_ray_from_the_pupil_by_way_of_the_piece_meets_the_panel(width_mm: float, ratio: float) -> None:
    found = shown(width_mm, ratio)
    assert found is not None
    mounting = mount_build(Build(BODY, LENS), ratio)
    pupil_mm = mounting.lens.entrance_pupil_distance_mm
    wish = Wish(width_mm, SIDE_MM, blur_radius_on_piece_mm=0.02)
    stop = tried_stops(mounting, wish)[0]
    radius_mm = pupil_mm * mounting.magnification / stop.effective_f_number / 2
    reached = [
        at + (at - pupil) / pupil_mm * found.panel_distance_mm  # mirrored: the ray goes on away from the pupil
        for at in (-width_mm / 2, 0.0, width_mm / 2)
        for pupil in (-radius_mm, radius_mm)
    ]
    assert max(reached) == pytest.approx(found.panel_width_mm / 2)
    assert min(reached) == pytest.approx(-found.panel_width_mm / 2)


def test_rays_from_the_pupil_by_way_of_the_edge_of_what_is_filled_just_meet_the_light_over_the_plate() -> None:
    plan = plan_for(surface="mirror", plate="thin", lights=("box",))
    found, (light,) = plan.reflection, plan.lights
    assert found is not None and found.filled_mm
    pupil_mm = plan.mounting.lens.entrance_pupil_distance_mm
    radius_mm = pupil_mm * plan.mounting.magnification / plan.stop.effective_f_number / 2
    reached = [
        at + (at - pupil) / pupil_mm * found.panel_distance_mm
        for at in (-found.filled_mm / 2, found.filled_mm / 2)
        for pupil in (-radius_mm, radius_mm)
    ]
    assert (min(reached), max(reached)) == pytest.approx((-light.source_size_mm / 2, light.source_size_mm / 2))


def test_a_square_piece_asks_for_a_square_panel_and_tells_its_corner() -> None:
    found = shown()
    assert found is not None
    assert found.panel_width_mm == found.panel_height_mm
    assert found.piece_radius_mm == pytest.approx(SIDE_MM / math.sqrt(2))
    assert found.filled_mm is None  # without a plate no light stands along the reflected way


@pytest.mark.parametrize("surface", ["matt", "satin"])
def test_another_surface_shows_nothing(surface: Surface) -> None:
    assert shown(surface=surface) is None


def test_without_the_rims_width_no_dark_middle_is_told() -> None:
    found, rimless = shown(), shown(rim_mm=None)
    assert found is not None
    assert rimless is not None
    assert (rimless.dark_radius_mm, rimless.lit_from_radius_mm) == (None, None)
    assert rimless.panel_width_mm == found.panel_width_mm
    assert found.dark_radius_mm is not None
    assert found.lit_from_radius_mm is not None
    assert 0 < found.dark_radius_mm < found.lit_from_radius_mm


def test_a_wider_rim_darkens_more_of_the_piece() -> None:
    radii = [found.dark_radius_mm for rim in (40.0, 60.0, 90.0) if (found := shown(rim_mm=rim)) is not None]
    assert radii == sorted(radii, key=lambda radius: radius or 0.0)
    assert len(set(radii)) == 3


@pytest.mark.parametrize(
    ("change", "begins"),
    [
        ((20.0, 30.0), ("shows the lens all over, and stays dark: take a plate, or tilt it",)),
        ((14.0, 16.0), ("shows the lens all over, and stays dark: take a plate, or tilt it",)),
        (
            (13.9, 16.0),
            (
                "shows the lens: wholly dark to a radius of 13.9 mm from the middle",
                "lit from 16.0 mm outwards by a surface around the lens, 81 mm × 60 mm; else take a plate, or tilt it",
            ),
        ),
        (
            (None, None),
            ("shows what stands 200 mm along the light's way: a lit surface, at least 81 mm × 60 mm",),
        ),
    ],
)
def test_the_words_tell_what_is_dark_and_from_where_it_is_lit(
    change: tuple[float | None, float | None], begins: tuple[str, ...]
) -> None:
    dark, lit = change
    found = Reflection(200, 81.4, 60, 14.0, dark_radius_mm=dark, lit_from_radius_mm=lit)
    assert reflection_texts(found, None) == begins


def test_over_a_plate_the_key_fills_as_much_as_its_size_and_one_without_a_size_asks_for_a_diffuser() -> None:
    wish = {"surface": "mirror", "plate": "thin"}
    plan = plan_for(lights=("box",), **wish)
    assert plan.reflection is not None
    assert plan.reflection.filled_mm is not None
    assert plan.reflection.panel_distance_mm == plan.lights[0].distance_mm
    assert reflection_texts(plan.reflection, plan.lights[0])[1].startswith("box fills ")
    bare = plan_for(lights=("flash 64",), **wish)
    assert bare.reflection is not None
    assert bare.reflection.filled_mm is None
    assert (
        "flash 64 has no lit surface in the kit: put a diffuser" in reflection_texts(bare.reflection, bare.lights[0])[1]
    )


@pytest.mark.parametrize(("filled_mm", "told"), [(27.9, True), (28.0, False), (40.0, False)])
def test_a_surface_that_leaves_the_corners_dark_is_to_be_put_nearer(filled_mm: float, told: bool) -> None:
    key = plan_for(lights=("box",), surface="mirror", plate="thin").lights[0]
    (_, text) = reflection_texts(Reflection(400, 80, 60, 14.0, filled_mm=filled_mm), key)
    assert text.startswith(f"box fills {mm_text(filled_mm)} of the piece, its power set by its luminance")
    assert text.endswith("; the piece's corners lie 28 mm apart: put the light nearer") is told


def test_a_satin_piece_is_warned_of_only_where_the_source_has_a_size() -> None:
    box, bare = (plan_for(surface="satin", lights=(name,)).lights[0] for name in ("box", "flash 64"))
    assert satin_text(bare) == ""
    text = satin_text(box)
    assert text.startswith("A satin piece shows box up to ")
    assert text.endswith(" EV over mid grey where it mirrors it: bracket.")
    # luminance of a disc over that of a card that it lights, by its view factor R²/(R² + d²); 0.6 against 0.18
    card_ev = box.level_ev + box.incidence_loss_ev
    factor = 150**2 / (150**2 + box.distance_mm**2)
    told_ev = float(text.split("up to ")[1].split(" EV")[0])
    assert told_ev == pytest.approx(card_ev + math.log2(0.6 / 0.18 / factor), abs=0.051)


@pytest.mark.parametrize("rim_mm", [45.0, 60.0])
def test_dark_and_lit_are_told_where_rays_from_the_pupil_meet_the_rim_of_the_lens(rim_mm: float) -> None:
    found, mounting = shown(rim_mm=rim_mm), mount_build(Build(BODY, LENS), 1.0)
    assert found is not None
    pupil_mm, front_mm = mounting.lens.entrance_pupil_distance_mm, mounting.working_distance_mm
    assert front_mm is not None
    stop = tried_stops(mounting, Wish(SIDE_MM, SIDE_MM, blur_radius_on_piece_mm=0.02))[0]
    radius_mm = pupil_mm * mounting.magnification / stop.effective_f_number / 2

    def met(at_mm: float, from_mm: float) -> float:
        return at_mm + (at_mm - from_mm) / pupil_mm * front_mm

    assert met(found.dark_radius_mm or 0.0, -radius_mm) == pytest.approx(rim_mm / 2)
    assert met(found.lit_from_radius_mm or 0.0, radius_mm) == pytest.approx(rim_mm / 2)
