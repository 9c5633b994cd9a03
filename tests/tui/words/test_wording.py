"""From state to words. The large lines are the design's own; sentences are compared with the order of answers in the
house style: did it fire, is the frame safe, why (with numbers), which key next."""

from __future__ import annotations

import ast
import inspect
import itertools
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from session import rules
from session.checks.drift import drift_verdict as drift
from session.checks.drift.drift_verdict import Drift, WhatMoved
from session.checks.light import ambient, colour, evenness, missing_light
from session.checks.light.ambient import MeasuredAmbient
from session.checks.light.colour import Colour
from session.checks.light.evenness import Evenness
from session.checks.light.missing_light import MissingLight
from session.frame.camera_messages import Fired
from session.frame.finding import CheckId, Finding, FlawKind, FocusVerdict, Level, Remedy, RemedyKind, RuleId
from session.frame.frame_facts import FrameFacts
from session.frame.states import FrameState, ReleasedBy
from session.set.setup import PlacedLight
from session.shoot.events import (
    BeingJudgedAnew,
    CameraWait,
    CardBeingRead,
    Event,
    FrameJudged,
    ReferenceChanged,
    RevisionChanged,
    RulesChanged,
    Said,
    SlowTransfer,
    Waiting,
)
from tests.support.bench_events import (
    COMING,
    FOUND,
    LOST,
    MISSING,
    NOT_FIRED,
    UNCERTAIN,
    focus,
    judged,
    model_after,
    moved,
    refused,
    released,
)
from tests.support.scripted_table import DRIFTED, REVISION, SYNC
from tui.screen.letters import LETTERS, block_text
from tui.words import wording
from tui.words.bench_frame import BenchFrame
from tui.words.check_lines import DRIFT_LINES, check_line
from tui.words.frame_word import frame_word, px_text
from tui.words.headline import Headline, Tone
from tui.words.wording import CAMERA_WAITS, RULE_LINES, folder_read_text, headline, saving_text, sentences

ROOM_AT_80_COLUMNS = 62
"""Cells of the large line beside the settings, which take 18."""

REFOCUS = Remedy(RemedyKind.BY_HAND, "refocus in live view")
FOCUS_OFF = Finding(
    "focus", Level.CAUTION, "blur 7.3 px in the region, limit 2.0 px: 0.3 mm off.", 7.3, 2.0, "px", REFOCUS
)
BAND = Finding(
    "band", Level.STOP, "A dark band along the lower edge, 18 % of the picture.", 0.18, 0.0, "share of the frame"
)
NO_FLASH = Finding("flash", Level.CAUTION, "No flash: 4.1 EV darker than the reference.", -4.1, -0.5, "EV")
DARK = Finding("exposure", Level.CAUTION, "The region is 0.6 EV darker than the reference.", -0.6, 0.25, "EV")


WEAK = Finding("flash", Level.CAUTION, "Weak flash: 0.9 EV darker than the reference.", -0.9, -0.5, "EV")


def line_after(*events: Event, now_s: float = 0.0) -> Headline:
    return headline(model_after(*events), now_s)


