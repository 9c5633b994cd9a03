"""`stillset series list` and `show` over a log with a series and single frames."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

from click.testing import CliRunner, Result

from session.frame.shot_plane import SERIES_OUTCOME
from tests.support.log_samples import PLANE, whole_frame
from tests.support.written_log import WrittenLog
from tui.commands.command_line import stillset


def series(*arguments: object) -> Result:
    return CliRunner().invoke(stillset, ["series", *(str(argument) for argument in arguments)])


def test_the_series_of_a_job_are_listed_and_shown_plane_by_plane(looked_back: WrittenLog, tmp_path: Path) -> None:
    log, place, key = looked_back.log, looked_back.place, looked_back.revision_id
    assert series("list", "--log", tmp_path / "log.db").output == "No focus series.\n"
    for number, mm in enumerate((0.0, 0.88, 0.44), 13):
        last = whole_frame(log, place, number, key, series=replace(PLANE, plane_mm=mm, frames=3))
    log.record(SERIES_OUTCOME, "90 % of what can be told is sharp in 3 frames.", last)
    listed = series("list", "--log", tmp_path / "log.db")
    assert "13-15  series 2 of 3  0.88 mm apart  barrel 6 of 24" in listed.output
    shown = series("show", 14, "--log", tmp_path / "log.db")
    assert shown.output.splitlines() == [
        "series 2 of 3, 0.88 mm apart, by the drive, from the near end",
        "    0.00 mm  plane 1 of 3: frame 13",
        "    0.44 mm  plane at 0.44 mm: frame 15",
        "    0.88 mm  plane 2 of 3: frame 14",
        "    1.76 mm  plane 3 of 3: frame none",
        "90 % of what can be told is sharp in 3 frames.",
    ]
    told = json.loads(series("show", 14, "--json", "--log", tmp_path / "log.db").output)
    assert [plane["frame"] for plane in told["planes"]] == [13, 15, 14, None] and told["moved_by"] == "drive"
    alone = series("show", 3, "--log", tmp_path / "log.db")
    assert alone.exit_code == 2 and "frame 3 is in no focus series" in alone.output
