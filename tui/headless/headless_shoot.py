"""A shoot without a screen: for scripts, for tests, and for the demo when there is no terminal."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from time import monotonic
from typing import TypeVar

import click

from session.checks.focus.map import place_text
from session.frame.finding import CheckId, Finding, FocusVerdict, Level, RemedyKind, RuleId, flaw_of, stops
from session.frame.series_plane import SeriesPlane
from session.frame.states import ENDED, FrameState
from session.shoot.acts import AcceptReference, ApplyRemedy, AskRelease, RestoreSettings
from session.shoot.controller import Shoot
from session.shoot.events import (
    CameraBusy,
    CameraFound,
    CameraLost,
    CardBeingRead,
    FrameJudged,
    FrameMoved,
    LiveViewChanged,
    Said,
    SeriesChanged,
    SeriesPhase,
    SettingsChanged,
    Waiting,
)
from session.units.numbers import mm_text
from storage.reading.views import FrameRecord
from tui.headless.tape import Tape
from tui.shell.build import OpenShoot
from tui.shell.choices import Choices
from tui.shell.troubles import CommandFailed, Stopped
from tui.words.check_lines import flaw_words
from tui.words.frame_word import px_text
from tui.words.live_words import NO_LIVE_VIEW
from tui.words.model import card_text
from tui.words.wording import busy_text, focus_words, folder_read_text

CONNECT_WITHIN_S = 60.0
FRAME_WITHIN_S = 300.0
"""Longest waits of a script: longer than the time limits of the camera's process, so that its sentence comes first."""

AUTOMATIC = ("focus-mode", "exposure-mode", "iso", "white-balance")
"""Findings whose remedy a script applies by itself before it begins: nothing automatic."""

AT_REST = ENDED | {FrameState.SAVED, FrameState.UNCERTAIN}

TOLD_EVERY_S = 10.0
"""Between two lines on how far a folder is read: one of minutes fills no screen. Chosen."""

WORTH_TELLING_S = 1.0
"""A shorter wait is over before it is read. Chosen."""

EventT = TypeVar("EventT")
Spoken = Said | CameraLost | LiveViewChanged | FrameMoved


