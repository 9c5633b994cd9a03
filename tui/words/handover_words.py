"""A hand-over in words: what would be written and what is wrong with it, for shell and screen."""

from __future__ import annotations

from session.units.numbers import bytes_text
from storage.handover.handover_plan import HandoverPlan, focus_words
from tui.words.harmless import harmless
from tui.words.order_words import count_words, delivery_words


def plan_head(plan: HandoverPlan) -> str:
    """`spring line: 6 frames, originals 84 MB.`"""
    total = bytes_text(plan.total_bytes, plan.total_bytes).rpartition(" of ")[2]
    return f"{harmless(plan.order.job)}: {count_words(len(plan.frames), 'frame')}, originals {total}."


def plan_lines(plan: HandoverPlan, *, prints: bool = False) -> list[str]:
    """A line for each frame that leaves, with its new name, then what goes along; `prints`: pages as PDF too."""
    lines = []
    for frame in plan.frames:
        endings = ", ".join(dict.fromkeys(path.suffix.lower().lstrip(".") for _, path in frame.files))
        focus = focus_words(frame.record)
        said = f"  focus {focus}" if focus == "not judged" else f"  {focus}" if focus else ""
        lines.append(f"{frame.record.number:>5}  {harmless(frame.name)}  {harmless(endings)}, xmp{said}")
    if plan.delivers:
        size = delivery_words(plan.order.delivery) or "size and crop as they are"
        lines.append(f"delivered as {plan.kind}, sRGB: {size}")
    ordered = ", the order" if plan.progress else ""
    papers = "contact sheet and set cards, as PDF too" if prints else "contact sheet, set cards"
    lines.append(f"{papers}; tables of frames, set-ups, findings{ordered}; hashes of every file")
    return lines


def caution_lines(plan: HandoverPlan) -> list[str]:
    """What is wrong: first why nothing may be written, then the rest; each with its sign."""
    return [f"! {harmless(sentence)}" for sentence in (*plan.faults, *plan.cautions)]


def no_job_text(job: str) -> str:
    """Why there is nothing to hand over; `job` is the name asked for, "" for the last."""
    return f"There is no job {job!r} in this log." if job else "There is no job in this log yet."


def not_whole_text(where: str, error: OSError, how: str) -> str:
    """Why a hand-over stopped, and that it goes on; `how` says by what."""
    return f"{harmless(where)} is not whole yet: {error.strerror}. What is there is right; {how} goes on."
