"""The script behind the benchmark of a million frames still fits the tables of today."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter

SCRIPT = Path(__file__).parents[2] / "benchmarks" / "make_a_million.py"


def test_a_small_log_of_invented_frames_is_read_back_whole(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    subprocess.run([sys.executable, str(SCRIPT), str(log), "600"], check=True)
    reader = LogReader.open(str(log))
    try:
        frames = list(reader.frames(FrameFilter(job="order 0000")))
        assert [frame.number for frame in frames] == list(range(1, 501))
        assert not any(frame.ambient for frame in frames)
        assert len(list(reader.frames(FrameFilter(job="order 0001")))) == 100
    finally:
        reader.close()