class Headless:
    """Plays a person's acts on an open shoot and waits for what comes of them."""

    def __init__(self, open_shoot: OpenShoot, say: Callable[[str], None], *, telling: bool = True) -> None:
        """telling  say by `say` what happens, as it happens"""
        self.open_shoot = open_shoot
        self.tape = Tape()
        self._say = say
        self._telling = telling
        self._told = 0
        self._busy_told = ""
        self._reading_told_s = -TOLD_EVERY_S
        self._plane_told: SeriesPlane | None = None
        self._wait_told: tuple[int, str] | None = None
        open_shoot.listen(self.tape.hear)

    # --- the camera -------------------------------------------------------------------------------

    def connect(self) -> CameraFound:
        """Wait for the camera, and set it for the set-up. Raises CommandFailed with the camera's sentence."""
        found = self.wait(object, 0, CONNECT_WITHIN_S, lambda e: isinstance(e, CameraFound | CameraLost))
        if not isinstance(found, CameraFound):
            self._told = self.tape.mark()
            text = found.text if isinstance(found, CameraLost) else "No camera answered. Is it on, and the cable in?"
            raise CommandFailed(text)
        if not found.description.live_view:
            self._say(NO_LIVE_VIEW)
        self.settle()
        for finding in self.findings():
            if finding.id in AUTOMATIC and finding.remedy and finding.remedy.kind is RemedyKind.SET_CAMERA:
                self._say(f"{finding.text} {finding.remedy.text[:1].upper()}{finding.remedy.text[1:]}.")
                self.apply(finding)
        return found

    def wait_for_camera(self) -> bool:
        """Wait until a lost camera is back; False when it stays away."""
        mark = self.tape.mark()
        if self.ask(lambda shoot: shoot.shoot_state.description is not None):
            return True
        return self.wait(CameraFound, mark, CONNECT_WITHIN_S) is not None

    def settle(self) -> None:
        """Wait until the camera has answered to every change of a setting."""
        self._wait_until(lambda shoot: not shoot.shoot_state.settings_asked, CONNECT_WITHIN_S)

    def apply(self, finding: Finding) -> None:
        """Apply a finding's remedy, and wait until the camera has it."""
        self.open_shoot.post(ApplyRemedy(finding))
        self.settle()

    def restore(self) -> None:
        """Set the camera to the set-up's settings where they differ, and wait until it has answered."""
        if any(f.id == RuleId.DRIFTED for f in self.findings()):
            self.open_shoot.post(RestoreSettings())
            self.settle()

    # --- the shoot --------------------------------------------------------------------------------

    def ask(self, question: Callable[[Shoot], object]) -> object:
        """The answer to a question, asked in the controller's own thread after all posted acts are done."""
        return self.open_shoot.ask(question)

    def findings(self) -> tuple[Finding, ...]:
        """The findings of the rules now."""
        return self.open_shoot.ask(lambda shoot: shoot.findings())

    def release(self, overrulings: Mapping[str, str] | None = None) -> FrameMoved:
        """Release a frame, and wait until it is at rest or saved. Raises CommandFailed when it comes to nothing."""
        return self._release(AskRelease(overrulings or {}))

    def measure_ambient(self) -> FrameMoved:
        """Release a frame with the lights off, and wait likewise."""
        return self._release(AskRelease(ambient=True))

    def _release(self, wish: AskRelease) -> FrameMoved:
        mark, frame_id = self.tape.mark(), wish.frame_id
        self.open_shoot.post(wish)
        waits = self.ask(lambda shoot: shoot.releases.flight(frame_id) is not None)
        if not waits and not any(isinstance(e, FrameMoved) and e.frame_id == frame_id for e in self.tape.since(mark)):
            self._told = self.tape.mark()
            raise CommandFailed(" ".join(self.sentences(mark)))
        moved = self.wait(FrameMoved, mark, FRAME_WITHIN_S, lambda e: e.frame_id == frame_id and e.state in AT_REST)
        if moved is None:
            raise CommandFailed(f"The frame came to nothing within {FRAME_WITHIN_S:g} s; look at the camera.")
        return moved

    def wait_for_judgement(self, frame_id: str) -> FrameJudged | None:
        """Wait for the judgement of a frame; None after too long a wait."""
        return self.wait(FrameJudged, 0, FRAME_WITHIN_S, lambda e: e.frame_id == frame_id)

    def wait_for_log(self, frame_id: str) -> bool:
        """Wait until the frame is wholly done."""
        done = self.wait(
            FrameMoved, 0, FRAME_WITHIN_S, lambda e: e.frame_id == frame_id and e.state is FrameState.LOGGED
        )
        return done is not None

    def all_done(self) -> bool:
        """Wait until no frame is under way, also of those that a body or an earlier run left."""
        return self._wait_until(lambda shoot: shoot.releases.all_done, FRAME_WITHIN_S)

    def accept(self, frame_id: str) -> None:
        """Take a frame as the set-up's reference for this piece."""
        self.open_shoot.post(AcceptReference(frame_id))
        self.ask(lambda shoot: None)

    def _wait_until(self, question: Callable[[Shoot], object], timeout_s: float) -> bool:
        """Wait until the answer is true, which is returned; the time in seconds is as of `wait`."""
        deadline_s = monotonic() + timeout_s
        while True:
            mark = self.tape.mark()
            if self.ask(question):
                return True
            if self.wait(object, mark, deadline_s - monotonic()) is None:
                return False
            if any(isinstance(event, CardBeingRead) for event in self.tape.since(mark)):
                deadline_s = monotonic() + timeout_s
            elif monotonic() >= deadline_s:
                return False

    def wait(
        self,
        kind: type[EventT],
        mark: int,
        timeout_s: float,
        wanted: Callable[[EventT], bool] = lambda event: True,
    ) -> EventT | None:
        """Wait as `Tape.wait` does, at most `timeout_s` seconds, and tell news meanwhile.

        While a folder of the card is read the time begins anew with each news of that.
        """
        deadline_s = monotonic() + timeout_s
        while True:
            news = self.tape.since(mark)
            for event in news:
                if isinstance(event, kind) and wanted(event):
                    return event
                if isinstance(event, CardBeingRead):
                    deadline_s = monotonic() + timeout_s
            self.tell()
            left_s = deadline_s - monotonic()
            if left_s <= 0:
                return None
            mark += len(news)
            self.tape.wait(object, mark, left_s)

    # --- words ------------------------------------------------------------------------------------

    def sentences(self, mark: int) -> list[str]:
        """The sentences said since `mark`, for a report; a sentence that an earlier one contains is left out."""
        said: list[str] = []
        for event in self.tape.since(mark):
            if isinstance(event, Spoken) and event.text and not any(event.text in earlier for earlier in said):
                said.append(event.text)
        return said

    def tell(self) -> None:
        """Say the news since the last telling: sentences, verdicts, settings that the camera refused.

        The reason why a frame was refused isn't said here, but by the method that asked for the frame.
        """
        if not self._telling:
            return
        news = self.tape.since(self._told)
        self._told += len(news)
        for event in news:
            match event:
                case FrameJudged():
                    self._say(verdict_line(event))
                case SettingsChanged(refused=refused):
                    for _, sentence in refused:
                        self._say(sentence)
                case Waiting():
                    self._tell_wait(event)
                case CameraBusy(frame_id=frame_id) if frame_id != self._busy_told:
                    self._busy_told = frame_id
                    self._say(f"Frame {event.number} fired; {busy_text(event)}.")
                case CardBeingRead(left_s=left_s) if left_s != 0:
                    self._tell_reading(event)
                case FrameMoved(state=FrameState.REFUSED):
                    continue
                case SeriesChanged(phase=SeriesPhase.RELEASING, plane_mm=float(plane_mm)):
                    self._tell_plane(event.series.plane(plane_mm))
                case Said(text) | CameraLost(text=text) | FrameMoved(text=text) if text:
                    self._say(text)

    def _tell_reading(self, read: CardBeingRead) -> None:
        """Say how far a folder of the card is read, now and then."""
        if monotonic() - self._reading_told_s >= TOLD_EVERY_S:
            self._reading_told_s = monotonic()
            self._say(card_text(read) if read.state is None else f"{folder_read_text(read.state, read)}.")

    def _tell_plane(self, plane: SeriesPlane) -> None:
        """Say which plane of a focus series is shot now, once for each."""
        if plane != self._plane_told:
            self._plane_told = plane
            name = plane.name
            self._say(f"{name[:1].upper()}{name[1:]} is being shot.")

    def _tell_wait(self, event: Waiting) -> None:
        """Say why a frame waits, once for each reason; a further delay for the same reason isn't news.

        A script asks for a frame when the one before is saved, so what only the camera knows is over in a moment, or
        has been said by the controller.
        """
        if event.until_s is None:
            return
        left_s = event.until_s - monotonic()
        if left_s > WORTH_TELLING_S and (event.number, event.reason) != self._wait_told:
            self._wait_told = event.number, event.reason
            self._say(f"Frame {event.number} waits {left_s:.1f} s: {event.reason}.")


