"""The screen for looking back: the frames of a job, narrowed by words and keys, and one of them in full."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import TypeVar

from textual.app import ComposeResult
from textual.containers import Container, Horizontal
from textual.content import Content
from textual.events import Resize

from session.frame.finding import FocusVerdict, Verdict
from session.frame.ports import LogError, Place
from storage.reading.shown_picture import ShownPicture, shown_picture
from storage.reading.views import FrameRow
from tui.compare.compare_screen import CompareScreen
from tui.compare.regions_screen import MOST_SIDES
from tui.explain.explain_screen import ExplainScreen
from tui.ledger.contact_sheet import ContactSheet, SheetCell
from tui.ledger.frame_in_full import FrameInFull
from tui.ledger.frame_list import MOST_ROWS, FrameList
from tui.ledger.region_screen import RegionScreen
from tui.ledger.thumbnails import Thumbnails
from tui.screen import panels
from tui.screen.app_port import AppPort
from tui.screen.background import Then
from tui.screen.keyed import KeyedScreen
from tui.screen.layout import LOOKS_EVERY_S, WIDE_COLUMNS
from tui.screen.ledger_text import RowColumns, filter_text, row_heads, row_line, sheet_words
from tui.screen.panel import Panel
from tui.screen.picture_view import PictureView
from tui.screen.prompt import Prompt
from tui.words.harmless import harmless
from tui.words.keys import MARKS, Facts, Where, rows_to_show
from tui.words.order_words import count_words
from tui.words.wording import headline

VERDICTS = (None, FocusVerdict.SHARP, FocusVerdict.SOFT, FocusVerdict.MISSED, FocusVerdict.UNJUDGED, Verdict.FLAWED)
T = TypeVar("T")

HEAD_ROWS = 1
"""Rows for the columns' heads above the list."""

MARK_CYCLE = ("", *MARKS.values())


