"""One frame has one word: at the bench from the controller's events, at follower and tablet from the log."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from session.frame.finding import Finding, FlawKind, FocusJudgement, FocusVerdict, Level, Move
from session.frame.states import FrameState
from session.shoot.events import FrameJudged
from tests.support.bench_events import FOUND, model_after, moved, released
from tests.support.scripted_table import READING, REVISION
from tests.support.written_log import written_log
from tui.follow.followed_log import headline_of, seen_in
from tui.follow.page.shown import page_of
from tui.words.wording import headline

CHECKS = ("file", "settings", "flash", "light", "band", "exposure", "clipping", "drift", "evenness", "colour",
          "mixed light", "ambient light", "focus", "a check of next year")  # fmt: skip
RULES = ("sync", "depth", "diffraction", "ambient", "stabiliser")
TEXTS = ("All of the picture moved.", "The piece moved.", "A hot spot.", "The centre is dark.", "Something else.")
JUDGEMENTS = 250


def some_findings(chance: np.random.Generator, names: tuple[str, ...]) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            str(name),
            list(Level)[chance.integers(3)],
            TEXTS[chance.integers(len(TEXTS))],
            None if chance.random() < 0.2 else round(float(chance.normal(0, 3)), 2),
            2.0,
            "px",
            kind=(None, *FlawKind)[chance.integers(len(FlawKind) + 1)],
            move=None if chance.random() < 0.5 else Move(round(float(chance.normal()), 1), 0.0, 0.5, "mm"),
        )
        for name in chance.choice(names, chance.integers(0, 4), replace=False)
    )


def some_judgement(chance: np.random.Generator) -> FocusJudgement:
    verdict = list(FocusVerdict)[chance.integers(4)]
    if verdict is FocusVerdict.UNJUDGED:
        return FocusJudgement(verdict, reason="there is too little detail")
    off_mm = None if chance.random() < 0.3 else round(float(chance.uniform(0, 2)), 3)
    return FocusJudgement(verdict, round(float(chance.uniform(-0.5, 9)), 2), 0.1, off_mm, 0.5)


def test_bench_follower_and_tablet_say_the_same_of_a_frame_whatever_was_found(tmp_path: Path) -> None:
    chance = np.random.default_rng(2026)
    written = written_log(tmp_path / "log.db", REVISION, READING, (FocusVerdict.SHARP,))
    frame_id, words = written.frame_ids[1], set()
    rules = some_findings(chance, RULES)
    written.log.frame_findings(frame_id, rules)
    for _ in range(JUDGEMENTS):
        checks, focus = some_findings(chance, CHECKS), some_judgement(chance)
        written.log.frame_judged(frame_id, checks, focus)
        model = model_after(
            FOUND,
            *released(1, path="/pictures/1.jpg"),
            moved("f1", 1, FrameState.SAVED, findings=rules),
            FrameJudged("f1", 1, checks, focus),
        )
        at_bench = headline(model, 0.0)
        sight = seen_in(written.reader)
        at_follower, at_tablet = headline_of(sight), page_of(sight, "")
        assert (at_bench.large, at_bench.tone) == (at_follower.large, at_follower.tone)
        assert (at_bench.large, at_bench.tone) == (at_tablet.large, at_tablet.tone)
        words.add(at_tablet.large)
    written.close()
    assert len(words) > 40, "many words were compared"
