"""The bench in a real terminal, over a scripted table and a real log, for keys.

    python -m tests.support.typed_at_bench FOLDER

When it ends it writes FOLDER/done.json: by act, what each call of it was given, and what the planner's wish became.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from functools import partial
from pathlib import Path
from typing import Any

from session.frame.finding import FocusVerdict
from session.plan.wish import Wish
from session.shoot.acts import Act, AddNote, AddViews, AskRelease, GoTo, MarkFrame, NewSetup, PlaceLight, Revise
from session.shoot.events import RevisionChanged, RulesChanged
from storage.reading.views import FrameFilter
from tests.support.bench_events import FOUND
from tests.support.scripted_table import READING, REVISION, SYNC, FixedClock, ScriptedTable
from tests.support.written_log import written_log
from tui.app.stillset_app import StillsetApp
from tui.planner.planner_screen import PlannerScreen

FRAMES = 3


class Done:
    """What was done, by act, in its order."""

    def __init__(self) -> None:
        self.acts: defaultdict[str, list[Any]] = defaultdict(list)

    def hear(self, table: ScriptedTable) -> None:
        """Write down each act that is posted to the table."""
        kept: list[tuple[type[Act], str, Any]] = [
            (AddNote, "note", lambda act: [int(act.frame_id[-2:]), act.text]),
            (AskRelease, "release", lambda act: dict(act.overrulings) or None),
            (PlaceLight, "light", lambda act: act.light.note),
            (Revise, "exposure", lambda act: act.changes["settings"].exposure_s),
            (NewSetup, "set-up", lambda act: act.notes),
            (GoTo, "place", lambda act: [act.piece, act.view]),
            (AddViews, "order", lambda act: [act.piece, *act.views]),
            (MarkFrame, "mark", lambda act: [act.frame_id, act.mark]),
        ]
        for kind, name, told in kept:
            table.on[kind] = partial(self._keep, name, told)

    def _keep(self, name: str, told: Any, act: Act) -> None:
        self.acts[name].append(told(act))


class WatchedPlanner(PlannerScreen):
    """Keeps each wish that it comes to have."""

    done: Done

    @property
    def wish(self) -> Wish:
        return self._wish

    @wish.setter
    def wish(self, wish: Wish) -> None:
        self._wish = wish
        self.done.acts["wish"].append(wish.piece_width_mm)


class TypedApp(StillsetApp):
    def __init__(self, table: ScriptedTable, done: Done) -> None:
        super().__init__(table, clock=FixedClock(), bell=False)
        self.done = done

    def show_planner(self) -> None:
        WatchedPlanner.done = self.done
        self.push_screen(WatchedPlanner())


class WatchedReader:
    """The log's reader; keeps the words by which frames are looked for."""

    def __init__(self, reader: Any, done: Done) -> None:
        self._reader, self._done = reader, done

    def frames(self, wanted: FrameFilter, **options: Any) -> Any:
        if wanted.text:
            self._done.acts["find"].append(wanted.text)
        return self._reader.frames(wanted, **options)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._reader, name)


def run(folder: Path) -> None:
    log = written_log(folder / "log.db", REVISION, READING, [FocusVerdict.SHARP] * FRAMES)
    done, table = Done(), ScriptedTable()
    table.reader = WatchedReader(log.reader, done)
    done.hear(table)
    app = TypedApp(table, done)

    def tell() -> None:
        table.tell(FOUND, RevisionChanged(REVISION, "r"), RulesChanged((SYNC,)))

    app.call_later(tell)
    app.run(mouse=False)
    log.close()
    (folder / "done.json").write_text(json.dumps(done.acts))


if __name__ == "__main__":
    run(Path(sys.argv[1]))