CASES: list[tuple[list[Event], str, Tone]] = [
    ([FOUND], "READY", Tone.GO),
    ([FOUND, Waiting("f1", 1, RuleId.HOLD_OFF, 1.2)], "1.2 s", Tone.WAIT),
    ([FOUND, Waiting("f1", 1, RuleId.RECYCLING, 0.8)], "RECYCLES 0.8", Tone.WAIT),
    ([FOUND, COMING[0]], "HANDS OFF", Tone.BUSY),
    ([FOUND, *COMING], "SAVING", Tone.BUSY),
    ([FOUND, *released(1), CardBeingRead(20, 5000, 250.0, "f1", 1)], "READING CARD", Tone.BUSY),
    ([FOUND, *COMING, moved("f1", 1, FrameState.SAVED)], "CHECKING", Tone.BUSY),
    ([FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4)], "SHARP 0.4 / 2.0", Tone.GOOD),
    ([FOUND, *COMING, *judged(1, FocusVerdict.SOFT, 3.1, 0.1)], "SOFT 3.1 px", Tone.CAUTION),
    ([FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.3, 0.31)], "MISSED 0.3 mm", Tone.STOP),
    ([FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.3)], "MISSED 7.3 px", Tone.STOP),
    ([FOUND, *COMING, *judged(1, FocusVerdict.UNJUDGED)], "FOCUS ?", Tone.CAUTION),
    ([FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4, checks=(BAND,))], "BAND 18 %", Tone.STOP),
    ([FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.3, 0.31, (NO_FLASH, FOCUS_OFF))], "NO FLASH", Tone.STOP),
    ([FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4, checks=(WEAK,))], "WEAK FLASH", Tone.STOP),
    ([FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4, checks=(DARK,))], "DARK 0.6 EV", Tone.CAUTION),
    ([FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.3, 0.3, (DARK, FOCUS_OFF))], "MISSED 0.3 mm", Tone.STOP),
    ([], "NO CAMERA", Tone.STOP),
    ([FOUND, LOST], "NO CAMERA", Tone.STOP),
    ([FOUND, refused(1)], "NOT FIRED", Tone.STOP),
    ([FOUND, COMING[0], NOT_FIRED], "NOT FIRED", Tone.STOP),
    ([FOUND, COMING[0], UNCERTAIN], "FIRED?", Tone.STOP),
    ([FOUND, *COMING, MISSING], "NOT SAVED", Tone.STOP),
    ([FOUND, RulesChanged((SYNC,))], "NO SYNC", Tone.STOP),
    ([FOUND, RulesChanged((DRIFTED,))], "DIAL TURNED", Tone.STOP),
]


@pytest.mark.parametrize(("events", "large", "tone"), CASES, ids=[large for _, large, _ in CASES])
def test_each_state_has_its_large_line(events: list[Event], large: str, tone: Tone) -> None:
    said = line_after(*events)
    assert (said.large, said.tone) == (large, tone)


def test_a_flaw_is_named_once_in_the_sentence() -> None:
    said = line_after(FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.3, 0.31, (NO_FLASH, FOCUS_OFF))).sentence
    assert "No flash: 4.1 EV darker than the reference." in said
    assert said.casefold().count("no flash") == 1


def test_no_two_results_share_words_so_that_colour_is_never_needed_to_tell_them_apart() -> None:
    tones: dict[str, set[Tone]] = {}
    for events, large, _ in CASES:
        tones.setdefault(large, set()).add(line_after(*events).tone)
    assert all(len(of_line) == 1 for of_line in tones.values())


@pytest.mark.parametrize(
    "large", [*dict.fromkeys(large for _, large, _ in CASES), *RULE_LINES.values(), "RECYCLES 12.8", "STOPPED"]
)
def test_every_large_line_fits_beside_the_settings_in_block_letters(large: str) -> None:
    assert set(large) <= set(LETTERS)
    rows = block_text(large, ROOM_AT_80_COLUMNS)
    assert large not in rows, "it would stand there in plain text"
    assert max(map(len, rows)) <= ROOM_AT_80_COLUMNS


def test_every_rule_that_can_say_stop_has_a_large_line_of_its_own() -> None:
    source = "".join(inspect.getsource(inspect.getmodule(rule)) for rule in dict.fromkeys(rules.RULES.values()))  # type: ignore[arg-type]
    names = re.findall(r"\(\s*RuleId\.([A-Z_]+),\s*Level\.STOP", source)
    stops = {RuleId[name] for name in names}
    assert len(stops) > 5, "the rules are written otherwise now"
    assert stops <= set(RULE_LINES)
    assert set(RULE_LINES) <= set(rules.CAN_STOP), "what stops can be overruled by its id"


def test_a_wait_counts_down_and_never_below_nothing() -> None:
    waiting: list[Event] = [FOUND, Waiting("f1", 1, RuleId.HOLD_OFF, 1001.0)]
    assert [line_after(*waiting, now_s=now_s).large for now_s in (999.8, 1000.55, 1002.0)] == [
        "1.2 s",
        "0.5 s",
        "0.0 s",
    ]


def test_a_refusal_says_that_nothing_fired_both_numbers_and_the_key_that_mends_it() -> None:
    said = line_after(FOUND, RulesChanged((SYNC,)), refused(42)).sentence
    assert said.startswith("Frame 42 did not fire.")
    assert "1/500 s" in said and "1/200 s" in said
    assert said.endswith("[f] set 1/200 s")


