"""A substitute is chosen for a step's thing: what the kit has for it, and what each would change for the same picture.

What is chosen is said of the reshoot, in the log, and the arrangement in force takes its values: the camera is set, and
powers and distances are those to put up.
"""

from __future__ import annotations

from textual.content import Content

from session.frame.step_said import StepWord
from session.match.match_steps import light_of_step
from session.match.reshoot_steps import Reshoot, ReshootStep
from session.match.substitutes import SubstitutedSet, Substitutes, changes_to, choices_for, with_substitutes, words_for
from session.shoot.acts import Revise, SayOfStep, TellWhenDone
from tui.bench.mode import BenchPort, Draft
from tui.screen.ledger_text import HERE_SIGN
from tui.screen.panels import CHOSEN, cut, heading
from tui.shell.match_look import MatchLook
from tui.words.harmless import harmless
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, hint
from tui.words.match_words import substitute_words


class InsteadMode(Draft):
    """The choices for one step, and the one on show."""

    where = Where.INSTEAD

    def __init__(self, bench: BenchPort, reshoot: Reshoot, look: MatchLook, one: ReshootStep, told: str) -> None:
        """told: name of what is read once the choice stands in the log, see `TellWhenDone`"""
        super().__init__(bench)
        self._reshoot, self._look, self._step, self._told = reshoot, look, one.step, told
        self._choices = choices_for(one.step.key, reshoot.revision, bench.kit, look.instead)
        self._at = self._choices.index(look.instead) if look.instead in self._choices else 0

    def panel(self, width: int, height: int) -> list[Content]:
        lines = [heading("IN ITS PLACE", f"{self._at + 1} of {len(self._choices)}")]
        room = max(1, height - 1)
        first = max(0, min(len(self._choices) - room, self._at - room // 2))
        for n, choice in enumerate(self._choices[first : first + room], first):
            sign = HERE_SIGN if n == self._at else " "
            text = cut(f"{sign}{harmless(self._words(choice), 80)}", width)
            lines.append(Content.styled(text, CHOSEN if n == self._at else ""))
        return lines

    def headline(self) -> Headline:
        name = harmless(self._step.name, 40)
        keys = f"{hint(Where.INSTEAD, 'keep')}, {hint(Where.INSTEAD, 'cancel')}"
        return Headline(f"OTHER {name.upper()}", f"{self._words(self._choices[self._at])}: {keys}", Tone.GO)

    def values(self) -> list[tuple[str, str]]:
        """What was recorded, and what the choice on show changes, each with a heading."""
        found = self._with(self._choices[self._at])
        changes = found if isinstance(found, str) else "; ".join(found.told.get(self._step.key, ()))
        return [("recorded", self._step.recorded), ("instead", changes or "nothing: as it was recorded")]

    def _words(self, choice: Substitutes) -> str:
        light = light_of_step(self._step.key, self._reshoot.revision)
        return substitute_words(choice, self._reshoot.revision, light)

    def _with(self, choice: Substitutes) -> SubstitutedSet | str:
        """The set-up with a choice; a sentence where the kit doesn't tell enough."""
        try:
            return with_substitutes(self._reshoot.revision, self._bench.kit, self._look.body_then, choice)
        except ValueError as error:
            return str(error)

    # --- keys -------------------------------------------------------------------------------------

    def act_line(self, key: str) -> None:
        self._at = (self._at + (1 if key == "down" else -1)) % len(self._choices)
        self._bench.repaint()

    def act_keep(self, key: str) -> None:
        bench, choice = self._bench, self._choices[self._at]
        found = self._with(choice)
        if isinstance(found, str):
            bench.say(f"It can't be taken: {found}.")
            return
        bench.model.begin_act()
        in_force, before = bench.model.revision, self._look.wanted or self._reshoot.revision
        if in_force is not None and (changes := changes_to(in_force, before, found.revision)):
            bench.post(Revise(changes))
        old, new = words_for(self._look.instead), words_for(choice)
        for about in dict.fromkeys((*old, *new)):
            if old.get(about) != new.get(about):
                word = StepWord.INSTEAD if about in new else None
                bench.post(SayOfStep(self._reshoot.revision_id, about, word, new.get(about, "")))
        bench.post(TellWhenDone(self._told))
        bench.begin(None)
