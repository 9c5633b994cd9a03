"""What is said of a reshoot's steps, in large letters and small."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from session.frame.step_said import StepSaid, StepWord
from session.match.match_steps import MatchStep, StepState, match_steps
from session.match.reshoot_steps import CHECKS_KEY, ReshootStep
from session.match.solo_series import SeriesFrame
from session.set.setup import PlacedLight, Region, Revision
from tui.words.headline import Headline, Tone
from tui.words.match_words import end_headline, report_line, state_words, step_headline, step_told, tolerance_words

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def step(state: StepState, to_do: str = "", word: StepWord | None = None, reason: str = "") -> ReshootStep:
    said = StepSaid("framing", word, reason, NOON) if word else None
    return ReshootStep(MatchStep("framing", "framing", "as in the reference", "3.1 px left", to_do, state), said)


def test_the_large_line_says_the_move_where_it_is_short_and_else_the_step() -> None:
    short = step_headline([step(StepState.OFF, "camera 0.8 mm right; turn it 0.2°")], 0)
    assert (short.large, short.tone) == ("CAMERA 0.8 mm RIGHT", Tone.CAUTION)
    assert step_headline([step(StepState.OFF, "aperture back to f/8")], 0).large == "APERTURE BACK TO f/8"
    long = step_headline([step(StepState.OFF, "move the camera 0.8 mm to the right and look again")], 0)
    assert long.large == "FRAMING" and "confirm" not in long.sentence and "[n] skip with the reason" in long.sentence
    new = step_headline([step(StepState.OPEN, "release, and see")], 0)
    assert (new.large, new.sentence) == ("FRAMING", "Step 1 of 1: framing. [enter] done, [n] skip with the reason")
    assert step_headline([step(StepState.MATCHES)], 0).large == "FRAMING MATCHES"
    assert step_headline([step(StepState.OFF, "x", StepWord.SKIPPED, "no room")], 0).large == "FRAMING SKIPPED"


def test_a_settled_step_says_which_lights_its_frame_wants_too() -> None:
    """Space fires the light alone there, and with all lights on its solo would show them all."""
    switch = Headline("ONLY KEY ON", "Switch off fill.", Tone.GO)
    settled = step_headline([step(StepState.MATCHES)], 0, switch)
    assert settled.large == "FRAMING MATCHES"
    assert settled.sentence == "Step 1 of 1. To shoot it again: Switch off fill. [space] release"


def test_a_word_against_a_measurement_leaves_the_step_off() -> None:
    assert state_words(step(StepState.OFF, "camera right", StepWord.CONFIRMED)) == "off"
    assert state_words(step(StepState.OPEN, "", StepWord.CONFIRMED)) == "confirmed"
    assert state_words(step(StepState.MATCHES, "", StepWord.CONFIRMED)) == "matches"


def test_the_end_counts_what_was_measured_and_names_the_rest() -> None:
    steps = [step(StepState.MATCHES), step(StepState.OPEN, "", StepWord.CONFIRMED)]
    done = end_headline(steps, "07.3")
    assert (done.large, done.tone) == ("STEPS DONE", Tone.GOOD)
    report = "The report: stillset reshoot 07.3 --report match.html, with the --log and --job of now"
    assert done.sentence == f"1 of 2 steps measured as right; by your word: framing. {report}"
    skipped = end_headline([*steps, step(StepState.OFF, "", StepWord.SKIPPED, "no room")], "07.3")
    assert skipped.tone is Tone.CAUTION and "skipped: framing." in skipped.sentence


def test_a_report_passes_only_where_every_step_was_measured_confirmed_or_skipped() -> None:
    passed, open_ = step(StepState.MATCHES), step(StepState.OPEN)
    by_word = step(StepState.OPEN, "", StepWord.CONFIRMED)
    assert report_line([passed, by_word])[0] == "PASS"
    assert report_line([by_word])[0] == "NOT MEASURED"
    assert report_line([passed, open_])[0] == "NOT ALL MEASURED"
    assert report_line([passed, step(StepState.OFF, "x", StepWord.SKIPPED, "y")])[0] == "PASS BUT FOR SKIPPED STEPS"
    assert report_line([passed, open_, step(StepState.CANT_TELL)])[0] == "CAN'T TELL"
    large, sentence = report_line([passed, step(StepState.CANT_TELL), step(StepState.OFF)])
    assert (large, sentence[:48]) == ("FAIL", "1 of 3 steps measured within their tolerance; fa")


def test_a_measured_value_says_of_which_frame_it_is_and_of_an_earlier_day_the_day() -> None:
    shot = SeriesFrame("f12", 12, NOON, Revision(), "/12.jpg")
    one = replace(step(StepState.OFF, "camera right"), shot=shot)
    at = NOON.astimezone()
    assert dict(step_told(one, now=NOON))["now"] == f"3.1 px left · frame 12 of {at:%H:%M}"
    day_after = dict(step_told(one, now=NOON + timedelta(days=1)))["now"]
    assert day_after == f"3.1 px left · frame 12 of {at:%d %b %Y %H:%M}"


def test_a_steps_values_stand_under_their_headings_and_what_is_empty_is_left_out() -> None:
    told = dict(step_told(step(StepState.OFF, "camera 0.8 mm right", StepWord.SKIPPED, "no room")))
    assert list(told) == ["recorded", "now", "said"] and told["said"].endswith(": no room")
    assert dict(step_told(step(StepState.OFF, "camera right"), "lies 2 px left"))["now"] == "lies 2 px left"
    checks = ReshootStep(MatchStep(CHECKS_KEY, "check list", "strap tied back", to_do="see to each"))
    mind = dict(step_told(checks, "", ("stands", "eyes")))["mind"]
    assert mind == "stands, eyes: [?] says how; the makers' manuals decide"


def test_every_step_that_something_measures_shows_its_tolerance_beside_what_is_measured() -> None:
    told = dict(step_told(step(StepState.OFF, "camera right"), tolerance="features 1 px off"))
    assert list(told) == ["recorded", "now", "tolerance", "to do"]
    whole = Revision(lights=(PlacedLight("key"),), grey_patch=Region(), working_distance_mm=300.0, blur_limit_px=1.5)
    told_of = {one.key: tolerance_words(one, whole) for one in match_steps(whole)}
    assert told_of["focus"] == "blur 1.5 px over the reference"
    assert told_of["light key"].startswith("up to 0.08 EV, colour ΔE 1.7, so that 0.1 and 2 surely hold")
    assert [key for key, words in told_of.items() if not words] == ["lens"], "nothing measures which lens it is"


def test_a_thing_by_tape_is_to_be_put_up_no_finer_than_it_was_recorded() -> None:
    taped = PlacedLight("key", 0.0, 620.0, 45.0, 30.0, distance_sd_mm=5.8, azimuth_sd_deg=1.2, elevation_sd_deg=2.4)
    revision = Revision(lights=(taped, PlacedLight("fill")))
    words = {one.key: tolerance_words(one, revision) for one in match_steps(revision)}
    assert words["light key"].endswith(
        "shading alike; put up by tape to ±6 mm, ±1.2° to the side, ±2° up: no finer than it was recorded"
    )
    assert "tape" not in words["light fill"]