def test_a_wait_says_why_that_it_fires_by_itself_and_how_to_call_it_off() -> None:
    said = line_after(FOUND, Waiting("f7", 7, RuleId.RECYCLING, 1.2)).sentence
    assert said == "Frame 7 waits 1.2 s more while the flash recycles. Fires by itself. [esc] cancel"


def test_a_miss_says_that_the_frame_is_safe_how_far_off_it_is_and_what_to_do() -> None:
    said = line_after(FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.3, 0.31, (FOCUS_OFF,))).sentence
    assert said == ("Frame 1 saved, missed: blur radius 7.3 px, limit 2.0 px, 0.3 mm off. Refocus in live view [v].")


def test_what_a_flaws_own_sentence_names_is_not_said_twice_so_that_the_remedy_has_room() -> None:
    mend = Remedy(RemedyKind.BY_HAND, "look at the support")
    bumped = Finding("drift", Level.CAUTION, "All of the picture moved: 51 px.", 51.0, 3.0, "px", mend)
    said = line_after(FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.3, checks=(bumped,))).sentence
    assert said == "Frame 1 saved, sharp. All of the picture moved: 51 px. Look at the support."
    dark = Finding("flash", Level.CAUTION, "No flash: 4.3 EV darker than the reference.", -4.3, -1.0, "EV")
    said = line_after(FOUND, *COMING, *judged(1, FocusVerdict.UNJUDGED, checks=(dark,))).sentence
    assert said.startswith("Frame 1 saved. No flash: 4.3 EV darker than the reference.")


def test_a_verdict_before_the_raw_is_here_doesnt_call_the_frame_saved() -> None:
    judgement = judged(1, FocusVerdict.SHARP, 0.4)[1]
    assert line_after(FOUND, *COMING, judgement).sentence.startswith("Frame 1 still coming in, sharp")


def test_the_first_frame_of_a_set_up_is_offered_as_reference_until_there_is_one() -> None:
    frame = [FOUND, *COMING, *judged(1, FocusVerdict.UNJUDGED)]
    assert "[c] make it the reference" in line_after(*frame).sentence
    assert "[c]" not in line_after(*frame, ReferenceChanged("f1", 1)).sentence


def test_a_lost_camera_says_what_became_of_the_frame_that_was_coming_in() -> None:
    said = line_after(FOUND, *COMING, MISSING, LOST).sentence
    assert "Frame 1 fired, not saved." in said
    assert "The cable was pulled." in said


def test_what_is_not_known_is_said_so() -> None:
    assert line_after(FOUND, COMING[0], UNCERTAIN).sentence.startswith("Frame 1 may have fired.")


def test_a_stop_that_no_key_mends_names_the_way_round_it() -> None:
    battery = Finding(
        "battery", Level.STOP, "The camera's battery is at 2 %.", 2, 3, "%", Remedy(RemedyKind.BY_HAND, "change it")
    )
    said = line_after(FOUND, RulesChanged((battery,)))
    assert (said.large, said.sentence) == ("BATTERY LOW", "The camera's battery is at 2 %. Change it. [o] overrule")


def test_a_rule_without_words_of_its_own_still_has_a_line() -> None:
    other = Finding("something-new", Level.STOP, "Something new says stop.")
    assert line_after(FOUND, RulesChanged((other,))).large == "STOPPED"


def test_a_check_without_words_of_its_own_is_named() -> None:
    assert check_line(Finding("dust", Level.CAUTION, "There is dust.")) == "DUST"


