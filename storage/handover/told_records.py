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

_PLACE = re.compile(
    r"(?<!\w)~\w*/"  # a folder of an account
    r"|(?<!\w)/(?=\S)"  # an absolute path; `sharp / soft`, `1/500 s` and `f/11` are none
    r"|(?<!\w)(?:[a-z][a-z0-9+.-]*://|(?:ptpip|usb|usbdiskdirect|disk|serial):)(?=\S)"  # a camera's or server's address
    r"|(?<!\w)[A-Za-z][\w.-]*:\d+(?!\w)"  # host:port
    r"|(?<![\w.])\d+(?:\.\d+){3}"  # an address of the Internet Protocol, version 4
)
"""Where a sentence about a disk or a camera begins to name a place of the computer."""


QUOTES = " \t\n'\"(["


def told_records(plan: HandoverPlan) -> Iterator[FrameRecord]:
    """The job's frames as the tables tell them.

    A file that is handed over has its path in the hand-over (of a series' marked frame, that among the originals), any
    other file its name alone. Without second copies and the camera's serial number; sentences of rules, checks and
    camera end where they begin to name a place.
    """
    paths = {(number, file.path): path for one in plan.series for file, _, path, number in one.originals}
    paths |= {(frame.record.number, file.path): path for frame in plan.frames for file, _, path in frame.originals}
    for record in plan.records:
        names = {path: Path(path).name for file in record.files for path in (file.path, *file.copies)}
        judged = record.focus
        yield replace(
            record,
            facts=replace(record.facts, text=_without_places(record.text, names)),
            files=tuple(_file(file, paths.get((record.number, file.path))) for file in record.files),
            rules=_findings(record.rules, names),
            checks=_findings(record.checks, names),
            focus=replace(judged, reason=_without_places(judged.reason, names)) if judged else None,
            folder="",
            previews="",
            camera_serial="",
        )


def _file(file: FileRow, path: str | None) -> FileRow:
    return replace(file, path=path or Path(file.path).name, card_folder="", copies=())


def _findings(findings: Iterable[Finding], names: Mapping[str, str]) -> tuple[Finding, ...]:
    return tuple(replace(one, text=_without_places(one.text, names)) for one in findings)


def _without_places(text: str, names: Mapping[str, str]) -> str:
    """The text up to the first place that it names: where a folder's name ends in a sentence, nothing tells for sure.

    names  paths of the frame's own files, each with its name, which stands for it
    """
    for path in sorted(names, key=len, reverse=True):
        text = text.replace(path, names[path])
    found = _PLACE.search(text)
    return f"{text[: found.start()].rstrip(QUOTES)} …".lstrip() if found else text
