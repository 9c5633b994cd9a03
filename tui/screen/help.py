"""All keys from the table of keys, with the usual cautions; and the question before leaving."""

from __future__ import annotations

from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from session.lighting.cautions import CAUTIONS, LAST_WORD
from tui.screen.app_port import AppPort
from tui.screen.keyed import KeyedScreen
from tui.screen.panel import Panel
from tui.screen.panels import HEADING, QUIET, heading, key_line, sentences_text, stack
from tui.words.keys import ALWAYS, KEYS, Facts, Key, Where, rows_to_show
from tui.words.wording import leaving_text

ASKED = (
    "A frame is under way. One that waits would be cancelled; one that was fired is saved first, or is fetched from "
    "the card at the next start."
)

HANDS_OVER = (
    "A hand-over is being written. Left now, it stops; what is there is right, and it goes on when asked for again."
)

INDENT = 14
"""Columns that the keys' names take."""


class HelpScreen(KeyedScreen):
    """The screen with every key, by screen; the keys of the screen on which help was asked for come first."""

    CSS = """
    HelpScreen #all { height: 1fr; padding: 0 1; }
    HelpScreen #keys { height: 1; background: $panel; }
    """

    app: AppPort
    where = Where.HELP

    def __init__(self, asked_at: Where = Where.BENCH) -> None:
        super().__init__()
        self._asked_at = asked_at

    def compose(self) -> ComposeResult:
        with VerticalScroll(id="all"):
            yield Static(_all_keys(self._asked_at, self.app.size.width - 5), markup=False)
        yield Panel(id="keys")

    def on_mount(self) -> None:
        self.query_one("#all").focus()
        rows = rows_to_show(self.where, Facts())
        self.query_one("#keys", Panel).show(
            lambda width, height: key_line(rows, {"back": "back · ↑ ↓ to read on"}, width, height)
        )

    def act_back(self, key: str) -> None:
        self.dismiss()


class LeaveScreen(KeyedScreen):
    """The question before leaving, asked while a frame is under way, or a series or views of the order are to go."""

    CSS = """
    LeaveScreen { align: center middle; }
    LeaveScreen #asked { width: 64; max-width: 100%; height: 3; }
    LeaveScreen #keys { width: 64; max-width: 100%; height: 1; background: $panel; }
    """

    app: AppPort
    where = Where.LEAVING

    def compose(self) -> ComposeResult:
        yield Panel(id="asked")
        yield Panel(id="keys")

    def on_mount(self) -> None:
        self.repaint()

    def repaint(self) -> None:
        """Show the question; once it is answered, what is still to be done, until that is over."""
        if not self.query("#keys"):  # not composed yet
            return
        busy, asked = self.app.model.in_camera, not self.app.leaving
        to_go = self.app.to_go_text
        text = leaving_text(busy) if busy and not asked else ASKED if self.app.model.under_way else to_go or ASKED
        if self.app.hands_over and not self.app.model.under_way:
            text = HANDS_OVER
        words = {} if asked else {"yes": "leave it on the card"}
        rows = rows_to_show(self.where, Facts())
        self.query_one("#asked", Panel).show(lambda width, height: sentences_text([text], width, height))
        self.query_one("#keys", Panel).show(lambda width, height: key_line(rows, words, width, height))

    def act_yes(self, key: str) -> None:
        self.app.action_end()

    def act_back(self, key: str) -> None:
        self.app.leaving = False
        self.dismiss()


def _all_keys(first: Where, width: int) -> Content:
    lines: list[Content] = []
    for where in (first, *(other for other in Where if other is not first)):
        lines.append(heading(str(where).upper()))
        for key in KEYS:
            if key.where is where:
                lines += _key_lines(key, width)
        lines.append(Content(""))
    lines.append(Content.styled("THE USUAL CAUTIONS", HEADING))
    for caution in (*CAUTIONS.values(), LAST_WORD):
        lines += [Content(part) for part in wrap(f"· {caution}", width, subsequent_indent="  ")]
    return stack(lines)


def _key_lines(key: Key, width: int) -> list[Content]:
    """Key and sentence; when it is shown stands beside it in small print, or under it where there is no room."""
    when = "" if key.when is ALWAYS else f"({key.when.words})"
    first, *others = wrap(key.says, max(8, width - INDENT))
    lines = [Content.assemble((f"{key.cap:>{INDENT - 2}}", "bold"), "  ", first)]
    lines += [Content(" " * INDENT + part) for part in others]
    if not when:
        return lines
    if not others and INDENT + len(first) + 2 + len(when) <= width:
        return [Content.assemble(lines[0], (f"  {when}", QUIET))]
    return [*lines, Content.styled(" " * INDENT + when, QUIET)]