CHECK_CASES = {
    "CAMERA MOVED": drift.findings(Drift(90, 0, 0, 1, WhatMoved.WHOLE, 0.1, 9, 90, 0.03), REVISION)[0],
    "PIECE MOVED": drift.findings(Drift(90, 0, 0, 1, WhatMoved.PIECE, 0.1, 9, 90, 0.03), REVISION)[0],
    "MOVED": drift.findings(Drift(90, 0, 0, 1, WhatMoved.UNKNOWN, 0.1, 9, 90, 0.03), REVISION)[0],
    "PART MOVED": drift.findings(Drift(90, 0, 0, 1, WhatMoved.NOTHING, 0.1, 9, 90, 0.03), REVISION)[0],
    "SIZE CHANGED": drift.findings(Drift(0, 0, 0, 1.05, WhatMoved.WHOLE, 0.1, 9, 1, 0.001), REVISION)[0],
    "UNEVEN 0.8 EV": evenness.findings(Evenness(-0.8, 0.1, 0.0, 0.0, (0.5, 0.5)))[0],
    "CENTRE DARK": evenness.findings(Evenness(0.0, 0.1, -0.7, 0.0, (0.5, 0.5)))[0],
    "CENTRE LIGHT": evenness.findings(Evenness(0.0, 0.1, 0.7, 0.0, (0.5, 0.5)))[0],
    "HOT SPOT 2.1 EV": evenness.findings(Evenness(0.0, 0.1, 0.0, 2.1, (0.5, 0.5)))[0],
    "COLOUR OFF": colour.findings(Colour(4.2, 0.3, None))[0],
    "MIXED LIGHT?": colour.findings(Colour(0.2, 0.0, 0.4))[0],
    "LIGHT MISSING": missing_light.findings(MissingLight(PlacedLight("rim", -2, 400, 120, 20), -0.6, -0.5))[0],
    "AMBIENT −6.2 EV": ambient.findings(MeasuredAmbient(-6.2))[0],
    "AMBIENT ?": ambient.findings(MeasuredAmbient(None, reason="there is no reference"))[0],
}


SEVERAL = Finding(CheckId.FLASH, Level.CAUTION, "which can't be told", -0.9, -0.5, kind=FlawKind.ONE_OF_SEVERAL)
WEAK_OR_GONE = missing_light.findings(MissingLight(PlacedLight("rim", -2, 400, 120, 20), -0.6, None))[0]
TASKS = {
    "LIGHT MISSING?": SEVERAL,
    "CAMERA 0.9 mm RIGHT": drift.findings(
        Drift(90, 0, 0, 1, WhatMoved.WHOLE, 0.1, 9, 90, 0.03), REVISION, 0.01, building=True
    )[0],
    "PIECE 0.9 mm LEFT": drift.findings(
        Drift(90, 0, 0, 1, WhatMoved.PIECE, 0.1, 9, 90, 0.03), REVISION, 0.01, building=True
    )[0],
    "PIECE 90 px LEFT": drift.findings(
        Drift(90, 0, 0, 1, WhatMoved.UNKNOWN, 0.1, 9, 90, 0.03), REVISION, building=True
    )[0],
}


@pytest.mark.parametrize("large", TASKS)
def test_what_hands_are_to_do_or_can_t_be_told_has_its_large_line_too(large: str) -> None:
    assert check_line(TASKS[large]) == large
    assert check_line(replace(TASKS[large], text="Other words.")) == large
    rows = block_text(large, ROOM_AT_80_COLUMNS)
    assert set(large) <= set(LETTERS) and large not in rows


@pytest.mark.parametrize("large", CHECK_CASES)
def test_what_the_checks_really_say_has_its_own_large_line(large: str) -> None:
    finding = CHECK_CASES[large]
    assert check_line(finding) == large
    assert check_line(replace(finding, text="Other words.")) == large, "decided by its kind and number alone"
    rows = block_text(large, ROOM_AT_80_COLUMNS)
    assert set(large) <= set(LETTERS) and large not in rows


def test_every_way_in_which_the_drift_check_speaks_is_known() -> None:
    assert {check_line(finding) for finding in CHECK_CASES.values() if finding.id == "drift"} == {
        line for kind, line in DRIFT_LINES.items() if kind not in (FlawKind.MOVE_CAMERA, FlawKind.MOVE_PIECE)
    }


def test_a_new_reference_is_the_large_line_and_one_that_is_only_told_leaves_another_frame_on_it() -> None:
    sharp = [FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4)]
    second = [*released(2), *judged(2, FocusVerdict.SHARP, 0.4)]
    assert line_after(*sharp, *second, ReferenceChanged("f1", 1)).large.startswith("SHARP")
    model = model_after(*sharp)
    model.hear(ReferenceChanged("f1", 1, decided=True), 0.0)
    said = headline(model, 0.0)
    assert (said.large, said.sentence) == ("REFERENCE", "Frame 1 is the reference of set-up 07.")
    assert set(said.large) <= set(LETTERS)
    model.hear(ReferenceChanged(None, None, decided=True), 0.0)
    assert model.passing == "Set-up 07 has no reference for this piece now. [z] brings it back"


