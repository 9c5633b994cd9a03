"""The bench over a scripted table with one frame, for what needs a true terminal.

python -m tests.support.still_program FOLDER
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from PIL import Image

from session.frame.finding import FocusVerdict
from session.shoot.events import RevisionChanged
from tests.support.bench_events import FOUND, judged, released
from tests.support.scripted_table import REVISION, ScriptedTable
from tui.app.stillset_app import StillsetApp


def main(folder: Path) -> None:
    """A green picture; the region is its middle fifth."""
    path = folder / "frame.jpg"
    Image.fromarray(np.full((1000, 1500, 3), (20, 180, 60), np.uint8)).save(path)
    table = ScriptedTable()
    events = (FOUND, RevisionChanged(REVISION, "r"), *released(1, path=str(path)), *judged(1, FocusVerdict.SHARP, 0.4))
    app = StillsetApp(table)
    app.call_later(table.tell, *events)
    app.run(mouse=False)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
