"""What the match screen knows stays known: pictures of then are read once, and an earlier day's values stay told."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

import pytest

from session.frame.finding import FocusVerdict
from session.frame.step_said import StepWord
from session.match import solo_picture
from session.match.match_steps import StepState
from session.match.reshoot_steps import Reshoot, ReshootStep
from session.match.solo_picture import SoloPicture
from session.match.substitutes import Substitutes
from session.set.kit import demo_kit
from session.set.setup import PlacedLight
from tests.support.reshoot_screen import SET, picture, referenced_log
from tests.support.scripted import ManualClock
from tests.support.scripted_table import READING
from tests.support.written_log import WrittenLog, add_frame, written_log
from tui.shell.match_look import MatchLook, MatchMemory, look, measured_look, read_reshoot

A_MONTH = timedelta(days=30)


@dataclass
class Table:
    """A log in which a set-up is built again a month later."""

    written: WrittenLog
    folder: Path
    memory: MatchMemory = field(default_factory=MatchMemory)
    begun: timedelta = A_MONTH

    def shoot(self, number: int, later: timedelta, right_px: float = 0.0) -> None:
        clock = ManualClock()
        clock.now_s += later.total_seconds()
        path = self.folder / f"{number}.jpg"
        add_frame(self.written, number, FocusVerdict.SHARP, READING, path, clock)
        picture(Path(f"{path}.{number}.jpg"), right_px, seed=number)

    def look(self) -> MatchLook:
        at = ManualClock().now() + self.begun
        reshoot = Reshoot(SET, self.written.revision_id, at)
        reader, place = self.written.reader, self.written.place
        self.memory.found = look(reader, place, reshoot, demo_kit(), None, at, self.memory)
        return self.memory.found


@pytest.fixture
def table(tmp_path: Path) -> Table:
    written = referenced_log(tmp_path)
    picture(tmp_path / "0001.jpg")
    return Table(written, tmp_path)


def framing(found: MatchLook) -> ReshootStep:
    return next(one for one in found.steps if one.step.key == "framing")


def test_the_reference_is_read_once_and_each_frame_once(table: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []

    def count(path: str) -> SoloPicture:
        read.append(Path(path).name)
        return real(path)

    real = solo_picture.read_solo_picture
    monkeypatch.setattr(solo_picture, "read_solo_picture", count)
    table.shoot(4, A_MONTH)
    first = table.look()
    assert framing(first).step.state is StepState.MATCHES and framing(first).shot is not None
    assert sorted(read) == ["0001.jpg", "4.jpg.4.jpg"]
    table.look()
    assert len(read) == 2, "nothing new was shot: leaving the screen and coming back measures nothing anew"
    table.shoot(5, A_MONTH + timedelta(minutes=5), right_px=20.0)
    assert framing(table.look()).step.state is StepState.OFF
    assert read[2:] == ["5.jpg.5.jpg"]


def test_the_day_after_its_values_are_told_as_of_before_until_a_frame_is_shot(table: Table) -> None:
    table.shoot(4, A_MONTH, right_px=20.0)
    table.begun = A_MONTH + timedelta(hours=20)
    found = framing(table.look())
    assert found.step.state is StepState.OPEN and found.shot is None and not found.is_settled
    assert found.earlier is not None and found.earlier.step.state is StepState.OFF
    assert found.earlier.shot is not None and found.earlier.shot.number == 4
    table.shoot(5, A_MONTH + timedelta(hours=21))
    again = framing(table.look())
    assert again.step.state is StepState.MATCHES and again.earlier is None
    assert again.shot is not None and again.shot.number == 5


def test_values_of_the_day_before_are_told_where_the_reference_is_of_that_same_day_too(tmp_path: Path) -> None:
    """The reference at noon, the reshoot's first word four hours later: no pause parts the frames of that day."""
    clock = ManualClock()
    written = written_log(tmp_path / "log.db", SET, READING, (FocusVerdict.SHARP,) * 3, clock=clock)
    written.log.set_reference(written.place, SET.setup_number, written.frame_ids[1])
    picture(tmp_path / "0001.jpg")
    clock.now_s += timedelta(hours=4).total_seconds()
    written.log.say_of_step(written.place, written.revision_id, "lens", StepWord.CONFIRMED)
    table = Table(written, tmp_path, begun=timedelta(hours=24))
    table.shoot(4, timedelta(hours=5), right_px=20.0)
    found = framing(table.look())
    assert found.step.state is StepState.OPEN and found.earlier is not None
    assert found.earlier.step.state is StepState.OFF and found.earlier.shot is not None
    assert found.earlier.shot.number == 4


def test_a_light_is_measured_against_the_distance_that_its_substitute_asks_for(table: Table) -> None:
    """Guide numbers 36 and 28 m at full power: 620·28/36 = 482 mm; a lens that the kit lacks leaves that of then."""
    table.shoot(4, A_MONTH)
    at, place = ManualClock().now() + A_MONTH, table.written.place
    reshoot = Reshoot(SET.with_light(PlacedLight("key", 0.0, 620.0)), table.written.revision_id, at)
    logged = read_reshoot(table.written.reader, place, reshoot, demo_kit())
    instead = Substitutes(lens="gone", flashes={"key": "rim"})
    found = measured_look(logged, reshoot, demo_kit(), None, at, others=instead)
    assert found.pictures is not None and found.pictures.lens_now is None
    assert found.measured.asked_mm == {"key": pytest.approx(482, abs=5)}
