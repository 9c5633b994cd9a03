"""A plan carried out: files copied and hashed, sidecars and tables written, and last the manifests of the folder.

Each file appears under its name when it is whole and on the disk. Run again after a stop, the hand-over goes
on: a file with the right contents counts as done; any other file in the way stops the hand-over, and is never written
over.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from pathlib import Path

from session.frame.ports import LogError
from session.picture.delivered_picture import deliver
from session.units.refusals import UnreadableTextError
from storage.files.paths import BAG_TXT
from storage.handover import bag
from storage.handover.handover_plan import DELIVERED, ORIGINALS, TABLES, HandoverFrame, HandoverPlan, wanted_size
from storage.handover.sidecar import foreign_sidecar, sidecar
from storage.handover.tables import planes_csv, tables
from storage.handover.told_records import told_records

ENDINGS = {"jpeg": ".jpg", "tiff": ".tif"}


Documents = Sequence[tuple[str, Callable[[Path], None]]]


@dataclass(frozen=True)
class HandoverStep:
    """A file is in its place. `path` from the folder on; `told` what is to be known of it, "" mostly."""

    path: str
    bytes: int
    told: str = ""


def hand_over(
    plan: HandoverPlan,
    folder: Path,
    agent: str,
    today: date,
    documents: Documents,
    heard: Callable[[], None] = lambda: None,
) -> Iterator[HandoverStep]:
    """Write what the plan says, a step for each file.

    agent   program and version, for the folder's own notes
    today   the date of the hand-over
    documents  path in the payload and what writes it, the same each time: contact sheet and set cards
    heard   called before each file and each block of an original; what it raises ends the hand-over
    Raises LogError for a file that is not as it was saved, or is in the way; OSError for a disk that is full.
    """
    if plan.faults:
        raise LogError(plan.faults[0])
    if bag.is_bag(folder):
        raise LogError(f"{folder} is a whole hand-over already; nothing was written over it.")
    strangers = _strangers(folder)
    if strangers:
        raise LogError(f"{folder} holds something else, {strangers[0]}; name a new or an empty folder.")
    folder.mkdir(parents=True, exist_ok=True)
    hashes: dict[str, tuple[str, int]] = {}
    for path, put in _payload(plan, documents, heard):
        heard()
        digest, size, told = put(folder / path)
        hashes[path] = (digest, size)
        yield HandoverStep(path, size, told)
    strange = _strange_files(folder, set(hashes))
    if strange:
        raise LogError(f"{folder / strange[0]} is not of this hand-over; it is not closed while such a file is there.")
    tags = {
        BAG_TXT: bag.DECLARATION,
        bag.BAG_INFO: _info(plan, hashes, agent, today),
        bag.MANIFEST: bag.manifest_text((path, digest) for path, (digest, _) in hashes.items()),
    }
    tags[bag.TAG_MANIFEST] = bag.manifest_text(
        (name, hashlib.sha256(text.encode()).hexdigest()) for name, text in tags.items()
    )
    for name in (bag.BAG_INFO, bag.TAG_MANIFEST, BAG_TXT, bag.MANIFEST):  # the manifest makes it a bag: last
        _put_text(folder / name, tags[name].encode())
        yield HandoverStep(name, len(tags[name].encode()))


def _strangers(folder: Path) -> list[str]:
    """Names in the folder that no hand-over has; hidden files, which file managers leave, don't count."""
    own = {"data", BAG_TXT, bag.BAG_INFO, bag.MANIFEST, bag.TAG_MANIFEST}
    found = folder.iterdir() if folder.is_dir() else ()
    return sorted(path.name for path in found if path.name not in own and not path.name.startswith("."))


def begun_on(folder: Path) -> date | None:
    """The day on which a hand-over that was stopped was begun, by its oldest file; None before the first file."""
    times = [path.stat().st_mtime for path in (folder / "data").rglob("*") if path.is_file()]
    return datetime.fromtimestamp(min(times)).astimezone().date() if times else None


Put = Callable[[Path], tuple[str, int, str]]
"""Puts a file into its place; gives hash, size in bytes, and a sentence to be told, if any."""


def _payload(plan: HandoverPlan, documents: Documents, heard: Callable[[], None]) -> Iterator[tuple[str, Put]]:
    for frame in plan.frames:
        for file, source, path in frame.originals:
            yield path, _copying(source, file.sha256, frame.record.number, heard)
        yield f"data/{ORIGINALS}/{frame.name}.xmp", _writing_sidecar(plan, frame)
        if plan.delivers and frame.delivered_from is not None:
            yield f"data/{DELIVERED}/{frame.name}{ENDINGS[plan.kind]}", _delivering(plan, frame, frame.delivered_from)
            yield f"data/{DELIVERED}/{frame.name}.xmp", _writing_sidecar(plan, frame)
    for series in plan.series:
        for file, source, path, number in series.originals:
            yield path, _copying(source, file.sha256, number, heard)
        yield series.table_path, _writing(planes_csv(series.rows))
        if series.preview is not None:
            yield series.preview_path, partial(_put_or_keep, data=series.preview)
    for path, write in documents:
        yield f"data/{path}", _filling(write)
    for name, text in tables(
        tuple(told_records(plan)), plan.progress, [row for one in plan.series for row in one.rows]
    ):
        yield f"data/{TABLES}/{name}", _writing(text)


