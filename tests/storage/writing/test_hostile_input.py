"""Names, notes and Exif strings that try to be more than text: 10,000 of them, on the way in, on disk and out again.

2,500 names, 5,000 notes and 1,500 Exif strings come from a list and its mixtures, 1,000 more texts from hypothesis. No
path leaves the job's folder, no terminal escape is printed, nothing ends in a traceback, and what is taken comes back
exactly; what isn't is refused in words.
"""

from __future__ import annotations

import json
import struct
import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from session.frame.ports import LogError, Place
from session.picture.exif import read_exif
from session.set.setup import PassiveItem, PlacedLight
from session.units.names import name_key
from storage.files.paths import frame_folder, frame_stem
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from storage.writing import frames, people, places
from storage.writing.log import SqlLog
from tests.support.hostile_texts import NASTY, mixtures
from tests.support.in_process import stillset
from tests.support.log_samples import NOON, SetClock, intent, revision, whole_frame
from tui.words.harmless import harmless

NAMES, NOTES, EXIF, SEARCHES = 2500, 5000, 1500, 80
NOTES_A_FRAME = 50
SHOWN = 400
"""Names and notes that are also printed by the commands."""

BREAKS_OUT = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories that a terminal obeys or hides; what is printed holds none, save for the line's end."""


def assert_harmless(printed: str) -> None:
    signs = set(printed) - {"\n"}
    assert not [sign for sign in signs if unicodedata.category(sign) in BREAKS_OUT]


def places_of(log: SqlLog, names: list[str]) -> tuple[list[tuple[str, Place]], list[str]]:
    """Each name as a job with that piece and view, in one transaction; those that are refused, in words."""
    opened, refused = [], []
    with log._database.transaction() as connection:
        for name in names:
            try:
                opened.append((name, places.open_place(connection, name, name, name, name, NOON)))
            except LogError as error:
                refused.append(str(error))
    return opened, refused


def test_hostile_names_stay_in_their_folder_and_come_back(log: SqlLog, reader: LogReader) -> None:
    names = mixtures(NAMES, seed=1)
    opened, refused = places_of(log, names)
    assert set(refused) <= {"A job needs a name."}
    assert len(refused) == sum(not name_key(name) for name in names) > 0
    root = Path("/pictures")
    folders: dict[Path, str] = {}
    first_seen: dict[str, str] = {}
    for name, place in opened:
        first = first_seen.setdefault(name_key(name), name)
        assert place.job == place.piece == place.view == first.strip()
        folder = frame_folder(root, place)
        assert folder.parent.parent == root and ".." not in folder.parts and "\0" not in str(folder)
        assert folders.setdefault(folder, name_key(name)) == name_key(name)
        stem = frame_stem(place, 42, revision())
        assert "/" not in stem and not stem.startswith(".") and len(f"{stem}.JPEG".encode()) < 255
    jobs = reader.jobs()
    assert {job.name for job in jobs} == {place.job for _, place in opened}
    clients = {job.name: job.client for job in jobs}
    last_client = {place.job: name.strip() for name, place in opened}
    assert clients == last_client


