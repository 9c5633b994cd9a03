"""Without a screen: one line a frame, in the screen's own words."""

from __future__ import annotations

from typing import Any, cast

import pytest

from session.frame.finding import Finding, FocusVerdict, Level, Remedy, RemedyKind
from session.shoot.events import CardBeingRead, Event, FrameJudged, Said
from tests.support.bench_events import (
    COMING,
    FOUND,
    MISSING,
    judged,
    model_after,
)
from tui.headless import headless_shoot
from tui.headless.headless_shoot import FRAME_WITHIN_S, Headless, verdict_line
from tui.shell.build import OpenShoot
from tui.words.wording import headline

REFOCUS = Remedy(RemedyKind.BY_HAND, "refocus in live view")
FOCUS_OFF = Finding(
    "focus", Level.CAUTION, "blur 7.3 px in the region, limit 2.0 px: 0.3 mm off.", 7.3, 2.0, "px", REFOCUS
)
DARK = Finding("exposure", Level.CAUTION, "The region is 0.6 EV darker than the reference.", -0.6, 0.25, "EV")


def test_without_a_screen_a_frame_that_nobody_judged_has_the_screens_word() -> None:
    judged_event = next(event for event in judged(1, FocusVerdict.UNJUDGED) if isinstance(event, FrameJudged))
    assert verdict_line(judged_event) == "Frame 1: focus ?, no reference yet"


def test_without_a_screen_a_miss_is_said_once_and_what_else_was_found_behind_it() -> None:
    event = judged(1, FocusVerdict.MISSED, 7.3, 0.31, (FOCUS_OFF, DARK))[1]
    assert isinstance(event, FrameJudged)
    line = verdict_line(event)
    assert line == f"Frame 1: missed, blur radius 7.3 px, limit 2.0 px, 0.3 mm off — {DARK.text}"


def test_a_judged_frame_whose_raw_was_lost_is_not_said_to_come_in() -> None:
    (at_the_judge,) = (event for event in judged(1, FocusVerdict.SHARP, 0.4) if isinstance(event, FrameJudged))
    model = model_after(FOUND, *COMING, MISSING, at_the_judge)
    assert "still coming in" not in headline(model, 0.0).sentence
    assert headline(model, 0.0).sentence.startswith("Frame 1 not all saved, sharp")


class Busy:
    """An open shoot that is never done before the ninth question; each answer takes long, and brings the same news."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, news: Event) -> None:
        self.now_s, self.asked, self.news = 0.0, 0, news
        monkeypatch.setattr(headless_shoot, "monotonic", lambda: self.now_s)

    def listen(self, hear: Any) -> None:
        self.hear = hear

    def ask(self, question: Any) -> bool:
        self.now_s, self.asked = self.now_s + FRAME_WITHIN_S / 4, self.asked + 1
        self.hear(self.news)
        return self.asked == 9


@pytest.mark.parametrize(("news", "done"), [(CardBeingRead(900, 9000, 600.0), True), (Said("The log is full."), False)])
def test_time_begins_anew_while_a_folder_is_read_and_for_no_other_news(
    monkeypatch: pytest.MonkeyPatch, news: Event, done: bool
) -> None:
    shoot = Busy(monkeypatch, news)
    assert Headless(cast(OpenShoot, shoot), lambda text: None, telling=False).all_done() is done
