"""The plan of a hand-over: the files to be written, and their faults, before anything is written."""

from __future__ import annotations

import re
import string
import unicodedata
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from session.frame.finding import FocusVerdict, Verdict
from session.frame.states import FrameState
from session.order.client_order import DeliveredFormat, Order, OrderedPiece
from session.order.order_progress import Progress
from session.picture.delivered_picture import DeliveredSize, cut_for, upright_size
from session.set.setup import thing_name
from session.units.names import name_key
from session.units.refusals import UnreadableTextError
from session.units.value_words import thing_words, value_words, values_text
from storage.files.paths import LONGEST_BYTES, part
from storage.handover.leaving_files import Files, OriginalsRead, leaving_files
from storage.handover.series_files import HandoverSeries, handover_series
from storage.handover.sidecar import SidecarFacts, foreign_sidecar, sidecar
from storage.reading.shown_picture import shown_picture
from storage.reading.views import FileRow, FrameRecord, FrameRow

FIELDS = ("job", "article", "piece", "view", "number")
NAMES = "{article}_{piece}_{view}_{number}"
"""How files are called unless somebody says otherwise."""

LONGEST_NAME_BYTES = 150
"""Longest name without its ending. File systems take 255; some count the whole path, so the folders need room."""

SHORT_FIELD_BYTES = 32
"""Of each field where a name is longer: all five and what stands between them then fit."""

LEFT_OUT = "What is left out goes along once it lies there again as it was saved, or when another frame has the mark."

ORIGINALS, DELIVERED, TABLES = "originals", "delivered", "tables"
_PLAIN = re.compile(r"[A-Za-z0-9_. -]*")


@dataclass(frozen=True)
class HandoverFrame:
    """A frame that is handed over: the paths of its files now, and the files' new name, without an ending."""

    record: FrameRecord
    piece: OrderedPiece
    name: str
    files: Files

    @property
    def originals(self) -> Iterator[tuple[FileRow, Path, str]]:
        """Each file with its path now and its path in the hand-over."""
        return leaving_files(self.files, f"data/{ORIGINALS}", self.name)

    @property
    def delivered_from(self) -> Path | None:
        """Path of the JPEG that a delivered picture is made of; None without a JPEG, and for a plane of a series."""
        if self.record.series is not None:
            return None
        return next((path for file, path in self.files if file.kind == "jpeg"), None)

    def facts(self, order: Order, job_id: str) -> SidecarFacts:
        """The facts for the frame's sidecar; `job_id` the job's key in the log."""
        frame = self.record
        lights = "; ".join(f"{light.name} {thing_words(light, ' ')}" for light in frame.revision.lights)
        passive = "; ".join(f"{thing_name(item)} {thing_words(item, ' ')}" for item in frame.revision.passive)
        keywords = (frame.job, frame.client, frame.piece, frame.view, self.piece.article_number, self.piece.surface)
        return SidecarFacts(
            title=f"{frame.piece}, {frame.view}",
            description="\n".join(note.text for note in frame.notes),
            creator=order.credit,
            rights=order.rights,
            keywords=tuple(word for word in keywords if word),
            mark=frame.mark,
            job=frame.job,
            product=frame.piece,
            article_number=self.piece.article_number,
            own={
                "frame": str(frame.number),
                "view": frame.view,
                "setup": frame.setup,
                "settings": values_text(frame.revision.settings.by_name()),
                "lens": frame.revision.arrangement.lens,
                "magnification": value_words("magnification", frame.revision.arrangement.magnification),
                "lights": lights,
                "reflectorsAndFlags": passive,
                "focus": told_focus(frame),
            },
            job_id=job_id,
        )


