"""The steps of a reshoot under keys: the one that the hands are at, confirmed or skipped, measured anew by each frame.

What was said and measured is read from the log in the background, so that a reshoot goes on where it was left, the next
day too. Frames alone are enough; live view adds its own measurements.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial

from textual.content import Content

from session.frame.ports import LogError
from session.frame.states import ENDED
from session.frame.step_said import StepWord
from session.match.match_steps import light_of_step
from session.match.reshoot_steps import Reshoot, ReshootStep, next_step
from session.match.solo_series import SeriesStep, StepKind, has_series
from session.match.substitutes import Substitutes, changes_to, choices_for
from session.set.set_cautions import set_hazards
from session.set.setup import same_arrangement
from session.shoot.acts import AskRelease, Revise, SayOfStep, TellWhenDone
from session.units.refusals import UnreadableTextError
from tui.bench.mode import BenchPort, Draft
from tui.bench.release_keys import ask_overruling
from tui.match.instead_mode import InsteadMode
from tui.screen.background import Then
from tui.screen.panels import CHOSEN, QUIET, cut, heading
from tui.shell.match_look import MatchLook, MatchMemory, look
from tui.shell.terminal import OWN_MISTAKE, write_down
from tui.words.harmless import harmless
from tui.words.headline import Headline, Tone
from tui.words.keys import Where
from tui.words.match_words import end_headline, state_words, step_headline
from tui.words.model import AT_REST
from tui.words.solo_words import step_headline as switch_headline

CAMERA_KEY = "camera"
"""Key of the camera's step."""

TOGETHER_KEY = "together"
"""Key of the step of all lights."""

STEPS = "steps"
"""What is read once all that was asked before is done."""

AGAIN_S = 5.0
"""Time after which a log that couldn't be read is read again. Chosen: a disk that is busy or woken takes as long."""


