"""What the controller would tell in the course of a few frames, as events; and the model after them."""

from __future__ import annotations

from dataclasses import replace

from session.frame.camera_messages import CardObject, Fault, Fired, SavedFile
from session.frame.finding import Finding, FocusJudgement, FocusVerdict, Level, Remedy, RemedyKind
from session.frame.frame_facts import FrameFacts
from session.frame.states import FrameState
from session.shoot.events import CameraFound, CameraLost, Event, FileArrived, FrameJudged, FrameMoved
from tests.support.scripted_table import CAMERA, PLACE, READING, REVISION, SYNC
from tui.words.model import BenchModel


def saved_file(path: str, kind: str = "jpeg", size: int = 4_000_000) -> SavedFile:
    """A file of a frame as the camera's process reports it."""
    return SavedFile(path, kind, size, "0" * 64, CardObject("/card", path.rpartition("/")[2], size))


def focus(verdict: FocusVerdict, blur_px: float | None = None, defocus_mm: float | None = None) -> FocusJudgement:
    return FocusJudgement(verdict, blur_px, None, defocus_mm, 0.5, None, "" if blur_px else "no reference yet")


def moved(
    frame_id: str,
    number: int,
    state: FrameState,
    *,
    text: str = "",
    fired: Fired = Fired.NO,
    findings: tuple[Finding, ...] = (),
) -> FrameMoved:
    """A frame that was asked for here is in another state."""
    return FrameMoved(FrameFacts(frame_id, number, state, fired=fired, text=text), findings)


def released(number: int, *, path: str = "") -> list[Event]:
    """A frame is released, fires, and its JPEG comes in."""
    frame_id = f"f{number}"
    events: list[Event] = [
        moved(frame_id, number, FrameState.RELEASING),
        moved(frame_id, number, FrameState.RECEIVING, fired=Fired.YES),
    ]
    return [*events, FileArrived(frame_id, number, saved_file(path))] if path else events


def judged(
    number: int,
    verdict: FocusVerdict,
    blur_px: float | None = None,
    defocus_mm: float | None = None,
    checks: tuple[Finding, ...] = (),
) -> list[Event]:
    """A frame is saved and judged."""
    frame_id = f"f{number}"
    return [
        moved(frame_id, number, FrameState.SAVED, fired=Fired.YES),
        FrameJudged(frame_id, number, checks, focus(verdict, blur_px, defocus_mm)),
        moved(frame_id, number, FrameState.LOGGED, fired=Fired.YES),
    ]


FOUND = CameraFound(CAMERA, READING, 10_000_000_000)


def model_after(*events: Event) -> BenchModel:
    model = BenchModel(place=PLACE, revision=REVISION)
    for event in events:
        model.hear(event, 0.0)
    return model


def refused(number: int) -> FrameMoved:
    text = f"Frame {number} did not fire. {SYNC.text}"
    return moved("wish", number, FrameState.REFUSED, text=text, findings=(SYNC,))


MISSING = moved("f1", 1, FrameState.MISSING, text="Frame 1 fired, not saved.", fired=Fired.YES)
UNCERTAIN = moved("f1", 1, FrameState.UNCERTAIN, text="Frame 1 may have fired.", fired=Fired.UNKNOWN)
NOT_FIRED = moved("f1", 1, FrameState.NOT_FIRED, text="Frame 1 did not fire. The camera is busy.")
LOST = CameraLost(Fault.LOST, "The cable was pulled.")
COMING = released(1, path="/pictures/1.jpg")
MISS = Finding(
    "focus",
    Level.CAUTION,
    "Blur radius 7.3 px in the region against a limit of 2.0 px: about 0.3 mm off. Sharper at the right.",
    7.3,
    2.0,
    "px",
    Remedy(RemedyKind.BY_HAND, "refocus in live view"),
)
MISSED = [
    *COMING,
    moved("f1", 1, FrameState.SAVED),
    FrameJudged("f1", 1, (MISS,), replace(focus(FocusVerdict.MISSED, 7.3, 0.31), sharpest_at=(0.9, 0.5))),
]
