"""The bench as lines, for a screen reader: `stillset shoot --plain`.

The same screens run behind it and take the same keys; nothing of them is painted. Their contents are printed as plain
sentences after each change: the state, the sentence about the state, the findings by level, the lines of a mode or
another screen, and the keys. No block letters, boxes, pictures or control sequences. Numbers that run by themselves (a
wait, the focus in live view) are not repeated while they run; ctrl-l says all that holds now.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from typing import TextIO

from textual.binding import Binding
from textual.content import Content
from textual.driver import Driver
from textual.drivers.linux_driver import LinuxDriver
from textual.screen import Screen
from textual.widgets import Input, Label, Static

from session.frame.finding import Finding
from tui.app.stillset_app import StillsetApp
from tui.bench.bench_screen import BenchScreen
from tui.screen.keyed import KeyedScreen
from tui.screen.ledger_text import HERE_SIGN
from tui.screen.panel import LargeLine, Panel
from tui.screen.prompt import Prompt
from tui.words.harmless import harmless
from tui.words.keys import rows_to_show
from tui.words.wording import sentences

COLUMNS, ROWS = 160, 60
"""The size that the screens are made for, whatever the terminal's: the whole contents, and nothing cut."""

LOOKS_EVERY_S = 0.2
MOST_KEYS = 8
"""Most keys told of those that matter now; `?` tells all keys."""

DRAWN = re.compile("[\u2500-\u259f\u2800-\u28ff\u25c2]+")
"""Box drawing, block elements and braille patterns of Unicode, and the sign beside the frame shown."""

FREE_RUNNING = re.compile(r"[-−]?\d+(?:[.,]\d+)?")

Part = tuple[str, list[str]]
"""Name of a part of the screen, and its lines."""


class SilentDriver(LinuxDriver):
    """Takes keys from the terminal, and writes nothing to it."""

    def write(self, data: str) -> None:
        return


class PlainApp(StillsetApp):
    """Says what the screens hold."""

    BINDINGS = [Binding("ctrl+l", "say_all", priority=True, show=False)]  # noqa: RUF012
    out: TextIO = sys.stdout

    def get_driver_class(self) -> type[Driver]:
        return SilentDriver

    def on_mount(self) -> None:
        self._said: dict[str, list[str]] = {}
        self._on: Screen[object] | None = None
        self._echoed: str | None = None
        self.set_interval(LOOKS_EVERY_S, self._say_news)

    def bell(self) -> None:
        self._write("\a")

    def action_say_all(self) -> None:
        """Say all that holds now."""
        self._said.clear()
        self._say_news()

    def _say_news(self) -> None:
        if not self.screen.query("#keys"):  # not composed yet
            return
        if self.screen is not self._on:
            self._on, self._said = self.screen, {}
        for name, lines in parts(self.screen, self.clock.monotonic_s()):
            before = self._said.get(name)
            if before is not None and _likeness(name, lines) == _likeness(name, before):
                continue
            self._said[name] = lines
            new = [line for line in lines if line not in (before or ())]
            if not lines and before:
                new = [f"{name}: none"]
            if new:
                self._end_typing()
            for line in new:
                self._write(f"{line}\n")
        self._echo()

    def _echo(self) -> None:
        """Print the line being typed, letter by letter."""
        prompt = next(iter(self.screen.query(Prompt)), None)
        if prompt is None or not prompt.is_open:
            self._end_typing()
            return
        value = harmless(prompt.query_one(Input).value, 2000)
        if self._echoed is None:
            self._write(f"{plain(prompt.query_one(Label).content)}: {value}")
        elif value.startswith(self._echoed):
            self._write(value[len(self._echoed) :])
        elif value != self._echoed:
            self._write(f"\n{value}")
        self._echoed = value

    def _end_typing(self) -> None:
        if self._echoed is not None:
            self._echoed = None
            self._write("\n")

    def _write(self, text: str) -> None:
        self.out.write(text)
        self.out.flush()


def parts(screen: Screen[object], now_s: float) -> Iterator[Part]:
    """The parts of the screen at `now_s` seconds, in reading order."""
    if isinstance(screen, BenchScreen):
        yield from _bench_parts(screen, now_s)
    else:
        for widget in screen.query("LargeLine, Panel, Static"):
            if isinstance(widget, LargeLine):
                yield "state", [harmless(widget.text)]
            elif isinstance(widget, Panel) and widget.id != "keys":
                yield str(widget.id), lines_of(widget.content)
            elif isinstance(widget, Static) and not isinstance(widget, Label):
                yield "text", [line for line in plain(widget.content).splitlines() if line]
    if isinstance(screen, KeyedScreen):
        keys = rows_to_show(screen.where, screen.facts())
        words = screen.key_words()
        named = [f"{key.cap} {harmless(words.get(key.act, key.word), 60)}" for key in keys[:MOST_KEYS]]
        yield "keys", [f"keys: {', '.join(named)}"] if named else []


def _bench_parts(screen: BenchScreen, now_s: float) -> Iterator[Part]:
    model = screen.model
    yield "place", lines_of(screen.query_one("#place", Panel).content)
    yield "settings", [", ".join(lines_of(screen.query_one("#exposure", Panel).content))]
    yield "state", [harmless(screen.query_one(LargeLine).text)]
    yield "said", [harmless(text, 600) for text in sentences(model, now_s)]
    checks = model.frame.checks if model.frame else ()
    yield "findings", [finding_line(finding) for finding in (*model.rules, *checks)]
    panel = screen.mode.panel(COLUMNS // 2, ROWS) if screen.mode else []
    yield "changing", [line for content in panel for line in lines_of(content)]
    yield "hint", lines_of(screen.query_one("#hint", Panel).content)


def finding_line(finding: Finding) -> str:
    """`caution: blur 2.2 px … Remedy: turn back a third.`"""
    remedy = f" Remedy: {finding.remedy.text}." if finding.remedy and finding.remedy.text else ""
    return harmless(f"{finding.level.value}: {finding.text}{remedy}", 600)


def lines_of(content: Content) -> list[str]:
    """The lines without what is drawn; the one that keys would act on is named as chosen."""
    lines = []
    for line in content.split("\n"):
        text = plain(line)
        if text:
            chosen = any("reverse" in str(span.style) for span in line.spans)
            lines.append(f"chosen: {text.removeprefix(HERE_SIGN)}" if chosen else text)
    return lines


def plain(content: object) -> str:
    """The text without boxes, blocks and columns."""
    text = content.plain if isinstance(content, Content) else str(content)
    return "\n".join(" ".join(DRAWN.sub(" ", line).split()) for line in text.splitlines())


def _likeness(name: str, lines: list[str]) -> list[str]:
    """The part of a text that is worth saying again after a change: of the state the words, since its numbers run."""
    return [FREE_RUNNING.sub("#", line) for line in lines] if name == "state" else lines