def test_hostile_notes_come_back_exactly(log: SqlLog, reader: LogReader, place: Place) -> None:
    key = log.save_revision(place, revision())
    notes = mixtures(NOTES, seed=2)
    with log._database.transaction() as connection:
        for number, words in enumerate(notes):
            if number % NOTES_A_FRAME == 0:
                wish = intent(1 + number // NOTES_A_FRAME, key)
                frames.begin(connection, wish, place, NOON)
            people.note(connection, wish.frame_id, words, NOON)
    found = [note.text for note in reader.notes()]
    assert sorted(found) == sorted(words for words in notes if words.strip())


def test_hypothesis_texts_come_back_exactly(log: SqlLog, reader: LogReader, place: Place) -> None:
    key = log.save_revision(place, revision())
    any_text = st.text(st.characters(exclude_categories=[]), min_size=1, max_size=200)

    @settings(max_examples=50, database=None, suppress_health_check=list(HealthCheck))
    @given(texts=st.lists(any_text, min_size=20, max_size=20))
    def come_back(texts: list[str]) -> None:
        before = {note.note_id for note in reader.notes()}
        with log._database.transaction() as connection:
            wish = intent(frames.next_number(connection, place.job_id), key)
            frames.begin(connection, wish, place, NOON)
            for text in texts:
                people.note(connection, wish.frame_id, text, NOON)
        after = [note.text for note in reader.notes() if note.note_id not in before]
        assert sorted(after) == sorted(text for text in texts if text.strip())
        for text in texts:
            assert_harmless(harmless(text))

    come_back()


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A log full of hostile names, notes, lights, reasons and events."""
    path = tmp_path_factory.mktemp("hostile") / "log.sqlite"
    log = SqlLog.open(path, SetClock())
    texts = [text for text in mixtures(SHOWN, seed=3) if text.strip()]
    opened, _ = places_of(log, texts)
    for number, (text, place) in enumerate(opened[: len(NASTY)], 1):
        lights = (PlacedLight(text, -1.0, shaper=text, note=text),)
        arranged = replace(
            revision(1, number), lights=lights, passive=(PassiveItem(text, text, note=text),), notes=text
        )
        key = log.save_revision(place, replace(arranged, setup_number=1, revision=1))
        folder = f"/pictures/{number}"
        frame_id = whole_frame(log, place, 1, key, folder=folder, overrulings={"sync": text, text: text})
        log.note(frame_id, text)
        log.record(text, text, frame_id)
    log.close()
    yield path


@pytest.mark.parametrize("what", ["jobs", "frames", "setups", "notes", "events", "stats"])
def test_nothing_that_is_printed_is_obeyed(shown: Path, what: str) -> None:
    printed = stillset("log", "--log", str(shown), what)
    assert_harmless(printed)
    assert printed.count("\n") > len(NASTY) // 2


@pytest.mark.parametrize("what", ["jobs", "frames", "setups", "notes", "events", "stats"])
def test_json_is_one_plain_line_each_and_says_it_exactly(shown: Path, what: str) -> None:
    printed = stillset("log", "--log", str(shown), what, "--json")
    assert printed.isascii()
    told = [json.loads(line) for line in printed.splitlines()]
    if what == "notes":
        reader = LogReader.open(shown)
        joined = [note.text.replace("\ud800\udfff", "\U000103ff") for note in reader.notes()]  # JSON has only the pair
        assert [note["text"] for note in told] == joined
        reader.close()
    assert told


def test_searches_are_data(shown: Path) -> None:
    reader = LogReader.open(shown)
    whole = len(list(reader.frames()))
    for text in mixtures(SEARCHES, seed=4):
        for wanted in (
            FrameFilter(text=text),
            FrameFilter(job=text),
            FrameFilter(light=text),
            FrameFilter(client=text),
        ):
            for limit in (None, 5):
                assert len(list(reader.frames(wanted, newest_first=True, limit=limit))) <= whole
    assert len(list(reader.frames())) == whole
    reader.close()


def tiff_with(text: str) -> bytes:
    """A TIFF whose Exif has the text as BodySerialNumber (tag A431, ASCII). TIFF 6.0, CIPA DC-008."""
    words = text.encode("utf-8", "surrogatepass")[:2000] + b"\0"
    header = struct.pack("<2sHI", b"II", 42, 8)
    first = struct.pack("<H", 1) + struct.pack("<HHII", 0x8769, 4, 1, 26) + struct.pack("<I", 0)
    padded = words.ljust(5, b"\0")
    exif = struct.pack("<H", 1) + struct.pack("<HHII", 0xA431, 2, len(padded), 44) + struct.pack("<I", 0)
    return header + first + exif + padded


def test_hostile_exif_strings_end_in_no_traceback(tmp_path: Path) -> None:
    file = tmp_path / "hostile.tif"
    kept = 0
    for text in mixtures(EXIF, seed=5):
        file.write_bytes(tiff_with(text))
        serial = read_exif(file).body_serial or ""
        assert_harmless(harmless(serial))
        kept += bool(serial)
    assert kept > EXIF // 2
