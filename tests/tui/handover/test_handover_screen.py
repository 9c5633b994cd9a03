"""The hand-over by keys: looked at first, written beside the screens, stopped, and gone on with."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from session.units.refusals import UnreadableTextError
from storage.handover.bag import verify_bag
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.storage.handover.test_hand_over import ORDER, shot
from tests.support.log_samples import SetClock
from tests.support.running_screen import SMALL, Running, running
from tests.support.scripted_table import FixedClock
from tui.app.stillset_app import StillsetApp
from tui.handover.handover_screen import typed_folder
from tui.paper.pdf_print import NO_EXTRA


@pytest.fixture
def reader(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[LogReader]:
    monkeypatch.setenv("HOME", str(tmp_path))
    log = SqlLog.open(tmp_path / "log.sqlite", SetClock())
    log.keep_order(ORDER)
    folder = tmp_path / "pictures" / "spring_line" / "ring_1"
    folder.mkdir(parents=True)
    shot(log, folder, 1, "ring 1", "front")
    shot(log, folder, 2, "ring 1", "top", "select")
    log.close()
    reader = LogReader.open(tmp_path / "log.sqlite")
    yield reader
    reader.close()


def opened(reader: LogReader) -> StillsetApp:
    return StillsetApp(reader=reader, clock=FixedClock())


def flat(at: Running) -> str:
    return " ".join(at.text.split())


async def test_a_job_is_handed_over_by_keys_after_it_was_looked_at(reader: LogReader, tmp_path: Path) -> None:
    async with running(opened(reader), SMALL) as at:
        assert "H hand over" in at.key_line
        await at.press("H")
        await at.settle()
        assert "HAND-OVER  Spring line: 1 frame, originals" in at.text
        assert "▸folder       ~/pictures/spring_line-handover  new" in at.text
        assert "! ring 1, top has no hero." in at.text and "1  A-101_ring_1_front_0001  jpg, xmp  sharp" in at.text
        assert not (tmp_path / "pictures/spring_line-handover").exists()
        await at.press("down", "right", "down", "down", "right", "t")
        await at.type("out")
        assert "marked select" in at.text and "jpeg in sRGB: 40 × 50 px" in at.text
        await at.press("escape", "down", "left", "enter")
        assert "spring_line-handover: 1 frame handed over, " in flat(at), at.text
        assert "is whole already" in at.text
        await at.press("enter")
        assert "nothing is written over it. [t] another folder." in flat(at)
        await at.press("escape")
        assert at.text.startswith("LEDGER")
        await at.press("H")
        assert "spring_line-handover-2  new" in at.text and at.app.handover is None
    out = tmp_path / "pictures/spring_line-handover"
    assert list(verify_bag(out)) == [] and (out / "data/delivered/A-101_ring_1_front_0001.jpg").is_file()


async def test_an_original_that_changed_is_named_before_and_the_rest_handed_over_by_one_key(
    reader: LogReader, tmp_path: Path
) -> None:
    (record,) = [one for one in reader.records() if one.number == 1]
    picture = Path(record.files[0].path)
    was = picture.read_bytes()
    async with running(opened(reader), SMALL) as at:
        await at.press("H")
        await at.settle()
        assert "write the rest" in at.key_line, "a view has no hero"
        picture.write_bytes(was[:-2] + b"??")
        await at.press("down", "down", "up")
        await at.press("right", "left")
        await at.settle()
        assert "Frame 1: 0001.JPG isn't as it was saved; it is left out." in flat(at)
        assert "goes along once it lies there again as it was saved" in flat(at)
        picture.write_bytes(was)
        await at.press("right", "left")
        await at.settle()
        assert "isn't as it was saved" not in flat(at)
        await at.press("enter")
        await at.settle()
        assert "Not all that was wanted is there: ring 1, top has no hero." in flat(at)


async def test_folder_and_names_are_typed_and_what_can_not_be_written_is_said(
    reader: LogReader, tmp_path: Path
) -> None:
    (tmp_path / "letter").write_text("dear")
    async with running(opened(reader), SMALL) as at:
        await at.press("H", "down", "left", "enter")
        assert "No frame of Spring line is marked kill, or none has a file." in flat(at)
        await at.press("right", "t", "ctrl+u")
        await at.type("~/letter")
        await at.press("enter", "enter")
        assert "is a file; a hand-over needs a folder." in flat(at)
        await at.press("down", "down", "t")
        await at.type("{")
        await at.press("enter")
        assert "can't be used for names" in flat(at)
        await at.press("enter")
        assert "can't be used for names" in flat(at)
    assert (tmp_path / "letter").read_text() == "dear" and not list(tmp_path.glob("**/*handover"))


async def test_without_the_extra_for_pdf_the_plan_stays_and_pdf_is_off_again(
    reader: LogReader, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.handover.handover_screen.pdf_refusal", lambda: NO_EXTRA)
    async with running(opened(reader), SMALL) as at:
        await at.press("H", "down", "down", "down", "right", "down", "right")
        await at.settle()
        assert NO_EXTRA in flat(at) and "jpeg in sRGB: 40 × 50 px" in at.text
        assert "▸PDF too      no" in at.text


class OnItsWay:
    """A hand-over that goes on until it is stopped."""

    outcome, told, is_over, stopped, seen = "", [], False, False, False  # type: ignore[var-annotated]

    def words(self) -> str:
        return "3 files, 1.2 of 4.5 MB: A-101_ring_1_front_0001.jpg"

    def stop(self) -> None:
        self.stopped = True

    def work(self) -> None:
        """Never called."""


async def test_while_it_is_written_it_can_be_stopped_or_left_alone_and_leaving_asks(reader: LogReader) -> None:
    app = opened(reader)
    async with running(app, SMALL) as at:
        await at.press("H")
        app.handover = handing = OnItsWay()
        await at.press("b")
        assert at.text.startswith("LEDGER") and not handing.stopped, "it goes on"
        await at.press("H", "down", "right", "enter")
        assert "3 files, 1.2 of 4.5 MB" in at.text and "marked hero" in at.text and "esc stop" in at.key_line
        await at.press("escape")
        assert handing.stopped
        await at.press("b", "Q")
        assert "A hand-over is being written." in flat(at)
        await at.press("escape")
        handing.is_over, handing.told = True, ["0001.xmp was not merged."]
        app.hand_over(handing, lambda: None)
        await at.settle()
        assert "0001.xmp was not merged." in flat(at), "told where the person is by then"
        await at.press("H")
        assert "4.5 MB: A-101_ring_1_front_0001.jpg 0001.xmp was not merged." in flat(at) and handing.seen
        await at.press("escape", "H")
        assert app.handover is None
    assert handing.stopped


def test_an_account_that_is_not_there_is_refused_where_the_folder_is_typed() -> None:
    with pytest.raises(UnreadableTextError, match="there is no account of that name: ~no_such_account"):
        typed_folder("~no_such_account/out")
    assert typed_folder("") is None and typed_folder("/out") == Path("/out")
