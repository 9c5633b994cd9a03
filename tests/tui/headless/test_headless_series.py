"""A focus series without a screen over the real controller: what it says, what it shoots, how it ends."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, cast

import pytest
from PIL import Image

from session.frame import camera_messages as say
from session.frame.finding import FocusVerdict
from session.frame.series_plane import Approach, MovedBy
from session.frame.shot_plane import SERIES_OUTCOME
from session.series.series_look import SeriesLook
from session.set.kit import LensDrive
from session.shoot.acts import Act, Revise
from session.shoot.events import Event
from tests.support.played_series import BY_HAND, PlayedSeries, played_series
from tests.support.played_table import PlayedTable
from tests.support.series_truth import ShotSeries, label_series
from tui.headless.headless_series import HeadlessSeries, SeriesWish
from tui.headless.headless_shoot import Headless
from tui.shell.build import OpenShoot
from tui.shell.options import Refused
from tui.shell.troubles import CommandFailed, Stopped

BY_DRIVE = SeriesWish(frames=1, steps_per_mm=200)


class PlayedShoot(PlayedTable):
    """An open shoot whose camera drives and takes the frame that it is asked for at once; `paths`: their pictures."""

    def __init__(self, series: PlayedSeries, paths: Sequence[Path]) -> None:
        super().__init__(series.studio)
        self.reader = series.written.reader
        self._paths = list(paths)
        self._answered = 0

    def post(self, act: Act) -> None:
        super().post(act)
        self._play()

    def _play(self) -> None:
        while self._answered < len(self.studio.camera.requests) or self.studio.shoot.releases.held:
            if self._answered == len(self.studio.camera.requests):
                self.studio.wait(60.0)  # whatever the release waits for
                continue
            request = self.studio.camera.requests[self._answered]
            self._answered += 1
            if isinstance(request, say.DriveFocus):
                self.studio.deliver(say.FocusDriven(request.steps))
            elif isinstance(request, say.LiveView) and request.on:
                self.studio.shoot.series.on_live()
            elif isinstance(request, say.ApplySettings):
                settings = self.studio.shoot.shoot_state.revision.settings
                self.studio.answer_settings(exposure_s=settings.exposure_s, f_number=settings.f_number)
            elif isinstance(request, say.Release):
                frame_id = self.studio.fire()
                self.studio.file(frame_id, path=str(self._paths.pop(0)))
                self.studio.deliver(say.FrameComplete(frame_id))
                self.studio.judged(frame_id, FocusVerdict.UNJUDGED)
        self.tell()

    def ask(self, question: Callable[[Any], object]) -> object:
        return question(self.studio.shoot)

    def listen(self, listener: Callable[[Event], None]) -> None:
        self._listeners.append(listener)
        self._play()


class Shell:
    """Somebody at a shell: keeps what is said and asked, and how often a hand was at the rail."""

    def __init__(self, series: PlayedSeries, *, agrees: bool = True, hands: int = 99) -> None:
        self.series, self.agrees, self.hands = series, agrees, hands
        self.lines: list[str] = []

    def hand(self, words: str) -> bool:
        self.lines.append(words)
        self.hands -= 1
        return self.hands >= 0

    def shoot(self, wish: SeriesWish, paths: Sequence[Path], *, change: Act | None = None) -> SeriesLook:
        opened = PlayedShoot(self.series, paths)
        if change is not None:
            opened.studio.do(change)
        run = Headless(cast(OpenShoot, opened), self.lines.append)
        return HeadlessSeries(run, wish, self.lines.append, self._agreed, self.hand, date(2031, 5, 6)).shoot()

    def _agreed(self, question: str) -> bool:
        self.lines.append(question)
        return self.agrees

    @property
    def text(self) -> str:
        return "\n".join(self.lines)


@pytest.fixture(scope="module")
def shot() -> ShotSeries:
    return label_series()


@pytest.fixture
def series(shot: ShotSeries, tmp_path: Path) -> Iterator[PlayedSeries]:
    with played_series(shot, tmp_path) as played:
        yield played


def planes(series: PlayedSeries) -> list[float]:
    return [one.series.plane_mm / series.shot.plan.step_mm for one in series.written.reader.frames() if one.series]


def test_by_the_drive_the_plan_is_shown_and_agreed_to(series: PlayedSeries) -> None:
    shell = Shell(series)
    shell.shoot(BY_DRIVE, series.shot.paths)
    assert shell.lines[:2] == ["1 frame, each sharp over 0.71 mm", "by the camera's drive, 200 steps a mm"]
    stands = "The focus must stand on the near end of what must be sharp."
    assert f"{stands}\nShoot 1 frame?\nPlane 1 of 1 is being shot." in shell.text
    assert "room for" in shell.text and "at least" in shell.text
    assert planes(series) == [0]


def test_a_drive_that_the_kit_knows_needs_no_option(series: PlayedSeries) -> None:
    arrangement = series.written.revision.arrangement
    arrangement = replace(arrangement, lens="Longmere 100 close-up")
    kept = LensDrive(
        name="close-up drive",
        lens=arrangement.lens,
        magnification=arrangement.magnification or 1,
        steps_per_mm=150,
        play_steps=31,
        measured_on=date(2031, 5, 4),
    )
    series.kit = series.kit.model_copy(update={"drive": (kept,)})
    shell = Shell(series)
    shell.shoot(SeriesWish(frames=1), series.shot.paths, change=Revise({"arrangement": arrangement}))
    assert "by the camera's drive, 150 steps a mm" in shell.lines[1]
    assert "measured 2 days ago" in shell.lines[2] and "play 31 steps" in shell.lines[2]


def test_by_hand_the_end_of_the_input_pauses_it_and_the_same_command_closes_the_gap(series: PlayedSeries) -> None:
    series.description = BY_HAND
    wish, paths = SeriesWish(frames=3, moved_by=MovedBy.RING), series.shot.paths
    first = Shell(series, hands=1)
    with pytest.raises(CommandFailed, match="Paused, 2 frames to go"):
        first.shoot(wish, paths[:1])
    assert first.lines[-1] == "FARTHER 0.53 mm — Turn the ring farther by 0.53 mm, to plane 2 of 3, take the hands off."
    for other in (replace(wish, approach=Approach.FAR), SeriesWish(moved_by=MovedBy.RAIL), SeriesWish(steps_per_mm=96)):
        with pytest.raises(Refused, match="series 1 of 3 isn't whole, and these options plan another"):
            Shell(series).shoot(other, ())
    settings = replace(series.written.revision.settings, f_number=series.shot.table.f_number * 2)
    with pytest.raises(Refused, match=r"by another lens, ratio, f-number or blur limit.*\(--anew\)"):
        Shell(series).shoot(SeriesWish(), (), change=Revise({"settings": settings}))
    second = Shell(series)
    assert second.shoot(wish, paths[1:]).whole
    assert "1 frame more beyond plane 3 of 3." in second.text and "Shoot 1 frame more?" in second.lines
    assert planes(series) == [pytest.approx(n, abs=0.1) for n in range(4)]
    told = [event.text for event in series.written.reader.events() if event.kind == SERIES_OUTCOME]
    assert told == [second.lines[-1]] and "of what can be told is sharp in 4 frames" in told[0]
    again = Shell(series)
    assert again.shoot(SeriesWish(), ()).whole, "a series that is whole is shot only once"
    assert again.lines[0] == "The view's series is shot already; --anew plans another."


def test_a_set_that_moved_for_good_pauses_it_and_goes_on_only_when_asked(series: PlayedSeries, tmp_path: Path) -> None:
    series.description = BY_HAND
    paths, moved = series.shot.paths, []
    for path in paths:
        moved.append(tmp_path / f"moved-{path.name}")
        with Image.open(path) as picture:
            picture.transform(picture.size, Image.Transform.AFFINE, (1, 0, -3, 0, 1, 1)).save(moved[-1], quality=95)
    with pytest.raises(CommandFailed, match=r"Paused.*frame 3 all lies 3\.\d px \(0\.07 mm\) right.*--as-it-stands"):
        Shell(series).shoot(SeriesWish(frames=4, moved_by=MovedBy.RING), (*paths[:2], *moved[2:]))
    with pytest.raises(Refused, match=r"Since frame 3 all lies 3\.\d px.*--anew"):
        Shell(series).shoot(SeriesWish(), ())
    shell = Shell(series)
    assert shell.shoot(SeriesWish(as_it_stands=True), moved[:2]).whole
    assert "Shoot 2 frames?" in shell.lines
    assert [round(plane) for plane in planes(series)] == [0, 1, 2, 3, 0, 1], "what is good isn't shot again"


def test_a_series_that_nobody_agrees_to_or_a_rule_refuses_shoots_nothing(series: PlayedSeries) -> None:
    with pytest.raises(CommandFailed, match="None of 1 frame was shot; --yes shoots"):
        Shell(series, agrees=False).shoot(BY_DRIVE, ())
    with pytest.raises(Refused, match="--steps-per-mm"):
        Shell(series).shoot(SeriesWish(frames=4), ())
    with pytest.raises(Refused, match="has no depth needed"):
        Shell(series).shoot(SeriesWish(steps_per_mm=200), ())
    settings = replace(series.written.revision.settings, exposure_s=1 / 2000)
    with pytest.raises(Stopped, match=r"shorter than the 1/200 s sync time.*Paused, 1 frame to go"):
        Shell(series).shoot(BY_DRIVE, (), change=Revise({"settings": settings}))
    assert planes(series) == []