def test_what_is_sharp_stands_in_the_large_letters_with_its_limit_at_80_columns() -> None:
    for tenths in itertools.product(range(100), range(2, 60)):
        blur_px, limit_px = (number / 10 for number in tenths)
        frame = BenchFrame(FrameFacts("f1", 1, FrameState.LOGGED), focus=focus(FocusVerdict.SHARP, blur_px))
        frame.blur_limit_px = limit_px
        large = frame_word(frame).large
        assert large == f"SHARP {blur_px:.1f} / {limit_px:.1f}"
        wide = block_text(large, 200)
        assert block_text(large, ROOM_AT_80_COLUMNS) == wide, f"{large} is {len(wide[0])} cells wide"


def test_what_was_said_for_want_of_a_camera_goes_when_the_camera_answers() -> None:
    model = model_after(LOST, Said("Did not fire: there is no camera.", "no camera"))
    assert "there is no camera" in " ".join(sentences(model, 0.0))
    model.hear(FOUND, 0.0)
    model.hear(Said("", "no camera"), 0.0)
    assert sentences(model, 0.0) == ["All clear."]
    other = model_after(LOST, Said("Did not fire: there is no camera.", "no camera"), Said("The note is kept."))
    other.hear(Said("", "no camera"), 0.0)
    assert other.passing == "The note is kept."


def test_a_frame_that_is_judged_anew_is_being_checked_until_the_new_verdict_is_there() -> None:
    model = model_after(FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4), RevisionChanged(REVISION, "r"))
    assert headline(model, 0.0).large == "READY"
    model.hear(BeingJudgedAnew("f1", 1), 0.0)
    assert headline(model, 0.0).large == "CHECKING" and "frame 1" in headline(model, 0.0).sentence.lower()
    model.hear(FrameJudged("f1", 1, (), focus(FocusVerdict.SOFT, 3.1), anew=True), 0.0)
    assert headline(model, 0.0).large == "SOFT 3.1 px"


def test_a_missing_light_goes_before_the_focus_verdict() -> None:
    said = line_after(FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4, checks=(CHECK_CASES["LIGHT MISSING"],)))
    assert (said.large, said.tone) == ("LIGHT MISSING", Tone.STOP)
    assert check_line(WEAK_OR_GONE) == "LIGHT MISSING?", "where nobody knows how much it gives"


def test_ambient_far_under_the_flash_is_good_news_and_else_a_caution() -> None:
    for ev, tone in ((-6.2, Tone.GOOD), (-3.0, Tone.CAUTION), (None, Tone.CAUTION)):
        checks = ambient.findings(MeasuredAmbient(ev, reason="it has another size"))
        assert line_after(FOUND, *COMING, *judged(1, FocusVerdict.UNJUDGED, checks=checks)).tone is tone


def test_a_region_sharper_than_the_reference_is_shown_as_no_blur() -> None:
    assert px_text(-0.14) == "0.0 px"
    said = line_after(FOUND, *COMING, *judged(1, FocusVerdict.SHARP, -0.14))
    assert said.large == "SHARP 0.0 / 2.0" and "blur radius 0.0 px, limit 2.0 px" in said.sentence


def test_cautions_of_the_rules_are_read_while_all_is_ready() -> None:
    caution = Finding("card", Level.CAUTION, "The card has room for 9 frames.")
    said = line_after(FOUND, RulesChanged((caution,)))
    assert (said.large, said.sentence) == ("READY", "The card has room for 9 frames.")


@pytest.mark.parametrize("reason", CAMERA_WAITS)
def test_what_only_the_camera_knows_the_end_of_is_said_without_a_count(reason: CameraWait) -> None:
    said = line_after(FOUND, Waiting("f7", 7, reason, None))
    assert (said.large, said.tone) == ("WAITING", Tone.WAIT)
    assert said.sentence.startswith("Frame 7 waits ") and said.sentence.endswith(". Fires by itself. [esc] cancel")


