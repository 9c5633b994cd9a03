"""`stillset card`: the set card as a page, from the log, with and without a reference, lights and a picture."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from datetime import date
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from session.picture.stored_preview import keep_preview
from storage.files.paths import previews_folder
from storage.files.set_pictures import set_pictures_folder
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.storage.handover.test_hand_over import shot
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import SetClock, revision
from tui.commands.command_line import stillset
from tui.paper.card_page import CardFacts, card_html


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "log.sqlite"
    writer = fresh_log(path, SetClock())
    shot(writer, tmp_path, 1, "ring 1", "front")
    bare = replace(revision(9, 1), lights=(), passive=(), notes="<b>long</b> " * 400)
    bare = replace(bare, working_distance_mm=None)
    writer.save_revision(writer.open_place("spring line", "ring 1", "front"), bare)
    writer.close()
    monkeypatch.setenv("STILLSET_LOG", str(path))
    monkeypatch.chdir(tmp_path)
    return path


def card(*words: str) -> Result:
    return CliRunner().invoke(stillset, ["card", *words], catch_exceptions=False)


def approve_first(log: Path) -> None:
    writer = SqlLog.open(log)
    place = writer.open_place("spring line", "ring 1", "front")
    frame = writer.unsettled_frames()
    assert frame == ()
    first = LogReader.open(log).frame_numbered("spring line", 1)
    assert first is not None
    writer.set_reference(place, 1, first.frame_id)
    writer.close()


def test_a_card_holds_what_builds_the_set_up_again(log: Path) -> None:
    approve_first(log)
    assert card("01.1", "card.html").output == "card.html: set card of set-up 01.1.\n"
    page = Path("card.html").read_text()
    for words in ("spring line · set-up 01.1", "ring 1, front", "Frame 1; the rectangle must be sharp.", "light key"):
        assert words in page
    assert page.count("<svg") == 2 and page.count("data:image/jpeg") == 1
    assert "left:10.00%;top:20.00%;width:30.00%;height:40.00%" in page
    assert "(not drawn: no place recorded)" in page, "the fill has no distance"
    assert "never open a head or pack" in page and "stillset 0" in page
    assert "<script" not in page and "http://www.w3.org/2000/svg" in page


def test_a_reference_of_another_revision_is_told_with_what_was_changed_since(log: Path) -> None:
    approve_first(log)
    writer = SqlLog.open(log)
    place = writer.open_place("spring line", "ring 1", "front")
    changed = revision(1, 2)
    writer.save_revision(place, replace(changed, settings=replace(changed.settings, f_number=8.0)))
    writer.save_revision(place, revision(1, 3))
    writer.close()
    assert card("01.2", "card.html").exit_code == 0
    assert "It was shot with 01.1, not with 01.2; changed since: aperture." in Path("card.html").read_text()
    assert card("01.3", "alike.html").exit_code == 0
    assert "It was shot with 01.1, not with 01.3; nothing else was changed." in Path("alike.html").read_text()
    assert card("01.1", "first.html").exit_code == 0
    assert "It was shot with" not in Path("first.html").read_text()


def test_a_card_of_a_bare_set_up_says_what_lacks(log: Path) -> None:
    assert card("09.1", "card.html").exit_code == 0
    page = Path("card.html").read_text()
    assert "The set-up has no reference yet." in page
    assert "Nothing has both a distance and a side recorded" in page and "No light, reflector or flag." in page
    assert page.count("&lt;b&gt;long&lt;/b&gt;") > 300 and "<b>long" not in page


def test_long_notes_stand_whole_and_a_name_that_reads_from_the_right_turns_no_words_beside_it(log: Path) -> None:
    writer = SqlLog.open(log)
    place = writer.open_place("spring line", "ring 1", "front")
    light = replace(revision(7, 1).lights[0], name="אור")
    notes = "\n".join(("wax under the ring " * 300, "second line", "指輪" * 40))
    writer.save_revision(place, replace(revision(7, 1), lights=(light,), notes=notes))
    writer.close()
    assert card("07.1", "card.html").exit_code == 0
    page = Path("card.html").read_text()
    assert page.count("wax under the ring") == 300 and '<p dir="auto">second line</p>' in page and "指輪" * 40 in page
    assert "<li><bdi>light אור</bdi>: 1/" in page


def test_a_card_says_why_its_plan_cant_be_drawn(log: Path) -> None:
    writer = SqlLog.open(log)
    place = writer.open_place("spring line", "ring 1", "front")
    writer.save_revision(place, replace(revision(8, 1), working_distance_mm=1e12))
    writer.close()
    assert card("08.1", "card.html").exit_code == 0
    page = Path("card.html").read_text()
    assert "Not drawn: " in page and "<svg" not in page


def test_a_card_is_never_written_over_a_file(log: Path) -> None:
    Path("card.html").write_text("mine")
    refused = card("01.1", "card.html")
    assert refused.exit_code == 1 and "is there already" in refused.output
    assert Path("card.html").read_text() == "mine"


def test_a_set_up_that_is_not_there_is_told(log: Path) -> None:
    assert "has no set-up 77" in card("77", "card.html").output


def test_the_depth_of_field_stands_on_the_card_where_a_kit_is_at_hand(log: Path) -> None:
    kit = Path("kit.toml")
    kit.write_text((files("session") / "demo_kit.toml").read_text(encoding="utf-8"))
    assert card("01.1", "with.html", "--kit", str(kit)).exit_code == 0
    assert card("01.1", "without.html").exit_code == 0
    assert ">depth of field<" in Path("with.html").read_text()
    assert "depth of field" not in Path("without.html").read_text()


def test_a_reference_whose_file_is_gone_is_shown_from_its_stored_preview(log: Path) -> None:
    approve_first(log)
    Path("0001.JPG").unlink()
    assert "Its file isn't there.</p>" in written("gone.html")
    with closing(LogReader.open(log)) as reader:
        first = reader.frame_numbered("spring line", 1)
    assert first is not None
    folder = previews_folder(log)
    folder.mkdir()
    keep_preview(folder, first.frame_id, np.full((80, 120, 3), 118, np.uint8), (1200, 800))
    page = written("stored.html")
    assert "Its file isn&#x27;t there; shown from the stored preview." in page and page.count("data:image/jpeg") == 1


def written(name: str) -> str:
    assert card("01.1", name).exit_code == 0
    return Path(name).read_text()


def test_pictures_of_the_set_stand_on_the_card_and_one_that_was_changed_is_said(log: Path, tmp_path: Path) -> None:
    for colour in ("red", "green"):
        Image.new("RGB", (400, 300), colour).save(tmp_path / f"{colour}.jpg")
    attach = ["setup", "picture", "01.1", "red.jpg", "green.jpg"]
    assert CliRunner().invoke(stillset, attach, catch_exceptions=False).exit_code == 0
    page = written("two.html")
    assert page.count("data:image/jpeg") == 2 and "Pictures of the set" in page and "They were taken with" not in page
    (changed, _) = sorted(set_pictures_folder(log).rglob("*.jpg"))
    changed.write_bytes(b"something else")
    page = written("one.html")
    assert page.count("data:image/jpeg") == 1 and "Picture 1 is not as it was stored." in page


def test_the_rectangle_is_the_region_of_the_card_s_own_revision(log: Path) -> None:
    approve_first(log)
    with closing(LogReader.open(log)) as reader:
        record = reader.frame_numbered("spring line", 1)
    assert record is not None
    moved = replace(record, region=replace(record.region, width=0.47))
    page = card_html(CardFacts("spring line", "", record.revision, moved, "stillset", date(2031, 5, 6)))
    assert "width:47.00%" not in page and f"width:{record.revision.region.width * 100:.2f}%" in page
