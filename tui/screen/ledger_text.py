"""A frame of the log as a line of the ledger, and in full; what differs between two. Styled text, no screen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import zip_longest
from pathlib import PurePath
from textwrap import wrap
from types import MappingProxyType

from rich.cells import cell_len
from textual.content import Content

from session.frame.finding import Finding, FocusVerdict, Verdict
from session.frame.states import ReleasedBy
from session.set.setup import differences
from session.units.numbers import f_text, mm_text, time_text
from session.units.value_words import name_words, value_words
from storage.reading.views import FrameFilter, FrameRecord, FrameRow
from tui.screen.panels import (
    CHOSEN,
    QUIET,
    STRONG,
    cut,
    finding_lines,
    hanging_lines,
    heading,
    light_text,
    names_within,
    passive_text,
    stack,
)
from tui.words.bench_frame import that_hold
from tui.words.frame_word import px_text
from tui.words.harmless import harmless
from tui.words.wording import sign_of, verdict_words

BESIDE_SIGN, HERE_SIGN = "+", "▸"


@dataclass(frozen=True)
class RowColumns:
    """Widths of a list's columns: a column is as wide as its longest text, and the names have the rest."""

    verdict: int
    mark: int
    notes: int

    @classmethod
    def of(cls, rows: Sequence[FrameRow], series: Mapping[str, str] = MappingProxyType({})) -> RowColumns:
        """The columns' widths for these rows and their heads; `series` as in `row_verdict`, by frames' keys."""
        return cls(
            max((len(row_verdict(row, series.get(row.frame_id, ""))) for row in rows), default=0),
            max((len(row.mark or "") for row in rows), default=0),
            max((len(_notes(row)) for row in rows), default=0),
        )

    def line(self, signs: str, verdict: str, setup: str, mark: str, time: str, notes: str, place: str) -> str:
        """One line of the list, heads or frame."""
        parts = [f"{signs:<9}{verdict:<{max(7, self.verdict)}}", f"{setup:<6}"]
        parts += [f"{mark:<{max(4, self.mark)}}"] if self.mark else []
        parts += [f"{time:<5}", *([f"{notes:<{max(5, self.notes)}}"] if self.notes else []), place]
        return "  ".join(parts)


def row_heads(columns: RowColumns, width: int) -> Content:
    """The heads of the ledger's columns."""
    text = columns.line("   no.", "verdict", "set-up", "mark", "time", "notes", "piece · view")
    return Content.styled(cut(text, width), QUIET)


def row_line(row: FrameRow, columns: RowColumns, width: int, *, here: bool, beside: bool, series: str = "") -> Content:
    """`▸   45 ○ missed   07.3    hero  14:30  barrel 6 of 24 · three-quarter`; `series` as in `row_verdict`."""
    signs = f"{HERE_SIGN if here else ' '}{BESIDE_SIGN if beside else ' '}{row.number:>4} {_sign(row, series)} "
    told = (signs, row_verdict(row, series), row.setup, row.mark or "", time_of(row), _notes(row))
    room = max(0, width - cell_len(columns.line(*told, "")))
    text = columns.line(*told, names_within((harmless(row.piece, 60), harmless(row.view, 60)), room))
    return Content.styled(cut(text, width), CHOSEN if here else "")


def _sign(row: FrameRow, series: str) -> str:
    """The sign of the frame's verdict; none for a whole series, of which no single frame's focus tells."""
    return " " if series else sign_of(row.focus_verdict, is_reference=row.is_reference)


def _notes(row: FrameRow) -> str:
    return f"{row.note_count}✎" if row.note_count else ""


def sheet_words(
    row: FrameRow, *, here: bool, beside: bool, stands_in: str = "", series: str = ""
) -> tuple[str, str, str]:
    """`▸45 ○ missed`, `hero 1✎` and `ring 4 · front`: what stands under a picture of the contact sheet.

    stands_in: the words for a picture that isn't the frame's own, behind its mark
    series: as in `row_verdict`
    """
    notes = _notes(row)
    first = f"{HERE_SIGN if here else ' '}{row.number} {_sign(row, series)} {row_verdict(row, series)}"
    second = " ".join(part for part in (BESIDE_SIGN if beside else " ", row.mark or "", notes, stands_in) if part)
    return first, second, f" {harmless(row.piece, 40)} · {harmless(row.view, 40)}"


def row_verdict(row: FrameRow, series: str = "") -> str:
    """`missed`, `sharp, dark 0.6 EV`, or the state where nobody judged it.

    series  the words for a whole focus series, where the row stands for all its frames
    """
    if series:
        return series
    return verdict_words(row.state, row.focus_verdict, row.flaw, purpose=row.purpose, is_reference=row.is_reference)


def findings_now(record: FrameRecord) -> tuple[Finding, ...]:
    """The findings of rules and checks on a frame that still hold."""
    return that_hold(record.findings, is_reference=record.is_reference)


def time_of(row: FrameRow) -> str:
    """Local time of the release, else of the wish."""
    return local(row.released_at or row.asked_at).strftime("%H:%M")


def local(at: datetime) -> datetime:
    return at.astimezone()


def filter_text(wanted: FrameFilter) -> str:
    """The narrowing of the list, in words."""
    parts = [verdict_name(wanted.verdict), wanted.mark, f"“{harmless(wanted.text, 40)}”" if wanted.text else ""]
    return " and ".join(part for part in parts if part)


def narrowed_by(wanted: FrameFilter, before: FrameFilter) -> str:
    """The part of a narrowing that an earlier one hadn't, in words."""
    changed = {name: getattr(wanted, name) for name in ("verdict", "mark", "text")}
    new = {name: value for name, value in changed.items() if value != getattr(before, name)}
    return filter_text(FrameFilter(**new))


