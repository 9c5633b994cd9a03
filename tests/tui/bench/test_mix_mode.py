"""A light mix without pictures. By keys over the real controller: test_solo_mode; its light: test_light_mix."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from session.match.solo_series import SeriesFrame, SeriesStep, StepKind
from session.set.setup import PlacedLight, Revision
from tests.support.draft_bench import DraftBench
from tui.bench.mix_mode import MixMode

LIT = Revision(lights=(PlacedLight("key", -2.0), PlacedLight("fill", -4.0)))


def test_a_series_whose_picture_cannot_be_read_gives_no_mix_and_names_the_frame(tmp_path: Path) -> None:
    empty = tmp_path / "empty.jpg"
    empty.touch()
    frame = SeriesFrame("f", 3, datetime(2026, 11, 2, tzinfo=UTC), LIT, str(empty))
    port: Any = DraftBench([])
    mode = MixMode(port, LIT, (SeriesStep(StepKind.TOGETHER, "", frame),), fits=True)
    head = mode.headline()
    assert head.large == "NO MIX" and "of frame 3 is empty" in head.sentence
    assert mode.picture() is None
    mode.act_power("minus")
    assert "−" in mode.panel(60, 10)[1].plain, "the powers can be tried without a picture"
    mode.act_match("r")
    assert port.said == ["The solos are being read."]
    mode.act_keep("enter")
    assert port.begun == [None] and port.said[-1].startswith("Set on the flashes: key ")
    assert [act.changes["lights"][1] for act in port.posted] == [LIT.lights[1]], "what was typed is kept"
