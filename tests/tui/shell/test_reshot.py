"""Which frames of a job count as shot again: of a set that was struck meanwhile, or of steps that were gone through."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from session.frame.finding import FocusVerdict
from session.frame.step_said import StepWord
from session.set.kit import demo_kit
from tests.support.log_samples import PLANE
from tests.support.reshoot_screen import picture, referenced_log
from tests.support.scripted import ManualClock
from tests.support.scripted_table import READING
from tests.support.written_log import WrittenLog, add_frame
from tui.shell.reshot import place_named, reshot_views


def shot_after(written: WrittenLog, tmp_path: Path, number: int, pause: timedelta) -> None:
    clock = ManualClock()
    clock.now_s += pause.total_seconds()
    add_frame(written, number, FocusVerdict.SHARP, READING, tmp_path / f"{number}.jpg", clock)
    picture(Path(f"{tmp_path / f'{number}.jpg'}.{number}.jpg"))


def found(written: WrittenLog) -> list[int]:
    views = reshot_views(written.reader, demo_kit(), written.reader.records())
    return [one.frame.number for one in views if one.frame is not None]


def test_a_frame_of_the_next_day_is_no_reshoot_unless_its_steps_were_gone_through(tmp_path: Path) -> None:
    written = referenced_log(tmp_path)
    picture(tmp_path / "0001.jpg")
    shot_after(written, tmp_path, 4, timedelta(days=1))
    assert found(written) == []
    shot_after(written, tmp_path, 5, timedelta(days=30))
    assert found(written) == [5]
    written.log.say_of_step(written.place, written.revision_id, "lens", StepWord.CONFIRMED)
    assert 4 in found(written)
    written.close()


def test_a_plane_of_a_series_is_no_reshoot_of_a_single_frame(tmp_path: Path) -> None:
    written = referenced_log(tmp_path)
    picture(tmp_path / "0001.jpg")
    shot_after(written, tmp_path, 5, timedelta(days=30))
    records = list(written.reader.records())
    records[-1] = replace(records[-1], facts=replace(records[-1].facts, series=PLANE))
    assert found(written) == [5]
    assert list(reshot_views(written.reader, demo_kit(), records)) == []
    written.close()


def test_a_place_is_found_by_its_names_whatever_their_case(tmp_path: Path) -> None:
    written = referenced_log(tmp_path)
    place = written.place
    assert place_named(written.reader, place.job, place.piece.upper(), place.view) == place
    assert place_named(written.reader, place.job, "another", place.view) is None
    written.close()
