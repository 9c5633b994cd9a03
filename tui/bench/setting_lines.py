"""The settings that can be changed at the bench: a line for each, and the mode whose keys change a draft of them.

A line has a setting's text, its next values, and how it is read when typed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from textual.content import Content

from session.frame.camera_messages import Reading
from session.set.kit import Kit
from session.set.setup import Confirmation, Revision
from session.shoot.acts import Revise
from session.units.file_kinds import FORMATS
from session.units.marked_values import STEPS_PER_EV
from session.units.quantities import is_quantity
from session.units.refusals import UnreadableTextError
from session.units.value_words import name_words, value_words
from tui.bench.mode import BenchPort, Draft
from tui.screen.ledger_text import HERE_SIGN
from tui.screen.panels import CHOSEN, cut, hanging_lines, heading
from tui.words.adjust import beside, number_in
from tui.words.harmless import harmless
from tui.words.keys import Where

Value = float | str

TIMES_S = tuple(2 ** (step / STEPS_PER_EV) for step in range(-12 * STEPS_PER_EV, 5 * STEPS_PER_EV + 1))
F_NUMBERS = tuple(2 ** (step / (2 * STEPS_PER_EV)) for step in range(1 * STEPS_PER_EV, 10 * STEPS_PER_EV + 1))
ISO_SPEEDS = tuple(float(100 * 2**stop) for stop in range(8))
"""Offered where the camera doesn't say what it takes: the true values behind the marked series, 1/4096 s to
32 s, f/1.4 to f/32, ISO 100 to 12,800."""

HOLD_OFFS_S = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 20.0)
BLUR_LIMITS_PX = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
MAGNIFICATIONS = (0.1, 0.15, 0.2, 0.25, 1 / 3, 0.5, 2 / 3, 0.75, 1.0, 1.25, 1.5, 2.0, 3.0, 4.0, 5.0)
"""Steps for the keys; anything else can be typed. Chosen."""


@dataclass(frozen=True)
class SettingLine:
    """One setting of the set-up.

    name      the field's
    group     the part of the revision that it belongs to: "settings", "arrangement", or "" for itself
    otherwise what is offered where camera and kit say nothing
    """

    name: str
    group: str
    otherwise: Sequence[Value] = ()

    @property
    def label(self) -> str:
        """The setting's name for people."""
        return name_words(self.name)

    def from_typed(self, text: str) -> Value:
        """A value from typed text. Raises ValueError with a sentence."""
        return number_in(text, self.name) if is_quantity(self.name) else text.strip()

    def text(self, revision: Revision) -> str:
        """The value as it reads."""
        value = self._value(revision)
        return "not said" if value in (None, "") else value_words(self.name, value)

    def step(self, revision: Revision, steps: int, reading: Reading, kit: Kit) -> Revision:
        """The next lower or higher value on offer; unchanged when nothing is on offer."""
        offered, value = self._values_on_offer(reading, kit), self._value(revision)
        if not offered:
            return revision
        return self.with_value(revision, offered[0] if value is None else beside(value, offered, steps), kit)

    def with_value(self, revision: Revision, value: Value, kit: Kit) -> Revision:
        """The revision with this value; a lens brings its focal length and pupil magnification from the kit."""
        changes: dict[str, Any] = {self.name: int(value) if self.name == "iso" else value}
        lens = kit.lens_for(str(value)) if self.name == "lens" else None
        if lens is not None:
            changes |= {"focal_length_mm": lens.focal_length_mm, "pupil_magnification": lens.pupil_magnification}
        if not self.group:
            return replace(revision, **changes)
        part: Any = replace(getattr(revision, self.group), **changes)
        return replace(revision, **{self.group: part})

    def _value(self, revision: Revision) -> Value | None:
        part = getattr(revision, self.group) if self.group else revision
        value: Value | None = getattr(part, self.name)
        return value

    def _values_on_offer(self, reading: Reading, kit: Kit) -> Sequence[Value]:
        if self.name in ("lens", "support"):
            return [thing.name for thing in (kit.lens if self.name == "lens" else kit.support)]
        setting = reading.settings.get(self.name)
        allowed = [value for value in (setting.allowed if setting else ()) if not isinstance(value, bool)]
        numbers = sorted(value for value in allowed if not isinstance(value, str) and value > 0)
        return numbers or [value for value in allowed if isinstance(value, str)] or self.otherwise


