"""A hand-over in words: what would be written and what is wrong with it, for shell and screen."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from session.units.numbers import bytes_text, left_text
from storage.handover.handover_plan import HandoverPlan, told_focus
from tui.words.harmless import harmless
from tui.words.order_words import count_words, delivery_words

LEFT_AFTER_S = 1.0
"""Before that nothing is said of the time left: a first step is no measure. Chosen."""


@dataclass(frozen=True)
class HandoverProgress:
    """How far a hand-over is.

    file         the last that is in its place
    count        files that are there
    done_bytes   of them, or of the ZIP
    total_bytes  expected, of the originals or of the folder that goes into the ZIP
    told         what is to be known of the file, "" mostly
    """

    file: str
    count: int
    done_bytes: int
    total_bytes: int
    told: str = ""


def plan_head(plan: HandoverPlan) -> str:
    """`spring line: 6 frames, originals 84 MB.`"""
    total = bytes_text(plan.total_bytes, plan.total_bytes).rpartition(" of ")[2]
    return f"{harmless(plan.order.job)}: {count_words(len(plan.frames), 'frame')}, originals {total}."


def plan_lines(plan: HandoverPlan, *, prints: bool = False) -> list[str]:
    """A line for each frame that leaves, with its new name, then the documents; `prints`: pages as PDF too."""
    lines = []
    for frame in plan.frames:
        endings = ", ".join(dict.fromkeys(path.suffix.lower().lstrip(".") for _, path in frame.files))
        focus = told_focus(frame.record)
        said = f"  focus {focus}" if focus == "not judged" else f"  {focus}" if focus else ""
        lines.append(f"{frame.record.number:>5}  {harmless(frame.name)}  {harmless(endings)}, xmp{said}")
    for one in plan.series:
        preview = ", and the preview of the whole" if one.preview is not None else ""
        files = count_words(sum(1 for _ in one.originals), "file")
        planes = count_words(len(one.planes), "plane")
        lines.append(f"series/{harmless(one.name)}: {planes} in {files}, with their table{preview}")
    if plan.delivers and (not plan.frames or any(frame.delivered_from for frame in plan.frames)):
        size = delivery_words(plan.order.delivery) or "size and crop as they are"
        lines.append(f"delivered as {plan.kind}, sRGB: {size}")
    ordered = (", planes" if plan.series else "") + (", the order" if plan.progress else "")
    papers = "contact sheet and set cards, as PDF too" if prints else "contact sheet, set cards"
    lines.append(f"{papers}; tables of frames, set-ups, findings{ordered}; hashes of every file")
    return lines


def caution_lines(plan: HandoverPlan) -> list[str]:
    """What is wrong: first why nothing may be written, then the rest; each with its sign."""
    return [f"! {harmless(sentence)}" for sentence in (*plan.faults, *plan.cautions)]


def pictures_text(plan: HandoverPlan | None, *, delivers: bool) -> str:
    """`originals alone`, or `originals, and as jpeg in sRGB: 2400 × 3000 px`."""
    if not delivers:
        return "originals alone"
    size = delivery_words(plan.order.delivery) if plan else ""
    return f"originals, and as {plan.kind if plan else 'jpeg'} in sRGB: {size or 'size and crop as they are'}"


def progress_text(step: HandoverProgress, took_s: float) -> str:
    """`12 files, 84 of 210 MB, about 20 s left: A-101_ring_1_front_0001.jpg`; `took_s` seconds until now."""
    amount = bytes_text(step.done_bytes, max(step.done_bytes, step.total_bytes))
    known = 0 < step.done_bytes < step.total_bytes and took_s >= LEFT_AFTER_S
    left = f", {left_text(took_s / step.done_bytes * (step.total_bytes - step.done_bytes))} left" if known else ""
    return f"{count_words(step.count, 'file')}, {amount}{left}: {harmless(step.file.rpartition('/')[2])}"


def whole_text(folder: str, frames: int, files: int) -> str:
    """`out: 6 frames handed over, 40 files.`"""
    return f"{harmless(folder)}: {count_words(frames, 'frame')} handed over, {count_words(files, 'file')}."


def missing_text(plan: HandoverPlan) -> str:
    """The sentence on files that were wanted and are missing; "" where none is missing."""
    return f"Not all that was wanted is there: {' '.join(map(harmless, plan.missing))}" if plan.missing else ""


def zip_text(path: str) -> str:
    """What is said of a ZIP that was made."""
    return f"{harmless(path)}: the whole folder."


def folder_text(folder: Path) -> str:
    """The folder's path, with `~` for the account's own folder."""
    try:
        return f"~/{folder.relative_to(Path.home())}"
    except (ValueError, RuntimeError):
        return str(folder)


def no_folder_text(error: OSError, typed: Path | None) -> str:
    """Why the folder can't be looked at: the reason first, since the path may be longer than the line."""
    path = typed or (Path(error.filename) if isinstance(error.filename, str) else None)
    return f"{error.strerror or error}: {folder_text(path)}." if path else f"{error.strerror or error}."


def no_job_text(job: str) -> str:
    """Why there is nothing to hand over; `job` is the name asked for, "" for the last."""
    return f"There is no job {job!r} in this log." if job else "There is no job in this log yet."


def not_whole_text(folder: Path, where: str, error: OSError, how: str) -> str:
    """Why a hand-over stopped, and that the hand-over goes on by `how`, or that nothing was written.

    where  the folder as it is told
    """
    why = error.strerror or error
    try:
        begun = (folder / "data").is_dir()
    except OSError:
        begun = False
    if not begun:
        return f"Nothing could be written to {harmless(where)}: {why}. Name another folder."
    return f"{harmless(where)} is not whole yet: {why}. What is there is right; {how} goes on."
