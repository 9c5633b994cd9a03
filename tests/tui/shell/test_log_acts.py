"""Marks, notes and undo without a bench: by keys in the ledger, into a real log, which is free in between."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from session.shoot.acts import AddNote, AskRelease, MarkFrame, Redo, TellWhenDone
from session.shoot.events import DoneSoFar, Event, Said
from storage.writing.log import SqlLog
from tests.support.at_ledger import row
from tests.support.running_screen import SMALL, Running, running
from tests.support.scripted_table import FixedClock
from tests.support.written_log import WrittenLog
from tui.app.stillset_app import StillsetApp
from tui.shell.log_acts import LogActs
from tui.words.wording import NOTE_KEPT


@pytest.fixture
def let_go(looked_back: WrittenLog) -> WrittenLog:
    """A log that no bench has open."""
    looked_back.log.close()
    return looked_back


@pytest.fixture
def acts(let_go: WrittenLog, tmp_path: Path) -> Iterator[LogActs]:
    made = LogActs(tmp_path / "log.db")
    yield made
    made.close()


def mark_of(written: WrittenLog, number: int) -> str | None:
    frame = written.reader.frame(written.frame_ids[number])
    assert frame is not None
    return frame.mark


async def press(at: Running, acts: LogActs, *keys: str) -> None:
    """Keys one after the other, each with all that it set going in the log done and shown."""
    for key in keys:
        await at.press(key)
        acts.wait()
        await at.settle()


async def test_the_ledger_alone_marks_notes_undoes_and_redoes(let_go: WrittenLog, acts: LogActs) -> None:
    async with running(StillsetApp(reader=let_go.reader, acts=acts, clock=FixedClock()), SMALL) as at:
        assert "mark" in at.key_line.replace("marked", "")
        await press(at, acts, "end", "h")
        assert "hero" in row(at, 1) and mark_of(let_go, 1) == "hero"
        told = " ".join(at.text.split())
        assert "Frame 1 (barrel 6 of 24, three-quarter): its focus was not judged; look at it pixel for pixel." in told
        await press(at, acts, "z")
        assert mark_of(let_go, 1) is None and "Undone: frame 1 marked hero." in at.text
        await press(at, acts, "Z")
        assert mark_of(let_go, 1) == "hero"
        await press(at, acts, "n")
        await at.type("best")
        await press(at, acts, "enter")
        frame = let_go.reader.frame(let_go.frame_ids[1])
        assert frame is not None and [note.text for note in frame.notes] == ["best"]


def test_the_log_is_free_between_two_acts_and_a_bench_that_holds_it_is_named(
    let_go: WrittenLog, acts: LogActs, tmp_path: Path
) -> None:
    heard: list[Event] = []
    acts.listen(heard.append)
    frame_id = let_go.frame_ids[3]
    acts.post(MarkFrame(frame_id, "hero"))
    acts.wait()
    with closing(SqlLog.open(tmp_path / "log.db")):
        acts.post(AddNote(frame_id, "not kept, and not said to be"))
        acts.post(TellWhenDone("then"))
        acts.wait()
    (said, then) = heard
    assert isinstance(said, Said) and "Another stillset has this log open" in said.text
    assert said.text.endswith("Mark and note there; nothing was written here.")
    assert then == DoneSoFar("then") and mark_of(let_go, 3) == "hero"


def test_what_the_log_refuses_is_said_and_the_next_act_goes_on(let_go: WrittenLog, acts: LogActs) -> None:
    heard: list[Event] = []
    acts.listen(heard.append)
    acts.post(MarkFrame("nowhere", "hero"))
    acts.post(AskRelease())
    acts.post(AddNote(let_go.frame_ids[2], "kept"))
    acts.post(Redo(let_go.place))
    acts.wait()
    refused, mistake, kept, nothing = [event.text for event in heard if isinstance(event, Said)]
    assert refused.endswith("Nothing was written.") and "stillset itself" in mistake and kept == NOTE_KEPT
    assert nothing == f"There is nothing to redo in {let_go.place.job}."
    frame = let_go.reader.frame(let_go.frame_ids[2])
    assert frame is not None and frame.notes[0].text == "kept"


def test_a_log_that_is_gone_is_not_made_anew(tmp_path: Path) -> None:
    """Whoever moved it away finds no empty one in its place."""
    path = tmp_path / "gone" / "log.db"
    acts, heard = LogActs(path), list[Event]()
    acts.listen(heard.append)
    acts.post(MarkFrame("one", "hero"))
    acts.close()
    assert not path.exists() and isinstance(heard[0], Said)