@dataclass(frozen=True)
class HandoverPlan:
    """All of a hand-over.

    series    focus series of frames with the mark, whose planes all go along
    missing   views that leave without a picture, pictures that were wanted and can't be made, and planes that a series
              lacks, a sentence each
    cautions  what somebody should know, the missing things among it; faults  why nothing may be written
    """

    order: Order
    progress: Progress | None
    records: tuple[FrameRecord, ...]
    frames: tuple[HandoverFrame, ...]
    delivers: bool
    missing: tuple[str, ...]
    cautions: tuple[str, ...]
    faults: tuple[str, ...]
    series: tuple[HandoverSeries, ...] = ()
    job_id: str = ""

    @property
    def total_bytes(self) -> int:
        """Bytes (B) of the originals, those of whole series too."""
        of_series = sum(file.bytes for one in self.series for file, *_ in one.originals)
        return of_series + sum(file.bytes for frame in self.frames for file, _ in frame.files)

    @property
    def kind(self) -> DeliveredFormat:
        """The file kind of delivered pictures."""
        return self.order.delivery.file_format or DeliveredFormat.JPEG


def plan_handover(
    records: Iterable[FrameRecord],
    progress: Progress | None,
    job: str,
    mark: str,
    template: str,
    *,
    delivers: bool,
    outcomes: Mapping[str, str],
    read: OriginalsRead | None = None,
    job_id: str = "",
) -> HandoverPlan:
    """Which files would be written for the frames with this mark.

    template  the files' names, of the fields in braces; see `FIELDS`
    outcomes  frame's key → what its focus series came to
    job_id    the job's key in the log
    read      reads the originals, so that one that changed is named and left out; None: that is seen as it is copied
    Raises UnreadableTextError for a template that can't be used.
    """
    told = tuple(records)
    order = progress.order if progress else Order(job, next((one.client for one in told), ""))
    chosen = [one for one in told if one.mark == mark]
    missing, several = _view_cautions(told, chosen, progress, mark)
    cautions, faults = [*missing, *several], []
    frames, left_out = [], False
    for record in chosen:
        piece = _piece(order, record.piece)
        name, shortened = file_name(template, order, piece, record)
        files, gone = _files_there(record, read)
        left_out |= bool(gone)
        frame = HandoverFrame(record, piece, name, files)
        if delivers and files and frame.delivered_from is None:
            gone.append(_why_not_delivered(record))
        missing += gone
        if shortened:
            cautions.append(f"Frame {record.number}: its file's name was too long and is shortened to {name}.")
        cautions += _sidecar_cautions(frame, order, job_id)
        cautions += gone + _frame_cautions(record) + _size_cautions(record, files, order)
        if files:
            frames.append(frame)
    series = handover_series(
        told, [(frame.record, frame.name) for frame in frames], partial(_files_there, read=read), outcomes
    )
    left_out |= any(one.left_out for one in series)
    lacking = [sentence for one in series for sentence in one.missing]
    missing += lacking
    cautions += [*lacking, *(one.told for one in series)]
    cautions += [LEFT_OUT] if left_out else []
    cautions += _by_eye_alone(chosen, mark)
    faults += _collisions(frames)
    if not frames:
        faults.append(f"No frame of {order.job} is marked {mark}, or none has a file.")
    return HandoverPlan(
        order, progress, told, tuple(frames), delivers, tuple(missing), tuple(cautions), tuple(faults), series, job_id
    )


def file_name(template: str, order: Order, piece: OrderedPiece, record: FrameRecord) -> tuple[str, bool]:
    """A file's name without its ending, and whether its fields had to be shortened for it.

    Raises UnreadableTextError for a template with other fields or signs, and where the name still is too long.
    """
    found = _fill(template, order, piece, record, LONGEST_BYTES)
    if 0 < len(found.encode()) <= LONGEST_NAME_BYTES:
        return found, False
    shorter = _fill(template, order, piece, record, SHORT_FIELD_BYTES)
    if not 0 < len(shorter.encode()) <= LONGEST_NAME_BYTES:
        raise UnreadableTextError(
            f"{template!r} gives a name of {len(shorter.encode())} bytes; from 1 to {LONGEST_NAME_BYTES} can be used:"
            f" frame {record.number} needs another template"
        )
    return shorter, True


