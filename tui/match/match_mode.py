"""The steps of a reshoot under keys: the one that the hands are at, confirmed or skipped, measured anew by each frame.

What was said and measured is read from the log in the background, so that a reshoot goes on where it was left, the next
day too. Frames alone are enough; live view adds what it sees meanwhile.
"""

from __future__ import annotations

from functools import partial

from textual.content import Content

from session.frame.ports import LogError
from session.frame.states import ENDED
from session.frame.step_said import StepWord
from session.match.reshoot_steps import Reshoot, ReshootStep, next_step
from session.set.set_cautions import set_hazards
from session.shoot.acts import SayOfStep, TellWhenDone
from session.units.refusals import UnreadableTextError
from tui.bench.mode import BenchPort, Draft
from tui.match.match_look import MatchLook, look
from tui.screen.background import Then
from tui.screen.panels import CHOSEN, QUIET, cut, heading
from tui.words.harmless import harmless
from tui.words.headline import Headline, Tone
from tui.words.keys import Where
from tui.words.match_words import end_headline, state_words, step_headline
from tui.words.model import Phase

AT_REST = frozenset({Phase.READY, Phase.JUDGED, Phase.REFERENCE})
"""Phases in which the large line tells of the steps; in all others it tells of the frame under way, or of a stop."""

STEPS = "steps"
"""What is read once all that was asked before is done."""


class MatchMode(Draft):
    """The steps of one reshoot, and which of them is on show."""

    where = Where.MATCH

    def __init__(self, bench: BenchPort, reshoot: Reshoot) -> None:
        super().__init__(bench)
        self._reshoot = reshoot
        self._seen: object = None
        self._at: int | None = None
        self._measured: object = None
        self._measuring = False
        self.found = MatchLook()
        self.hazards = set_hazards(reshoot.revision)

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
        if self._measuring and self.found.steps:
            return Headline("MEASURING", "The frame is being compared with the reference.", Tone.BUSY)
        if not self.found.steps:
            return Headline("READING", "What the log has of this set-up is being read.", Tone.BUSY)
        if self._here is None:
            return end_headline(self.found.steps)
        return step_headline(self.found.steps, self._here)

    # --- what the log has -------------------------------------------------------------------------

    def look(self, *, anew: bool = False) -> None:
        """Have log and frames read when a frame came to rest or the camera's settings changed; `anew`: in any case."""
        model, app = self._bench.model, self._bench.app
        reader, place = app.reader, model.place
        frames = {(frame.frame_id, frame.focus is not None) for frame in model.released if frame.state in ENDED}
        reading = model.reading if model.description else None
        now = (place, frames, reading)
        if reader is None or place is None or (now == self._seen and not anew):
            return
        self._seen = now
        reshoot, kit, at = self._reshoot, app.kit, app.clock.now()
        known = self.found.measured if self._measured == (place, frames) else None
        self._measuring = known is None

        def work() -> Then:
            try:
                return partial(self._read, look(reader, place, reshoot, kit, reading, at, known), (place, frames))
            except LogError as error:
                return partial(self._fail, str(error))

        app.in_background(work, STEPS)

    def _fail(self, sentence: str) -> None:
        self._measuring = False
        self._bench.say(sentence)

    def _read(self, found: MatchLook, measured: object) -> None:
        before, self.found, self._measured, self._measuring = self.here, found, measured, False
        if self._at is not None and (self._at >= len(found.steps) or self._was_settled_now(before)):
            self._at = None
        self._bench.repaint()

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
