"""From the wish to the saved frame, after 5,000 frames and after none, by turns: neither has the quieter machine.

What grows with the day stands ready: files on the card and in the job's folder, the frames' rows, and their sizes.

    pytest tests/benchmarks/test_release_growth.py -s
"""

from __future__ import annotations

import os
import statistics
from datetime import timedelta
from pathlib import Path
from time import monotonic

import pytest

from session.frame.card import WRAPS_AT
from session.frame.states import FrameEvent, Intent
from session.units.ids import new_id
from tests.support.frame_of_each_file import NOON, Quick, quick_shoot

pytestmark = pytest.mark.timeout(600)

FRAMES = int(os.environ.get("STILLSET_FRAMES", "5000"))
ROUNDS = 40
MOST = 1.1
"""What the acceptance of a heavy day allows between its end and its start."""


def with_frames_on_card(folder: Path, count: int) -> Path:
    still = folder / "DCIM" / "100STILL"
    still.mkdir(parents=True)
    for number in range(1, count + 1):
        (still / f"STIL{number:04d}.JPG").write_bytes(b"\xff\xd8\xff\xd9")
    return folder


def add_frames(quick: Quick, count: int) -> None:
    """Rows, sizes and files of frames that were shot before."""
    state = quick.shoot.shoot_state
    folder = state.frame_folder(state.place)
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(1, count + 1):
        stem = f"{number:04d}"
        (folder / f"{stem}.JPG").write_bytes(b"\xff\xd8\xff\xd9")
        at = NOON - timedelta(days=1)
        intent = Intent(new_id(), number, state.revision_id, state.serial, str(folder), stem, at)
        state.log.begin_frame(intent, state.place)
        for event in (FrameEvent.FIRED, FrameEvent.ALL_SAVED, FrameEvent.JUDGED):
            state.log.move_frame(intent.frame_id, event)
        state.frame_sizes.append(10_000)


def took_s(quick: Quick) -> float:
    began_s = monotonic()
    quick.at_rest(quick.release())
    quick.events.clear()
    return monotonic() - began_s


def test_a_release_takes_no_longer_after_a_day_of_frames(tmp_path: Path) -> None:
    assert FRAMES + ROUNDS < WRAPS_AT
    card = with_frames_on_card(tmp_path / "card", FRAMES)
    with (
        quick_shoot(tmp_path / "first", 40, "jpeg") as first,
        quick_shoot(tmp_path / "late", 40, "jpeg", "--card-folder", str(card)) as late,
    ):
        add_frames(late, FRAMES)
        first_s, late_s = [], []
        for _ in range(ROUNDS):
            first_s.append(took_s(first))
            late_s.append(took_s(late))
    ratio = statistics.median(late_s) / statistics.median(first_s)
    print(
        f"\nafter {FRAMES} frames {statistics.median(late_s) * 1e3:.1f} ms, "
        f"after none {statistics.median(first_s) * 1e3:.1f} ms, ratio {ratio:.3f}"
    )
    assert ratio <= MOST
