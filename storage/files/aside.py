"""Entries that the log refuses for good, kept in a file beside it: one JSON object a line.

Each line holds the time, the log's call, its values and the error, so that a person, or a later stillset, has all
that the log would not take. The file stays until somebody moves it away.
"""

from __future__ import annotations

import json
import os
from dataclasses import asdict, is_dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from session.frame.ports import LogError, RefusedEntry
from session.system.own_files import open_own

ENDING = ".refused"
"""After the log's own name."""


def keep(log: Path, entry: RefusedEntry, at: datetime) -> Path:
    """Add an entry, durable when this returns. Raises LogError when the file can't be written."""
    path = _path(log)
    line = {"at": at, "call": entry.call, "values": entry.values, "error": entry.error}
    text = json.dumps(line, ensure_ascii=True, default=_plain) + "\n"
    try:
        with os.fdopen(open_own(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND), "ab") as file:
            file.write(text.encode("ascii"))
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise LogError(f"{path} can't be written: {error.strerror or error}.") from error
    return path


def kept_entries(log: Path) -> tuple[Path, int] | None:
    """The file of entries kept aside, and how many it holds; None when the file is missing or unreadable."""
    path = _path(log)
    try:
        with path.open("rb") as file:
            return path, sum(1 for _ in file)
    except OSError:
        return None


def _path(log: Path) -> Path:
    return log.with_name(log.name + ENDING)


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    return list(value) if isinstance(value, tuple | set | frozenset) else str(value)
