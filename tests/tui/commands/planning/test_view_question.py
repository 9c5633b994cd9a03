"""A view planned by the command line: words, numbers, and by how much a wish fails."""

from __future__ import annotations

from tests.support.plan_answers import answer, run

SIZE = ("--piece-width-mm", "28", "--piece-height-mm", "28", "--relief-mm", "2.4")
MOVEMENT = ("view", *SIZE, "--delivered-pixels", "2400", "--blur-radius-on-piece-mm", "0.015")


def test_a_view_is_planned_with_the_demo_kit_and_says_that_it_is_invented():
    told = run(*MOVEMENT, "--plate", "2 mm glass", "--light", "key", "--light", "fill", "--first", "3")
    for words in ("invented demo kit", "Wendle 36, Longmere 100 close-up", "light fill", "! Plates", "a black trap"):
        assert words in told
    assert told.count("before the next for") >= 1


def test_a_view_as_json_holds_every_number():
    told = answer(*MOVEMENT, "--first", "2")
    first = told["plans"][0]
    assert (len(told["plans"]), told["kit_invented"], told["wish"]["relief_mm"]) == (2, True, 2.4)
    assert told["arrangements"] > 100
    for key in (
        *("magnification", "working_distance_mm", "room_needed_mm", "f_number", "blur_radius_on_piece_mm", "depth_mm"),
        *("depth_needed_mm", "frames", "step_mm", "exposure_s", "sync_margin_ev", "hold_off_s", "pixels_on_piece"),
    ):
        assert isinstance(first[key], int | float)
    assert {"name", "power_ev", "distance_mm"} <= first["lights"][0].keys()
    assert first["reason"]
    assert told["cautions"]


def test_a_view_that_fails_says_by_how_much():
    told = run(*MOVEMENT, "--clear-in-front-mm", "900", "--most-frames", "1", "--first", "1")
    assert "fails by" in told
    assert "pixels across the delivered picture, 2400 are wanted" in told  # from so far away
    assert "The blur on the piece has a radius of" in told and "0.015 mm are allowed" in told
