"""That nothing was lost: log, disk and card hold the same pictures, each frame once, each file whole."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

from tests.support.stillset_program import StillsetHome, sha256

AT_REST = {"logged", "not fired", "missing", "uncertain"}


def assert_whole(home: StillsetHome, card: Path) -> list[dict[str, Any]]:
    """Every file on the card is in the log once and on the disk byte for byte; returns the log's frames.

    Nothing else is on the disk, no half file either. Frames of a job have numbers of their own; one that isn't logged
    says why.
    """
    frames = home.frames()
    assert len({(frame["job"], frame["number"]) for frame in frames}) == len(frames)
    for frame in frames:
        assert frame["state"] in AT_REST, frame
        assert frame["state"] == "logged" or frame["text"], frame
    logged = [file for frame in frames for file in frame["files"]]
    on_disk = [file["path"] for file in logged]
    assert sorted(on_disk) == [str(path) for path in home.files()]
    for file in logged:
        assert sha256(Path(file["path"])) == file["sha256"], file
        assert Path(file["path"]).stat().st_size == file["bytes"], file
    on_card = Counter(sha256(path) for path in card.rglob("*") if path.is_file())
    assert Counter(file["sha256"] for file in logged) == on_card
    return frames
