"""A frame as JSON: numbers that JSON can't write are null, text from outside is ASCII, and the verdict is a word."""

from __future__ import annotations

import json
import math
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.finding import CheckId, Finding, FlawKind, Level, Remedy, RemedyKind, Verdict
from session.frame.ports import Place
from storage.reading.json_lines import file_object, finding_object, finite, frame_object, line, verdict
from storage.reading.log_reader import LogReader
from storage.reading.views import FileRow
from storage.writing.log import SqlLog
from tests.support.log_samples import revision, whole_frame

plain = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=60)
@given(plain)
def test_every_value_can_be_written_and_only_numbers_that_are_none_have_gone(value: object) -> None:
    written = json.loads(json.dumps(finite(value), allow_nan=False))

    def alike(one: object, other: object) -> bool:
        if isinstance(one, dict) and isinstance(other, dict):
            return one.keys() == other.keys() and all(alike(one[key], other[key]) for key in one)
        if isinstance(one, list) and isinstance(other, list):
            return len(one) == len(other) and all(map(alike, one, other))
        if isinstance(one, float) and not math.isfinite(one):
            return other is None
        return one == other

    assert alike(value, written)


def test_a_finding_is_told_without_its_remedy() -> None:
    remedy = Remedy(RemedyKind.BY_HAND, "move the lamp")
    told = finding_object(
        Finding(CheckId.DRIFT, Level.CAUTION, "It moved.", 3.2, 1.0, "px", remedy, FlawKind.CAMERA_MOVED)
    )
    assert told == {
        "id": "drift", "level": "caution", "value": 3.2, "limit": 1.0, "unit": "px", "text": "It moved.",
        "kind": "camera moved",
    }  # fmt: skip


def test_a_file_is_told_with_its_copies() -> None:
    from tests.support.log_samples import NOON

    row = FileRow("/pictures/1.JPG", "jpeg", 1000, "ab" * 32, "/card", "STIL0001.JPG", NOON, ("/copy/1.JPG",))
    assert file_object(row) == {
        "path": "/pictures/1.JPG", "kind": "jpeg", "bytes": 1000, "sha256": "ab" * 32, "copies": ["/copy/1.JPG"],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("flaw", "verdict_", "word"),
    [
        (None, None, None),
        (None, Verdict.CLEAN, "clean"),
        (Finding(CheckId.BAND, Level.CAUTION, "A band."), Verdict.FLAWED, "band"),
    ],
)
def test_a_verdict_is_clean_or_the_gravest_findings_name(
    flaw: Finding | None, verdict_: Verdict | None, word: str | None
) -> None:
    assert verdict(SimpleNamespace(flaw=flaw, verdict=verdict_)) == word  # type: ignore[arg-type]


def test_a_whole_frame_is_one_line_of_ascii_that_reads_back(log: SqlLog, reader: LogReader, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    frame_id = whole_frame(log, place, 1, revision_id)
    log.note(frame_id, "\x1b[31mnot red\x07 und é\u2028")
    frame = reader.frame(frame_id)
    assert frame is not None
    text = line(frame)
    assert text.isascii() and "\n" not in text and "\x1b" not in text
    told = json.loads(text)
    assert told == json.loads(json.dumps(frame_object(frame)))
    assert (told["frame_id"], told["number"], told["job"], told["setup"]) == (frame_id, 1, "Movement", "07.3")
    assert told["notes"] == ["\x1b[31mnot red\x07 und é\u2028"]
    assert told["camera"]["serial"] == "INVENTED-0001" and told["camera"]["exposure_s"] == 1 / 200
    assert [light["name"] for light in told["lights"]] == ["key", "fill"]
    assert told["asked_at"].endswith("+00:00")
