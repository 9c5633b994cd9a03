"""Substitutes for the same picture: the numbers worked out here by hand.

Guide numbers by ISO 1230 (N·d; a stop is √2), the working f-number N·(1 + m/P), the entrance pupil f·(1/m + 1/P).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from session.frame.step_said import StepSaid, StepWord
from session.match.substitutes import (
    Substitutes,
    changes_to,
    choices_for,
    substitutes_in_kit,
    substitutes_said,
    with_substitutes,
    words_for,
)
from session.set.kit import Kit, KitLacksError
from session.set.setup import Arrangement, PlacedLight, Revision, Settings
from session.set.things import Body, Lens, Light, Shaper

BODY = Body(
    name="Wendle 24", sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000, sync_time_s=1 / 200
)
KIT = Kit(
    body=(BODY, BODY.model_copy(update={"name": "Wendle 36", "sensor_width_mm": 54, "sensor_height_mm": 36})),
    lens=(
        Lens(name="Short 60", focal_length_mm=60.0, closest_magnification=1.0, front_to_pupil_mm=20.0),
        Lens(name="Tele 200", focal_length_mm=200.0, closest_magnification=0.25, pupil_magnification=0.6),
    ),
    light=(
        Light(name="key", guide_number_m=36.0, source_size_mm=60.0, duration_t01_s=1 / 1000),
        Light(name="root", guide_number_m=25.456, source_size_mm=60.0, duration_t01_s=1 / 100),
        Light(name="half", guide_number_m=18.0, source_size_mm=60.0, nearest_mm=100.0),
    ),
    shaper=(
        Shaper(name="softbox", kind="softbox", loss_ev=2.0, source_size_mm=300.0),
        Shaper(name="tube", kind="tube"),
    ),
)
SET = Revision(
    settings=Settings(1 / 200, 11.0, 100),
    arrangement=Arrangement("Long 100", 100.0, 0.5),
    lights=(PlacedLight("key", -4.0, 600.0),),
)


def told(instead: Substitutes, revision: Revision = SET) -> dict[str, tuple[str, ...]]:
    return dict(with_substitutes(revision, KIT, BODY, instead).told)


def made(instead: Substitutes, revision: Revision = SET) -> Revision:
    return with_substitutes(revision, KIT, BODY, instead).revision


def test_a_shorter_lens_keeps_ratio_and_stop_and_loses_the_perspective() -> None:
    """u_E: 100·(2 + 1) = 300 mm against 60·3 = 180 mm; 180 − 20 = 160 mm before its front."""
    assert told(Substitutes(lens="Short 60"))["lens"] == (
        "Short 60 at 1:2 shows the same field",
        "its entrance pupil stands 120 mm nearer for it, so that the perspective, and what lies behind the "
        "piece, can't be the same",
        "160 mm from its front to the piece",
    )


def test_a_long_lens_wants_tubes_and_by_its_pupils_another_marked_stop() -> None:
    """(0.5 − 0.25)·200 = 50 mm; 11·(1 + 0.5) = 16.5 works as N·(1 + 0.5/0.6), N = 9.0; 200·(2 + 1.667) = 733 mm."""
    words = told(Substitutes(lens="Tele 200"))["lens"]
    assert words[1:4] == (
        "it comes to 1:4 by itself: 50 mm of tubes for it",
        "f/9 instead of f/11: as much depth of field, diffraction and light as then",
        "its entrance pupil stands 433 mm farther for it, so that the perspective, and what lies behind the "
        "piece, can't be the same",
    )
    closed = replace(SET, settings=replace(SET.settings, f_number=32.0))
    short = told(Substitutes(lens="Tele 200"), closed)["lens"]
    # 26.2 wanted, 22 there: 2·log2(26.18 / 22) = 0.5
    assert "it closes down to f/22 only: depth and light 0.5 EV off can't be the same" in short


def test_a_lens_on_another_body_is_told_for_the_ratio_of_that_body() -> None:
    words = told(Substitutes(body="Wendle 36", lens="Short 60"))
    assert words["lens"][0] == "Short 60 at 1:1.3 shows the same field"
    assert any("for the same field" in one for one in words["camera"])


def test_another_flash_gives_the_same_light_a_stop_higher_for_a_guide_number_by_root_two_smaller() -> None:
    assert told(Substitutes(flashes={"key": "root"}))["light key"] == (
        "1/8 (−3 EV) instead of 1/16 (−4 EV), from the same place",
        "the lighting ratio is as before",
        "its flash lasts 1/100 s instead of 1/1000 s (t0.1), longer than the shutter is open",
        "its colour may differ: look at the grey card",
    )


def test_a_flash_of_half_the_guide_number_at_full_power_goes_to_half_the_distance() -> None:
    full = SET.with_light(PlacedLight("key", 0.0, 600.0))
    assert told(Substitutes(flashes={"key": "half"}), full)["light key"][:2] == (
        "2.0 EV too little at full power: 299 mm from the piece instead of 600 mm",  # √((600² + 30²)/4 − 30²) = 299
        "its falloff over the piece can't be the same from there",
    )
    far = full.with_light(PlacedLight("key", 0.0, 150.0))
    assert "the lighting ratio can't be the same" in told(Substitutes(flashes={"key": "half"}), far)["light key"][0]


def test_without_its_softbox_a_light_gives_more_and_harder_shadows() -> None:
    """−1 − 2 + 2·log2(√(400² + 30²) / √(400² + 150²)) = −3.18 EV; 60 mm across 300 mm, as large from 80 mm only."""
    soft = SET.with_light(PlacedLight("key", -1.0, 400.0, shaper="softbox"))
    words = told(Substitutes(unshaped=frozenset({"key"})), soft)["light key"]
    assert words[0] == "1/16 +⅔ (−3.3 EV) instead of 1/2 (−1 EV), from the same place; 0.15 EV short by thirds"
    assert "shadow edges 5.0 times as hard (60 mm across instead of 300 mm), which can't be the same" in words
    assert words[-1].startswith("highlights on gloss show another shape")


def test_what_nobody_measured_is_said_and_not_reckoned() -> None:
    tube = SET.with_light(PlacedLight("key", -1.0, 400.0, shaper="tube"))
    words = told(Substitutes(unshaped=frozenset({"key"})), tube)["light key"]
    assert words[0] == "nobody measured what 'tube' takes on it: set the power by its frame alone"
    assert "can't tell how soft its shadows are: the kit lacks a size" in words
    anywhere = SET.with_light(PlacedLight("key", -2.0))
    assert told(Substitutes(flashes={"key": "half"}), anywhere)["light key"][0] == (
        "2.0 EV more power than then, from as far"
    )


@pytest.mark.parametrize(
    "instead",
    [
        Substitutes(body="X"),
        Substitutes(lens="X"),
        Substitutes(flashes={"key": "X"}),
        Substitutes(flashes={"X": "key"}),
    ],
)
def test_a_name_that_the_kit_or_the_set_lacks_is_refused(instead: Substitutes) -> None:
    with pytest.raises(KitLacksError, match="'X'"):
        told(instead)


def test_the_set_up_takes_the_values_that_the_words_say() -> None:
    tele = made(Substitutes(lens="Tele 200"))
    assert (tele.arrangement.lens, tele.arrangement.extension_mm, tele.settings.f_number) == ("Tele 200", 50.0, 9.0)
    assert made(Substitutes(flashes={"key": "root"})).lights == (PlacedLight("key", -3.0, 600.0),)
    full = SET.with_light(PlacedLight("key", 0.0, 600.0))
    near = made(Substitutes(flashes={"key": "half"}), full).lights[0]
    assert near.power_ev == 0 and near.distance_mm == pytest.approx(299, abs=1)
    soft = SET.with_light(PlacedLight("key", -1.0, 400.0, shaper="softbox"))
    bare = made(Substitutes(unshaped=frozenset({"key"})), soft).lights[0]
    assert bare.shaper == "" and bare.power_ev == pytest.approx(-10 / 3)
    assert made(Substitutes()) == SET


def test_a_larger_sensor_has_every_light_give_more_so_that_the_ratio_stays() -> None:
    """k = 1.5, m 0.75: N_eff 11·1.5·1.5 = 24.75; f/14 works as 14·1.75 = 24.5; 2·log2(24.5 / 16.5) = 1.14 EV, 1 EV by
    thirds for both."""
    both = SET.with_light(PlacedLight("root", -5.0, 400.0))
    wider = with_substitutes(both, KIT, BODY, Substitutes(body="Wendle 36"))
    assert wider.revision.settings.f_number == 14.0 and wider.revision.body == "Wendle 36"
    assert wider.revision.arrangement.magnification == pytest.approx(0.75)
    assert [light.power_ev for light in wider.revision.lights] == [-3.0, -4.0]
    assert wider.told["light root"][0] == (
        "1/16 (−4 EV) instead of 1/32 (−5 EV), from the same place; 0.14 EV short by thirds"
    )


def test_the_kit_offers_what_is_free_for_a_step_and_the_thing_of_then_first() -> None:
    soft = SET.with_light(PlacedLight("key", -1.0, 400.0, shaper="softbox"))
    assert [one.lens for one in choices_for("lens", soft, KIT, Substitutes())] == ["", "Short 60", "Tele 200"]
    lights = choices_for("light key", soft, KIT, Substitutes(lens="Short 60"))
    assert [(one.flashes.get("key", ""), bool(one.unshaped)) for one in lights] == [
        *(("", False), ("", True), ("root", False), ("root", True), ("half", False), ("half", True)),
    ]
    assert {one.lens for one in lights} == {"Short 60"}, "what was chosen elsewhere stays"
    assert choices_for("focus", soft, KIT, Substitutes()) == ()


def test_what_was_said_of_them_is_read_again_but_not_in_the_next_reshoot() -> None:
    instead = Substitutes("", "Short 60", {"key": "root"}, frozenset({"fill"}))
    noon = datetime(2026, 3, 1, 12, tzinfo=UTC)
    said = [StepSaid(key, StepWord.INSTEAD, name, noon) for key, name in words_for(instead).items()]
    assert substitutes_said(said, (), noon + timedelta(days=1)) == instead
    assert substitutes_said(said, (), noon + timedelta(days=30)) == Substitutes()


def test_only_what_a_substitute_changes_is_put_in_force_and_hands_keep_the_rest() -> None:
    hands = SET.with_light(PlacedLight("key", -4.0, 580.0, 40.0, note="moved"))
    with_them = made(Substitutes(lens="Tele 200", flashes={"key": "root"}))
    changes = changes_to(hands, SET, with_them)
    assert set(changes) == {"arrangement", "settings", "lights"}
    assert changes["lights"] == (PlacedLight("key", -3.0, 580.0, 40.0, note="moved"),)
    there = replace(hands, **changes)  # type: ignore[arg-type]
    assert replace(there, **changes_to(there, with_them, SET)) == hands  # type: ignore[arg-type]


def test_a_substitute_that_the_kit_lost_is_told_at_its_own_step_and_the_others_stay() -> None:
    lost = Substitutes("Wendle 36", "", {"key": "gone"})
    stands = substitutes_in_kit(SET, KIT, BODY, lost)
    assert stands.revision.arrangement.magnification == pytest.approx(0.75) and not stands.has_other_lens
    assert stands.told["light key"] == ("can't tell what changes: the kit has no light 'gone'",)
    assert "lens" not in stands.told and stands.told["camera"]


def test_lights_give_more_by_the_stop_that_the_lens_really_has() -> None:
    """f/22 on 1.5 times the ratio: 2·log2(22·1.75 / (22·1.5)) = 0.44 EV, a third of a stop, not 1.2 for f/29."""
    kit = KIT.model_copy(update={"lens": (*KIT.lens, Lens(name="Long 100", focal_length_mm=100.0))})
    closed = replace(SET, settings=replace(SET.settings, f_number=22.0))
    wider = with_substitutes(closed, kit, BODY, Substitutes(body="Wendle 36")).revision
    assert wider.settings.f_number == 22.0 and wider.lights[0].power_ev == pytest.approx(-11 / 3)
