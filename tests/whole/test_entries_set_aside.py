"""An entry that the log refuses for good: kept beside it, told when it happens, and told at each start after that."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.support.mock_camera_program import MockCameraProgram
from tests.support.stillset_program import StillsetHome
from tests.support.terminal_program import in_terminal

SET = ("--seed", "3", "--pixels", "768x512", "--format", "jpeg")
NO_NOTES = "CREATE TRIGGER no_notes BEFORE INSERT ON note BEGIN SELECT RAISE(ABORT, 'no notes today'); END"
"""What makes the log refuse, as a constraint of a damaged or foreign file might."""

BEFORE = "The log once refused 1 entry for good"


@pytest.fixture
def camera() -> Iterator[str]:
    with MockCameraProgram(*SET) as mock:
        yield f"ptpip:127.0.0.1:{mock.port}"


def test_what_the_log_refused_is_kept_and_told_at_the_next_start(tmp_path: Path, camera: str) -> None:
    home = StillsetHome(tmp_path)
    shoot = ("shoot", "--camera", camera)
    without_screen = (*shoot, "--headless", "--frames", "1")
    assert home.run(*without_screen).code == 0
    with closing(sqlite3.connect(home.log)) as log:
        log.execute(NO_NOTES)
    with in_terminal(home, *shoot) as bench:
        bench.until("FRAME 1")
        bench.press("ncrown first\r")
        bench.until("The log refused a note for good")
        bench.press("Q")
        assert bench.ended() == 0, bench.text[-2000:]
    refused = Path(f"{home.log}.refused")
    (entry,) = (json.loads(line) for line in refused.read_text("ascii").splitlines())
    assert entry["call"] == "note" and entry["values"][-1] == "crown first" and "no notes today" in entry["error"]
    with closing(sqlite3.connect(home.log)) as log:
        log.execute("DROP TRIGGER no_notes")
    with in_terminal(home, *shoot) as bench:
        bench.until(BEFORE)
        bench.press("Q")
        assert bench.ended() == 0, bench.text[-2000:]
    ended = home.run(*without_screen)
    assert ended.code == 0 and ended.out.count(BEFORE) == 1, ended
    refused.rename(tmp_path / "looked at")
    assert BEFORE not in home.run(*without_screen).out