@contextmanager
def headless(choices: Choices, say: Callable[[str], None], *, telling: bool = True) -> Iterator[Headless]:
    """An open shoot with nobody at it; at the end a frame under way is saved first. Raises as `OpenShoot` does.

    When the system ends the program, the frame is left on the card, which the log and one line then say.
    """
    open_shoot = OpenShoot(choices)
    run = Headless(open_shoot, say, telling=telling)
    open_shoot.start()
    at_once = False
    try:
        with ended_by_system():
            yield run
    except EndedBySystem:
        at_once = True
        raise
    except KeyboardInterrupt:
        if run.ask(lambda shoot: shoot.releases.in_camera is not None):
            say("A frame is under way; it is saved first.")
        raise
    finally:
        open_shoot.close(at_once=at_once)
        with suppress(OSError):  # whoever read what it says may be gone as well
            run.tell()


class EndedBySystem(KeyboardInterrupt):
    """The computer is switched off, or the terminal was closed."""


@contextmanager
def ended_by_system() -> Iterator[None]:
    """Have SIGTERM and SIGHUP raise `EndedBySystem` in this block; a second signal finds them ignored.

    A signal that is ignored already stays ignored: a shoot begun by `nohup` outlives its terminal.
    """
    numbers = [each for each in (signal.SIGTERM, signal.SIGHUP) if signal.getsignal(each) is not signal.SIG_IGN]

    def end(number: int, frame: object) -> None:
        for each in numbers:
            signal.signal(each, signal.SIG_IGN)
        raise EndedBySystem

    before = {number: signal.signal(number, end) for number in numbers}
    try:
        yield
    finally:
        for number, handler in before.items():
            if signal.getsignal(number) is end:
                signal.signal(number, handler)


