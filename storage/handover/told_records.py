"""A job's frames as they are told outside: files as they lie in the hand-over, and nothing of the computer they lay on.

Notes, reasons and names that people wrote leave as people wrote them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from session.frame.finding import Finding
from storage.handover.handover_plan import HandoverPlan
from storage.reading.views import FileRow, FrameRecord

_FOLDERS = re.compile(r"(?<![\w/.])/(?:[^/\n:;,\"'()]+/)+")
"""The folders of an absolute path, as sentences about disks name it; a folder's name may have blanks."""


def told_records(plan: HandoverPlan) -> Iterator[FrameRecord]:
    """The job's frames as the tables tell them.

    A file that is handed over has its path in the hand-over (of a series' marked frame, that among the originals), any
    other file its name alone. Without second copies, the
    camera's serial number, and the folders that sentences of rules, checks and camera name.
    """
    paths = {(number, file.path): path for one in plan.series for file, _, path, number in one.originals}
    paths |= {(frame.record.number, file.path): path for frame in plan.frames for file, _, path in frame.originals}
    for record in plan.records:
        folders = _folders(record)
        yield replace(
            record,
            facts=replace(record.facts, text=_without_folders(record.text, folders)),
            files=tuple(_file(file, paths.get((record.number, file.path))) for file in record.files),
            rules=_findings(record.rules, folders),
            checks=_findings(record.checks, folders),
            folder="",
            previews="",
            camera_serial="",
        )


def _file(file: FileRow, path: str | None) -> FileRow:
    return replace(file, path=path or Path(file.path).name, card_folder="", copies=())


def _folders(record: FrameRecord) -> list[str]:
    """The folders in which the frame's files lay, the longest first."""
    held = (str(Path(path).parent) for file in record.files for path in (file.path, *file.copies))
    found: Mapping[str, None] = dict.fromkeys(one for one in (record.folder, *held) if one.startswith("/"))
    return sorted(found, key=len, reverse=True)


def _findings(findings: Iterable[Finding], folders: Iterable[str]) -> tuple[Finding, ...]:
    return tuple(replace(one, text=_without_folders(one.text, folders)) for one in findings)


def _without_folders(text: str, folders: Iterable[str]) -> str:
    """The sentence with the last name alone of each path."""
    for folder in folders:
        text = text.replace(f"{folder}/", "").replace(folder, Path(folder).name)
    return _FOLDERS.sub("", text)
