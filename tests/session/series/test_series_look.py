"""What a series in the log comes to: whole, with a plane missing, with a frame relit, with a file that is gone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageEnhance

from session.frame.series_plane import MovedBy, SeriesToRun
from session.frame.shot_plane import ShotPlane
from session.frame.states import FrameState
from session.picture.stored_preview import preview_bytes
from session.series.coverage_map import Gap
from session.series.plane_frame import read_plane_frame
from session.series.series_look import SeriesLook, SeriesLooker, planned_places
from tests.support.series_truth import ShotSeries


@pytest.fixture(scope="module")
def looker() -> SeriesLooker:
    """Keeps what it has measured, so that each picture is read once for all tests."""
    return SeriesLooker()


def look(looker: SeriesLooker, shot: ShotSeries, paths: list[Path | None]) -> SeriesLook:
    plan = shot.plan
    series = SeriesToRun("an id", len(shot.paths), plan.step_mm, plan.sharp.depth_mm, MovedBy.DRIVE)
    shots = [
        ShotPlane(str(n), n + 1, series.plane(series.planes_mm[n % len(shot.paths)]), FrameState.LOGGED, False)
        for n in range(len(paths))
    ]
    return looker.look(shots, {str(n): str(path) if path else None for n, path in enumerate(paths)}, shot.lens)


def test_a_whole_series_has_a_map_and_a_preview(looker: SeriesLooker, shot: ShotSeries) -> None:
    found = look(looker, shot, list(shot.paths))
    assert found.whole and found.found is not None and found.found.covered_share > 0.95
    assert found.preview is not None and found.preview.shape[2] == 3 and found.todo_mm == ()


def test_planes_without_a_frame_come_before_any_map(looker: SeriesLooker, shot: ShotSeries) -> None:
    found = look(looker, shot, list(shot.paths[:2]))
    assert found.missing_mm == found.plane.planes_mm[2:] == found.todo_mm
    assert found.found is None and not found.whole


def test_a_relit_frame_is_named_and_its_plane_is_shot_again(
    looker: SeriesLooker, shot: ShotSeries, tmp_path: Path
) -> None:
    relit = tmp_path / "relit.jpg"
    with Image.open(shot.paths[1]) as picture:
        ImageEnhance.Brightness(picture).enhance(1.25).save(relit, quality=95)
    found = look(looker, shot, [shot.paths[0], relit, *shot.paths[2:]])
    assert list(found.faults) == ["1"] and "EV brighter" in found.faults["1"]
    assert found.again_mm == (found.plane.planes_mm[1],)
    mended = look(looker, shot, [shot.paths[0], relit, *shot.paths[2:], shot.paths[0], shot.paths[1]])
    assert mended.whole and [one.number for one in mended.best] == [5, 6, 3, 4]


def moved(path: Path, folder: Path) -> Path:
    """The frame as a camera shows it that was moved by 3 px to the left and 1 px down."""
    out = folder / f"moved-{path.name}"
    with Image.open(path) as picture:
        picture.transform(picture.size, Image.Transform.AFFINE, (1, 0, -3, 0, 1, 1)).save(out, quality=95)
    return out


def test_a_set_that_moved_for_good_is_told_from_a_frame_that_moved(
    looker: SeriesLooker, shot: ShotSeries, tmp_path: Path
) -> None:
    first, second, *others = shot.paths
    stays = look(looker, shot, [first, second, *(moved(path, tmp_path) for path in others)])
    assert stays.moved is not None
    assert [one.number for one in stays.moved.before] == [1, 2] and [one.number for one in stays.moved.since] == [3, 4]
    assert (stays.moved.right_px, stays.moved.down_px) == (pytest.approx(3, abs=0.5), pytest.approx(-1, abs=0.5))
    assert stays.moved.mm_per_px == pytest.approx(shot.table.pitch_mm / shot.table.magnification)
    assert stays.again_mm == stays.plane.planes_mm[2:], "put back, those from after the move are shot again"
    once = look(looker, shot, [first, moved(second, tmp_path), *others])
    assert once.moved is None and once.faults, "a frame that lies beside both others is no move for good"


def test_a_picture_that_is_gone_is_told_with_its_frame(looker: SeriesLooker, shot: ShotSeries) -> None:
    found = look(looker, shot, [*shot.paths[:3], None])
    assert found.trouble == "frame 4 has no picture here" and not found.whole


def test_a_frame_of_another_size_and_a_lost_original_are_told_with_their_frame(
    looker: SeriesLooker, shot: ShotSeries, tmp_path: Path
) -> None:
    with Image.open(shot.paths[1]) as picture:
        picture.resize((600, 400)).save(tmp_path / "larger.jpg")
        pixels = np.asarray(picture.convert("RGB").reduce(2))
    found = look(looker, shot, [shot.paths[0], tmp_path / "larger.jpg", *shot.paths[2:]])
    assert found.trouble == (
        "the picture of frame 2 measures 600 × 400 px, and the frames before it 768 × 512 px: it can't be laid on them"
    )
    (tmp_path / "stored.jpg").write_bytes(preview_bytes(pixels, "1", (384, 256)))
    found = look(looker, shot, [shot.paths[0], tmp_path / "stored.jpg", *shot.paths[2:]])
    assert found.trouble == (
        "the picture of frame 2 isn't here any more: its stored preview is too small to be measured"
    )
    assert not found.whole and found.preview is None


def test_a_frame_that_was_marked_kill_is_left_out_and_nothing_else_is_measured_anew(
    shot: ShotSeries, monkeypatch: pytest.MonkeyPatch
) -> None:
    looker, read = SeriesLooker(), []
    monkeypatch.setattr(
        "session.series.series_check.read_plane_frame",
        lambda path, *args, **kept: read.append(path) or read_plane_frame(path, *args, **kept),
    )
    whole = look(looker, shot, list(shot.paths))
    without = looker.look(
        [replace(one, spoilt=one.frame_id == "1") for one in whole.shots],
        {str(n): str(path) for n, path in enumerate(shot.paths)},
        shot.lens,
    )
    assert without.missing_mm == (whole.plane.planes_mm[1],) and without.preview is None
    again = look(looker, shot, list(shot.paths))
    assert again.found is not None and whole.found is not None
    assert again.found.planes_mm == pytest.approx(whole.found.planes_mm, abs=1e-6)
    assert read == [*(str(path) for path in shot.paths), str(shot.paths[1])]


def closing(after: int, *planes_mm: float) -> Gap:
    return Gap(after, 0.0, 0.0, 0.2, planes_mm, (0.5, 0.5))


def test_planes_that_close_a_gap_are_told_in_the_places_that_drive_and_hand_count_by() -> None:
    planned = (0.0, 1.0, 2.0, 3.0)
    two_steps_at_once = (0.0, 1.0, 3.0, 4.0)  # between the second and the third
    assert planned_places(closing(1, 2.0), two_steps_at_once, planned) == (1.5,), "2.0 is the third's own place"
    short = tuple(0.8 * mm for mm in planned)  # each step a fifth too short
    assert planned_places(closing(3, short[-1] + 1.0), short, planned) == pytest.approx((4.25,))
    assert planned_places(closing(-1, -1.0), short, planned) == pytest.approx((-1.25,))
    assert planned_places(closing(0, 0.4), planned, planned) == pytest.approx((0.4,))
