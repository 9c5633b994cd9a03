"""A frame as one line of CSV (RFC 4180, UTF-8), safe to open in a spreadsheet and to print on a terminal.

What a text holds is data, so a cell is written in a way that no program takes for a command, and that can be undone:

1. a backslash, and every character that a terminal obeys or hides, is a backslash escape: `\\\\`, `\\n`, `\\u001b`,
   `\\U000e0041`; so a frame is one line, whatever was noted;
2. an apostrophe goes before whatever a spreadsheet could take for a formula (`=`, `+`, `-`, `@` and their full-width
   forms, also after blanks) or that is an apostrophe itself, at the beginning of a text and behind each sign that some
   program takes for the end of a cell (`,`, `;`, `|`, `"`).

To get the text back, take away one apostrophe at each of these places, then resolve the escapes. Numbers stand as they
are; several of a thing are held apart by `; `. Source of the signs: OWASP, "CSV Injection".
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import fields
from datetime import datetime

from session.set.setup import PLAIN, RECTANGLES, Region, Revision, field_values, thing_name
from session.units.value_words import thing_words
from storage.reading.json_lines import verdict
from storage.reading.views import FrameRecord
from storage.schema.frame_models import plane_columns

Cell = str | int | float | None

SET_UP = "setup_"
"""Prefix of the columns with the set-up's settings; columns without it hold the camera's."""


def _yes_no(value: bool) -> str:
    return "yes" if value else "no"


def _several(texts: Iterable[str]) -> str:
    return "; ".join(texts)


def set_up_cells(revision: Revision) -> Mapping[str, Cell]:
    """Every field of a set-up but its lights, which have a column of their own; a rectangle has four."""
    cells: dict[str, Cell] = {**field_values(revision.settings), **field_values(revision.arrangement)}
    for name in PLAIN:
        value = getattr(revision, name)
        if name in RECTANGLES:
            cells |= {f"{name}_{side.name}": getattr(value, side.name, None) for side in fields(Region)}
        else:
            cells[name] = _several(value) if isinstance(value, tuple) else value
    cells = {name: _yes_no(value) if isinstance(value, bool) else value for name, value in cells.items()}
    cells["passive"] = _several(f"{thing_name(item)} {thing_words(item, ' ')}" for item in revision.passive)
    return cells


def lights_cell(revision: Revision) -> str:
    """The lights of a set-up, each with power, distance, side, height, shaper and note as far as they are known."""
    return _several(f"{light.name} {thing_words(light, ' ')}" for light in revision.lights)


COLUMNS = (
    "frame_id",
    "number",
    "job",
    "client",
    "piece",
    "view",
    "setup",
    "asked_at",
    "released_at",
    "released_by",
    "ambient",
    "solo",
    "series_id",
    "plane_mm",
    "series_frames",
    "series_step_mm",
    "series_depth_mm",
    "moved_by",
    "approach",
    "steps_per_mm",
    "fired",
    "state",
    "text",
    "focus_verdict",
    "verdict",
    "blur_px",
    "defocus_mm",
    "exposure_s",
    "f_number",
    "iso",
    "lights",
    "findings",
    "overrulings",
    "mark",
    "notes",
    "files",
    "copies",
    "sha256",
    *(f"{SET_UP}{name}" for name in set_up_cells(Revision())),
)

OBEYED = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories that are escaped: control, format (bidi, zero width), surrogate, private, unassigned, line end."""

SHORT = {"\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t"}

_ACTIVE = re.compile("(^|[,;|\"])(?='| *[=+\\-@＝＋－＠])")


def header() -> str:
    """The names of the columns as the first line, with its end."""
    return row(COLUMNS)


def line(frame: FrameRecord) -> str:
    """The frame as a line, with its end."""
    cells = _cells(frame)
    return row(cells[name] for name in COLUMNS)


def cell(text: str) -> str:
    """A text as it stands in a cell, before the quotes that CSV itself puts round it."""
    escaped = "".join(SHORT.get(char) or _escape(char) for char in text)
    return _ACTIVE.sub(r"\1'", escaped)


def _escape(char: str) -> str:
    if unicodedata.category(char) not in OBEYED:
        return char
    return f"\\u{ord(char):04x}" if ord(char) <= 0xFFFF else f"\\U{ord(char):08x}"


def row(cells: Iterable[Cell]) -> str:
    """Cells as a line, with its end."""
    written = io.StringIO()
    csv.writer(written).writerow([cell(value) if isinstance(value, str) else value for value in cells])
    return written.getvalue()


def _cells(frame: FrameRecord) -> Mapping[str, Cell]:
    focus = frame.focus
    told = {name: frame.camera.get(name) for name in ("exposure_s", "f_number", "iso")}
    return {
        **{name: getattr(frame, name) for name in ("frame_id", "number", "job", "client", "piece", "view", "setup")},
        "asked_at": _instant(frame.asked_at),
        "released_at": _instant(frame.released_at),
        "released_by": frame.released_by.value,
        "ambient": _yes_no(frame.ambient),
        "solo": frame.solo,
        **plane_columns(frame.series),
        "fired": frame.fired.value,
        "state": frame.state.value,
        "text": frame.text,
        "focus_verdict": focus.verdict.value if focus else None,
        "verdict": verdict(frame),
        "blur_px": focus.blur_px if focus else None,
        "defocus_mm": focus.defocus_mm if focus else None,
        **{name: value if isinstance(value, int | float) else None for name, value in told.items()},
        "lights": lights_cell(frame.revision),
        "findings": _several(finding.text for finding in frame.findings),
        "overrulings": _several(f"{rule}: {reason}" for rule, reason in frame.overrulings.items()),
        "mark": frame.mark,
        "notes": _several(note.text for note in frame.notes),
        "files": _several(file.path for file in frame.files),
        "copies": _several(path for file in frame.files for path in file.copies),
        "sha256": _several(file.sha256 for file in frame.files),
        **{f"{SET_UP}{name}": value for name, value in set_up_cells(frame.revision).items()},
    }


def _instant(at: datetime | None) -> str | None:
    return at.isoformat() if at else None