def _fill(template: str, order: Order, piece: OrderedPiece, record: FrameRecord, longest_bytes: int) -> str:
    """Fill the template with its fields, each of at most `longest_bytes`. Raises UnreadableTextError as `file_name`."""
    values = {
        "job": _name_part(order.job, longest_bytes),
        "article": _name_part(piece.article_number, longest_bytes) if piece.article_number else "",
        "piece": _name_part(record.piece, longest_bytes),
        "view": _name_part(record.view, longest_bytes),
        "number": f"{record.number:04d}",
    }
    written = []
    try:
        parsed = list(string.Formatter().parse(template))
    except ValueError as error:
        raise UnreadableTextError(f"{template!r} can't be used for names: {error}") from None
    for literal, name, form, conversion in parsed:
        if not _PLAIN.fullmatch(literal) or form or conversion or (name is not None and name not in FIELDS):
            raise UnreadableTextError(
                f"{template!r} can't be used for names; it is made of letters, digits, - _ . and"
                f" {', '.join(f'{{{one}}}' for one in FIELDS)}"
            )
        written.append(literal + (values[name] if name else ""))
    return re.sub(r"([-_. ])\1+", r"\1", "".join(written)).strip("-_. ").replace(" ", "_")


def _name_part(name: str, longest_bytes: int) -> str:
    """A name as a part of a file's name, with its capitals where it can stand as it is."""
    safe = part(name, longest_bytes)
    shaped = "_".join(unicodedata.normalize("NFC", name).split())
    return shaped if shaped.casefold() == safe else safe


def _piece(order: Order, name: str) -> OrderedPiece:
    return next((one for one in order.pieces if name_key(one.name) == name_key(name)), OrderedPiece(name))


def _why_not_delivered(record: FrameRecord) -> str:
    if record.series is not None:
        return f"No picture is delivered of frame {record.number}: it is one plane of a series, to be merged first."
    return f"Frame {record.number} has no JPEG to make the delivered picture of."


def _files_there(record: FrameRecord, read: OriginalsRead | None = None) -> tuple[Files, list[str]]:
    """The files with where they can be read, at their place or as a second copy; and what is missing or changed.

    read  None: what a file holds isn't looked at
    """
    found, missing = [], []
    for file in record.files:
        paths = [Path(file.path), *map(Path, file.copies)] if file.here else []
        there = [path for path in paths if path.is_file()]
        whole = next((path for path in there if read is None or read.holds(path, file)), None)
        if whole is not None:
            found.append((file, whole))
            continue
        why = "isn't as it was saved" if there else "isn't there any more"
        shown = shown_picture(record)
        stands_in = not there and shown is not None and bool(shown.told)
        only = " Its stored preview, which is no original, is in the contact sheet alone." if stands_in else ""
        missing.append(f"Frame {record.number}: {Path(file.path).name} {why}; it is left out.{only}")
    return tuple(found), missing


def _sidecar_cautions(frame: HandoverFrame, order: Order, job_id: str) -> list[str]:
    """Whether another program's sidecar beside the original can't be merged."""
    existing = foreign_sidecar(frame.files)
    if existing is None:
        return []
    try:
        sidecar(frame.facts(order, job_id), existing.read_bytes())
    except UnreadableTextError as error:
        return [f"Frame {frame.record.number}: {existing.name} is not merged: {error}."]
    except OSError as error:
        return [f"Frame {frame.record.number}: {existing.name} can't be read: {error.strerror}."]
    return []


def hero_cautions(record: FrameRecord, heroes: Collection[int], order: Order | None) -> tuple[str, ...]:
    """Why a frame may not do as the hero of its view, a sentence each: sharpness, flaws, size, another hero.

    heroes  numbers of the view's heroes, this frame's own may be among them
    """
    found = _frame_cautions(record)
    if order is not None:
        found += _size_cautions(record, _files_there(record)[0], order)
    several = sorted({*heroes, record.number})
    if len(several) > 1:
        found.append(f"{record.piece}, {record.view} has several heroes: frames {', '.join(map(str, several))}.")
    return tuple(found)


def _frame_cautions(record: FrameRecord) -> list[str]:
    of = f"Frame {record.number} ({record.piece}, {record.view})"
    found = []
    if record.focus_verdict in (FocusVerdict.SOFT, FocusVerdict.MISSED):
        found.append(f"{of} was found {record.focus_verdict.value}.")
    elif record.focus_is_open:
        reason = record.focus.reason.partition(";")[0].rstrip(".") if record.focus else ""  # then comes what to do
        why = f", {reason}" if reason else "" if record.state is FrameState.LOGGED else " yet"
        found.append(f"{of}: its focus was not judged{why}; look at it pixel for pixel.")
    if record.verdict is Verdict.FLAWED and record.flaw is not None:
        found.append(f"{of}: {record.flaw.text}")
    if record.measures:
        found.append(f"{of} is no picture of the view; it measures light: {record.measures}.")
    return found


