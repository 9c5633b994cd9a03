"""Frames left in the middle, their files on card and disk, and what is planned about them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.states import FrameState, Intent, LoggedFrame
from session.shoot.reconcile import Step, plan

FOLDER = "/store_00010001/DCIM/100STILL"
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


def on_card(number: int, ending: str = "JPG", size: int | None = None) -> CardObject:
    """Sizes differ from number to number, as those of JPEGs do."""
    return CardObject(FOLDER, f"STIL{number:04d}.{ending}", size or 1000 * number + len(ending))


def on_disk(number: int, ending: str = "JPG", of: int | None = None) -> SavedFile:
    """A file of frame `number` that is a copy of the card's file `of`."""
    copied = on_card(of or number, ending)
    name = f"{number:04d}-front-01.1.{ending}"
    return SavedFile(f"/p/{name}", "jpeg", copied.bytes, "0" * 64, CardObject("", name, copied.bytes))


def left(number: int, state: FrameState, **more: object) -> LoggedFrame:
    fired = Fired.UNKNOWN if state in (FrameState.RELEASING, FrameState.UNCERTAIN) else Fired.YES
    asked_at, stem = NOON + timedelta(seconds=number), f"{number:04d}-front-01.1"
    intent = Intent(f"frame {number}", number, "07.3", "INVENTED", "/p", stem, asked_at)
    return replace(LoggedFrame(intent, state, fired), **more)  # type: ignore[arg-type]


def planned(
    frames: list[LoggedFrame],
    card: list[CardObject] | None = None,
    disk: dict[str, list[SavedFile]] | None = None,
    known: list[CardObject] | None = None,
    strange_card: bool = False,
) -> tuple[Step, ...]:
    return plan(frames, disk or {}, card or [], frozenset(known or []), strange_card)