def shoot_frames(
    run: Headless, frames: int, overrulings: Mapping[str, str], accept_first: bool, say: Callable[[str], None]
) -> tuple[list[FrameRecord], click.ClickException | None]:
    """Connect, and release so many frames; each is asked for as soon as the last is saved, not when it is judged.

    accept_first  take the first clean frame as the reference where the set-up has none
    Returns the frames that may have fired as the log has them in the end, and what ended it before its time.
    """
    taken: list[str] = []
    ended: click.ClickException | None = None
    try:
        run.connect()
        wanting = accept_first and not run.ask(lambda shoot: shoot.reference())
        for _ in range(frames):
            moved = run.release(overrulings)
            if moved.state is FrameState.REFUSED:
                raise (Stopped if stops(moved.findings, overrulings) else CommandFailed)(moved.text)
            taken.append(moved.frame_id)
            if moved.state in (FrameState.SAVED, FrameState.LOGGED):
                wanting = wanting and not _accept(run, moved, say)
            elif not run.wait_for_camera():
                raise CommandFailed(f"The camera stays away; {len(taken)} of {frames} frames were taken.")
    except (Stopped, CommandFailed) as error:
        ended = error
    run.all_done()
    run.tell()
    rows = [run.open_shoot.reader.frame(frame_id) for frame_id in taken]
    return [row for row in rows if row is not None], ended


def _accept(run: Headless, moved: FrameMoved, say: Callable[[str], None]) -> bool:
    """Accept a frame as the reference if the checks find no flaw. Returns whether it was accepted."""
    judged = run.wait_for_judgement(moved.frame_id)
    run.tell()
    if judged is None:
        return False
    flaw = flaw_of(judged.findings)
    if flaw:
        say(f"Frame {moved.number}: {flaw_words(flaw)}. It isn't the reference; the first clean one will be.")
        return False
    run.accept(moved.frame_id)
    say(f"Frame {moved.number} is the set-up's reference from now on.")
    return True


def measure_ambient(run: Headless) -> tuple[FrameRecord | None, click.ClickException | None]:
    """Connect, and release one frame with the lights off, which somebody has made sure of.

    Returns the frame as the log has it in the end, and why the ambient light isn't known from it.
    """
    moved, ended = None, None
    try:
        run.connect()
        moved = run.measure_ambient()
        if moved.state is FrameState.REFUSED:
            raise Stopped(moved.text) if stops(moved.findings, {}) else CommandFailed(moved.text)
        run.all_done()
        judged = (
            run.wait_for_judgement(moved.frame_id) if moved.state in (FrameState.SAVED, FrameState.LOGGED) else None
        )
        if judged is None:
            raise CommandFailed(f"Frame {moved.number} was not judged; the ambient light is not known from it.")
        room = next((finding for finding in judged.findings if finding.id == CheckId.AMBIENT_LIGHT), None)
        if room is None or room.value is None:
            raise CommandFailed(room.text if room else " ".join(finding.text for finding in judged.findings))
    except (Stopped, CommandFailed) as error:
        ended = error
    run.tell()
    return (run.open_shoot.reader.frame(moved.frame_id) if moved else None), ended


def verdict_line(judged: FrameJudged) -> str:
    """`Frame 3: missed, blur radius 5.1 px, limit 1.0 px, 0.8 mm off, sharper at the left — …` for the report.

    What the checks found about anything but the focus stands behind the dash, in their own words.
    """
    focus = judged.focus
    words = [focus_words(focus.verdict)]
    if focus.verdict is FocusVerdict.UNJUDGED and focus.reason:
        words.append(focus.reason)
    if focus.blur_px is not None:
        limit_px = next((found.limit for found in judged.findings if found.id == CheckId.FOCUS), None)
        words += [f"blur radius {px_text(focus.blur_px)}", *([f"limit {px_text(limit_px)}"] if limit_px else [])]
    if focus.verdict is not FocusVerdict.SHARP:
        words += [f"{mm_text(focus.defocus_mm)} off"] if focus.defocus_mm is not None else []
        words += [f"sharper {place_text(focus.sharpest_at)}"] if focus.sharpest_at else []
    rest = (found for found in judged.findings if found.id != CheckId.FOCUS)
    others = [found.text for found in rest if found.level is not Level.NOTE or found.id == CheckId.AMBIENT_LIGHT]
    return f"Frame {judged.number}: " + ", ".join(words) + ("" if not others else " — " + " ".join(others))