@dataclass(frozen=True)
class ConfirmedLine:
    """Something that the photographer confirms with the set-up, or not, as one of two words."""

    label: str
    said: str
    without: str
    confirmed: str

    group = ""
    name = "confirmed"

    def text(self, revision: Revision) -> str:
        """The word that holds now."""
        return self.confirmed if self.said in revision.confirmed else self.without

    def step(self, revision: Revision, steps: int, reading: Reading, kit: Kit) -> Revision:
        """The other word."""
        return self.with_value(revision, self.without if self.said in revision.confirmed else self.confirmed, kit)

    def from_typed(self, text: str) -> Value:
        """One of the two words. Raises ValueError with a sentence."""
        for word in (self.without, self.confirmed):
            if word.startswith(text.strip().casefold() or " "):
                return word
        raise UnreadableTextError(f"{self.label} is {self.without} or {self.confirmed}, not {text!r}")

    def with_value(self, revision: Revision, value: Value, kit: Kit) -> Revision:
        """The revision with it confirmed or not."""
        others = tuple(said for said in revision.confirmed if said != self.said)
        return replace(revision, confirmed=(*others, self.said) if value == self.confirmed else others)


LINES: tuple[SettingLine | ConfirmedLine, ...] = (
    SettingLine("exposure_s", "settings", TIMES_S),
    SettingLine("f_number", "settings", F_NUMBERS),
    SettingLine("iso", "settings", ISO_SPEEDS),
    SettingLine("white_balance", "settings"),
    SettingLine("file_format", "settings", tuple(FORMATS)),
    SettingLine("lens", "arrangement"),
    SettingLine("magnification", "arrangement", MAGNIFICATIONS),
    SettingLine("hold_off_s", "", HOLD_OFFS_S),
    ConfirmedLine("release waits", Confirmation.BY_STILLNESS, "for the timer", "for stillness"),
    ConfirmedLine("focus drive", Confirmation.FOCUS_LOCKED, "free", "locked"),
    SettingLine("blur_limit_px", "", BLUR_LIMITS_PX),
    SettingLine("depth_needed_mm", ""),
    SettingLine("ambient_ev", ""),
    SettingLine("support", ""),
    SettingLine("working_distance_mm", ""),
    SettingLine("camera_height_mm", ""),
    SettingLine("view_down_deg", "", tuple(range(0, 95, 5))),
    SettingLine("view_around_deg", ""),
)


LABEL_COLUMNS = max(len(line.label) for line in LINES)


class SettingsMode(Draft):
    """Exposure time, aperture, ISO and the rest of the set-up's numbers, one a line."""

    where = Where.SETTINGS

    def __init__(self, bench: BenchPort) -> None:
        assert bench.model.revision is not None
        super().__init__(bench)
        self._before = self._draft = bench.model.revision
        self._at = 0

    def panel(self, width: int, height: int) -> list[Content]:
        here = f"{HERE_SIGN}{self._line_text(LINES[self._at])}"
        chosen = hanging_lines(here, width, LABEL_COLUMNS + 4)[: max(1, height - 1)]
        room = max(1, height - len(chosen))  # the chosen one in full, the others cut
        first = max(0, min(len(LINES) - room, self._at - room // 2))  # the chosen one always stands in the panel
        shown = LINES[first : first + room]
        part = f"lines {first + 1} to {first + len(shown)} of {len(LINES)}"
        whole = len(shown) == len(LINES)
        lines = [heading("SETTINGS", f"of set-up {self._draft.label}" if whole else part)]
        for i, line in enumerate(shown, first):
            if i == self._at:
                lines += [Content.styled(row, CHOSEN) for row in chosen]
            else:
                lines.append(Content(cut(f" {self._line_text(line)}", width)))
        return lines

    def _line_text(self, line: SettingLine | ConfirmedLine) -> str:
        changed = line.text(self._draft) != line.text(self._before)
        return f"{line.label:<{LABEL_COLUMNS}} {'*' if changed else ' '} {harmless(line.text(self._draft), 60)}"

    def act_line(self, key: str) -> None:
        self._at = (self._at + (1 if key == "down" else -1)) % len(LINES)
        self._bench.repaint()

    def act_change(self, key: str) -> None:
        steps = 1 if key == "right" else -1
        self._draft = LINES[self._at].step(self._draft, steps, self._bench.model.reading, self._bench.kit)
        self._bench.repaint()

    def act_type(self, key: str) -> None:
        line = LINES[self._at]

        def take(text: str) -> None:
            self._draft = line.with_value(self._draft, line.from_typed(text), self._bench.kit)
            self._bench.repaint()

        self._bench.ask(line.label, take)

    def act_keep(self, key: str) -> None:
        draft = self._draft
        if draft != self._before:
            changed: dict[str, Any] = {
                name: getattr(draft, name) for name in (line.group or line.name for line in LINES)
            }
            self._bench.post(Revise(changed))
        self._bench.begin(None)
