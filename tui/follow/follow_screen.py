"""`stillset follow` at a terminal: the last frame, its verdict and the job's progress, for whoever looks on.

It reads the log and the pictures, and has no key for anything else: the camera is the bench's.
"""

from __future__ import annotations

from functools import partial

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.events import Resize

from session.frame.ports import LogError
from tui.follow.followed_log import LOOKED_AT_AGAIN, LogMoment, LogWatch, PlaceCount, headline_of
from tui.screen import panels
from tui.screen.background import ENDED_BY_SYSTEM, BackgroundApp, Then
from tui.screen.help import HelpScreen
from tui.screen.keyed import END_KEYS, KeyedScreen
from tui.screen.layout import LOOKS_EVERY_S, WIDE_COLUMNS
from tui.screen.panel import LargeLine, Panel
from tui.screen.picture_view import PictureView
from tui.screen.small_picture import SmallPicture
from tui.screen.themes import DIM, THEMES, after
from tui.words.bench_frame import from_row
from tui.words.harmless import harmless
from tui.words.keys import Facts, Where, rows_to_show
from tui.words.model import BenchModel
from tui.words.order_words import place_words
from tui.words.wording import FILES_COMING

NARROW_COLUMNS = 72
"""Below, progress and findings leave the width to the picture, and the job's name to the piece's."""

LEAST_PROGRESS = 4
"""Lines of progress that findings leave, however many they are. Chosen."""


class FollowScreen(KeyedScreen):
    """Shows one `LogMoment` of the log."""

    CSS = """
    FollowScreen { layout: vertical; }
    FollowScreen #place, FollowScreen #caption, FollowScreen #strip, FollowScreen #keys { height: 1; }
    FollowScreen #large { height: 3; text-style: bold; }
    FollowScreen #large.-good { color: $success; }
    FollowScreen #large.-caution { color: $warning; }
    FollowScreen #large.-stop { color: $error; }
    FollowScreen #say { height: 2; }
    FollowScreen #middle { height: 1fr; }
    FollowScreen #left { width: 53%; margin-right: 1; }
    FollowScreen #caption { color: $quiet; }
    FollowScreen #picture { height: 1fr; }
    FollowScreen #side { width: 1fr; height: 1fr; }
    FollowScreen #keys { background: $panel; }
    FollowScreen.-wide #left { width: 2fr; }
    FollowScreen.-narrow #side { display: none; }
    FollowScreen.-narrow #left { width: 1fr; margin-right: 0; }
    """

    where = Where.FOLLOW

    def __init__(self) -> None:
        super().__init__()
        self._sight: LogMoment | None = None
        self._trouble = ""
        self._path: str | None = None

    def compose(self) -> ComposeResult:
        yield Panel(id="place")
        yield LargeLine(id="large")
        yield Panel(id="say")
        with Horizontal(id="middle"):
            with Vertical(id="left"):
                yield Panel(id="caption")
                yield PictureView(id="picture")
            yield Panel(id="side")
        yield Panel(id="strip")
        yield Panel(id="keys")

    def on_mount(self) -> None:
        rows = rows_to_show(self.where, Facts())
        words = {"theme": "theme", "leave": "leave; only looks on"}
        self.query_one("#keys", Panel).show(lambda width, height: panels.key_line(rows, words, width, height))
        self.repaint()

    def on_resize(self, event: Resize) -> None:
        self.set_class(event.size.width < NARROW_COLUMNS, "-narrow")
        self.set_class(event.size.width >= WIDE_COLUMNS, "-wide")

    # --- what was seen ----------------------------------------------------------------------------

    def take_sight(self, sight: LogMoment | None, trouble: str) -> None:
        """Take the answer of a look at the log.

        sight    None: the log is unchanged
        trouble  why the log could not be read, "" when it could
        """
        if sight is None and trouble == self._trouble:
            return
        self._sight, self._trouble = sight or self._sight, trouble
        self.repaint()

    def repaint(self) -> None:
        """Show what is known now."""
        said = headline_of(self._sight, self._trouble)
        self.query_one(LargeLine).say(said.large, said.tone)
        lines = [text for text in (self._trouble, said.sentence) if text]
        self.query_one("#say", Panel).show(lambda width, height: panels.sentences_text(lines, width, height))
        self.query_one("#place", Panel).show(self._place)
        self.query_one("#caption", Panel).show(lambda width, height: Content(panels.cut(self._caption(), width)))
        self.query_one("#side", Panel).show(self._side)
        self.query_one("#strip", Panel).show(self._strip)
        self._show_picture()

    def _place(self, width: int, height: int) -> Content:
        sight = self._sight
        record = sight.record if sight else None
        job = [sight.job] if sight and (record is None or width >= NARROW_COLUMNS) else []
        names = [*job, record.piece, record.view, f"set-up {record.setup}"] if record else job
        return Content.styled(panels.cut(" · ".join(harmless(name, 60) for name in names), width), panels.STRONG)

    def _caption(self) -> str:
        record = self._sight.record if self._sight else None
        if record is None:
            return ""
        at = f"{(record.released_at or record.asked_at).astimezone():%H:%M:%S}"
        return " · ".join(part for part in (f"FRAME {record.number}", at, record.mark or "") if part)

    def _side(self, width: int, height: int) -> Content:
        sight = self._sight
        if sight is None:
            return Content("")
        progress = progress_lines(sight, width)
        frame = sight.frame
        findings = [
            line for finding in (frame.checks_now if frame else ()) for line in panels.finding_lines(finding, width)
        ]
        if not findings:
            return panels.stack(panels.as_many(progress, height))
        room = max(LEAST_PROGRESS, height - len(findings) - 1)
        return panels.stack(
            panels.as_many([*panels.as_many(progress, room), panels.heading("FINDINGS"), *findings], height)
        )

    def _strip(self, width: int, height: int) -> Content:
        model = BenchModel()
        model.read((from_row(row) for row in (self._sight.recent if self._sight else ())), model.moves)
        return panels.ledger_strip(model, width)

    def _show_picture(self) -> None:
        record = self._sight.record if self._sight else None
        path = record.picture if record else None
        view = self.query_one(PictureView)
        if path is None:
            self._path = None
            view.show(None, sentence=FILES_COMING if record else "")
        elif path != self._path:
            self._path = path
            self.app.load_picture(path, self._take_picture)  # type: ignore[attr-defined]

    def _take_picture(self, path: str, picture: SmallPicture | None, sentence: str) -> None:
        sight = self._sight
        if path == self._path and sight is not None:
            focus = sight.record.focus if sight.record else None
            sharpest_at = focus.sharpest_at if focus else None
            self.query_one(PictureView).show(picture, sight.region, sharpest_at, sentence)

    # --- keys -------------------------------------------------------------------------------------

    def act_theme(self, key: str) -> None:
        self.app.theme = after(self.app.theme)

    def act_help(self, key: str) -> None:
        self.app.push_screen(HelpScreen(self.where))

    def act_leave(self, key: str) -> None:
        self.app.exit()


