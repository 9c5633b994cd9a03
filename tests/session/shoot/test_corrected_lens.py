"""A grey card corrects what a lens that focuses inside lets through: offered, kept with set-up and kit, undone by z."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from mock_camera.body.encode import encode_jpeg
from mock_camera.table.world import World
from session.checks.judge.all_checks import judge
from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import Assignment, Judgement
from session.set.kit import read_kit
from session.set.kit_file import keep_closest_f_number
from session.set.setup import Arrangement, PassiveItem, PlacedLight, Region, Revision, Settings
from session.shoot.acts import GoTo, KeepGreyCard, Redo, Undo
from session.shoot.events import GreyCardRead, KitChanged, Said
from tests.support.memory_log import PLACE
from tests.support.scripted import Studio
from tests.support.still_life import shot

KIT = """# my kit (invented)
[[body]]
name = "Wendle 16"
sensor_width_mm = 24.0
sensor_height_mm = 16.0
pixels_across = 6000
pixels_down = 4000
sync_time_s = 0.005

[[lens]]
name = "Innermere 90"   # focuses inside
focal_length_mm = 90.0
widest_f_number = 2.8
closest_magnification = 1.0
track_mm = 290.0

[[light]]
name = "key"
guide_number_m = 32.0
source_size_mm = 0.0
"""
PATCH = Region(0.45, 0.44, 0.1, 0.12)
REVISION = Revision(
    settings=Settings(1 / 200, 11.0, 100),
    arrangement=Arrangement("Innermere 90", 100.0, 1.0),
    lights=(PlacedLight("key", -1.0, 600.0, 0.0, 90.0),),
    grey_patch=PATCH,
    view_down_deg=90.0,
)
# By hand: guide number 32 m at half power is 22.6 m, at 0.6 m f/37.7; the set-up counts 11 · (1 + 1) = f/22.
COUNTED_EV = 2 * math.log2(32 / math.sqrt(2) / 0.6 / 22)


def studio_of(tmp_path: Path, revision: Revision = REVISION, kit: str = KIT) -> Studio:
    path = tmp_path / "kit.toml"
    path.write_text(kit)
    studio = Studio(read_kit(path), revision=revision)
    studio.shoot.shoot_state.keep_f_number = lambda lens, value: keep_closest_f_number(path, lens, value)
    studio.answer_settings()
    return studio


def card(studio: Studio, grey_ev: float | None) -> None:
    """A frame whose grey patch came out so."""
    studio.wait(10)
    frame_id = studio.whole_frame()
    focus = FocusJudgement(FocusVerdict.UNJUDGED, reason="no reference")
    studio.deliver(Judgement(frame_id, (), focus, grey_ev=grey_ev))


def in_kit(tmp_path: Path) -> float | None:
    lens = read_kit(tmp_path / "kit.toml").lens_for("Innermere 90")
    assert lens is not None
    return lens.closest_effective_f_number


@pytest.mark.parametrize("change_ev", [-0.75, -0.3, 0.4])
def test_a_card_tells_the_effective_f_number_and_nothing_is_kept_before_it_is_asked_for(tmp_path, change_ev):
    studio = studio_of(tmp_path)
    card(studio, COUNTED_EV + change_ev)
    offer = studio.said(GreyCardRead)[-1].offer
    assert offer.change_ev == pytest.approx(change_ev, abs=1e-9)
    assert offer.effective_f_number == pytest.approx(22 * 2 ** (-change_ev / 2))
    assert offer.closest_effective_f_number == pytest.approx(5.6 * 2 ** (-change_ev / 2), rel=0.005)
    word = "brighter" if change_ev > 0 else "darker"
    assert f"{abs(change_ev):.2f} EV {word} than the kit says" in studio.texts()
    assert in_kit(tmp_path) is None
    assert studio.shoot.shoot_state.revision.arrangement.pupil_magnification == 1.0


def test_what_is_kept_goes_to_set_up_and_kit_and_undo_and_redo_take_both_along(tmp_path):
    studio = studio_of(tmp_path)
    card(studio, COUNTED_EV - 0.6)
    studio.do(KeepGreyCard())
    told = 5.6 * 2**0.3
    assert in_kit(tmp_path) == pytest.approx(told, rel=0.005)
    state = studio.shoot.shoot_state
    pupil = state.revision.arrangement.pupil_magnification
    # the number by which the set-up counts so: N(1 + m/P), solved for P
    assert 11 * (1 + 1 / pupil) == pytest.approx(22 * 2**0.3, rel=1e-3)
    assert studio.said(KitChanged)[-1].kit == state.kit
    assert studio.said(GreyCardRead)[-1].offer is None
    assert "# focuses inside" in (tmp_path / "kit.toml").read_text()
    studio.do(Undo(PLACE))
    assert in_kit(tmp_path) is None and state.revision.arrangement.pupil_magnification == 1.0
    assert state.kit.lens_for("Innermere 90").closest_effective_f_number is None
    studio.do(Redo(PLACE))
    assert in_kit(tmp_path) == pytest.approx(told, rel=0.005)
    assert state.revision.arrangement.pupil_magnification == pupil


def test_another_change_that_is_undone_leaves_the_kit_alone(tmp_path):
    studio = studio_of(tmp_path)
    card(studio, COUNTED_EV - 0.6)
    studio.do(KeepGreyCard())
    kept = in_kit(tmp_path)
    studio.revise(replace(studio.shoot.shoot_state.revision, notes="flag nearer"))
    studio.do(Undo(PLACE))
    assert in_kit(tmp_path) == kept is not None


def test_another_view_with_the_same_lens_leaves_the_number_in_the_kit_and_undo_takes_it_along_from_there(tmp_path):
    studio = studio_of(tmp_path)
    studio.do(GoTo(PLACE.piece, "side"))
    studio.do(GoTo(PLACE.piece, PLACE.view))
    card(studio, COUNTED_EV - 0.6)
    studio.do(KeepGreyCard())
    kept = in_kit(tmp_path)
    assert kept is not None
    for view in ("side", PLACE.view, "side"):  # each goes on with the lens's old or new number of its own
        studio.do(GoTo(PLACE.piece, view))
        assert in_kit(tmp_path) == kept
    studio.do(Undo(PLACE))
    assert in_kit(tmp_path) is None
    studio.do(Redo(PLACE))
    assert in_kit(tmp_path) == kept


@pytest.mark.parametrize(
    "change",
    [
        {"grey_ev": None},
        {"grey_ev": COUNTED_EV - 1.6},
        {"grey_ev": COUNTED_EV + 1.6},
        {"arrangement": replace(REVISION.arrangement, extension_mm=12.0)},
        {"arrangement": replace(REVISION.arrangement, reversed=True)},
        {"arrangement": replace(REVISION.arrangement, dioptres=4.0)},
        {"arrangement": replace(REVISION.arrangement, converter=1.4)},
        {"arrangement": replace(REVISION.arrangement, lens="another")},
        {"settings": Settings(1 / 200, None, 100)},
        {"lights": ()},
        {"lights": (PlacedLight("key", -1.0, None, 0.0, 90.0),)},
        {"lights": (PlacedLight("key", -1.0, 600.0, 0.0, None),)},
        {"lights": (PlacedLight("key", -1.0, 600.0, 0.0, -20.0),)},
        {"lights": (PlacedLight("key", -1.0, 600.0, None, 40.0),), "view_down_deg": 30.0},
        {"view_down_deg": None},
        {"lights": (*REVISION.lights, PlacedLight("nobody's", -1.0, 600.0, 0.0, 90.0))},
        {"passive": (PassiveItem("bounce", "card", 300.0),)},
        {"passive": (PassiveItem("plate", "glass"),)},
        {"kit": KIT.replace("track_mm = 290.0\n", "")},
        {"kit": KIT.replace("track_mm = 290.0\n", "track_mm = 290.0\nclosest_effective_f_number = 5.2\n")},
        {"kit": KIT.replace("closest_magnification = 1.0\n", "")},
    ],
    ids=str,
)
def test_nothing_is_offered_where_the_light_or_the_lens_is_not_known_or_known_already(tmp_path, change):
    own = {"grey_ev": COUNTED_EV - 0.6, "kit": KIT} | change
    fields = {name: value for name, value in own.items() if name not in ("grey_ev", "kit")}
    studio = studio_of(tmp_path, replace(REVISION, **fields), own["kit"])
    overruled = {found.id: "tried" for found in studio.shoot.findings()}
    studio.ask(**overruled)
    frame_id = studio.fire()
    studio.file(frame_id)
    studio.deliver(Judgement(frame_id, (), FocusJudgement(FocusVerdict.UNJUDGED), grey_ev=own["grey_ev"]))
    assert not studio.said(GreyCardRead)
    studio.do(KeepGreyCard())
    assert "No grey card was read" in studio.texts()


def test_flags_and_lights_behind_the_card_change_nothing(tmp_path):
    behind = PlacedLight("rim", 0.0, 300.0, 180.0, -10.0)
    rim = KIT + '\n[[light]]\nname = "rim"\nguide_number_m = 40.0\n'
    flagged = replace(REVISION, lights=(*REVISION.lights, behind), passive=(PassiveItem("flag", "black"),))
    studio = studio_of(tmp_path, flagged, rim)
    card(studio, COUNTED_EV - 0.6)
    assert studio.said(GreyCardRead)[-1].offer.change_ev == pytest.approx(-0.6)


def test_how_far_the_camera_looks_down_is_asked_for_once_where_only_that_is_not_known(tmp_path):
    studio = studio_of(tmp_path, replace(REVISION, view_down_deg=None))
    asked = "tells nothing of Innermere 90 before the set-up says how far the camera looks down"
    for _ in range(2):
        card(studio, COUNTED_EV - 0.6)
        assert studio.texts().count(asked) == 1
    studio.revise(replace(studio.shoot.shoot_state.revision, view_down_deg=90.0))
    card(studio, COUNTED_EV - 0.6)
    assert studio.said(GreyCardRead)[-1].offer.change_ev == pytest.approx(-0.6)


def test_the_same_card_is_told_once_and_another_reading_anew(tmp_path):
    studio = studio_of(tmp_path)
    for change_ev in (-0.60, -0.63, -0.70):
        card(studio, COUNTED_EV + change_ev)
    assert [event.offer.change_ev for event in studio.said(GreyCardRead)] == pytest.approx([-0.6, -0.7])
    studio.revise(replace(studio.shoot.shoot_state.revision, arrangement=Arrangement("Longmere 100")))
    assert studio.said(GreyCardRead)[-1].offer is None


def test_a_card_as_bright_as_counted_says_so_and_can_be_kept(tmp_path):
    studio = studio_of(tmp_path)
    card(studio, COUNTED_EV + 0.02)
    assert "as bright as the kit says: Innermere 90 is f/22 here" in studio.texts()
    studio.do(KeepGreyCard())
    assert in_kit(tmp_path) == pytest.approx(5.6, rel=0.01)


def test_a_kit_that_cannot_be_written_is_said_and_set_up_and_offer_stay(tmp_path):
    studio = studio_of(tmp_path)
    card(studio, COUNTED_EV - 0.6)
    (tmp_path / "kit.toml").unlink()
    studio.do(KeepGreyCard())
    assert "no such file" in studio.texts()
    assert studio.shoot.corrected_lens.offer is not None
    assert studio.shoot.shoot_state.revision.arrangement.pupil_magnification == 1.0
    studio.shoot.shoot_state.keep_f_number = None
    studio.do(KeepGreyCard())
    assert "The demo's kit can't be changed" in [event.text for event in studio.said(Said)][-1]


def test_a_log_that_refuses_leaves_the_kit_as_it_was(tmp_path):
    studio = studio_of(tmp_path)
    card(studio, COUNTED_EV - 0.6)
    studio.log.refusing = True
    studio.do(KeepGreyCard())
    assert in_kit(tmp_path) is None
    assert "The change was not taken." in studio.texts()


@pytest.mark.parametrize("true_pupil", [0.6, 1.6])
def test_a_lens_that_lets_through_otherwise_than_counted_is_told_from_a_picture_of_the_card(tmp_path, true_pupil):
    """The simulated camera's lens has another exit pupil than the kit tells; its light knows nothing of ours."""
    world = World(seed=3, pixels=(768, 512), piece="card")
    world.do("arrangement", magnification=1.0, focal_length_mm=90, pupil_magnification=true_pupil)
    world.do("ambient", lux=0)
    world.do("light", name="key", power_ev=-1, distance_mm=600, elevation_deg=90, guide_number_m=32, shaper="tube")
    one = shot(f_number=11.0)
    picture = world.expose(one, 100.0)
    path = tmp_path / "card.jpg"
    path.write_bytes(encode_jpeg(picture, one))
    judgement = judge(Assignment("f", str(path), "jpeg", REVISION, {}, flash_used=True))
    assert judgement.grey_ev is not None
    studio = studio_of(tmp_path)
    card(studio, judgement.grey_ev)
    offer = studio.said(GreyCardRead)[-1].offer
    truth = float(str(picture.truth["effective_f_number"]))
    assert 2 * math.log2(offer.effective_f_number / truth) == pytest.approx(0, abs=0.1)
    studio.do(KeepGreyCard())
    assert studio.shoot.shoot_state.revision.arrangement.pupil_magnification == pytest.approx(true_pupil, rel=0.1)
