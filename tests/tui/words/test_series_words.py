"""What is said of a focus series, in words and as planes on a line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from session.frame.series_plane import Approach, MovedBy, SeriesPlane, SeriesToRun
from session.frame.shot_plane import ShotPlane
from session.frame.states import FrameState
from session.series.coverage_map import Coverage, Gap, Stretch, gaps
from session.series.live_way import LiveWay
from session.series.plane_frame import live_plane_frame
from session.series.series_look import MovedSeries, SeriesLook
from session.set.kit import LensDrive
from session.shoot.events import RoomTold, SeriesChanged, SeriesPhase
from tui.words.headline import Tone
from tui.words.series_words import (
    CANT_TELL_BACK,
    CANT_TELL_THE_WAY,
    back_headline,
    drive_words,
    headline,
    is_back,
    left_words,
    moved_headline,
    narrowed_series_words,
    outcome_headline,
    outcome_text,
    plan_words,
    planes_line,
    room_words,
    series_row_words,
    unfinished_words,
)


@dataclass
class Row:
    """What the words take of a row of the ledger."""

    frame_id: str
    number: int
    series: SeriesPlane

    @property
    def shot_plane(self) -> ShotPlane:
        return ShotPlane(self.frame_id, self.number, self.series, FrameState.LOGGED, False)


SERIES = SeriesToRun("an id", 4, 0.88, 1.32, MovedBy.RAIL)
FIRST = ShotPlane("a", 41, SERIES.plane(0.0), FrameState.LOGGED, False)


def test_the_plan_tells_count_step_way_and_side() -> None:
    assert plan_words(SERIES) == [
        "4 frames 0.88 mm apart, each sharp over 1.32 mm",
        "by hand on the rail",
        "from the near end to the far end",
    ]
    driven = replace(SERIES, moved_by=MovedBy.DRIVE, steps_per_mm=48.5, approach=Approach.FAR)
    assert plan_words(driven)[1:] == ["by the camera's drive, 48.5 steps a mm", "from the far end to the near end"]
    assert plan_words(driven, "typed")[1:3] == ["by the camera's drive, 48.5 steps a mm", "typed"]


@pytest.mark.parametrize(
    ("gone_mm", "sd_mm", "large", "words"),
    [
        (1.02, 0.03, "BACK 0.14 mm", "1.02 of 0.88 mm, ± 0.03: back 0.14."),
        (0.4, 0.03, "FORWARD 0.48 mm", "0.40 of 0.88 mm, ± 0.03: forward 0.48."),
        (-0.2, 0.03, "FORWARD 1.08 mm", "−0.20 of 0.88 mm, ± 0.03: forward 1.08."),
        (0.9, 0.03, "THERE", "0.90 of 0.88 mm, ± 0.03: at plane 2 of 4, take the hands off. [space] release"),
    ],
)
def test_the_live_picture_leads_the_hand_to_the_plane(gone_mm: float, sd_mm: float, large: str, words: str) -> None:
    told = SeriesChanged(SERIES, SeriesPhase.BY_HAND, 0.88, 0.88, 3)
    line = headline(told, LiveWay(gone_mm, sd_mm, 0.0, 0.0, 0.1))
    assert line is not None and (line.large, line.sentence) == (large, words)
    blind = headline(told, CANT_TELL_THE_WAY)
    assert blind is not None and blind.large == "FORWARD 0.88 mm" and blind.sentence.endswith(CANT_TELL_THE_WAY)


def test_a_set_that_moved_is_told_with_both_ways_on_and_the_way_back() -> None:
    shots = [replace(FIRST, plane=SERIES.plane(0.88 * k), number=41 + k) for k in range(4)]
    last = live_plane_frame(np.zeros((96, 144), np.uint8), 144)
    moved = MovedSeries(tuple(shots[:2]), tuple(shots[2:]), 3.04, -0.96, 0.03, last)
    told = moved_headline(moved)
    assert told.large == "SET MOVED"
    assert told.sentence == (
        "Since frame 43 all lies 3.0 px (0.09 mm) right, 1.0 px (0.03 mm) high; nothing is lost. [h] shows the way "
        "back, or [b] shoots the 2 frames of before again as the set stands now."
    )
    far = back_headline(moved, LiveWay(0.0, 0.1, 2.1, 0.3, 0.1))
    assert far.large == "2.1 px RIGHT" and "move the camera that way" in far.sentence
    low = back_headline(moved, LiveWay(0.0, 0.1, 0.3, 2.1, 0.1))
    assert low.large == "2.1 px LOW"
    there = back_headline(moved, LiveWay(0.0, 0.1, 0.2, 0.1, 0.1))
    assert there.large == "IN PLACE" and "[enter] shoots the 2 frames of since then again" in there.sentence
    assert "± 0.1 px" in there.sentence and "[b]" not in there.sentence
    coarse = back_headline(moved, LiveWay(0.0, 0.1, 2.0, 0.1, 1.1))
    assert coarse.large == "NEARLY IN PLACE" and "± 1.1 px: the live picture is too coarse" in coarse.sentence
    assert "[b] shoots it as it stands" in coarse.sentence and coarse.tone is Tone.CAUTION
    leaning = replace(moved, usual_px_per_mm=(1.7, 0.0))
    assert back_headline(leaning, LiveWay(1.76, 0.02, 3.0, 0.0, 0.1)).large == "IN PLACE", "two planes on, by itself"
    assert back_headline(leaning, LiveWay(1.76, 0.02, 0.0, 0.0, 0.1)).large == "3.0 px LEFT"
    assert is_back(leaning, LiveWay(1.76, 0.02, 3.0, 0.0, 0.1)) and not is_back(leaning, None)
    waits, cant = back_headline(moved, None), back_headline(moved, CANT_TELL_BACK)
    assert (waits.tone, cant.tone) == (Tone.BUSY, Tone.CAUTION) and cant.sentence.startswith(CANT_TELL_BACK)


def test_half_a_series_is_told_before_leaving_and_at_the_next_start() -> None:
    half = [replace(FIRST, plane=SERIES.plane(0.88 * k), frame_id=str(k)) for k in range(2)]
    words = "Focus series of 4: plane 3 of 4 is next, 2 to go; [F] goes on with it."
    assert unfinished_words(half) == words
    whole = [replace(FIRST, plane=SERIES.plane(mm), frame_id=str(mm)) for mm in SERIES.planes_mm]
    assert unfinished_words(whole) == unfinished_words([]) == ""
    told = SeriesChanged(SERIES, SeriesPhase.PAUSED, 1.76, 0.88, 2)
    assert left_words(told) == words
    assert left_words(replace(told, phase=SeriesPhase.DONE)) == left_words(None) == ""


@pytest.mark.parametrize(
    ("day", "kept", "words"),
    [
        (4, True, "measured 2 days ago at 1:1, ± 5 %, play 31 steps"),
        (6, False, "measured today at 1:1, ± 5 %, play 31 steps. [K] keeps it with the kit"),
        (7, True, "measured on 7 May at 1:1, ± 5 %, play 31 steps"),
        (None, True, "measured at 1:1, ± 5 %, play 31 steps"),
    ],
)
def test_a_measured_drive_tells_when_and_at_which_ratio(day: int | None, kept: bool, words: str) -> None:
    on = date(2031, 5, day) if day else None
    drive = LensDrive(
        name="a", lens="b", magnification=1, steps_per_mm=50, steps_per_mm_sd=2.5, play_steps=31, measured_on=on
    )
    assert drive_words(drive, date(2031, 5, 6), kept=kept) == words


@pytest.mark.parametrize(
    ("move_mm", "moved_by", "large"),
    [
        (0.88, MovedBy.RAIL, "FORWARD 0.88 mm"),
        (-0.88, MovedBy.RAIL, "BACK 0.88 mm"),
        (0.88, MovedBy.RING, "FARTHER 0.88 mm"),
        (-0.88, MovedBy.RING, "NEARER 0.88 mm"),
        (0.0, MovedBy.RAIL, "PLANE 2 OF 4"),
        (None, MovedBy.RAIL, "NEAR END"),
    ],
)
def test_a_hand_is_told_which_way_and_how_far(move_mm: float | None, moved_by: MovedBy, large: str) -> None:
    told = SeriesChanged(replace(SERIES, moved_by=moved_by), SeriesPhase.BY_HAND, 0.88, move_mm, 3)
    head = headline(told)
    assert head is not None and head.large == large and "[space] release" in head.sentence


def test_planes_that_are_shot_next_and_to_come_differ_on_the_line() -> None:
    assert planes_line(SERIES, [FIRST], 0.88, 40) == ["█   ▒   ░   ░", "0.00 mm 2.64 mm"]
    assert planes_line(replace(SERIES, frames=50), [], None, 40) == [], "more than there is room for"


def test_too_little_room_is_said_first() -> None:
    assert room_words(RoomTold(412, 9000), 7) == "room for 412 on the card, 9000 on the disk"
    assert room_words(RoomTold(3, None), 7) == "Too little room for 7 frames: room for 3 on the card"
    assert room_words(RoomTold(None, None), 7) == room_words(None, 7) == ""


def test_the_outcome_names_what_is_wrong_before_what_is_missing() -> None:
    look = SeriesLook((FIRST,), (FIRST,), (0.88,), {"a": "is 0.4 EV darker than those beside it"})
    assert outcome_headline(look).large == "FRAME DIFFERS"
    assert "Frame 41, plane 1 of 4, is 0.4 EV darker" in outcome_headline(look).sentence
    assert outcome_headline(replace(look, faults={})).large == "NOT WHOLE"
    gone = replace(look, faults={}, trouble="frame 41 has no picture here")
    assert outcome_headline(gone).sentence == "The series can't be told: frame 41 has no picture here."
    assert outcome_headline(SeriesLook((FIRST,), (FIRST,), ())).large == "ONE FRAME"
    assert outcome_headline(SeriesLook((FIRST,), (FIRST,), (), is_measured=False)).large == "SERIES ?"


def test_where_nothing_can_be_told_no_gap_is_told_either() -> None:
    shots = tuple(ShotPlane(str(n), n, SERIES.plane(mm), FrameState.LOGGED, False) for n, mm in enumerate((0.0, 0.88)))
    beyond = Stretch(1, 1.6, 9.0, 0.38, (0.8, 0.8))
    found = Coverage(
        (0.0, 0.88), np.full((8, 8), np.nan, np.float32), np.zeros((8, 8), np.uint8), 1.32, 16.0, (beyond,)
    )
    look = SeriesLook(shots, shots, (), {}, found, gaps(found, 0.88))
    assert outcome_headline(look).large == "COVERED ?" and not look.gaps
    assert (
        outcome_text(look) == outcome_headline(look).sentence == "Nowhere is enough fine detail to tell what is sharp."
    )


def test_the_gap_that_is_told_is_the_largest_and_the_others_are_counted() -> None:
    shots = tuple(ShotPlane(str(n), n, SERIES.plane(mm), FrameState.LOGGED, False) for n, mm in enumerate((0.0, 0.88)))
    near, far = Gap(-1, -1.0, -0.7, 0.1, (-0.88,), (0.1, 0.1)), Gap(1, 1.6, 2.8, 0.3, (1.76,), (0.8, 0.8))
    found = Coverage((0.0, 0.88), np.zeros((8, 8), np.float32), np.ones((8, 8), np.uint8), 1.32, 16.0)
    head = outcome_headline(SeriesLook(shots, shots, (), {}, found, (near, far), (-0.88, 1.76)))
    assert head.large == "GAP 1.2 mm" and "30 % was never sharp" in head.sentence and "And 1 more gap." in head.sentence


def test_the_ledgers_row_says_of_what_the_share_is_and_takes_no_text_of_others() -> None:
    shots = [SERIES.plane(mm) for mm in SERIES.planes_mm]
    rows: list[Any] = [Row(str(at), 41 + at, plane) for at, plane in enumerate(shots)]
    said = "99 % of what can be told is sharp in 4 frames; 60 % of the picture has too little detail to tell."
    assert series_row_words(rows, {"3": said}) == "series of 4, sharp: 99 % of what can be told"
    assert series_row_words(rows, {"2": said.replace("99", "80"), "3": said}).endswith("99 % of what can be told")
    assert series_row_words(rows, {"3": "buy now of me"}) == "series of 4"
    assert narrowed_series_words(rows[:2]) == "2 frames of a series of 4 planes", "which of them lack isn't known"
    others = replace(rows[1], series=SERIES.plane(0.44))  # an added plane stands in for none of the plan
    assert series_row_words([rows[0], others, *rows[2:]], {"3": said}) == "series 3 of 4"