class MatchMode(Draft):
    """The steps of one reshoot, and the place of the step on show."""

    where = Where.MATCH

    def __init__(self, bench: BenchPort, reshoot: Reshoot, memory: MatchMemory) -> None:
        super().__init__(bench)
        self._reshoot = reshoot
        self._memory = memory
        self._seen: object = None
        self._at: int | None = None
        self._broken: object = None
        self._readings = 0
        self._failed = ""
        self._again_at_s: float | None = None
        self.hazards = set_hazards(reshoot.revision)

    @property
    def found(self) -> MatchLook:
        """What was found last, also before the screen was left."""
        return self._memory.found

    @property
    def here(self) -> ReshootStep | None:
        """The step on show: the chosen one, else the next one to do; None before the log was read, and when all are
        settled."""
        at = self._here
        return self.found.steps[at] if at is not None else None

    @property
    def _here(self) -> int | None:
        return self._at if self._at is not None else next_step(self.found.steps)

    def panel(self, width: int, height: int) -> list[Content]:
        steps, here = self.found.steps, self._here
        settled = sum(one.is_settled for one in steps)
        room = max(1, height - 1)
        first = max(0, min(len(steps) - room, (here or 0) - room // 2))
        lines = [heading("STEPS", f"{settled} of {len(steps)} done")]
        for n, one in enumerate(steps[first : first + room], first):
            words = state_words(one)
            name = cut(harmless(one.step.name, 60), max(8, width - len(words) - 2))
            style = CHOSEN if n == here else QUIET if one.is_settled else ""
            lines.append(Content.styled(f"{name:<{max(1, width - len(words) - 1)}} {words}"[:width], style))
        return lines

    def headline(self) -> Headline | None:
        """What the hands are at; None while a frame is under way, or a rule says stop."""
        if self._bench.model.phase() not in AT_REST:
            return None
        if self._failed:
            return Headline("NOT READ", self._failed, Tone.CAUTION)
        if self._memory.measures and self.found.steps:
            return Headline("MEASURING", "The frame is being compared with the reference.", Tone.BUSY)
        if not self.found.steps:
            return Headline("READING", "What the log has of this set-up is being read.", Tone.BUSY)
        if self._here is None:
            return end_headline(self.found.steps, self._reshoot.revision.label)
        return step_headline(self.found.steps, self._here, self._switch_headline())

    # --- a light alone ----------------------------------------------------------------------------

    @property
    def _series_step(self) -> SeriesStep | None:
        """The frame that space releases at the step on show, where lights are switched for it; None elsewhere.

        At a light's step it is the light alone, or first ambient alone, where that is in both solos and due.
        """
        one, revision = self.here, self._bench.model.revision
        if one is None or revision is None or not has_series(revision):
            return None
        if one.step.key == TOGETHER_KEY:
            return SeriesStep(StepKind.TOGETHER)
        light = light_of_step(one.step.key, revision)
        solo = self.found.measured.solos.get(light)
        if solo is not None and solo.ambient_due:
            return SeriesStep(StepKind.AMBIENT)
        return SeriesStep(StepKind.SOLO, light) if light else None

    def _switch_headline(self) -> Headline | None:
        """What the hands switch before the frame of the step on show."""
        step, revision = self._series_step, self._bench.model.revision
        return switch_headline(step, [light.name for light in revision.lights]) if step and revision else None

    def act_release(self, key: str) -> None:
        self._release({})

    def act_overrule(self, key: str) -> None:
        ask_overruling(self._bench, self._release)

    def _release(self, overrulings: Mapping[str, str]) -> None:
        """Ask for a frame: of a light alone at a light's step, or of ambient alone, else of all lights."""
        self._bench.model.release_asked()
        step = self._series_step or SeriesStep(StepKind.TOGETHER)
        is_ambient = step.kind is StepKind.AMBIENT
        alone = is_ambient or bool(step.light)
        self._bench.post(AskRelease(overrulings, ambient=is_ambient, solo=step.light, in_series=alone))
        self._bench.repaint()

    # --- what the log has -------------------------------------------------------------------------

    def look(self, *, anew: bool = False) -> None:
        """Have log and frames read when a frame came to rest, a mark, the reference or the camera's settings changed,
        or when a log that couldn't be read is due again; `anew`: in any case. One reading goes on at a time, also where
        the screen was left and opened again meanwhile.
        """
        model, app = self._bench.model, self._bench.app
        reader, place = app.reader, model.place
        frames = {(one.frame_id, one.focus is not None, one.mark) for one in model.released if one.state in ENDED}
        shot = (place, frames, model.reference_id)
        reading = model.reading if model.description else None
        camera = model.description
        body_now = app.kit.connected_body(camera.serial, camera.model) if camera else None
        now = (shot, reading, body_now)
        is_due = self._again_at_s is not None and app.clock.monotonic_s() >= self._again_at_s
        if reader is None or place is None or (now == self._seen and not anew and not is_due):
            return
        memory = self._memory
        if memory.reads:
            self._seen = None if anew else self._seen
            return
        memory.reads, memory.measures = True, shot not in (memory.shot, self._broken)
        self._seen, memory.shot, self._again_at_s = now, shot, None
        reshoot, kit, at = self._reshoot, app.kit, app.clock.now()
        measures = shot != self._broken

        def work() -> Then:
            try:
                found = look(reader, place, reshoot, kit, reading, at, memory, measures, body_now)
                return partial(self._read, found)
            except LogError as error:
                return partial(self._fail, str(error))
            except Exception as error:  # noqa: BLE001 — the edge: our own mistake is written down and said
                write_down(error)
                app.own_mistake(OWN_MISTAKE)
                return partial(self._err, shot)

        self._readings += (
            1  # a group of its own: one that hands over its outcome, and isn't at its end, isn't cancelled
        )
        app.in_background(work, f"{STEPS} {self._readings}")

    def _fail(self, sentence: str) -> None:
        """The log couldn't be read: say so, and try again by and by."""
        self._memory.reads = self._memory.measures = False
        self._failed = f"{sentence} It is read again by itself."
        self._again_at_s = self._bench.app.clock.monotonic_s() + AGAIN_S
        self._bench.repaint()

    def _err(self, shot: object) -> None:
        """What was shot couldn't be measured, by a mistake of ours: read without it what was said of the steps."""
        first, self._broken = shot != self._broken, shot
        self._memory.reads = self._memory.measures = False
        self._failed = OWN_MISTAKE
        if first:
            self.look(anew=True)
        self._bench.repaint()

    def _read(self, found: MatchLook) -> None:
        before, self._memory.found = self.here, found
        self._memory.reads = self._memory.measures = False
        self._failed = ""
        if self._at is not None and (self._at >= len(found.steps) or self._was_settled_now(before)):
            self._at = None
        if not self._memory.went_on:
            self._memory.went_on = True
            self._go_on_with_substitutes()
        self._bench.repaint()

    def _go_on_with_substitutes(self) -> None:
        """The set-up was put in force as it was recorded: put in force what was said to stand in its things' places."""
        if replace(self.found.instead, body="") == Substitutes():
            return
        in_force = self._bench.model.revision
        if in_force is not None and same_arrangement(in_force, self._reshoot.revision):
            self._take_values()

    def _take_values(self) -> bool:
        """Put the values for the substitutes in force; False where they are."""
        in_force, wanted = self._bench.model.revision, self.found.wanted
        changes = changes_to(in_force, self._reshoot.revision, wanted) if in_force and wanted else {}
        if changes:
            self._bench.post(Revise(changes))
        return bool(changes)

    # --- substitutes ------------------------------------------------------------------------------

    @property
    def may_exchange(self) -> bool:
        """Something of the kit may stand in the place of the thing of the step on show; another body does."""
        one = self.here
        if one is None:
            return False
        if one.step.key == CAMERA_KEY:
            return bool(self.found.instead.body)
        return len(choices_for(one.step.key, self._reshoot.revision, self._bench.kit, self.found.instead)) > 1

    def act_instead(self, key: str) -> None:
        one = self.here
        if one is None:
            return
        if one.step.key != CAMERA_KEY:
            self._bench.begin(InsteadMode(self._bench, self._reshoot, self.found, one, STEPS))
            return
        self._bench.model.begin_act()
        if not self._take_values():
            self._bench.say(f"The values for {harmless(self.found.instead.body, 40)} are in force.")

    def act_no_instead(self, key: str) -> None:
        self._bench.say("Lens and lights can have a substitute of the kit; another body is seen once it is connected.")

    def _was_settled_now(self, before: ReshootStep | None) -> bool:
        here = self.here
        return before is not None and here is not None and here.is_settled and not before.is_settled

    # --- keys -------------------------------------------------------------------------------------

    def act_line(self, key: str) -> None:
        count = len(self.found.steps)
        if count:
            here = self._here if self._here is not None else -1 if key == "down" else 0
            self._at = (here + (1 if key == "down" else -1)) % count
            self._bench.repaint()

    def act_confirm(self, key: str) -> None:
        one = self.here
        if one is None:
            return
        if one.said is not None:
            self._say(one, None)
        elif one.may_be_confirmed:
            self._say(one, StepWord.CONFIRMED)
        elif one.is_settled:
            self._bench.say(f"{_capital_name(one)} matches by itself; there is nothing to confirm.")
        else:
            self._bench.say(f"{_capital_name(one)} was measured as off: mend it, or skip it with the reason.")

    def act_skip(self, key: str) -> None:
        one = self.here
        if one is None:
            return

        def take(reason: str) -> None:
            if not reason:
                raise UnreadableTextError("skipping takes a reason; it is logged")
            self._say(one, StepWord.SKIPPED, reason)

        self._bench.ask(f"skip {harmless(one.step.name, 40)}, because", take)

    def _say(self, one: ReshootStep, word: StepWord | None, reason: str = "") -> None:
        self._bench.model.begin_act()
        self._bench.post(SayOfStep(self._reshoot.revision_id, one.step.key, word, reason))
        self._bench.post(TellWhenDone(STEPS))
        self._bench.repaint()


def _capital_name(one: ReshootStep) -> str:
    name = harmless(one.step.name, 40)
    return f"{name[:1].upper()}{name[1:]}"