def _copying(source: Path, sha256: str, number: int, heard: Callable[[], None]) -> Put:
    def put(target: Path) -> tuple[str, int, str]:
        if not target.exists():
            bag.put_new(target, lambda part: _copy(source, part, sha256, number, heard))
        if bag.sha256_of(target, lambda count_bytes: heard()) != sha256:
            raise _in_the_way(target)
        return sha256, target.stat().st_size, ""

    return put


def _copy(source: Path, part: Path, sha256: str, number: int, heard: Callable[[], None]) -> None:
    part.unlink(missing_ok=True)  # what a crash left
    digest = hashlib.sha256()
    with source.open("rb") as opened, part.open("xb") as written:
        while block := opened.read(bag.BLOCK_BYTES):
            digest.update(block)
            written.write(block)
            heard()
    if digest.hexdigest() != sha256:
        raise LogError(
            f"Frame {number}: {source} is not as it was saved any more;"
            " asked for again, the hand-over goes on without it."
        )


def _filling(write: Callable[[Path], None]) -> Put:
    def put(target: Path) -> tuple[str, int, str]:
        if not bag.put_new(target, write, or_same=True):
            raise _in_the_way(target)
        return bag.sha256_of(target), target.stat().st_size, ""

    return put


def _writing(text: str) -> Put:
    return lambda target: _put_text(target, text.encode("utf-8", "surrogatepass"))


def _writing_sidecar(plan: HandoverPlan, frame: HandoverFrame) -> Put:
    def put(target: Path) -> tuple[str, int, str]:
        facts = frame.facts(plan.order, plan.job_id)
        existing = foreign_sidecar(frame.files)
        if existing is None:
            return _put_text(target, sidecar(facts))
        try:
            return _put_text(target, sidecar(facts, existing.read_bytes()))
        except (UnreadableTextError, OSError):  # the plan has told it
            return _put_text(target, sidecar(facts))

    return put


def _delivering(plan: HandoverPlan, frame: HandoverFrame, source: Path) -> Put:
    def put(target: Path) -> tuple[str, int, str]:
        region = frame.record.region
        centre = (region.left + region.width / 2, region.top + region.height / 2)
        try:
            return _put_text(target, deliver(source, plan.kind, wanted_size(plan.order), centre))
        except UnreadableTextError as error:
            raise LogError(f"Frame {frame.record.number} can't be delivered: {error}.") from error

    return put


def _put_or_keep(target: Path, data: bytes) -> tuple[str, int, str]:
    """Put a series' preview, which each look makes anew; an older preview that lies in the folder stays."""
    if not target.exists() or target.read_bytes() == data:
        return _put_text(target, data)
    told = f"{target.parent.name}: the preview of the series is the one of when the hand-over was begun."
    return bag.sha256_of(target), target.stat().st_size, told


def _put_text(target: Path, data: bytes) -> tuple[str, int, str]:
    digest = hashlib.sha256(data).hexdigest()
    if not target.exists():
        bag.put_new(target, lambda part: _write(part, data))
    if bag.sha256_of(target) != digest:
        raise _in_the_way(target)
    return digest, len(data), ""


def _write(part: Path, data: bytes) -> None:
    part.unlink(missing_ok=True)  # what a crash left
    with part.open("xb") as written:
        written.write(data)


def _in_the_way(target: Path) -> LogError:
    return LogError(f"{target} is there and is another file; nothing was written over it. Hand over to a new folder.")


def _strange_files(folder: Path, known: set[str]) -> list[str]:
    """Files of the payload's folder that the plan doesn't know; parts that a crash left are taken away."""
    found = []
    for path in sorted((folder / "data").rglob("*")):
        if path.is_file() and path.relative_to(folder).as_posix() not in known:
            if path.name.startswith(".") and path.name.endswith(bag.PART_ENDING):
                path.unlink()
            else:
                found.append(path.relative_to(folder).as_posix())
    return found


def _info(plan: HandoverPlan, hashes: dict[str, tuple[str, int]], agent: str, today: date) -> str:
    total_bytes = sum(size for _, size in hashes.values())
    return bag.info_text(
        [
            ("Bagging-Date", today.isoformat()),
            ("Bag-Software-Agent", agent),
            ("External-Identifier", plan.order.job),
            ("Internal-Sender-Description", f"{plan.order.job} for {plan.order.client}" if plan.order.client else ""),
            ("Payload-Oxum", f"{total_bytes}.{len(hashes)}"),
        ]
    )
