"""Pictures of the set through an archive: they arrive as they were, and nothing else is stored in their place."""

from __future__ import annotations

import hashlib
import io
import shutil
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from storage.archive.fetch import fetch
from storage.archive.pictures_of_sets import MOST_SENT_BYTES, is_set_picture
from storage.archive.send import send
from storage.files.set_pictures import MOST, attach_set_picture, set_pictures_folder
from storage.reading.log_reader import LogReader
from tests.support.postgres_server import Server


def picture(seed: int = 0, size: tuple[int, int] = (60, 40), kind: str = "JPEG", **how: object) -> bytes:
    with io.BytesIO() as data:
        grain = np.random.default_rng(seed).integers(0, 255, (size[1], size[0], 3), np.uint8)
        Image.fromarray(grain).save(data, kind, **how)
        return data.getvalue()


def revision_of(log: Path) -> str:
    with closing(LogReader.open(log)) as reader:
        found = reader.revision("Movement", "07.3")
    assert found is not None
    return found[1]


def stored(log: Path) -> list[bytes]:
    return [path.read_bytes() for path in sorted(set_pictures_folder(log).rglob("*.jpg"))]


def put(server: Server, database: str, revision_id: str, *jpegs: bytes, sha256: str = "") -> None:
    """What whoever may write to the archive can put there."""
    keys = [sha256 or hashlib.sha256(jpeg).hexdigest() for jpeg in jpegs]
    held = [f"'\\x{one.hex()}'" if len(one) < 100_000 else f"repeat('x', {len(one)})::bytea" for one in jpegs]
    rows = ", ".join(f"('{revision_id}', '{key}', {jpeg})" for key, jpeg in zip(keys, held, strict=True))
    server.ask(f"INSERT INTO archive_set_picture VALUES {rows}", database)


def test_pictures_of_the_set_come_along_once_and_stand_on_the_card_there(
    one: Path, tmp_path: Path, archive: str
) -> None:
    for seed in (1, 2):
        attach_set_picture(one, revision_of(one), picture(seed))
    damaged = attach_set_picture(one, revision_of(one), picture(3)).path
    damaged.write_bytes(b"something else")
    assert "set picture" not in send(one, archive).new
    assert send(one, archive, previews=True).new["set picture"] == 2
    assert "set picture" not in send(one, archive, previews=True).new
    log = tmp_path / "three.sqlite"
    assert fetch(log, archive).set_pictures == 0 and not stored(log)
    assert fetch(log, archive, previews=True).set_pictures == 2
    assert fetch(log, archive, previews=True).set_pictures == 0
    assert sorted(stored(log)) == sorted(picture(seed) for seed in (1, 2))
    with closing(LogReader.open(log)) as reader:
        found = reader.revision("Movement", "07.3")
        assert found is not None
        assert [(one.setup, one.whole) for one in reader.set_pictures("Movement", found[0])] == [("07.3", True)] * 2
    attach_set_picture(log, revision_of(log), picture(4))
    assert send(log, archive, previews=True).new["set picture"] == 1, "what another station adds goes on too"


def test_other_folders_are_left_alone_and_pictures_that_no_longer_fit_are_told(one: Path, archive: str) -> None:
    key = revision_of(one)
    kept = [attach_set_picture(one, key, picture(seed)).path for seed in range(MOST)]
    shutil.copytree(kept[0].parent, set_pictures_folder(one) / "old")
    assert send(one, archive, previews=True).new["set picture"] == MOST
    for path, seed in zip(kept, (101, 102), strict=False):
        path.unlink()
        attach_set_picture(one, key, picture(seed))
    sent = send(one, archive, previews=True)
    assert "set picture" not in sent.new
    assert sent.told == [
        f"The archive has {MOST} pictures of set-up 07.3 of Movement, among them those that were deleted here since,"
        " and takes no more of it: newer ones weren't sent."
    ]


EXIF = Image.Exif()
EXIF[0x010F] = "somebody"
HOSTILE = {
    "no picture": b"#!/bin/sh",
    "cut": picture(5)[:-200],
    "another format": picture(5, kind="PNG"),
    "progressive": picture(5, progressive=True),
    "too wide": picture(5, (2049, 8)),
    "with words of a camera": picture(5, exif=EXIF),
    "too long": b"\xff\xd8" + b"x" * MOST_SENT_BYTES,
}


@pytest.mark.parametrize("what", HOSTILE)
def test_only_a_jpeg_as_it_is_stored_is_one(what: str) -> None:
    assert not is_set_picture(HOSTILE[what])
    assert is_set_picture(picture(5))


def test_a_strangers_pictures_are_left_out_with_a_sentence(
    one: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    send(one, archive)
    key = revision_of(one)
    put(server, database, key, *HOSTILE.values())
    put(server, database, key, picture(6), sha256="../../../../tmp/x")
    fetched = fetch(tmp_path / "three.sqlite", archive, previews=True)
    said = "A picture of the set of set-up 07.3 was left out: it is none as it is stored."
    assert fetched.set_pictures == 0 and fetched.told == [said] * (len(HOSTILE) + 1)
    assert not stored(tmp_path / "three.sqlite")
    put(server, database, key, *(picture(100 + seed) for seed in range(MOST + 1)))
    fetched = fetch(tmp_path / "three.sqlite", archive, previews=True)
    assert fetched.set_pictures == MOST == len(stored(tmp_path / "three.sqlite"))
    assert any(f"there are {MOST} already" in told for told in fetched.told)


def test_no_archive_has_pictures_for_set_ups_that_were_shot_here(
    one: Path, server: Server, database: str, archive: str
) -> None:
    """Else whoever may write to the archive chooses what stands on the card of a set of one's own."""
    send(one, archive)
    put(server, database, revision_of(one), picture(7))
    assert fetch(one, archive, previews=True).set_pictures == 0 and not stored(one)
