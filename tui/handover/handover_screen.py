"""The screen that hands a job over: files to be written and their faults first, then the progress."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from textual.app import ComposeResult
from textual.content import Content
from textual.events import Resize

from session.frame.ports import LogError
from session.frame.states import Mark
from session.units.refusals import UnreadableTextError
from storage.handover import bag
from storage.handover.handover_plan import NAMES
from storage.handover.leaving_files import OriginalsRead
from tui.handover.handover_run import HandoverRun
from tui.paper.handing_over import HandoverWish, PreparedHandover, folder_for, look_ahead
from tui.paper.pdf_print import pdf_refusal
from tui.screen import panels
from tui.screen.app_port import AppPort
from tui.screen.background import Then
from tui.screen.keyed import KeyedScreen
from tui.screen.panel import Panel
from tui.screen.prompt import Prompt
from tui.words.handover_words import (
    caution_lines,
    folder_text,
    no_folder_text,
    no_job_text,
    pictures_text,
    plan_head,
    plan_lines,
)
from tui.words.harmless import harmless
from tui.words.keys import Facts, Where, rows_to_show
from tui.words.wording import headline

LOOKS_EVERY_S = 0.2
"""How often the progress is painted. Chosen."""

FOLDER, FRAMES, CALLED, PICTURES, PDF, ZIP = range(6)
LABELS = ("folder", "frames", "files called", "pictures", "PDF too", "one ZIP too")
READING = "The originals are being read: one that changed is told here before anything is written."
YES_NO = {True: "yes", False: "no"}


class OriginalsUnreadError(Exception):
    """The screen was left while the originals were read."""


@dataclass(frozen=True)
class Destination:
    """The folder to write to. `state`: its contents in a word; `whole`: a whole hand-over lies there already."""

    folder: Path
    state: str
    whole: bool = False


def typed_folder(text: str) -> Path | None:
    """The folder of this path, `~` being the account's own; None for nothing typed. Raises UnreadableTextError."""
    try:
        return Path(text).expanduser() if text else None
    except RuntimeError:
        raise UnreadableTextError(f"there is no account of that name: {text.partition('/')[0]}") from None


def destination(folder: Path) -> Destination:
    """What is in a folder now; looks at the disk."""
    if folder.exists() and not folder.is_dir():
        return Destination(folder, "is a file: type a folder")
    if bag.is_bag(folder):
        return Destination(folder, "is whole already", whole=True)
    return Destination(folder, "was begun, goes on" if (folder / "data").is_dir() else "new")