class LedgerScreen(KeyedScreen):
    """Frames, the one under the cursor in full, and acts on it where the log can be written."""

    CSS = """
    LedgerScreen #title { height: 1; }
    LedgerScreen #body { height: 1fr; layout: vertical; }
    LedgerScreen #rows { height: 9; }
    LedgerScreen #one { height: 1fr; margin-top: 1; }
    LedgerScreen #picture { width: 36; height: 1fr; margin-right: 1; }
    LedgerScreen #record { width: 1fr; height: 1fr; }
    LedgerScreen #sheet { height: 1fr; display: none; }
    LedgerScreen.-sheet #sheet { display: block; }
    LedgerScreen.-sheet #body { display: none; }
    LedgerScreen #keys { height: 2; background: $panel; }
    LedgerScreen.-wide #body { layout: horizontal; }
    LedgerScreen.-wide #rows { height: 1fr; width: 3fr; }
    LedgerScreen.-wide #one { layout: vertical; height: 1fr; width: 2fr; margin: 0 0 0 1; }
    LedgerScreen.-wide #picture { width: 1fr; height: 1fr; margin: 0 0 1 0; }
    LedgerScreen.-short #one { display: none; }
    LedgerScreen.-short #rows { height: 1fr; }
    """

    app: AppPort

    def __init__(self, job: str) -> None:
        super().__init__()
        self.list = FrameList(self, job, self._read_here)
        self._full = FrameInFull(self)
        self.beside: list[FrameRow] = []
        self._sheet = False
        self._thumbnails: Thumbnails | None = None
        self._trouble = self._said = ""

    def compose(self) -> ComposeResult:
        yield Panel(id="title")
        with Container(id="body"):
            yield Panel(id="rows")
            with Horizontal(id="one"):
                yield PictureView(id="picture")
                yield Panel(id="record")
        yield ContactSheet(id="sheet")
        yield Prompt(refuse=self.refuse, closed=self.repaint)
        yield Panel(id="keys")

    def on_screen_resume(self) -> None:
        """No other screen shows a frame that the list doesn't."""
        self.list.hold([])

    def on_mount(self) -> None:
        self.set_interval(LOOKS_EVERY_S, self._look_round)
        if self.app.reader:
            self._thumbnails = Thumbnails(self.app, self.app.reader, self._show_sheet)
        self.list.begin()
        self.repaint()

    def on_resize(self, event: Resize) -> None:
        width, height = event.size
        self.set_class(width >= WIDE_COLUMNS, "-wide")
        self.set_class(height < 18, "-short")  # the list alone
        self.repaint()

    def look_again(self) -> None:
        """The log has news: read the list anew."""
        self.list.look_again()

    def _read_here(self) -> None:
        """Read the frame under the cursor; the sheet shows what the rows say, and pictures of its own."""
        if not self._sheet or self.list.here is None:
            self._full.read(self.list.here)

    # --- keys -------------------------------------------------------------------------------------

    @property
    def where(self) -> Where:
        return Where.TYPING if self.query_one(Prompt).is_open else Where.LEDGER

    def facts(self) -> Facts:
        return Facts(
            frame=self.list.here is not None,
            set_pictures=self._full.set_pictures > 0,
            frames=len(self.list.rows) > 1,
            jobs=self.list.several_jobs,
            writable=not self.app.read_only,
            undoable=self._undoable,
            beside=bool(self.list.here and self._others(self.list.here)),
            filtered=bool(filter_text(self.list.wanted)),
            from_bench=self.app.shoot is not None,
            sheet=self._sheet,
            series_here=self.list.series_here,
        )

    @property
    def _undoable(self) -> bool:
        """Whether there is an act to undo: known in the bench's job; True in other jobs, where the key tells then."""
        place = self.app.model.place
        return place is None or place.job != self.list.wanted.job or self.app.model.undoable

    def act_line(self, key: str) -> None:
        """Go a row up or down; from the first row up to the first picture, from the last row down to the last."""
        step = self.query_one(ContactSheet).layout_now.across if self._sheet else 1
        self.list.go_to(self.list.at + (step if key == "down" else -step))

    def act_along(self, key: str) -> None:
        self.list.go_to(self.list.at + (1 if key == "right" else -1))

    def act_picture(self, key: str) -> None:
        self._full.step(1 if key == "right" else -1)

    def act_sheet(self, key: str) -> None:
        self._sheet = not self._sheet
        self.set_class(self._sheet, "-sheet")
        self.list.put_views_together(self._sheet)
        self._read_here()
        self.call_after_refresh(self.repaint)  # only then is it known how many pictures fit

    def act_page(self, key: str) -> None:
        sheet = self.query_one(ContactSheet).layout_now
        page = sheet.shown if self._sheet else max(1, self.query_one("#rows").size.height - HEAD_ROWS - 1)
        wanted = {
            "pageup": self.list.at - page,
            "pagedown": self.list.at + page,
            "home": 0,
            "end": len(self.list.rows) - 1,
        }
        self.list.go_to(wanted[key])

    def act_open_series(self, key: str) -> None:
        self.list.open_series(key != "minus")

    def act_find(self, key: str) -> None:
        def take(text: str) -> None:
            self.list.narrow([replace(self.list.wanted, text=text)])

        self.query_one(Prompt).ask("find", take, self.list.wanted.text)
        self.repaint()

    def act_verdict(self, key: str) -> None:
        self.list.narrow(
            [replace(self.list.wanted, verdict=verdict) for verdict in _after(VERDICTS, self.list.wanted.verdict)]
        )

    def act_marked(self, key: str) -> None:
        self.list.narrow([replace(self.list.wanted, mark=mark) for mark in _after(MARK_CYCLE, self.list.wanted.mark)])

    def act_all(self, key: str) -> None:
        self.list.list_all()

    def act_job(self, key: str) -> None:
        self.list.list_next_job()

    def act_mark(self, key: str) -> None:
        row = self.list.here
        if row:
            self.app.mark(row.frame_id, None if row.mark == MARKS[key] else MARKS[key])

    def act_note(self, key: str) -> None:
        row = self.list.here
        if row:
            self.query_one(Prompt).ask(f"note to frame {row.number}", partial(self.app.note, row.frame_id))
            self.repaint()

    def act_undo(self, key: str) -> None:
        self._in_this_job(self.app.undo)

    def act_redo(self, key: str) -> None:
        self._in_this_job(self.app.redo)

    def _in_this_job(self, act: Callable[[Place], None]) -> None:
        """`act` on the job whose frames are listed, which need not be the bench's."""
        reader, job = self.app.reader, self.list.wanted.job
        if reader is None:
            return

        def work() -> Then:
            try:
                place = next(iter(reader.places(job)), None)
            except LogError as error:
                return partial(self.refuse, str(error))
            return partial(act, place) if place else partial(self.refuse, "There is no job here yet.")

        self.app.in_background(work, "job", keys_wait=True)

    def _others(self, here: FrameRow) -> list[FrameRow]:
        """The frames laid beside, but the frame under the cursor."""
        return [row for row in self.beside if row.frame_id != here.frame_id]

    def act_lay(self, key: str) -> None:
        """Lay the frame under the cursor beside too, or take it away again; of more than three the first goes."""
        here = self.list.here
        if here is None:
            return
        others = self._others(here)
        self.beside = others if len(others) < len(self.beside) else [*others, here][-(MOST_SIDES - 1) :]
        if len(others) >= MOST_SIDES - 1 and here in self.beside:
            self.app.say(f"Frame {others[0].number} lies beside no more: {MOST_SIDES} are compared at most.")
        self.repaint()

    def act_compare(self, key: str) -> None:
        here = self.list.here
        if here and self._others(here):
            compared = [*self._others(here), here]
            self.list.hold(compared)
            self.app.push_screen(CompareScreen(compared, self.list.row_of))

    def act_region(self, key: str) -> None:
        if self.list.here:
            self.app.push_screen(RegionScreen(self.list))

    def act_explain(self, key: str) -> None:
        row = self.list.here
        if row:
            self.app.push_screen(ExplainScreen(row.frame_id))

    def act_viewer(self, key: str) -> None:
        reader, row = self.app.reader, self.list.here
        if reader is None or row is None:
            return

        def work() -> Then:
            try:
                record = reader.frame(row.frame_id)
            except LogError as error:
                return partial(self.refuse, str(error))
            shown = shown_picture(record) if record else None
            if shown is None:
                return partial(self.app.say, f"Frame {row.number} has no picture.")
            return partial(self._show_in_viewer, row.number, shown)

        self.app.in_background(work, "viewer")

    def _show_in_viewer(self, number: int, shown: ShownPicture) -> None:
        self.app.show_in_viewer(shown.path)
        if shown.told:
            self.app.say(f"Frame {number} is shown {shown.told}: its files aren't there.")

    def act_cancel(self, key: str) -> None:
        self.query_one(Prompt).close()

    def act_handover(self, key: str) -> None:
        self.app.show_handover(self.list.wanted.job)

    def act_bench(self, key: str) -> None:
        self.dismiss()

    def act_theme(self, key: str) -> None:
        self.app.other_theme()

    def act_help(self, key: str) -> None:
        self.app.show_help(self.where)

    def act_leave(self, key: str) -> None:
        self.app.leave()

    # --- painting ---------------------------------------------------------------------------------

    def refuse(self, sentence: str) -> None:
        """Show why something can't be done; "" for no reason."""
        self._trouble = sentence
        self.repaint()

    def repaint(self) -> None:
        """Show the list and the frame as they are now."""
        if not self.is_open:
            return
        title = self.query_one("#title", Panel)
        self._said = self._aside()
        title.styles.height = 1 + len(panels.said_lines(self._said, self.size.width))
        title.show(self._title)
        self.query_one("#rows", Panel).show(self._list)
        self._show_sheet()
        self._full.show(self.query_one("#record", Panel), self.query_one(PictureView))
        rows = rows_to_show(self.where, self.facts())
        self.query_one("#keys", Panel).show(lambda width, height: panels.key_line(rows, {}, width, height))

    def _show_sheet(self) -> None:
        sheet = next(iter(self.query(ContactSheet)), None)  # a picture may be ready after the screen was left
        if not (self._sheet and self._thumbnails and sheet is not None):
            return
        count = len(self.list.rows) + len(self.list.to_go)  # the views to go stand behind the frames
        shown = sheet.on_sheet(self.list.at, count)
        self._thumbnails.want([self.list.rows[i] for i in shown if i < len(self.list.rows)])
        sheet.show(count, self.list.at, self._cell)

    def _cell(self, i: int) -> SheetCell | None:
        """Number, verdict and mark of a frame under its picture; an empty frame with the name of a view to go."""
        behind = i - len(self.list.rows)
        if 0 <= behind < len(self.list.to_go):
            view = self.list.to_go[behind]
            wanted = f"{harmless(view.piece.name, 60)} · {harmless(view.view, 60)}"
            return SheetCell(None, f"to go: {wanted}", ("", "", ""))
        if behind >= 0 or self._thumbnails is None:
            return None
        row = self.list.rows[i]
        picture, sentence = self._thumbnails.of(row)
        beside = any(one.frame_id == row.frame_id for one in self.beside)
        stands_in = sentence if picture else ""
        words = sheet_words(
            row,
            here=i == self.list.at,
            beside=beside,
            stands_in=stands_in,
            series=self.list.series.get(row.frame_id, ""),
        )
        return SheetCell(picture, sentence, words)

    def _title(self, width: int, height: int) -> Content:
        job = harmless(self.list.wanted.job, 60) or "no job yet"
        narrowed = filter_text(self.list.wanted)
        listed = self.list.frame_count
        more, plural = "+" if listed == MOST_ROWS else "", "" if listed == 1 else "s"
        count = f"{listed}{more} frame{plural}{f': {narrowed}' if narrowed else ''}"
        count += f" · {count_words(len(self.list.to_go), 'view')} to go" if self.list.to_go else ""
        left = f"LEDGER  {job}"
        bench = f"bench: {headline(self.app.model, self.app.clock.monotonic_s()).large}" if self.app.shoot else ""
        room = width - len(bench) - 2 if bench else width  # what the bench says stays, whatever else is cut
        left = panels.cut(left, room - 3 - min(len(count), room // 2))
        parts: list[tuple[str, str]] = [(left, panels.HEADING), (f" · {panels.cut(count, room - len(left) - 3)}", "")]
        first = Content.assemble(*parts, (f"  {bench}" if bench else "", panels.QUIET))
        return panels.stack([first, *map(Content, panels.said_lines(self._said, width))])

    def _look_round(self) -> None:
        """Let the passing sentence fade, also when no key is pressed."""
        self.app.model.fade(self.app.clock.monotonic_s())
        if self._aside() != self._said:
            self.repaint()

    def _aside(self) -> str:
        """Why something can't be done, what was just said, or why nothing can be written."""
        return harmless(self._trouble or self.app.model.passing or self.app.read_only, 200)

    def _list(self, width: int, height: int) -> Content:
        if not self.list.rows:
            return Content.styled(
                "No frame answers to this." if filter_text(self.list.wanted) else "No frame yet.", panels.QUIET
            )
        height -= HEAD_ROWS
        first = max(0, min(len(self.list.rows) - height, self.list.at - height // 2))
        beside = {row.frame_id for row in self.beside}
        listed = self.list.rows[first : first + height]
        columns, series = RowColumns.of(listed, self.list.series), self.list.series
        lines = [
            row_line(
                row,
                columns,
                width,
                here=i == self.list.at,
                beside=row.frame_id in beside,
                series=series.get(row.frame_id, ""),
            )
            for i, row in enumerate(listed, first)
        ]
        return panels.stack([row_heads(columns, width), *lines])


def _after(cycle: Sequence[T], current: T) -> list[T]:
    """The other values of a cycle, beginning after the current."""
    at = cycle.index(current)
    return [*cycle[at + 1 :], *cycle[:at]]
