"""What a set-up's log says of each part of it, for the hands that build it again."""

from dataclasses import replace

from session.match.recorded_words import recorded_lens, recorded_place, recorded_things
from session.set.setup import Arrangement, PassiveItem, PlacedLight, Revision, Settings

OLD = Revision(
    setup_number=7,
    revision=3,
    settings=Settings(1 / 160, 16.0, 100, "Flash", "raw+jpeg"),
    arrangement=Arrangement("Plainfield 50", 50.0, 2.0, reversed=True, extension_mm=36.0),
    lights=(PlacedLight("key", -2.0, 620.0, 45.0, 30.0, "tube", "cable to the left"), PlacedLight("rim", -3.5)),
    passive=(PassiveItem("bounce", "white card", 180.0, 200.0), PassiveItem("plate", "2 mm glass")),
    must_be_sharp="the lettering",
    notes="card just out of the frame",
)


def recorded(revision: Revision = OLD) -> dict[str, str]:
    return {"lens": recorded_lens(revision), "place": recorded_place(revision), **recorded_things(revision)}


def test_every_light_is_named_with_its_power_place_and_shaper():
    told = recorded()
    assert told["light key"] == (
        "1/4 (−2 EV) with tube, 620 mm from the piece, 45° left · 30° up (0° is from the camera, and along the table) "
        "(cable to the left)"
    )
    assert told["light rim"] == "1/16 +0.5 (−3.5 EV)"
    assert "180 mm" in told["reflector white card"]


def test_from_where_angles_count_is_said_once():
    rim = PlacedLight("rim", -3.5, 400.0, 200.0, 10.0)
    told = " ".join(recorded(replace(OLD, lights=(*OLD.lights[:1], rim))).values())
    assert told.count("0° is from the camera") == 1 and "160° right · 10° up" in told


def test_the_lens_is_told_with_what_is_behind_it():
    assert recorded()["lens"] == "Plainfield 50, reversed, 36 mm of tubes, at 2:1"
    by_hand = recorded(replace(OLD, settings=replace(OLD.settings, f_number=None)))
    assert by_hand["lens"].endswith("aperture by hand")


def test_the_cameras_place_is_told_as_the_tape_and_the_level_told_it():
    at_the_copy_stand = replace(OLD, support="copy stand", working_distance_mm=182.0, camera_height_mm=340.0)
    made = replace(at_the_copy_stand, view_down_deg=35.0, view_around_deg=20.0)
    assert recorded(made)["place"] == (
        "on copy stand, lens to piece by tape 182 mm, lens above the table 340 mm, looks down 35°, looks from 20° left"
    )


def test_sizes_turns_and_the_gap_of_a_close_up_lens_are_told():
    glass = PassiveItem("plate", "pane", 90.0, 0.0, 90.0, "", 100.0, 60.0, 45.0, "left")
    box = PlacedLight("key", -2.0, 620.0, shaper="softbox", width_mm=600.0, height_mm=900.0)
    close_up = replace(OLD.arrangement, dioptres=2.0, gap_mm=31.0)
    told = recorded(replace(OLD, lights=(box,), passive=(glass,), arrangement=close_up))
    assert "with softbox, 600 × 900 mm, 620 mm" in told["light key"]
    assert told["glass pane"].endswith("100 × 60 mm, turned 45° left")
    assert "the close-up lens 31 mm before the front principal plane" in told["lens"]
