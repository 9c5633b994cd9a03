"""The planner: what is wanted, what the kit can do about it, and the side view to scale; each key shows at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from functools import partial
from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Resize

from session.frame.ports import LogError, Place
from session.plan.arrangements import Build
from session.plan.kit_search import Ranked, rank_plans
from session.plan.nearest_wish import NearestWish, met_wish, nearest_wish
from session.plan.ordered_wish import ordered_wish
from session.plan.ranked_plan import Plan
from session.plan.ranking import TOLERANCE_EV
from session.plan.reflection import reflection_texts
from session.plan.report import hazards, lack_text, remarks, room_text
from session.plan.wish import Wish
from session.set.kit import Body, Kit
from session.shoot.acts import KeepWish, TakePlan
from session.units.numbers import f_text, mm_text, ratio_text, share_text, stop_text, time_text
from tui.planner.view_text import plan_details
from tui.planner.wish_lines import FIRST_WISH, LINES
from tui.screen.app_port import AppPort
from tui.screen.background import Then
from tui.screen.keyed import KeyedScreen
from tui.screen.layout import WIDE_COLUMNS
from tui.screen.panel import Panel
from tui.screen.panels import CHOSEN, QUIET, as_many, cut, heading, key_line, sentence_rows, sentences_text, stack
from tui.screen.prompt import Prompt
from tui.screen.shoot_port import Reader
from tui.screen.side_view import side_view
from tui.words.harmless import harmless
from tui.words.keys import Facts, Where, rows_to_show

TALL_ROWS = 40
"""From there on a plan is told in full; below, what matters most stands in `SHORT_LINES` lines."""

SHORT_LINES = 5

RANK_HEADS = f"{'ratio':>11} {'stop':>5}     added, lens, body"
ROOM_COLUMNS = 70
"""From so many columns on the room before the lens stands at the end of a row, too."""


class PlannerScreen(KeyedScreen):
    """A wish changed line by line, the arrangements of the kit ranked for it, one of them in full and drawn."""

    CSS = """
    PlannerScreen #title { height: 1; }
    PlannerScreen #top { height: 7; }
    PlannerScreen #wish { width: 25; height: 1fr; margin-right: 1; }
    PlannerScreen #ranked { width: 1fr; height: 1fr; }
    PlannerScreen #say { height: 1; }
    PlannerScreen.-long #say { height: 2; }
    PlannerScreen.-long #detail { height: 4; }
    PlannerScreen #detail { height: 5; }
    PlannerScreen #side { height: 1fr; }
    PlannerScreen #mind { height: 1; }
    PlannerScreen.-wary #mind { height: 2; }
    PlannerScreen #keys { height: 2; background: $panel; }
    PlannerScreen.-wide #wish { width: 34; margin-right: 2; }
    PlannerScreen.-tall #top { height: 14; }
    PlannerScreen.-tall.-wary #top { height: 14; }
    PlannerScreen.-tall #detail { height: 16; }
    """

    app: AppPort

    def __init__(self) -> None:
        super().__init__()
        self.wish = self._first_wish = self._kept_wish = FIRST_WISH
        self.found = Ranked((), ())
        self._nearest: NearestWish | None = None
        self._looking = False
        self._line = 0
        self._plan = 0
        self._trouble = ""

    def compose(self) -> ComposeResult:
        yield Panel(id="title")
        with Horizontal(id="top"):
            yield Panel(id="wish")
            yield Panel(id="ranked")
        yield Panel(id="say")
        yield Panel(id="detail")
        yield Panel(id="side")
        yield Panel(id="mind")
        yield Prompt(refuse=self._refuse, closed=self.repaint)
        yield Panel(id="keys")

    def on_mount(self) -> None:
        connected = self._connected
        self.wish = self._first_wish = self._kept_wish = replace(FIRST_WISH, body=connected.name if connected else "")
        self._rank()
        work = partial(self._begin, self.wish, self.found, self.app.kit, self.app.reader, self.app.model.place)
        self.app.in_background(work, "wish")

    def _begin(self, first: Wish, found: Ranked, kit: Kit, reader: Reader | None, place: Place | None) -> Then:
        """Find in the background the wish to begin with.

        It is the last wish for the view; without one an example that the kit can meet, with the order's numbers.
        """
        trouble = ""
        if reader is not None and place is not None:
            try:
                if kept := reader.kept_wish(place):
                    return partial(self._begin_with, Wish.from_fields(kept), "")
                example = met_wish(kit, first, found) or first
                ordered = ordered_wish(example, reader.progress(place.job), place.piece, place.view)
                return partial(self._begin_with, ordered, "")
            except LogError as error:
                trouble = str(error)
            except ValueError:  # a wish of another version
                pass
        return partial(self._begin_with, met_wish(kit, first, found) or first, trouble)

    def _begin_with(self, wish: Wish, trouble: str) -> None:
        """Show the wish to begin with, unless a key has changed the first one meanwhile."""
        if self.wish == self._first_wish:
            if wish != self.wish:
                self.wish = self._kept_wish = wish
                self._rank()
            self._look_for_nearest()
        if trouble:
            self._refuse(trouble)

    def on_resize(self, event: Resize) -> None:
        self.set_class(event.size.height >= TALL_ROWS, "-tall")
        self.set_class(event.size.width >= WIDE_COLUMNS, "-wide")
        self.repaint()

    # --- keys -------------------------------------------------------------------------------------

    @property
    def where(self) -> Where:
        return Where.TYPING if self.query_one(Prompt).is_open else Where.PLANNER

    def facts(self) -> Facts:
        met = self._nearest.wish if self._nearest else None
        return Facts(planned=self._chosen is not None and self.app.shoot is not None, nearest=met is not None)

    def act_line(self, key: str) -> None:
        self._line = (self._line + (1 if key == "down" else -1)) % len(LINES)
        self.repaint()

    def act_change(self, key: str) -> None:
        steps = 1 if key == "right" else -1
        self._try(lambda: LINES[self._line].step(self.wish, steps, self.app.kit))

    def act_type(self, key: str) -> None:
        line = LINES[self._line]

        def take(text: str) -> None:
            self.wish = line.with_value(self.wish, line.from_typed(text))
            self._search()

        self.query_one(Prompt).ask(f"{line.label}, now {line.text(self.wish)}", take)
        self.repaint()

    def act_plan(self, key: str) -> None:
        last = len(self.found.plans) - 1
        self._plan = max(0, min(last, self._plan + (1 if key == "full_stop" else -1)))
        self.repaint()

    def act_give_up(self, key: str) -> None:
        if self._nearest is not None and self._nearest.wish is not None:
            self.wish = self._nearest.wish
            self._search()

    def act_hand_over(self, key: str) -> None:
        self._hand_over(new_setup=False)

    def act_new_setup(self, key: str) -> None:
        self._hand_over(new_setup=True)

    def act_cancel(self, key: str) -> None:
        self.query_one(Prompt).close()

    def act_bench(self, key: str) -> None:
        self._leave()

    def _leave(self) -> None:
        """Go back to the bench; the view keeps its wish."""
        if self.wish != self._kept_wish:
            self.app.post(KeepWish(asdict(self.wish)))
        self.dismiss()

    def act_help(self, key: str) -> None:
        self.app.show_help(self.where)

    def _hand_over(self, *, new_setup: bool) -> None:
        plan = self._chosen
        if plan is not None:
            self.app.post(TakePlan(plan, new_setup))
            self._leave()

    @property
    def _connected(self) -> Body | None:
        """The body that is connected, else the one that the set-up is counted with."""
        model, kit = self.app.model, self.app.kit
        camera, name = model.description, model.revision.body if model.revision else ""
        told = kit.connected_body(camera.serial, camera.model) if camera else None
        return told or kit.body_for(name)

    # --- the search -------------------------------------------------------------------------------

    @property
    def _chosen(self) -> Plan | None:
        return self.found.plans[self._plan] if self._plan < len(self.found.plans) else None

    def _try(self, change: Callable[[], object]) -> None:
        """Change the wish; a sentence refuses a wish that can't be meant, and the old wish stands."""
        before = self.wish
        try:
            changed = change()
            assert isinstance(changed, type(before))
            self.wish = changed
        except ValueError as error:
            self._refuse(str(error))
            return
        self._search()

    def _search(self) -> None:
        """Rank the kit anew, show the first plan, and look for the nearest wish where no plan holds."""
        self._rank()
        self._look_for_nearest()

    def _rank(self) -> None:
        self._trouble, self._plan, self._nearest = "", 0, None
        try:
            self.found = rank_plans(self.app.kit, self.wish)
        except ValueError as error:
            self.found = Ranked((), ())
            self._trouble = str(error)
        if not self.found.plans and self.found.left_out:
            self._trouble = f"Nothing can be planned with: {self.found.left_out[0].why}"
        self.repaint()

    @property
    def _none_holds(self) -> bool:
        """Whether the whole wish is met by no plan, of one or more."""
        return bool(self.found.plans) and not any(plan.holds for plan in self.found.plans)

    def _look_for_nearest(self) -> None:
        """Look for the nearest wish in the background: that takes several rankings, one look at a time."""
        if self._none_holds and not self._looking:
            self._looking = True
            self.app.in_background(partial(self._nearest_to, self.wish, self.found, self.app.kit), "nearest")

    def _nearest_to(self, wish: Wish, found: Ranked, kit: Kit) -> Then:
        try:
            return partial(self._show_nearest, wish, nearest_wish(kit, wish, found))
        finally:
            self._looking = False

    def _show_nearest(self, wish: Wish, nearest: NearestWish | None) -> None:
        if not self.is_open:
            return
        if wish == self.wish:
            self._nearest = nearest
            self.repaint()
        else:  # keys have changed the wish meanwhile
            self._look_for_nearest()

    def _refuse(self, sentence: str) -> None:
        self._trouble = sentence
        self.repaint()

    # --- painting ---------------------------------------------------------------------------------

    def repaint(self) -> None:
        """Show wish, list, plan and drawing as they are now."""
        if not self.is_open:
            return
        for name, make in (
            ("#title", self._title),
            ("#wish", self._wish_lines),
            ("#ranked", self._ranked_lines),
            ("#say", self._say_lines),
            ("#detail", self._detail_lines),
            ("#side", self._side_lines),
            ("#mind", self._caution_lines),
        ):
            self.query_one(name, Panel).show(make)
        self.set_class(sentence_rows([self._objection()[0]], self.size.width) > 1, "-long")
        self.set_class(sentence_rows([self._mind()], self.size.width) > 1, "-wary")
        rows = rows_to_show(self.where, self.facts())
        words = {"give_up": self._giving_up()}
        self.query_one("#keys", Panel).show(lambda width, height: key_line(rows, words, width, height))

    def _title(self, width: int, height: int) -> Content:
        kit = "the invented demo kit" if self.app.kit.invented else "your kit"
        body = f" for {harmless(self.wish.body, 30)}" if self.wish.body else ""
        order = "nearest first" if self._none_holds else "best first"
        return heading("PLAN", f"{len(self.found.plans)} arrangements of {kit}{body}, {order}")

    def _wish_lines(self, width: int, height: int) -> Content:
        first = max(0, min(len(LINES) - height, self._line - height // 2))
        lines = []
        for place, line in enumerate(LINES[first : first + height], first):
            text = cut(f"{line.label:<14} {harmless(line.text(self.wish), 40)}", width)
            lines.append(Content.styled(text, CHOSEN if place == self._line else ""))
        return stack(lines)

    def _ranked_lines(self, width: int, height: int) -> Content:
        height -= 1  # for the heads
        first = max(0, min(len(self.found.plans) - height, self._plan - height // 2))
        lines = [Content.styled(cut(RANK_HEADS, width), QUIET)]
        for place, plan in enumerate(self.found.plans[first : first + height], first):
            text = plan_line(place, plan, self.app.kit, width)
            style = CHOSEN if place == self._plan else "" if self._is_near(plan) else QUIET
            lines.append(Content.styled(text, style))
        return stack(lines)

    def _is_near(self, plan: Plan) -> bool:
        """Whether a plan holds; where nothing meets the whole wish, whether it is as near as the nearest."""
        least_ev = self.found.plans[0].rank[0]
        return plan.holds or (self._none_holds and plan.rank[0] <= least_ev + TOLERANCE_EV)

    def _giving_up(self) -> str:
        """The key's word: the number that takes the wished one's place."""
        instead = self._nearest.instead if self._nearest else ()
        return f"wish {instead[0]}" if len(instead) == 1 else "wish all of that"

    def _objection(self) -> tuple[str, str]:
        """The objection to the chosen plan, or to any plan, and the objection's style."""
        plan = self._chosen
        if self._trouble:
            return f"! {harmless(self._trouble)}", "bold $error"
        if plan is None:
            return "", ""
        connected, body = self._connected, plan.build.body
        other = [f"This is for {body.name}; the bench has {connected.name}."] if connected not in (None, body) else []
        failing = [lack_text(one) for one in plan.failing]
        if self._none_holds and self._plan == 0:
            told = self._nearest.text if self._nearest else "The nearest wish is being looked for."
            failing[:0] = [f"Nothing meets the whole wish. {told}"] if told else []
        words = [*other, *failing, *(one.text for one in plan.unknown), *remarks(plan)]
        return (f"! {words[0]}", "$warning") if words else ("Everything asked for holds.", "$success")

    def _say_lines(self, width: int, height: int) -> Content:
        text, style = self._objection()
        return stack([Content.styled(line.plain, style) for line in sentences_text([text], width, height).split("\n")])

    def _detail_lines(self, width: int, height: int) -> Content:
        if self._chosen is None:
            return Content("")
        details = [("to put up", _name(self._chosen)), *plan_details(self._chosen)]
        if height <= SHORT_LINES:
            return stack([Content(cut(harmless(line), width)) for line in _in_short(self._chosen)])
        lines = [Content(cut(f"{label:<15} {harmless(text)}", width)) for label, text in details]
        return stack(as_many(lines, height))

    def _side_lines(self, width: int, height: int) -> Content:
        if self._chosen is None:
            return Content("")
        drawn = side_view(self._chosen, width, height - 1)
        beyond = f" · farther off: {', '.join(drawn.beyond)}" if drawn.beyond else ""
        scale = f"side view, a column {mm_text(drawn.mm_a_column)}{beyond}" if drawn.mm_a_column else ""
        return stack([*(Content(line) for line in drawn.lines), Content.styled(cut(scale, width), QUIET)])

    def _caution_lines(self, width: int, height: int) -> Content:
        return stack([Content.styled(line, QUIET) for line in wrap(self._mind(), max(8, width))])

    def _mind(self) -> str:
        """The cautions of the chosen plan."""
        if self._chosen is None:
            return ""
        return f"! Mind {', '.join(hazards(self._chosen))}: [?] says how; the makers' manuals decide."


def _name(plan: Plan) -> str:
    """Lens, all that is added to it by its full names, and body."""
    return f"{harmless(plan.build.label, 120)}, {harmless(plan.build.body.name, 40)}"


def _in_short(plan: Plan) -> tuple[str, ...]:
    """The most important numbers of a plan, in five lines."""
    stop, time = plan.stop, plan.time
    frames = stop.series.frames
    series = "one frame" if frames == 1 else f"{frames} frames {stop.series.step_mm:.2f} mm apart"
    room_mm = plan.mounting.working_distance_mm
    room = "room not known" if room_mm is None else room_text(room_mm, plan.clearance_mm)
    lights = " · ".join(
        f"{light.name} {share_text(light.power_ev)} {mm_text(light.distance_mm)} {light.shaper}".rstrip()
        for light in plan.lights
    )
    if plan.reflection is not None:
        lights = f"The piece {reflection_texts(plan.reflection, next(iter(plan.lights), None))[0]} · {lights}"
    if plan.alternatives:
        lights += f" · or {', '.join(light.name for light in plan.alternatives)} alone"
    return (
        _name(plan),
        f"{stop_text(stop.f_number, stop.effective_f_number)} · {time_text(time.exposure_s)} · {series}",
        f"{room}, {mm_text(plan.room_needed_mm)} needed · {plan.pixels_on_piece:.0f} px on the piece",
        f"sharp {stop.depth_mm:.2f} mm to a blur radius of {stop.blur_radius_mm:.2g} mm · wait {plan.hold_off_s:.1f} s",
        lights or "no light that fits",
    )


def plan_line(place: int, plan: Plan, kit: Kit, width: int) -> str:
    """`  4 ✓ 1:1.5   f/9  3× 12 mm tube, Longmere 100, Wendle 36     179 mm`: what is added goes before the lens."""
    state = "✗" if not plan.holds else "?" if plan.unknown else "✓"
    frames = plan.stop.series.frames
    start = (
        f"{place + 1:>3} {state} {ratio_text(plan.mounting.magnification):>5} {f_text(plan.stop.f_number):>5} "
        f"{frames:>2}× "
    )
    free = "" if width < ROOM_COLUMNS or plan.clearance_mm is None else f"  {mm_text(plan.clearance_mm):>6}"
    parts = _parts_text(plan.build, kit, max(0, width - len(start)))
    room = width - len(start) - len(free)
    return cut(f"{start}{parts:<{max(0, room)}}{free if len(parts) <= room else ''}".rstrip(), width)


def _parts_text(build: Build, kit: Kit, room: int) -> str:
    """The added parts, lens, body: in full, or as briefly as the kit's own names allow; the first text that fits."""
    lengths = "+".join(f"{tube.extension_mm:g}" for tube in build.tubes)
    word = f" mm tube{'s' if len(build.tubes) > 1 else ''}" if lengths else ""
    lens, body = build.lens.name, build.body.name
    brief_lens = _first_words(lens, [other.name for other in kit.lens])
    brief_body = _own_word(body, [other.name for other in kit.body])
    others = [part.name for part in (build.supplementary, build.converter) if part is not None]
    text = ""
    for lens_name, body_name, tubes in (
        (lens, body, lengths + word),
        (brief_lens, body, lengths + word),
        (brief_lens, brief_body, lengths + word),
        (brief_lens, brief_body, lengths),
    ):
        added = [*(["reversed"] if build.ring else []), *([tubes] if tubes else []), *others]
        text = ", ".join(harmless(name, 40) for name in (*added, lens_name, body_name))
        if len(text) <= room:
            return text
    start, end = text.rsplit(f", {harmless(brief_body, 40)}", 1)
    return f"{cut(start, room - 2 - len(brief_body))}, {harmless(brief_body, 40)}{end}"


def _first_words(name: str, names: Sequence[str]) -> str:
    """The first words of a name, as many as no other one begins with."""
    words = name.split()
    for count in range(1, len(words)):
        if sum(other.split()[:count] == words[:count] for other in names) == 1:
            return " ".join(words[:count])
    return name


def _own_word(name: str, names: Sequence[str]) -> str:
    """The shortest word of a name that is in no other name; the whole name without such a word."""
    own = [word for word in name.split() if sum(word in other.split() for other in names) == 1]
    return min(own, key=len, default=name)
