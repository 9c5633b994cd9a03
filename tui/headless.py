"""A shoot without a screen: for scripts, for tests, and for the demo when there is no terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from session.events import CameraFound, CameraLost, FrameJudged, FrameMoved, LiveViewChanged, Said, SettingsChanged
from session.finding import Finding, FocusVerdict, RemedyKind, stops
from session.frame import ENDED, FrameState
from session.shoot import Shoot
from tui.build import Table
from tui.tape import Tape
from tui.troubles import Failed

CONNECT_WITHIN_S = 30.0
FRAME_WITHIN_S = 180.0
"""Longest waits of a script: longer than the time limits of the camera's process, so that its sentence comes first."""

AUTOMATIC = ("focus-mode", "exposure-mode", "iso", "white-balance")
"""Findings whose remedy a script applies by itself before it begins: nothing automatic."""

AT_REST = ENDED | {FrameState.SAVED, FrameState.UNCERTAIN}


class Headless:
    """Plays a person's acts on an open table and waits for what comes of them."""

    def __init__(self, table: Table, say: Callable[[str], None]) -> None:
        self.table = table
        self.tape = Tape()
        self._say = say
        table.listen(self.tape.hear)

    def ask(self, question: Callable[[Shoot], object]) -> object:
        """Something out of the controller, asked in its own thread."""
        return self.table.ask(question)

    def connect(self) -> CameraFound:
        """Wait for the camera; make it fit for the set-up. Raises Failed with the camera's sentence."""
        found = self.tape.wait(CameraFound, 0, CONNECT_WITHIN_S, lambda _: True) if not self._lost_at_once() else None
        if found is None:
            lost = self.tape.wait(CameraLost, 0, 0)
            raise Failed(lost.text if lost else "No camera answered. Is it switched on, and the cable in?")
        if not found.description.live_view:
            self._say("This camera offers no live view; everything else works.")
        self._apply_automatic()
        self.restore()
        return found

    def _lost_at_once(self) -> bool:
        """Whether the first word of the camera is that there is none."""
        first = self.tape.wait(object, 0, CONNECT_WITHIN_S, lambda e: isinstance(e, CameraFound | CameraLost))
        return isinstance(first, CameraLost)

    def _apply_automatic(self) -> None:
        for finding in self.findings():
            if finding.id in AUTOMATIC and finding.remedy and finding.remedy.kind is RemedyKind.SET_CAMERA:
                mark = self.tape.mark()
                self._say(f"{finding.text} {finding.remedy.text[:1].upper()}{finding.remedy.text[1:]}.")
                self.table.call(lambda shoot, finding=finding: shoot.apply(finding))  # type: ignore[misc]
                self.tape.wait(SettingsChanged, mark, CONNECT_WITHIN_S)

    def restore(self) -> None:
        """Put the set-up's settings on the camera where they differ, and wait until it says so."""
        if not any(f.id == "drifted" for f in self.findings()):
            return
        mark = self.tape.mark()
        self.table.call(lambda shoot: shoot.restore_settings())
        changed = self.tape.wait(SettingsChanged, mark, CONNECT_WITHIN_S)
        for name, why in changed.refused if changed else ():
            self._say(f"The camera did not take {name}: {why}")

    def findings(self) -> tuple[Finding, ...]:
        """What the rules say now."""
        found = self.table.ask(lambda shoot: shoot.findings())
        assert isinstance(found, tuple)
        return found

    def refusing(self, overrulings: Mapping[str, str]) -> tuple[Finding, ...]:
        """The stops that would keep the shutter shut."""
        return stops(self.findings(), overrulings)

    def release(self, overrulings: Mapping[str, str] | None = None) -> FrameMoved | None:
        """One frame, until it is at rest or saved; None when nothing at all came of it."""
        mark = self.tape.mark()
        self.table.call(lambda shoot: shoot.ask_release(overrulings))
        return self.tape.wait(FrameMoved, mark, FRAME_WITHIN_S, lambda e: e.state in AT_REST)

    def judged(self, frame_id: str) -> FrameJudged | None:
        """The checks' word on a frame."""
        return self.tape.wait(FrameJudged, 0, FRAME_WITHIN_S, lambda e: e.frame_id == frame_id)

    def logged(self, frame_id: str) -> bool:
        """Wait until the frame is wholly done."""
        done = self.tape.wait(
            FrameMoved, 0, FRAME_WITHIN_S, lambda e: e.frame_id == frame_id and e.state is FrameState.LOGGED
        )
        return done is not None

    def accept(self, frame_id: str) -> None:
        """Take a frame as the set-up's reference for this piece."""
        self.table.ask(lambda shoot: shoot.accept_reference(frame_id))

    def sentences(self, mark: int) -> list[str]:
        """What was said since, for a report."""
        spoken = FrameMoved | Said | CameraLost | LiveViewChanged
        return [event.text for event in self.tape.since(mark) if isinstance(event, spoken) and event.text]


def verdict_line(judged: FrameJudged) -> str:
    """`frame 3: missed, blur 5.1 px — …` for the report."""
    words: list[str] = [judged.focus.verdict.value]
    if judged.focus.blur_px is not None:
        words.append(f"blur {judged.focus.blur_px:.1f} px")
    if judged.focus.defocus_mm is not None and judged.focus.verdict is not FocusVerdict.SHARP:
        words.append(f"{judged.focus.defocus_mm:.1f} mm off")
    told = [f.text for f in judged.findings if f.level.value != "note"]
    return f"Frame {judged.number}: " + ", ".join(words) + ("" if not told else " — " + " ".join(told))
