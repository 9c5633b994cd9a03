"""`stillset handover` from the shell: shown first, written on request, and read again by `stillset verify`."""

from __future__ import annotations

import json
import os
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image

from session.frame.camera_messages import SavedFile
from session.frame.finding import Finding, Level
from session.frame.ports import LogError
from session.set.kit import Kit
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.storage.handover.test_hand_over import ORDER, shot
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import NOON, SetClock, card_object
from tui.commands.command_line import stillset
from tui.commands.handover_command import _look_ahead
from tui.paper.handing_over import HandoverWish


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "log.sqlite"
    writer = fresh_log(path, SetClock())
    writer.keep_order(ORDER)
    shot(writer, tmp_path, 1, "ring 1", "front")
    writer.close()
    monkeypatch.setenv("STILLSET_LOG", str(path))
    monkeypatch.chdir(tmp_path)
    return path


def run(*words: str) -> Result:
    return CliRunner().invoke(stillset, words, catch_exceptions=False)


def test_it_is_shown_before_it_is_written(log: Path) -> None:
    shown = run("handover", "out", "--deliver")
    assert shown.exit_code == 1 and not Path("out").exists(), "nothing was handed over"
    assert "A-101_ring_1_front_0001  jpg, xmp" in shown.output
    assert "! ring 1, top has no hero." in shown.output
    assert "Nothing was written to out; --yes writes it." in shown.output
    written = run("handover", "out", "--deliver", "--yes")
    assert "out: 1 frame handed over, 20 files." in written.output
    assert run("verify", "out").output == "All files of out are as they were handed over.\n"