class FollowApp(BackgroundApp):
    """Looks at the log again and again, beside the keys."""

    ENABLE_COMMAND_PALETTE = False
    TITLE = "stillset follow"
    BINDINGS = [Binding(",".join(END_KEYS), "end", priority=True, show=False, system=True)]  # noqa: RUF012

    def __init__(self, watch: LogWatch) -> None:
        super().__init__()
        self._watch = watch
        self._screen = FollowScreen()
        self._looking = False
        for known in THEMES:
            self.register_theme(known)
        self.theme = DIM.name

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """The theme's variables for the moment before a theme of ours is in force."""
        return DIM.variables

    def on_mount(self) -> None:
        self.end_on_signals()
        self.push_screen(self._screen)
        self.set_interval(LOOKS_EVERY_S, self.look)
        self.look()

    def look(self) -> None:
        """Look at the log, unless the last look isn't over."""
        if not self._looking:
            self._looking = True
            self.in_background(self._work, "look")

    def _work(self) -> Then:
        try:
            sight = self._watch.look()
        except LogError as error:
            return partial(self._take_sight, None, f"{error} {LOOKED_AT_AGAIN}")
        return partial(self._take_sight, sight, "")

    def _take_sight(self, sight: LogMoment | None, trouble: str) -> None:
        self._looking = False
        self._screen.take_sight(sight, trouble)

    def own_mistake(self, sentence: str) -> None:
        self.post_message(self.Next(partial(self._take_sight, None, sentence)))

    def action_end(self) -> None:
        """End; nothing is under way here."""
        self.exit()

    def end_at_once(self) -> None:
        self.ended_by_system = True
        self.exit(return_code=ENDED_BY_SYSTEM)


def progress_lines(sight: LogMoment, width: int) -> list[Content]:
    """Lines for the views of each piece with their frames, the piece on the table first."""
    total = sum(place.frames for place in sight.places)
    record = sight.record
    counted_so = f"{count_text(total, 'frame')}, {count_text(len(sight.places), 'view')}"
    ordered = place_words(sight.progress, record.piece if record else "") if sight.progress else ""
    lines = [panels.heading("PROGRESS", ordered or counted_so)]
    here = (record.piece, record.view) if record else None
    for place in sorted(sight.places, key=lambda place: (place.piece, place.view) != here):
        style = panels.CHOSEN if (place.piece, place.view) == here else ""
        lines.append(Content.styled(panels.cut(progress_text(place), width), style))
    return lines


def progress_text(place: PlaceCount) -> str:
    """`✓  3 barrel 6 of 24 · three-quarter`: ✓ a frame is chosen, · there is none yet."""
    sign = "✓" if place.chosen else " " if place.frames else "·"
    return f"{sign} {place.frames:>2} {harmless(place.piece, 60)} · {harmless(place.view, 60)}"


def count_text(count: int, thing: str) -> str:
    """`1 frame`, `2 frames`."""
    return f"{count} {thing}{'' if count == 1 else 's'}"