def _size_cautions(record: FrameRecord, files: Files, order: Order) -> list[str]:
    """Whether the frame has fewer pixels in the ordered crop than are ordered."""
    wanted = wanted_size(order)
    jpeg = next((path for file, path in files if file.kind == "jpeg"), None)
    if jpeg is None or not (wanted.width_px or wanted.height_px):
        return []
    try:
        cut = cut_for(*upright_size(jpeg), wanted)
    except UnreadableTextError as error:
        return [f"Frame {record.number}: {error}."]
    if cut.whole:
        return []
    ordered = f"{wanted.width_px or '?'} × {wanted.height_px or '?'}"
    return [f"Frame {record.number} has {cut.width_px} × {cut.height_px} px in the ordered crop, of {ordered}."]


def wanted_size(order: Order) -> DeliveredSize:
    """Size in px, ratio and ppi of the order's pictures."""
    delivery = order.delivery
    return DeliveredSize(*delivery.pixels, delivery.ratio, delivery.ppi)


def _by_eye_alone(chosen: list[FrameRecord], mark: str) -> Iterator[str]:
    """Which of the chosen frames are references that were compared with no other frame: one sentence for all."""
    by_eye = [one.number for one in chosen if one.is_reference and one.focus_verdict in (None, FocusVerdict.UNJUDGED)]
    if by_eye:
        several = "are references, whose" if len(by_eye) > 1 else "is a reference, whose"
        told = f"{mark} frames {', '.join(map(str, by_eye))}" if len(by_eye) > 1 else f"{mark} frame {by_eye[0]}"
        yield f"{told[:1].upper()}{told[1:]} {several} focus was approved by eye alone."


def told_focus(frame: FrameRow) -> str:
    """The verdict on the focus as a sidecar has it: `sharp`, `not judged`, `reference`; "" for none to be asked."""
    if frame.focus_verdict in (None, FocusVerdict.UNJUDGED):
        return "not judged" if frame.focus_is_open else "reference" if frame.is_reference else ""
    return "" if frame.measures or frame.focus_verdict is None else frame.focus_verdict.value


def _view_cautions(
    records: tuple[FrameRecord, ...], chosen: list[FrameRecord], progress: Progress | None, mark: str
) -> tuple[list[str], list[str]]:
    """Sentences on views that lack a frame with the mark and need one, and on views that need none or have several.

    Of an order its views need one, of a job without an order each that was shot.
    """
    wanted = [(one.piece.name, one.view) for one in progress.views if one.wanted] if progress else []
    views = dict.fromkeys((name_key(p), name_key(v)) for p, v in [*wanted, *((r.piece, r.view) for r in records)])
    names = {(name_key(p), name_key(v)): f"{p}, {v}" for p, v in [*wanted, *((r.piece, r.view) for r in records)]}
    numbers: dict[tuple[str, str], list[int]] = defaultdict(list)
    for record in chosen:
        numbers[name_key(record.piece), name_key(record.view)].append(record.number)
    asked = {(name_key(p), name_key(v)) for p, v in wanted} if progress else set(views)
    missing: list[str] = []
    others: list[str] = []
    for view in views:
        if not numbers[view]:
            (missing if view in asked else others).append(f"{names[view]} has no {mark}.")
        elif len(numbers[view]) > 1 and mark == "hero":
            others.append(f"{names[view]} has several heroes: frames {', '.join(map(str, numbers[view]))}.")
    return missing, others


def _collisions(frames: list[HandoverFrame]) -> list[str]:
    """Names that clash on a system: the same without case, composed (Unicode's NFC)."""
    numbers: dict[str, list[int]] = defaultdict(list)
    for frame in frames:
        numbers[unicodedata.normalize("NFC", frame.name).casefold()].append(frame.record.number)
    return [
        f"Frames {', '.join(map(str, several))} would all be called {name}; put {{number}} into --names."
        for name, several in numbers.items()
        if len(several) > 1
    ]
