"""Which frames of a reshoot are measured, of the piece on the table, and which only up to a time."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from session.frame.finding import FocusVerdict
from session.set.kit import demo_kit
from tests.support.reshoot_screen import SET, picture, referenced_log
from tests.support.scripted import ManualClock
from tests.support.scripted_table import READING
from tests.support.written_log import add_frame
from tui.shell.measured_set import reference_of, set_pictures


def test_the_frames_of_the_piece_on_the_table_are_measured_against_another_pieces_reference(
    tmp_path: Path,
) -> None:
    written = referenced_log(tmp_path)
    other = replace(written, place=written.log.open_place(written.place.job, "barrel 7", "three-quarter"))
    begun_at = ManualClock().now() + timedelta(hours=1)
    later = ManualClock()
    later.now_s += 2 * 3600
    picture(tmp_path / "0001.jpg")
    add_frame(written, 4, FocusVerdict.SHARP, READING, tmp_path / "of-6.jpg", later)
    add_frame(other, 5, FocusVerdict.SHARP, READING, tmp_path / "of-7.jpg", later)
    shot = {n: picture(Path(f"{tmp_path}/of-{piece}.jpg.{n}.jpg")) for n, piece in ((4, 6), (5, 7))}
    for place, newest in ((other.place, 5), (written.place, 4)):
        reference = reference_of(written.reader, place, SET.setup_number)
        assert reference is not None and reference.number == 1
        found = set_pictures(written.reader, demo_kit(), SET, reference, place, begun_at)
        assert found is not None and (found.then.together, found.now.together) == (reference.picture, shot[newest])
    written.close()