class HandoverScreen(KeyedScreen):
    """Six lines for the wish, the plan that comes of the wish, and the outcome."""

    CSS = """
    HandoverScreen #title { height: 1; }
    HandoverScreen #lines { height: 6; margin-top: 1; }
    HandoverScreen #said { height: 3; }
    HandoverScreen #plan { height: 1fr; }
    HandoverScreen #keys { height: 2; background: $panel; }
    """

    app: AppPort

    def __init__(self, job: str) -> None:
        super().__init__()
        self._wish = HandoverWish(job)
        self._typed: Path | None = None
        self._prepared: PreparedHandover | None = None
        self._to: Destination | None = None
        self._line = self._first = 0
        self._trouble = ""
        self._read = OriginalsRead(self._go_on_reading)
        self._reading = False  # the originals; the plan shown tells of none that changed

    def compose(self) -> ComposeResult:
        yield Panel(id="title")
        yield Panel(id="lines")
        yield Panel(id="said")
        yield Panel(id="plan")
        yield Prompt(refuse=self._refuse, closed=self.repaint)
        yield Panel(id="keys")

    def on_mount(self) -> None:
        self.set_interval(LOOKS_EVERY_S, self._look_round)
        if self.app.handover is not None and self.app.handover.is_over and self.app.handover.seen:
            self.app.handover = None
        self.repaint()
        self.app.when_written(self.look_again)

    def on_resize(self, event: Resize) -> None:
        self.repaint()

    def _look_round(self) -> None:
        self.app.model.fade(self.app.clock.monotonic_s())
        self.repaint()

    def look_again(self) -> None:
        """Make the plan anew, in the background; then once more with the originals read, which may take minutes."""
        reader = self.app.reader
        if reader is not None:
            self._reading = True
            self.app.in_background(
                partial(self._plan_for, self._wish, self._typed), "plan of a hand-over", keys_wait=True
            )
            self.app.in_background(
                partial(self._plan_for, self._wish, self._typed, self._read), "originals of a hand-over"
            )

    def _go_on_reading(self) -> None:
        """End the reading of the originals where the screen was left."""
        if not self.is_attached:
            raise OriginalsUnreadError

    def _plan_for(self, wish: HandoverWish, typed: Path | None, read: OriginalsRead | None = None) -> Then:
        reader = self.app.reader
        assert reader is not None
        try:
            refusal = pdf_refusal() if wish.prints else ""
            prepared = look_ahead(reader, replace(wish, prints=wish.prints and not refusal), self.app.kit, read)
            if prepared is None:
                return partial(self._show_no_plan, no_job_text(wish.job))
            to = destination(typed or folder_for(prepared))
            return partial(self._show_plan, prepared, to, refusal, is_read=read is not None)
        except OriginalsUnreadError:
            return lambda: None
        except (LogError, UnreadableTextError) as error:
            return partial(self._show_no_plan, str(error))
        except OSError as error:
            return partial(self._show_no_plan, no_folder_text(error, typed))

    def _show_no_plan(self, sentence: str) -> None:
        self._prepared = None
        self._refuse(sentence)

    def _show_plan(self, prepared: PreparedHandover, to: Destination, refusal: str, *, is_read: bool) -> None:
        """Show a plan.

        refusal  why no PDF can be printed although PDF was wanted, "" mostly; PDF is then set back to no
        is_read  the originals were read for it
        """
        if not is_read and not self._reading:
            return  # the plan with the originals read came first
        self._reading = not is_read
        self._prepared, self._to = prepared, to
        if not is_read or refusal:
            self._trouble, self._first = refusal, 0
        if refusal:
            self._wish = replace(self._wish, prints=False)
        self.repaint()

    # --- keys -------------------------------------------------------------------------------------

    @property
    def where(self) -> Where:
        return Where.TYPING if self.query_one(Prompt).is_open else Where.HANDOVER

    def facts(self) -> Facts:
        return Facts(writing=self._is_writing, from_bench=self.app.shoot is not None)

    def key_words(self) -> dict[str, str]:
        words = {"type": "type names"} if self._line == CALLED else {}
        lacks = self._prepared is not None and bool(self._prepared.plan.missing)
        return words | ({"write": "write the rest"} if lacks else {})

    @property
    def _is_writing(self) -> bool:
        run = self.app.handover
        return run is not None and not run.is_over

    def act_line(self, key: str) -> None:
        self._line = (self._line + (1 if key == "down" else -1)) % len(LABELS)
        self.repaint()

    def act_change(self, key: str) -> None:
        step = 1 if key == "right" else -1
        if self._line == FRAMES:
            marks = list(Mark)
            self._want(mark=marks[(marks.index(Mark(self._wish.mark)) + step) % len(marks)])
        elif self._line == PICTURES:
            self._want(delivers=not self._wish.delivers)
        elif self._line == PDF:
            self._want(prints=not self._wish.prints)
        elif self._line == ZIP:
            self._want(zips=not self._wish.zips)
        else:
            self._refuse(f"{LABELS[self._line]} is typed: [t].")

    def _want(self, **changes: object) -> None:
        self._wish = replace(self._wish, **changes)  # type: ignore[arg-type]
        self.look_again()

    def act_type(self, key: str) -> None:
        if self._line == CALLED:
            self._ask("files called, of {job} {article} {piece} {view} {number}", self._take_names, self._wish.names)
        else:
            self._line = FOLDER
            self._ask("folder", self._take_folder, str(self._to.folder) if self._to else "")

    def _ask(self, label: str, take: Callable[[str], None], value: str) -> None:
        self.query_one(Prompt).ask(label, take, value)
        self.repaint()

    def _take_folder(self, text: str) -> None:
        self._typed = typed_folder(text)
        self.look_again()

    def _take_names(self, text: str) -> None:
        self._want(names=text or NAMES)

    def act_write(self, key: str) -> None:
        prepared, to = self._prepared, self._to
        if prepared is None or to is None:
            self._refuse(self._trouble or "The plan isn't made yet.")
        elif self._reading:
            self._refuse(READING)
        elif prepared.plan.faults:
            self._refuse(prepared.plan.faults[0])
        elif to.whole and not self._wish.zips:
            where = folder_text(to.folder)
            self._refuse(f"{where} is a whole hand-over already; nothing is written over it. [t] another folder.")
        elif not to.whole and to.folder.exists() and not to.folder.is_dir():
            self._refuse(f"{folder_text(to.folder)} is a file; a hand-over needs a folder.")
        else:
            self._trouble = ""
            run = HandoverRun(prepared, to.folder, self.app.clock, zips=self._wish.zips, whole=to.whole)
            self.app.hand_over(run, self._end)
            self.repaint()

    def _end(self) -> None:
        """The hand-over is over: what lies in the folder now is another thing."""
        if self.is_open:
            self._typed = self._to.folder if self._to else self._typed
            self.look_again()

    def act_stop(self, key: str) -> None:
        if self.app.handover is not None:
            self.app.handover.stop()

    def act_page(self, key: str) -> None:
        page = max(1, self.query_one("#plan").size.height - 1)
        last = max(0, len(self._plan_texts()) - page)
        wanted = {"pageup": self._first - page, "pagedown": self._first + page, "home": 0, "end": last}
        self._first = max(0, min(last, wanted[key]))
        self.repaint()

    def act_cancel(self, key: str) -> None:
        self.query_one(Prompt).close()

    def act_back(self, key: str) -> None:
        self.dismiss()

    def act_help(self, key: str) -> None:
        self.app.show_help(self.where)

    # --- painting ---------------------------------------------------------------------------------

    def _refuse(self, sentence: str) -> None:
        self._trouble = sentence
        self.repaint()

    def repaint(self) -> None:
        """Show what is wanted, the plan, and how far it is."""
        if not self.is_open:
            return
        self.query_one("#title", Panel).show(self._title)
        self.query_one("#lines", Panel).show(self._wish_lines)
        self.query_one("#said", Panel).show(self._say_lines)
        self.query_one("#plan", Panel).show(self._plan_content)
        rows = rows_to_show(self.where, self.facts())
        self.query_one("#keys", Panel).show(
            lambda width, height: panels.key_line(rows, self.key_words(), width, height)
        )

    def _title(self, width: int, height: int) -> Content:
        bench = f"bench: {headline(self.app.model, self.app.clock.monotonic_s()).large}" if self.app.shoot else ""
        head = plan_head(self._prepared.plan) if self._prepared else harmless(self._wish.job, 60)
        left = panels.cut(f"HAND-OVER  {head}", width - len(bench) - 2)
        return Content.assemble((left, panels.HEADING), (f"  {bench}" if bench else "", panels.QUIET))

    def _wish_lines(self, width: int, height: int) -> Content:
        wish, to = self._wish, self._to
        plan = self._prepared.plan if self._prepared else None
        folder = f"{_end_of(folder_text(to.folder), width - 18 - len(to.state))}  {to.state}" if to else "…"
        told = (
            folder,
            f"marked {wish.mark}",
            wish.names,
            pictures_text(plan, delivers=wish.delivers),
            YES_NO[wish.prints],
            YES_NO[wish.zips],
        )
        lines = []
        for place, (label, text) in enumerate(zip(LABELS, told, strict=True)):
            chosen = place == self._line
            line = panels.cut(f"{'▸' if chosen else ' '}{label:<12} {harmless(text, 300)}", width)
            lines.append(Content.styled(line, panels.CHOSEN if chosen else ""))
        return panels.stack(lines)

    def _say_lines(self, width: int, height: int) -> Content:
        """A blank line, then what is wrong, else how far it is, else what was said."""
        run = self.app.handover
        told = (
            self._trouble
            or (run.words() if run else "")
            or self.app.model.passing
            or (READING if self._reading else "")
        )
        more = f" {' '.join(run.told)}" if run and not self._trouble else ""
        if run and run.is_over and not self._trouble:
            run.seen = True
        lines = panels.said_lines(harmless(f"{told}{more}", 400), width)[: height - 1]
        return panels.stack([Content(""), *(Content.styled(line, panels.STRONG) for line in lines)])

    def _plan_texts(self) -> list[str]:
        if self._prepared is None:
            return []
        width = max(20, self.size.width)
        lines = [*caution_lines(self._prepared.plan), *plan_lines(self._prepared.plan, prints=self._prepared.prints)]
        return [part for line in lines for part in (panels.hanging_lines(line, width) if len(line) > width else [line])]

    def _plan_content(self, width: int, height: int) -> Content:
        texts = self._plan_texts()
        lines = [
            Content.styled(panels.cut(text, width), "$warning" if text.startswith("!") else "")
            for text in texts[self._first :]
        ]
        return panels.stack(panels.as_many(lines, height))


def _end_of(text: str, width: int) -> str:
    """The text in at most `width` characters, cut where it begins: the end of a path says more."""
    return text if len(text) <= width else "…" + text[-max(1, width - 1) :]
