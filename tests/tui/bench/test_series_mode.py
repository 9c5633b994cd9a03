"""A focus series by keys over the real controller: what is said, what the camera is asked, what the frames come to."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageEnhance

from session.frame import camera_messages as say
from session.frame.finding import FocusVerdict
from session.frame.shot_plane import SERIES_OUTCOME
from session.optics.arrangement import bare
from session.series.breathing import size_at
from session.set.kit import LensDrive
from session.shoot.acts import Revise, SwitchLiveView
from session.shoot.events import DriveMeasured
from tests.support.focus_series import FOCAL_LENGTH_MM
from tests.support.live_at_bench import PlayedStream
from tests.support.log_samples import revision, whole_frame
from tests.support.played_bench import PlayedBench, played_bench
from tests.support.played_series import BY_HAND, PlayedSeries, played_series
from tests.support.running_screen import SMALL
from tests.support.series_truth import ShotSeries, label_series

CARD = Image.fromarray(np.random.default_rng(3).integers(30, 220, (40, 60)).astype(np.uint8)).resize((600, 400), 3)


@pytest.fixture(scope="module")
def shot() -> ShotSeries:
    return label_series()


@pytest.fixture
def series(shot: ShotSeries, tmp_path: Path) -> Iterator[PlayedSeries]:
    with played_series(shot, tmp_path) as played:
        yield played


async def drive(at: PlayedBench) -> None:
    """The drive answers until it is asked for nothing more."""
    answered = getattr(at, "answered", 0)
    while answered < len(at.studio.camera.requests):
        request = at.studio.camera.requests[answered]
        answered += 1
        if isinstance(request, say.DriveFocus):
            await at.camera(say.FocusDriven(request.steps))
    at.answered = answered  # type: ignore[attr-defined]


async def take(at: PlayedBench, path: Path) -> None:
    """Time passes, and the camera takes the plane that was asked for."""
    await at.wait(60.0)
    frame_id = at.studio.fire()
    at.studio.file(frame_id, path=str(path))
    at.studio.deliver(say.FrameComplete(frame_id))
    at.studio.judged(frame_id, FocusVerdict.UNJUDGED)
    await at.tell()
    await drive(at)


def panel_of(at: PlayedBench) -> str:
    return " ".join(" ".join(line[42:] for line in at.text.split("\n")).split())


async def test_by_the_drive_a_relit_frame_is_shot_again_and_the_whole_is_covered(
    series: PlayedSeries, tmp_path: Path
) -> None:
    paths, relit = series.shot.paths, tmp_path / "relit.jpg"
    with Image.open(paths[1]) as picture:
        ImageEnhance.Brightness(picture).enhance(1.25).save(relit, quality=95)
    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        at.studio.do(SwitchLiveView(True))
        await at.press("F")
        assert at.large == "SERIES" and "Say what must be sharp" in at.flat
        await at.press("t")
        await at.type("4 frames")
        await at.press("enter")
        assert at.large == "4 FRAMES" and "How far a step of the drive goes isn't known" in at.flat
        await at.press("p")
        await at.type("200")
        await at.press("enter")
        assert "4 frames 0.53 mm apart, each sharp over 0.71 mm" in panel_of(at)
        assert "at least 8 s" in panel_of(at) and "room for" in panel_of(at) and "░" in panel_of(at)
        await at.press("enter")
        await drive(at)
        await take(at, paths[0])
        assert "1 of 4 frames" in panel_of(at) and "█ ▒ ░ ░" in panel_of(at) and "enter" not in at.key_line
        for path in (relit, paths[2], paths[3]):
            await take(at, path)
        assert at.large == "2 of 4" or "plane 2 of 4: frame 2 is 0." in panel_of(at)
        await take(at, paths[1])
        at.studio.do(SwitchLiveView(False))
        await at.tell()
        assert at.large == "COVERED" and "PREVIEW of the series" in at.text and "enter" not in at.key_line
        await at.press("escape", "F")
        assert at.large == "COVERED", "what the log has of it isn't kept once more"
    shots = [(one.number, one.series.plane_mm) for one in series.written.reader.frames() if one.series]
    step_mm = series.shot.plan.step_mm
    assert shots == [(n, pytest.approx(k * step_mm)) for n, k in ((1, 0), (2, 1), (3, 2), (4, 3), (5, 1))]
    (told,) = [event for event in series.written.reader.events() if event.kind == "focus series"]
    assert "of what can be told is sharp in 4 frames" in told.text
    assert len(list((tmp_path / "log.db.previews").iterdir())) == 1


async def test_by_hand_it_goes_on_the_next_day_and_shoots_what_was_never_sharp(series: PlayedSeries) -> None:
    series.description = BY_HAND
    paths = series.shot.paths
    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        await at.press("F", "d", "t")
        await at.type("3")
        await at.press("enter")
        assert at.large == "3 FRAMES" and "on the focus ring" in panel_of(at)
        await at.press("enter")
        assert at.large == "PLANE 1 OF 3" and "take the hands off" in at.flat
        await at.press("space")
        await take(at, paths[0])
        assert at.large == "FARTHER 0.53 mm" and at.releases == 1, "not before the hand is there"
        await at.press("escape")
        assert at.large == "PAUSED"
        await at.press("escape", "Q")
        assert "plane 2 of 3 is next, 2 to go; [F] goes on with it" in at.flat, "nothing is left unsaid"
        await at.press("escape")
    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        await at.press("F")
        assert at.large == "NOT WHOLE" and "1 of 3 frames" in panel_of(at)
        await at.press("enter")
        for path in paths[1:3]:
            assert at.large == "FARTHER 0.53 mm"
            await at.press("space")
            await take(at, path)
        assert at.large.startswith("GAP 0.") and "more beyond plane 3 of 3" in at.flat and "┌" in at.text
        await at.press("enter")
        assert at.large.startswith("FARTHER 0.5")
        await at.press("space")
        await take(at, paths[3])
        assert at.large == "COVERED"
        await at.press("u")
        assert at.large == "SERIES", "another series is planned; the frames stay"
    planes = [one.series.plane_mm for one in series.written.reader.frames() if one.series]
    assert planes == [pytest.approx(n * series.shot.plan.step_mm, abs=0.05) for n in range(4)]


async def test_a_camera_that_can_be_moved_by_nothing_known_is_told_so(series: PlayedSeries) -> None:
    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        await at.press("F", "t")
        await at.type("a lot")
        await at.press("enter")
        assert "a lot" in at.flat and at.releases == 0
        await at.press("escape", "escape")
        assert at.large != "SERIES"


async def test_enter_goes_on_only_with_the_set_up_that_the_series_was_shot_with(series: PlayedSeries) -> None:
    series.description = BY_HAND
    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        await at.press("F", "d", "t")
        await at.type("3")
        await at.press("enter", "enter", "space")
        await take(at, series.shot.paths[0])
        await at.press("escape", "escape")
        settings = at.studio.shoot.shoot_state.revision.settings
        at.studio.do(Revise({"settings": replace(settings, f_number=settings.f_number * 2)}))
        await at.tell()
        await at.press("F", "enter")
        assert "by another lens, ratio, f-number or blur limit" in at.flat
        await at.press("space")
        await at.wait(60.0)
        assert at.releases == 1
        at.studio.do(Revise({"settings": settings}))
        await at.tell()
        await at.press("enter")
        assert at.large == "FARTHER 0.53 mm"


async def planned_by_drive(at: PlayedBench) -> None:
    """Four frames by a drive of 200 steps a mm, begun."""
    at.studio.do(SwitchLiveView(True))
    await at.press("F", "t")
    await at.type("4 frames")
    await at.press("enter", "p")
    await at.type("200")
    await at.press("enter", "enter")


async def test_left_while_its_last_frame_is_checked_it_tells_and_keeps_what_it_came_to(series: PlayedSeries) -> None:
    """An outcome in the same words, of another job, is none of this series."""
    log, paths = series.written.log, series.shot.paths
    other = log.open_place("another job", "another piece", "back")
    of_other = whole_frame(log, other, 1, log.save_revision(other, revision()))
    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        await planned_by_drive(at)
        await drive(at)
        for path in paths[:3]:
            await take(at, path)
        await at.wait(60.0)
        last = at.studio.fire()
        at.studio.file(last, path=str(paths[3]))
        at.studio.deliver(say.FrameComplete(last))
        await at.tell()
        said = "99 % of what can be told is sharp in 4 frames; 13 % of the picture has too little detail to tell."
        log.record(SERIES_OUTCOME, said, of_other)
        await at.press("escape")
        at.studio.judged(last, FocusVerdict.UNJUDGED)
        at.studio.do(SwitchLiveView(False))
        await at.tell()
        assert at.large == "COVERED"
    assert series.written.reader.series_outcomes()[last] == said, "so that the words are alike"


async def test_a_mark_with_which_the_series_did_not_begin_is_told_again(series: PlayedSeries) -> None:
    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        await planned_by_drive(at)
        await drive(at)
        await take(at, series.shot.paths[0])
        await at.press("escape")
        await drive(at)
        await at.press("full_stop", "n", "enter")
        assert "The focus is still being driven: begin when it stands." in at.flat
        await drive(at)
        counted = at.studio.shoot.series._at_steps
        await at.press("enter")
        assert at.studio.shoot.series._at_steps != counted, "it goes by the new mark"


async def test_paused_before_its_first_frame_the_drive_is_counted_on(series: PlayedSeries) -> None:
    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        await planned_by_drive(at)
        await at.press("comma")
        await at.press("escape")
        assert at.large == "PAUSED"
        await drive(at)
        await at.press("enter")
        await drive(at)
        moves = [one.steps for one in at.studio.camera.requests if isinstance(one, say.DriveFocus)]
        assert moves == [-100, 100], "what it went is known, and no nudge came between"


async def test_a_measured_drive_is_used_by_itself_says_where_it_comes_from_and_its_play_is_counted(
    series: PlayedSeries,
) -> None:
    studio = series.studio
    shoot = studio.shoot
    drive_of = LensDrive(
        name="a", lens="", magnification=series.shot.table.magnification, steps_per_mm=200, play_steps=31
    )
    async with played_bench(studio, SMALL, series.written.reader) as at:
        at.studio.do(SwitchLiveView(True))
        await at.press("F", "t")
        await at.type("3")
        await at.press("enter")
        assert "[P] measures it" in at.flat
        await at.press("P")
        await at.tell()
        assert at.large == "MEASURING" and shoot.live.sweeping and "any key stops it" in at.flat
        await at.press("escape")
        assert not shoot.live.sweeping
        shoot.drives.found = drive_of
        shoot.shoot_state.emit(DriveMeasured(drive_of))
        await at.tell()
        assert at.large == "3 FRAMES" and "200 steps a mm" in panel_of(at) and "play 31 steps" in panel_of(at)
        await at.press("full_stop", *["less_than_sign"] * 4)
        await drive(at)
        await at.press("enter")
        await drive(at)
        moves = [one.steps for one in at.studio.camera.requests if isinstance(one, say.DriveFocus)]
        assert moves[-2:] == [-69, 100], "come to from the far side, its play is run up by the drive itself"


async def test_by_hand_the_live_picture_tells_when_the_plane_is_reached(series: PlayedSeries) -> None:
    """A flat card that grows as a piece does before a camera on a rail; live view shows it before and after."""
    series.description = BY_HAND
    lens = bare(FOCAL_LENGTH_MM, 4.0, series.shot.table.magnification)

    def grown(mm: float) -> bytes:
        size = size_at(lens, mm, by_rail=True)
        place = (1 / size, 0.0, 300 * (1 - 1 / size), 0.0, 1 / size, 200 * (1 - 1 / size))
        out = io.BytesIO()
        CARD.transform((600, 400), Image.Transform.AFFINE, place, 3).save(out, "JPEG", quality=95)
        return out.getvalue()

    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        at.studio.do(SwitchLiveView(True))
        stream = PlayedStream(at)
        await at.press("F", "t")
        await at.type("3")
        await at.press("enter", "enter")
        await stream.send(grown(0.0))
        await at.press("space")
        await take(at, series.shot.paths[0])
        assert at.large.startswith("FORWARD 0.5")
        for mm, large in ((0.75, "BACK 0.2"), (0.53, "THERE")):
            await stream.send(grown(mm))
            await at.wait(0.0)
            assert at.large.startswith(large), at.flat
        assert "of 0.53 mm" in at.flat


async def test_a_set_that_moved_for_good_stops_the_series_and_goes_on_as_it_stands_by_one_key(
    series: PlayedSeries, tmp_path: Path
) -> None:
    paths, moved = series.shot.paths, []
    for path in paths:
        moved.append(tmp_path / f"moved-{path.name}")
        with Image.open(path) as picture:
            picture.transform(picture.size, Image.Transform.AFFINE, (1, 0, -3, 0, 1, 1)).save(moved[-1], quality=95)
    async with played_bench(series.studio, SMALL, series.written.reader) as at:
        await planned_by_drive(at)
        await drive(at)
        for path in (*paths[:2], *moved[2:]):
            await take(at, path)
        assert at.large == "SET MOVED" and "Since frame 3 all lies 3." in at.flat
        assert "h way back" in at.key_line and "b as it stands" in at.key_line
        assert "enter go on" not in at.key_line, "nothing was put back yet"
        await at.press("h")
        assert "is compared with the frame from before it moved" in at.flat
        await at.press("b")
        await drive(at)
        for path in moved[:2]:
            await take(at, path)
        assert at.large == "COVERED" and "[v] shows the preview" in at.flat
        at.studio.do(SwitchLiveView(False))
        await at.tell()
        assert at.large == "COVERED" and "shows the preview" not in at.flat
    shots = [round(one.series.plane_mm / series.shot.plan.step_mm) for one in series.written.reader.frames()]
    assert shots == [0, 1, 2, 3, 0, 1], "what is good isn't shot again"
