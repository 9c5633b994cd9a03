"""Measurements as words for hands, and whether they match."""

from __future__ import annotations

from dataclasses import replace

from session.checks.drift.drift_verdict import Drift, WhatMoved
from session.checks.focus.tilt import Tilt
from session.checks.judge.examined import Examined
from session.checks.light.colour import Colour
from session.frame.finding import FocusJudgement, FocusVerdict
from session.match.camera_framing import Effects, Framing
from session.match.step_words import (
    distance_told,
    focus_told,
    framing_told,
    grey_card_told,
    piece_told,
)

NO_EFFECTS = Effects(0, 0, 0, 0, 0, 0, 0)
RIGHT = Framing(0, 0, 0, 0, 0, 0, 0.01, 0.01, 0.01, 0.1, 0.1, 0.1, 0.3, 0.05, NO_EFFECTS)
SHARP = Examined("f", (), FocusJudgement(FocusVerdict.SHARP, blur_px=0.2))
DRIFT = Drift(0.0, 0.0, 0.0, 1.0, WhatMoved.NOTHING, 0.1, 30, 0.0, 0.0)


def test_features_within_a_pixel_match_but_only_surely() -> None:
    assert framing_told(RIGHT).matches is True and framing_told(RIGHT).to_do == ""
    assert framing_told(replace(RIGHT, features_px=0.84)).matches is True
    assert framing_told(replace(RIGHT, features_px=0.87)).matches is None, "0.15 px are not known"
    assert framing_told(replace(RIGHT, features_px=0.8, features_sd_px=0.12)).matches is None


def test_a_camera_is_turned_before_it_is_shifted() -> None:
    off = replace(
        RIGHT, features_px=20, right_mm=0.8, down_mm=-0.2, turn_deg=-0.4, pan_deg=2.0,
        effects_px=Effects(17, 4, 3, 0, 0, 4, 0),
    )  # fmt: skip
    back = "then move it sideways until the piece is back in its place"
    assert framing_told(off).to_do == f"turn the camera 2.00° to the right, 0.40° anticlockwise; {back}"
    straight = replace(off, pan_deg=0.2)
    assert framing_told(straight).to_do == "camera 0.8 mm right, 0.2 mm up; turn it 0.40° anticlockwise"


def test_a_small_move_that_would_only_be_missed_is_not_asked_for() -> None:
    off = replace(RIGHT, features_px=20, right_mm=0.8, down_mm=0.01, effects_px=Effects(17, 0.2, 0, 0, 0, 0, 0))
    assert framing_told(off).to_do == "camera 0.8 mm right"


def test_parts_that_lie_each_its_own_way_are_said_not_to_tell() -> None:
    told = framing_told(replace(RIGHT, features_px=3))
    assert told.matches is None and told.to_do.startswith("can't tell")


def test_of_small_moves_that_together_are_too_much_the_largest_that_is_sure_is_asked_for() -> None:
    off = replace(
        RIGHT, features_px=0.97, right_mm=0.04, down_mm=0.04, farther_mm=0.5, right_sd_mm=0.001, down_sd_mm=0.001,
        effects_px=Effects(0.64, 0.65, 0, 0.28, 0.02, 0, 0),
    )  # fmt: skip
    assert (framing_told(off).to_do, framing_told(off).matches) == ("camera 0.04 mm down", False)
    assert framing_told(replace(off, down_sd_mm=0.03)).to_do == "camera 0.04 mm right"
    # hypot(0.64, 0.65, 0.28) = 0.95 px is less than what parts move each its own way, √(1.4² − 0.95²) = 1.03
    assert framing_told(replace(off, features_px=1.4)).matches is None


def test_a_side_that_lies_well_is_left_while_the_other_is_set_again() -> None:
    off = replace(
        RIGHT, features_px=2.2, right_mm=0.015, down_mm=-0.05, right_sd_mm=0.001, down_sd_mm=0.001,
        effects_px=Effects(0.65, 2.1, 0, 0, 0, 0, 0),
    )  # fmt: skip
    assert framing_told(off).to_do == "camera 0.05 mm up"
    both = replace(off, right_mm=0.02, effects_px=Effects(0.85, 2.1, 0, 0, 0, 0, 0))
    assert framing_told(both).to_do == "camera 0.02 mm right, 0.05 mm up"


def test_what_hands_would_only_miss_is_not_asked_for_within_the_tolerance() -> None:
    """0.02 mm are 0.67 px, so a miss of 0.05 mm is 1.7 px: more than the tolerance."""
    off = replace(
        RIGHT, features_px=0.97, right_mm=0.02, down_mm=0.02, right_sd_mm=0.001, down_sd_mm=0.001,
        effects_px=Effects(0.67, 0.67, 0, 0, 0, 0, 0),
    )  # fmt: skip
    told = framing_told(off)
    assert told.matches is None and told.to_do.endswith("a miss of 0.05 mm would be 1.7 px: release again")
    assert framing_told(replace(off, features_px=1.01)).to_do == "camera 0.02 mm right"
    beside = replace(off, right_mm=0.027, effects_px=Effects(0.9, 0.1, 0.32, 0, 0, 0, 0), turn_deg=0.07)
    assert framing_told(beside).to_do == "turn the camera 0.07° clockwise", "which misses by less"
    assert framing_told(replace(beside, turn_deg=0.0)).to_do == told.to_do


