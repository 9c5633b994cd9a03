"""A folder with hashes as RFC 8493 has it: what is written is verified, and each fault of a folder is told."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from storage.files.paths import BAG_TXT
from storage.handover.bag import (
    DECLARATION,
    MANIFEST,
    TAG_MANIFEST,
    _lines,
    info_text,
    is_bag,
    manifest_text,
    put_new,
    sha256_of,
    verify_bag,
)

FILES = {"data/originals/0001.JPG": b"first", "data/tables/frames.csv": b"second", "data/odd %0A name.txt": b"third"}


@pytest.fixture
def bag(tmp_path: Path) -> Path:
    for name, content in FILES.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(content)
    (tmp_path / BAG_TXT).write_text(DECLARATION)
    hashes = [(name, hashlib.sha256(content).hexdigest()) for name, content in FILES.items()]
    (tmp_path / MANIFEST).write_text(manifest_text(hashes))
    tags = [(name, sha256_of(tmp_path / name)) for name in (BAG_TXT, MANIFEST)]
    (tmp_path / TAG_MANIFEST).write_text(manifest_text(tags))
    return tmp_path


def test_a_whole_bag_has_no_fault_and_every_byte_was_read(bag: Path) -> None:
    heard: list[int] = []
    assert list(verify_bag(bag, heard.append)) == [] and is_bag(bag)
    assert sum(heard) == sum(map(len, FILES.values())) + sum(
        (bag / name).stat().st_size for name in (BAG_TXT, MANIFEST)
    )


@pytest.mark.parametrize(
    ("harm", "fault"),
    [
        (
            lambda bag: (bag / "data/originals/0001.JPG").write_bytes(b"First"),
            "data/originals/0001.JPG is not as it was",
        ),
        (lambda bag: (bag / "data/originals/0001.JPG").unlink(), "data/originals/0001.JPG is missing"),
        (lambda bag: (bag / "data/more.txt").write_bytes(b"x"), "data/more.txt is in no manifest"),
        (lambda bag: (bag / BAG_TXT).write_text("Bag: 1\n"), f"{BAG_TXT} doesn't declare a bag"),
        (lambda bag: (bag / BAG_TXT).unlink(), f"{BAG_TXT} doesn't declare a bag"),
        (lambda bag: (bag / BAG_TXT).write_bytes(b"\xff\xfe"), f"{BAG_TXT} doesn't declare a bag"),
        (lambda bag: (bag / MANIFEST).write_text("00" * 32 + "  ../../etc/passwd\n"), "../../etc/passwd lies out of"),
        (lambda bag: (bag / MANIFEST).write_text("00" * 32 + "  /etc/passwd\n"), "/etc/passwd lies out of the folder"),
    ],
    ids=["changed", "missing", "added", "another word", "no declaration", "no text", "out of it", "absolute"],
)
def test_every_harm_is_told_by_the_files_name(bag: Path, harm: Callable[[Path], object], fault: str) -> None:
    harm(bag)
    assert any(told.startswith(fault) for told in verify_bag(bag))


@settings(max_examples=60)
@given(st.dictionaries(st.text(alphabet="ab %\n\r0ADd/é", min_size=1, max_size=12), st.binary(max_size=4), max_size=6))
def test_a_manifest_is_read_as_it_was_written_whatever_the_names(files: dict[str, bytes]) -> None:
    import tempfile

    hashes = {f"data/{name}": hashlib.sha256(content).hexdigest() for name, content in files.items()}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / MANIFEST
        path.write_text(manifest_text(hashes.items()), encoding="utf-8", newline="")
        read = _lines(path)
    assert dict(read) == hashes and len(read) == len(files)


def test_a_manifest_of_other_hands_is_read_too(tmp_path: Path) -> None:
    digest = "AB" * 32
    (tmp_path / MANIFEST).write_text(f"{digest} *data/one.txt\n\n{digest}\t./data/two.txt\nno line of it\n")
    assert _lines(tmp_path / MANIFEST) == [("data/one.txt", digest.lower()), ("data/two.txt", digest.lower())]
    assert _lines(tmp_path / "gone") == []


def test_the_bags_own_facts_stand_on_a_line_each_and_empty_ones_are_left_out() -> None:
    rows = [("Source-Organization", "two\nlines  and\tmore"), ("Contact-Name", "  "), ("Bag-Size", "3 kB")]
    assert info_text(rows) == "Source-Organization: two lines and more\nBag-Size: 3 kB\n"


@pytest.mark.parametrize("lacking", [BAG_TXT, MANIFEST])
def test_half_a_hand_over_is_no_bag(bag: Path, lacking: str) -> None:
    (bag / lacking).unlink()
    assert not is_bag(bag)


# --- new files ------------------------------------------------------------------------------------------


def filled(data: bytes) -> Callable[[Path], None]:
    """Fills a file with these bytes."""

    def write(part: Path) -> None:
        part.write_bytes(data)

    return write


def test_a_file_appears_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "down" / "1.JPG"
    assert put_new(path, filled(b"whole")) and path.read_bytes() == b"whole"

    def fails(part: Path) -> None:
        part.write_bytes(b"half")
        raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space left"):
        put_new(tmp_path / "2.JPG", fails)
    assert not (tmp_path / "2.JPG").exists() and not list(tmp_path.glob(".*.part"))


@pytest.mark.parametrize(
    ("there", "or_same", "made"), [(b"same", True, True), (b"other", True, False), (b"same", False, False)]
)
def test_a_name_that_is_taken_is_never_written_over(tmp_path: Path, there: bytes, or_same: bool, made: bool) -> None:
    path = tmp_path / "1.JPG"
    path.write_bytes(there)
    assert put_new(path, filled(b"same"), or_same=or_same) is made
    assert path.read_bytes() == there and not list(tmp_path.glob(".*.part"))


def test_a_disk_without_links_gets_the_file_all_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(source: object, target: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr("os.link", no_links)
    path = tmp_path / "1.JPG"
    assert put_new(path, filled(b"x")) and path.read_bytes() == b"x"
    assert not put_new(path, filled(b"y")) and path.read_bytes() == b"x"
