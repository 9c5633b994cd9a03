"""Screens and the command line: puts the parts together and shows what `session` and `storage` say.

Read in this order, from the ground up: `words` keys, models and sentences, without a widget (`keys` is the table that
footer, help and docs/keys.md come from); `paper`
pages to print; `shell` what commands share, with `build`, the one place that makes log,
camera, judge and controller; `screen` widgets and what all screens share; `compare`, `explain`, `bench`, `ledger`,
`planner`, `follow` a folder for each screen; `headless` a shoot without one; `demo` the invented job; `app` the program
at the terminal; `commands` the command line; `__main__` the first lines that run.
"""

import os

PAINTS_PER_S = 120
"""At most. After one painting Textual may wait two of its rounds with the next: at its usual 60 a second a key that is
pressed when a live picture has just been painted is answered 33 ms later than need be. Read when Textual is loaded."""

os.environ.setdefault("TEXTUAL_FPS", str(PAINTS_PER_S))