def test_a_turn_that_shifts_make_up_for_is_left_where_the_piece_lies_in_its_place() -> None:
    off = replace(
        RIGHT, features_px=20, right_mm=0.8, farther_mm=3.0, pan_deg=2.0, tilt_deg=-1.0,
        effects_px=Effects(17, 0, 0, 5, 0.1, 0.5, 0.25),
    )  # fmt: skip
    back = "camera 3.0 mm farther; then move it sideways until the piece is back in its place"
    assert framing_told(off).to_do == f"turn the camera 2.00° to the right, 1.00° up; {back}"
    assert framing_told(replace(off, features_px=4.0)).to_do == "camera 0.8 mm right, 3.0 mm farther"
    slight = replace(off, effects_px=replace(off.effects_px, pan=0.3))
    assert framing_told(slight).to_do == "camera 0.8 mm right, 3.0 mm farther"


def test_no_turn_is_told_of_a_piece_far_from_its_place_nor_one_that_no_level_leaves() -> None:
    off = replace(
        RIGHT, features_px=126, right_mm=6.0, farther_mm=35.0, pan_deg=5.0, effects_px=Effects(100, 0, 0, 70, 1, 4, 0)
    )
    assert framing_told(off).to_do == "camera 6.0 mm right, 35 mm farther"
    assert framing_told(replace(off, features_px=90)).to_do.startswith("turn the camera 5.00° to the right")
    assert framing_told(replace(off, features_px=90, pan_deg=22.0)).to_do == "camera 6.0 mm right, 35 mm farther"


def test_moves_below_a_millimetre_are_told_in_hundredths() -> None:
    off = replace(RIGHT, features_px=6, right_mm=0.14, effects_px=Effects(6, 0, 0, 0, 0, 0, 0))
    assert framing_told(off).to_do == "camera 0.14 mm right"


def test_the_distance_is_told_by_the_size() -> None:
    near = replace(RIGHT, farther_mm=3.1, effects_px=replace(NO_EFFECTS, farther=4, farther_sd=0.1))
    assert (distance_told(near).to_do, distance_told(near).matches) == ("camera 3.1 mm farther", False)
    far = replace(near, farther_mm=-3.1)
    assert distance_told(far).measured == "3.1 mm too far, by the size of the picture"
    assert distance_told(replace(near, farther_sd_mm=4.0)).matches is None
    assert distance_told(RIGHT).matches is True


def test_a_frame_that_is_sharper_than_the_reference_shows_no_blur_below_nothing() -> None:
    sharper = replace(SHARP, focus=FocusJudgement(FocusVerdict.SHARP, blur_px=-0.6))
    assert focus_told(sharper).measured == "sharper than the reference"
    assert focus_told(replace(sharper, focus=replace(sharper.focus, blur_px=-0.04))).measured == (
        "as sharp as the reference"
    )
    assert focus_told(SHARP).measured == "blur 0.2 px over the reference"


def test_focus_that_is_off_says_by_how_much_and_not_which_way() -> None:
    assert focus_told(SHARP).matches is True
    soft = replace(SHARP, focus=FocusJudgement(FocusVerdict.MISSED, blur_px=3.0, defocus_mm=0.3))
    assert focus_told(soft).to_do == "focus again, it is 0.3 mm off; which way, the blur doesn't tell"
    leaning = replace(SHARP, tilt=Tilt(1.2, 0.1, 0.0, "right", 0.4, 2.0))
    assert focus_told(leaning).to_do == "square up the camera, 1.2°: the right side is 0.4 mm too near"
    unseen = replace(SHARP, focus=FocusJudgement(FocusVerdict.UNJUDGED, reason="the region has too little detail"))
    assert focus_told(unseen).matches is None


def test_the_grey_card_and_the_piece_are_told_by_the_frames_checks() -> None:
    assert grey_card_told(SHARP).matches is None
    card = replace(SHARP, colour=Colour(0.8, 0.1, None, on_patch=True), grey_ev=0.2)
    assert grey_card_told(card).measured == "colour ΔE 0.8, 0.20 EV brighter than a right exposure"
    assert grey_card_told(replace(card, colour=Colour(3.0, 0.3, None, on_patch=True))).to_do.startswith(
        "21 mired warmer"
    )
    assert piece_told(SHARP) is None
    lies = piece_told(replace(SHARP, drift=DRIFT))
    assert lies is not None and lies.matches is True
    moved = piece_told(replace(SHARP, drift=replace(DRIFT, moved=WhatMoved.PIECE, right_px=5.0, rotation_deg=0.4)))
    assert moved is not None and moved.to_do == "piece 5 px left, turn it 0.4° anticlockwise"


def test_a_piece_that_was_exchanged_or_turned_does_not_match() -> None:
    told = piece_told(replace(SHARP, drift=replace(DRIFT, moved=WhatMoved.CHANGED)))
    assert told is not None and told.matches is None
    assert told.to_do == "can't tell how it lies: another piece, or turned; compare by eye"


def test_a_turn_too_large_to_be_told_is_not_put_down_to_parts_that_move_each_their_own_way() -> None:
    off = replace(RIGHT, features_px=60, pan_deg=9.0, pan_sd_deg=0.1, effects_px=Effects(0, 0, 0, 0, 0, 58, 0))
    told = framing_told(off)
    assert (told.matches, told.to_do) == (
        None,
        "can't tell the turn, of more than 8°: set the camera by level first",
    )
    assert "bring the piece to its place by eye" in framing_told(replace(off, features_px=120)).to_do
    assert "each its own way" in framing_told(replace(off, pan_deg=0.0, effects_px=NO_EFFECTS)).to_do


def test_a_grey_card_at_the_edge_of_its_tolerance_is_not_said_to_match() -> None:
    edge, within = (replace(SHARP, colour=Colour(one, 0.1, None, on_patch=True)) for one in (1.8, 1.6))
    assert (grey_card_told(edge).matches, grey_card_told(within).matches) == (False, True)
