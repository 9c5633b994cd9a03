"""The rule about room: battery, card and disk for the next frames."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice

from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId
from session.rules.situation import Situation

BATTERY_STOP_PERCENT, BATTERY_CAUTION_PERCENT = 3, 12
FRAMES_CAUTION = 12
"""Guessed: when a photographer would like to hear of it in time to change battery or card. No source."""


MEAN_OVER_FRAMES = 12
"""Files differ by some tens of percent with what is in the picture; as many as the caution is about. Chosen."""


def mean_frame_bytes(sizes: Sequence[int]) -> int | None:
    """Bytes that the next frame will take on card and disk, by the last frames; None before the first frame.

    sizes  bytes of the frames so far, newest last
    """
    last = list(islice((size for size in reversed(sizes) if size > 0), MEAN_OVER_FRAMES))
    return round(sum(last) / len(last)) if last else None


def no_card(situation: Situation) -> tuple[Finding, ...]:
    """A picture is to go to a card, and none is in the camera."""
    reading = situation.reading
    if not reading.no_card or reading.value("capture_target") == "memory":
        return ()
    if situation.can_set("capture_target", "memory"):
        remedy = Remedy(RemedyKind.SET_CAMERA, "take pictures from its memory", {"capture_target": "memory"})
    else:
        remedy = Remedy(RemedyKind.BY_HAND, "put a card in")
    text = "There is no card in the camera; a picture would be in its memory only, or nowhere."
    return (Finding(RuleId.NO_CARD, Level.STOP, text, remedy=remedy),)


def frames_that_fit(situation: Situation) -> tuple[int | None, int | None]:
    """How many more frames card and disk take, by the last frames; None where the room is unknown."""
    card, disk = (
        None if free is None else int(free // situation.frame_bytes)
        for free in (situation.free_card_bytes, situation.free_disk_bytes)
    )
    return card, disk


def room_for_files(situation: Situation) -> tuple[Finding, ...]:
    """Battery, card or disk would not last for the next frame (stop) or for a dozen (caution)."""
    found = []
    percent = situation.reading.value("battery_percent")
    if isinstance(percent, int | float) and percent <= BATTERY_CAUTION_PERCENT:
        level = Level.STOP if percent <= BATTERY_STOP_PERCENT else Level.CAUTION
        remedy = Remedy(RemedyKind.BY_HAND, "change the battery")
        shown = situation.reading.settings["battery_percent"].shown
        text = f"The camera's battery is at {percent:.0f} %."
        if shown.count("%") > 1:
            text = f"One of the camera's batteries is at {percent:.0f} % ({shown})."
        found.append(Finding(RuleId.BATTERY, level, text, float(percent), BATTERY_STOP_PERCENT, "%", remedy))
    for rule, where, free, act in (
        (RuleId.CARD, "card", situation.free_card_bytes, "change the card"),
        (RuleId.DISK, "disk", situation.free_disk_bytes, "make room on the disk, or choose another folder"),
    ):
        if free is None or free >= FRAMES_CAUTION * situation.frame_bytes:
            continue
        frames = free // situation.frame_bytes
        level = Level.STOP if frames < 1 else Level.CAUTION
        text = f"The {where} has {free / 1e6:.0f} MB free, a frame takes {situation.frame_bytes / 1e6:.0f} MB."
        remedy = Remedy(RemedyKind.BY_HAND, act)
        found.append(Finding(rule, level, text, float(frames), 1, "frames", remedy))
    return tuple(found)
