"""The bench in this terminal with a whole series of solos in its log, and the light mix open.

    python -m tests.support.mix_program FOLDER

FOLDER holds the log that is made, and `together.jpg`, `key.jpg`, `fill.jpg`, `rim.jpg` and `ambient.jpg`. The
controller is the real one on a scripted camera; keys come from the terminal, and what is painted goes there.
"""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path

from textual.pilot import Pilot

from session.frame.finding import FocusVerdict
from session.set.setup import PlacedLight, Revision
from tests.support.played_bench import PlayedBench
from tests.support.played_table import PlayedTable
from tests.support.scripted import Studio
from tests.support.scripted_table import READING
from tests.support.solo_sets import POWER_EV
from tests.support.written_log import written_log
from tui.app.run import settle_memory
from tui.app.stillset_app import StillsetApp

LIGHTS = ("key", "fill", "rim")
FRAMES = ("together", *LIGHTS, "ambient")


async def open_the_mix(app: StillsetApp, table: PlayedTable, folder: Path, pilot: Pilot[None]) -> None:
    """Shoot the series and open its mix; then the terminal's keys are on their own."""
    at = PlayedBench(app, pilot, table)
    at.studio = table.studio
    await at.press("S")
    for name in FRAMES:
        await at.frame(FocusVerdict.UNJUDGED, str(folder / f"{name}.jpg"))
    await at.press("m")


def main() -> None:
    folder = Path(sys.argv[1])
    lights = tuple(PlacedLight(name, POWER_EV) for name in LIGHTS)
    written = written_log(folder / "log.db", Revision(lights=lights), READING, ())
    table = PlayedTable(Studio(written=written))
    table.reader = written.reader
    app = StillsetApp(table, clock=table.studio.clock, bell=False)
    settle_memory()
    app.run(auto_pilot=partial(open_the_mix, app, table, folder))


if __name__ == "__main__":
    main()