def verdict_name(verdict: FocusVerdict | Verdict | None) -> str:
    """The name of the verdict to which the key `v` has narrowed the list; "" for all."""
    names = {None: "", FocusVerdict.UNJUDGED: "focus ?", Verdict.FLAWED: "with a flaw"}
    return names.get(verdict, str(verdict))


def record_text(record: FrameRecord, width: int, stands_in: str = "") -> Content:
    """Everything that the log knows of a frame. stands_in: the words for a picture that isn't the frame's own"""
    at = local(record.released_at or record.asked_at)
    by = "on the camera" if record.released_by is ReleasedBy.BODY else "from here"
    lines = [
        Content.styled(f"FRAME {record.number} · {harmless(record.piece, 40)} · {harmless(record.view, 40)}", STRONG),
        Content(f"{at:%d.%m.%Y %H:%M:%S} · released {by} · set-up {record.setup}"),
        Content(" · ".join(part for part in (row_verdict(record), _measures_text(record), record.mark or "") if part)),
        Content(camera_text(record)),
    ]
    if stands_in:
        lines += [Content(line) for line in hanging_lines(f"Picture {stands_in}: its files aren't there.", width)]
    if record.text:
        lines += [Content(harmless(record.text, 300))]
    for note in record.notes:
        lines.append(Content(f"✎ {local(note.written_at):%H:%M} {harmless(note.text, 400)}"))
    for rule, reason in record.overrulings.items():
        lines.append(Content(f"overruled {harmless(rule, 30)}: {harmless(reason, 200)}"))
    lines += [Content(light_text(light, "·")) for light in record.revision.lights]
    lines += [Content.styled(passive_text(item), QUIET) for item in record.revision.passive]
    for finding in findings_now(record):
        lines += finding_lines(finding, width)
    for file in record.files:
        name = harmless(PurePath(file.path).name, 120)
        lines.append(Content.styled(f"{name} · {file.bytes / 1e6:.1f} MB", QUIET))
    lines.append(Content.styled(f"in {harmless(record.folder, 300)}", QUIET))
    return stack(lines)


def camera_text(record: FrameRecord) -> str:
    """`1/200 s  f/11  ISO 100`: as the camera said at the release, else as the set-up asked."""
    asked = record.revision.settings
    time_s = _number(record.camera.get("exposure_s")) or asked.exposure_s
    f_number = _number(record.camera.get("f_number")) or asked.f_number
    iso = _number(record.camera.get("iso")) or asked.iso
    return f"{time_text(time_s)}  {f_text(f_number)}  ISO {iso:.0f}"


def comparison(one: FrameRecord, other: FrameRecord, width: int) -> Content:
    """Differences of two frames, a line for each: name, left, right; then the findings of both."""
    column = max(8, width // 2 - 22)  # the right one's values begin under its picture
    lines = [_pair("", f"frame {one.number}", f"frame {other.number}", column, STRONG)]
    rows: list[tuple[str, str, str]] = [
        ("verdict", row_verdict(one), row_verdict(other)),
        ("measured", _measures_text(one), _measures_text(other)),
        ("mark", one.mark or "", other.mark or ""),
        ("set-up", one.setup, other.setup),
        ("piece", one.piece, other.piece),
        ("view", one.view, other.view),
    ]
    rows += [
        (name_words(name), value_words(name, old), value_words(name, new))
        for name, old, new in differences(one.revision, other.revision)
    ]
    rows += [
        (
            f"camera {name_words(name)}",
            value_words(name, one.camera.get(name)),
            value_words(name, other.camera.get(name)),
        )
        for name in sorted({*one.camera, *other.camera} - PASSING)
    ]
    differing = [row for row in rows[2:] if row[1] != row[2]]
    lines += [_pair(*row, column) for row in (*rows[:2], *differing) if row[1] or row[2]]
    if not differing and rows[0][1] == rows[0][2]:
        lines.append(Content.styled("Nothing differs in settings, lights or verdict.", QUIET))
    for record in (one, other):
        lines.append(heading("FINDINGS", f"frame {record.number}"))
        found = [line for finding in findings_now(record) for line in finding_lines(finding, width)]
        lines += found or [Content.styled("none", QUIET)]
    return stack(lines)


PASSING = frozenset({"battery_percent", "date_time"})
"""Settings that differ from frame to frame without meaning anything for the frame."""


def _pair(name: str, left: str, right: str, column: int, style: str = "") -> Content:
    """A name with the values of both frames in a column each; a value longer than its column goes on below."""
    sides = [wrap(harmless(text, 200), column) for text in (left, right)]
    rows = zip_longest([_short_name(harmless(name, 60))], *sides, fillvalue="")
    return stack(
        [Content.assemble((f"{head:<21}", QUIET), (f"{one:<{column}} {other}", style)) for head, one, other in rows]
    )


def _short_name(name: str) -> str:
    """In 20 columns; of a long one the beginning and the last word: `reflector… distance`."""
    start, _, last = name.rpartition(" ")
    return f"{cut(start, 19 - len(last))} {last}" if len(name) > 20 and 0 < len(last) <= 15 else cut(name, 20)


def _measures_text(record: FrameRow) -> str:
    parts = [
        f"blur radius {px_text(record.blur_px)}" if record.blur_px is not None else "",
        f"{mm_text(record.defocus_mm)} off" if record.defocus_mm is not None else "",
    ]
    off = record.focus_verdict in (FocusVerdict.SOFT, FocusVerdict.MISSED)
    return ", ".join(part for part in parts if part and (off or part.startswith("blur")))


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