def test_a_flipped_byte_is_found(log: Path) -> None:
    run("handover", "out", "--yes")
    picture = Path("out/data/originals/A-101_ring_1_front_0001.jpg")
    data = bytearray(picture.read_bytes())
    data[len(data) // 2] ^= 1
    picture.write_bytes(data)
    found = run("verify", "out")
    assert found.exit_code == 1
    assert "data/originals/A-101_ring_1_front_0001.jpg is not as it was handed over" in found.output


def test_what_it_would_do_is_told_as_json_too(log: Path) -> None:
    (told,) = [json.loads(line) for line in run("handover", "out", "--json").output.splitlines() if line[0] == "{"]
    assert told["frames"][0]["name"] == "A-101_ring_1_front_0001" and told["faults"] == []


@pytest.mark.parametrize(
    ("words", "code", "sentence"),
    [
        (("--names", "{colour}"), 2, "can't be used for names"),
        (("--mark", "select"), 1, "No frame of Spring line is marked select"),
        (("--job", "nowhere"), 1, "There is no job 'nowhere' in this log."),
    ],
)
def test_what_can_not_be_done_is_one_sentence(log: Path, words: tuple[str, ...], code: int, sentence: str) -> None:
    refused = run("handover", "out", "--yes", *words)
    assert refused.exit_code == code and sentence in refused.output and not Path("out").exists()


def test_the_contact_sheet_is_written_alone_and_never_over_a_file(log: Path) -> None:
    assert run("log", "sheet", "sheet.html").output == "sheet.html: 1 frame.\n"
    before = Path("sheet.html").read_bytes()
    refused = run("log", "sheet", "sheet.html")
    assert refused.exit_code == 1 and "is there already; nothing was written" in refused.output
    assert Path("sheet.html").read_bytes() == before


def test_cards_and_sheet_lie_in_the_folder_and_a_zip_beside_it(log: Path) -> None:
    assert run("handover", "out", "--yes", "--zip").exit_code == 4
    cards = [path.name for path in Path("out/data/set-cards").iterdir()]
    assert cards and all(name.endswith(".html") for name in cards)
    assert Path("out/data/contact-sheet.html").is_file() and Path("out.zip").is_file()
    with pytest.raises(LogError, match=r"out\.zip is there already"):
        run("handover", "out", "--zip")
    zipped = run("verify", "out.zip")
    assert zipped.exit_code == 2 and "verify the folder that is in out.zip" in zipped.output
    Path("out.zip").unlink()
    assert run("handover", "out", "--zip").exit_code == 0 and Path("out.zip").is_file()


def test_a_frame_that_was_shot_again_months_later_takes_its_match_report_along(log: Path) -> None:
    writer = SqlLog.open(log, SetClock())
    place = writer.open_place(ORDER.job, "ring 1", "front")
    with closing(LogReader.open(log)) as reader:
        first = reader.frame_numbered(ORDER.job, 1)
    assert first is not None
    writer.set_reference(place, 1, first.frame_id)
    shot(writer, Path(), 2, "ring 1", "front", revision_id=first.revision_id, at=NOON + timedelta(hours=1))
    later = NOON + timedelta(days=60)
    shot(writer, Path(), 3, "ring 1", "front", revision_id=first.revision_id, at=later)
    shot(writer, Path(), 4, "ring 1", "front", "kill", revision_id=first.revision_id, at=later)
    writer.close()
    prepared = _look_ahead(str(log), HandoverWish(), None)
    assert [one.kit for one in prepared.reshot] == [Kit()], "no kit is made up"
    assert run("handover", "out", "--yes").exit_code == 4
    reports = list(Path("out/data/match-reports").iterdir())
    assert [one.name for one in reports] == ["A-101_ring_1_front_0003.html"], "not of the reference, nor of its day"
    page = reports[0].read_text()
    assert "Shot again: frame 3 of " in page and "Reference: frame 1 of " in page and "frame 4" not in page
    assert "CAN&#x27;T TELL" in page, "pictures of noise"
    assert run("verify", "out").exit_code == 0
    manifest = Path("out/manifest-sha256.txt").read_bytes()
    Path("out/manifest-sha256.txt").unlink()
    assert run("handover", "out", "--yes").exit_code == 4, "each time the same, so that it can go on"
    assert Path("out/manifest-sha256.txt").read_bytes() == manifest


def test_a_hand_over_that_was_begun_on_an_earlier_day_goes_on(log: Path) -> None:
    assert run("handover", "out", "--yes").exit_code == 4
    sheet = Path("out/data/contact-sheet.html")
    yesterday = sheet.stat().st_mtime - 86400
    told = datetime.fromtimestamp(yesterday).astimezone().date().isoformat()
    for name in ("bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"):
        Path("out", name).unlink()
    for page in (sheet, *Path("out/data/set-cards").iterdir(), Path("out/data/tables/README.txt")):
        page.write_text(page.read_text().replace(datetime.now().astimezone().date().isoformat(), told))
        os.utime(page, (yesterday, yesterday))
    assert run("handover", "out", "--yes").exit_code == 4
    assert f"Bagging-Date: {told}" in Path("out/bag-info.txt").read_text()


def test_a_file_and_a_folder_with_something_else_are_refused_before_anything_is_written(log: Path) -> None:
    Path("kit.toml").write_text("kit")
    refused = run("handover", "kit.toml", "--yes")
    assert refused.exit_code == 2 and "kit.toml is a file; a hand-over needs a folder." in refused.output
    assert Path("kit.toml").read_text() == "kit"
    Path("desk").mkdir()
    Path("desk/.shown").touch()
    Path("desk/letter.txt").touch()
    with pytest.raises(LogError, match=r"desk holds something else, letter\.txt; name a new or an empty folder\."):
        run("handover", "desk", "--yes")
    assert sorted(path.name for path in Path("desk").iterdir()) == [".shown", "letter.txt"]
    Path("desk/letter.txt").unlink()
    assert run("handover", "desk", "--yes").exit_code == 4


def test_a_job_that_is_not_there_is_said_and_one_without_a_frame_is_not_the_last(log: Path) -> None:
    assert "There is no job 'nosuch' in this log." in run("handover", "out", "--job", "nosuch").output
    writer = SqlLog.open(log, SetClock())
    writer.open_place("sumer rings", "ring 1", "front")
    writer.close()
    job = ORDER.job
    assert run("handover", "out", "--yes").output.startswith(f"{job}: 1 frame")
    assert run("log", "sheet", "sheet.html").output == "sheet.html: 1 frame.\n"
    assert job in run("log", "jobs").output.splitlines()[0]
    assert run("setup", "show", "01").exit_code == run("card", "01", "card.html").exit_code == 0


def test_a_script_sees_by_the_exit_code_that_something_ordered_is_missing(log: Path) -> None:
    lacks = run("handover", "out", "--yes")
    assert lacks.exit_code == 4 and Path("out/manifest-sha256.txt").is_file(), "the rest is there and whole"
    told = "Not all that was wanted is there: ring 1, top has no hero. חישוק 2, front has no hero."
    assert lacks.stderr.splitlines()[-1] == told
    writer = SqlLog.open(log, SetClock())
    shot(writer, log.parent, 2, "ring 1", "top")
    shot(writer, log.parent, 3, "חישוק 2", "front")
    shot(writer, log.parent, 4, "ring 9", "extra", mark=None)
    writer.close()
    whole = run("handover", "another", "--yes")
    assert whole.exit_code == 0 and "! ring 9, extra has no hero." in whole.output, "no one ordered that one"
    Path("0002.JPG").unlink()
    gone = run("handover", "third", "--yes")
    assert gone.exit_code == 4 and "Frame 2: 0002.JPG isn't there any more" in gone.stderr


HOME, HOST, SERIAL = "/home/annika-lund", "table-seven.invented", "SN-4471-883"


def test_nothing_that_leaves_tells_of_the_computer_or_the_cameras_number(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All of the folder but the originals, which stay as the camera made them."""
    monkeypatch.setenv("HOME", HOME)
    monkeypatch.setattr("socket.gethostname", lambda: HOST)
    writer = SqlLog.open(log, SetClock())
    exif = Image.Exif()
    exif[0xA431] = SERIAL  # BodySerialNumber, Exif 2.32, table 8
    told = {"exif": exif.tobytes(), "comment": f"{HOST} {HOME}".encode()}
    path = shot(writer, log.parent, 2, "ring 1", "top", saved_with=told, camera_serial=SERIAL)
    with closing(LogReader.open(log)) as reader:
        frame_id = next(row.frame_id for row in reader.frames() if row.number == 2)
    second = f"{HOME}/backup disk/ring 1"
    kept = SavedFile(
        str(path.with_suffix(".RAW")), "raw", 5, "0" * 64, card_object(2, "RAW"), copy_path=f"{second}/2.RAW"
    )
    writer.frame_file(frame_id, kept)
    full = f"0002.JPG has no second copy. The disk is full: {second} takes no more files."
    writer.frame_findings(frame_id, [Finding("disk", Level.CAUTION, full)])
    writer.close()
    assert run("handover", "out", "--deliver", "--yes").exit_code == 4
    written = {found: found.read_bytes() for found in Path("out").rglob("*") if found.is_file()}
    outside = {name: data for name, data in written.items() if name.suffix != ".jpg" or "originals" not in name.parts}
    assert len(outside) == len(written) - 2
    private = (HOME, "annika-lund", HOST, SERIAL, str(log.parent), log.parent.name, "backup disk", log.name)
    for name, data in outside.items():
        assert not [word for word in private if word.encode() in data], name
    frames = [json.loads(line) for line in Path("out/data/tables/frames.jsonl").read_text().splitlines()]
    assert [file["path"] for file in frames[1]["files"]] == ["data/originals/A-101_ring_1_top_0002.jpg", "0002.RAW"]
    assert (Path("out") / frames[1]["files"][0]["path"]).read_bytes() == path.read_bytes()
    assert frames[1]["findings"][0]["text"] == "0002.JPG has no second copy. The disk is full: …"
