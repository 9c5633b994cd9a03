"""The match screen over the real controller: frames from here, the way to the bench, and the reference beside."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from session.frame import camera_messages as say
from session.frame.camera_messages import ApplySettings, SettingsRead
from session.frame.series_plane import Approach, MovedBy
from tests.support.log_samples import PLANE, whole_frame
from tests.support.played_bench import CHARGED_S
from tests.support.reshoot_screen import PICTURE_PX, SET, picture, reshoot_screen
from tests.support.running_screen import LARGE
from tests.support.scripted import reading
from tests.support.written_log import WrittenLog
from tui.bench.bench_screen import BenchScreen
from tui.match.match_screen import MatchScreen
from tui.shell.repeated_series import repeated_series

A_NIGHT_S = 14 * 3600.0

MOVED_PX = 20.0


async def test_a_frame_is_released_from_here_and_the_bench_is_a_key_away(written: WrittenLog) -> None:
    async with reshoot_screen(written) as at:
        await at.wait(60.0)
        await at.press("space")
        assert at.releases == 1 and at.large == "HANDS OFF"
        await at.press("escape")
        assert isinstance(at.app.screen, BenchScreen) and "M match" in at.key_line
        await at.press("M")
        assert isinstance(at.app.screen, MatchScreen)


async def test_the_reference_of_another_piece_stands_beside_a_new_one(written: WrittenLog) -> None:
    other = written.log.open_place(written.place.job, "barrel 7", "three-quarter")
    async with reshoot_screen(replace(written, place=other), LARGE) as at:
        assert "REFERENCE 1 · barrel 6 of 24" in at.text


async def test_a_focus_series_of_the_references_view_is_told_at_the_last_step_and_shot_again_by_one_key(
    written: WrittenLog,
) -> None:
    then = replace(PLANE, frames=3, moved_by=MovedBy.RAIL, approach=Approach.FAR)
    for number, mm in enumerate((0.0, -0.88, -1.76), 4):
        whole_frame(written.log, written.place, number, written.revision_id, series=replace(then, plane_mm=mm))
    other = written.log.open_place(written.place.job, "barrel 7", "three-quarter")
    async with reshoot_screen(replace(written, place=other), LARGE) as at:
        assert "F series" in at.key_line and "frames 4 to 6" not in at.text
        await at.press("up")
        told = "frames 4 to 6: 3 planes 0.88 mm apart, from the far end to the near end, by hand on the rail."
        assert told in at.flat and "[F] shoots the same again" in at.flat
        await at.press("F")
        assert at.large == "3 FRAMES" and "3 frames 0.88 mm apart, each sharp over" in at.flat
        assert "from the far end to the near end" in at.flat
        await at.press("enter")
        assert at.large == "PLANE 1 OF 3" and "take the hands off" in at.flat
        await at.press("space")
        await at.wait(60.0)
        new = at.studio.camera.last(say.Release).frame_id
        at.studio.fire()
        record = written.reader.frame(new)
        assert record is not None and record.series is not None and record.piece == "barrel 7"
        assert record.series == replace(then, series_id=record.series.series_id, plane_mm=0.0, steps_per_mm=None)
        found = repeated_series(written.reader, other, written.reader.frame(written.frame_ids[1]) or record)
        assert found.then is not None and found.then.numbers == [4, 5, 6]
        assert found.now is not None and found.now.numbers == [7]


async def test_a_stop_is_settled_here_and_the_step_is_due_again(written: WrittenLog) -> None:
    async with reshoot_screen(written) as at:
        await at.wait(CHARGED_S)
        assert at.large == "CHECK LIST"
        await at.camera(SettingsRead(reading(f_number=8.0), by_hand=True))
        assert at.large == "DIAL TURNED" and at.key_line.startswith("f back to f/11")
        await at.press("f")
        assert at.studio.camera.last(ApplySettings).changes == {"f_number": 11.0}
        await at.taken()
        assert at.large == "CHECK LIST"


async def test_real_pictures_are_measured_and_a_frame_marked_kill_counts_no_more(
    written: WrittenLog, tmp_path: Path
) -> None:
    picture(tmp_path / "0001.jpg")
    async with reshoot_screen(written, LARGE) as at:
        at.studio.clock.now_s += A_NIGHT_S
        await at.frame(path=picture(tmp_path / "now.jpg", right_px=MOVED_PX, seed=3))
        await at.press("down", "down", "down")
        field_mm = at.app.kit.body[0].sensor_width_mm / SET.arrangement.magnification
        assert at.large == f"CAMERA {MOVED_PX / PICTURE_PX[0] * field_mm:.1f} mm RIGHT"
        await at.press("escape", "k", "M", "down", "down", "down")
        assert at.large == "FRAMING", at.text
        await at.press("z")
        assert at.large.startswith("CAMERA 1.3 mm"), at.text