def test_a_folder_that_is_read_says_how_far_it_is_wherever_somebody_waits_for_it() -> None:
    so_far = "1,200 of 5,000 files, about 3 min"
    of_nothing, of_frame = CardBeingRead(1200, 5000, 190.0), CardBeingRead(1200, 5000, 190.0, "f1", 1)
    idle = model_after(FOUND, of_nothing)
    assert idle.passing == f"The card's folder is being read: {so_far}. A release waits until then."
    idle.hear(Waiting("f7", 7, CameraWait.CARD, None), 0.0)
    waits = "Frame 7 waits until the card's folder is read"
    idle.hear(of_nothing, 0.0)
    assert (headline(idle, 0.0).sentence, idle.passing) == (f"{waits}: {so_far}. Fires by itself. [esc] cancel", "")
    idle.hear(CardBeingRead(5000, 5000, 0.0), 0.0)
    assert (idle.passing, headline(idle, 0.0).sentence[:46]) == ("", f"{waits}.")

    fired = model_after(FOUND, *released(1), of_frame)
    line = headline(fired, 0.0)
    on_card = "Frame 1 fired and is on the card; it comes once the folder there is read"
    assert (line.large, line.sentence) == ("READING CARD", f"{on_card}: {so_far}.")
    assert saving_text(fired.frames["f1"]) == f"{on_card}: {so_far}"
    fired.hear(CardBeingRead(0, 0, None, "f1", 1), 0.0)
    assert headline(fired, 0.0).sentence == f"{on_card}, which may take minutes."
    fired.hear(CardBeingRead(5000, 5000, 0.0, "f1", 1), 0.0)
    assert headline(fired, 0.0).large == "SAVING"
    fired.hear(CardBeingRead(0, 0, None, "f1", 1), 0.0)
    fired.hear(SlowTransfer("f1", 1, 20_000_000, 60_000_000, 9.0), 0.0)
    assert headline(fired, 0.0).large == "SAVING", "a file that comes follows the folder"

    asked = model_after(FOUND, COMING[0], of_nothing)
    line = headline(asked, 0.0)
    assert (line.large, so_far in line.sentence) == ("HANDS OFF", True)
    assert "Frame 1 won't fire if that takes more than a moment." in line.sentence

    unsure = folder_read_text(FrameState.RELEASING, of_frame)
    assert unsure == f"Frame 1 may have fired; the card's folder is read first: {so_far}"


def test_what_lasts_is_read_first_and_what_was_just_said_last() -> None:
    model = model_after(FOUND, Said("The note is kept."), Said("The log can't be written.", "log", True))
    assert sentences(model, 0.0) == [
        "The log can't be written.",
        "All clear.",
        "The note is kept.",
    ]


def test_while_the_camera_hands_over_a_frame_the_next_release_is_said_to_follow() -> None:
    model = model_after(FOUND, *released(1), Waiting("f2", 2, CameraWait.HANDING_OVER, None))
    assert "The next release follows by itself. [esc] cancel" in headline(model, 0.0).sentence


def test_the_signs_of_a_verdict_mean_nothing_else_anywhere() -> None:
    """Each stands once in the screens' code, in the table of verdicts; docstrings don't count."""
    found = []
    for path in sorted(Path(wording.__file__).parents[1].rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        texts = [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and id(node) not in docs]
        found += [(path.name, sign) for sign in "●◐○" for text in texts if sign in str(text.value)]
    assert found == [("wording.py", sign) for sign in "●◐○"]


@pytest.mark.parametrize(
    ("events", "told"),
    [
        ((), "No frame was released."),
        ((moved("f1", 1, FrameState.REFUSED), NOT_FIRED), "No frame was released."),
        ((*COMING, *judged(1, FocusVerdict.SHARP, 0.4)), "1 frame released, saved."),
        ([moved("f1", 1, FrameState.SAVED)], "No frame was released."),
        (
            [*released(1), *released(2), *(moved(f"f{n}", n, FrameState.SAVED) for n in (1, 2))],
            "2 frames released, all saved.",
        ),
        (
            [*released(1), *released(2), moved("f1", 1, FrameState.SAVED), moved("f2", 2, FrameState.MISSING)],
            "2 frames released, 1 saved; the next start looks for the rest on the card.",
        ),
    ],
)
def test_the_last_line_of_a_shoot_tells_what_came_of_its_frames(events: Sequence[Event], told: str) -> None:
    assert wording.done_text(model_after(FOUND, *events), "spring.db") == f"{told} The log is spring.db."


def test_frames_of_an_earlier_run_do_not_count_in_the_last_line() -> None:
    model = model_after(FOUND)
    model.frames["f1"] = BenchFrame(FrameFacts("f1", 1, FrameState.LOGGED, ReleasedBy.TOOL, Fired.YES))
    assert wording.done_text(model, "spring.db").startswith("No frame")
