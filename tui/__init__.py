"""Screens and the command line: puts the parts together and shows what `session` and `storage` say.

`__main__` the commands, loaded when asked for; `build` the one place that makes log, camera, judge and
controller; `headless` a shoot without a screen; `app`, `bench`, `ledger` the screens; `keys` the table of
keys that footer, help and docs/keys.md come from; `story` the demo's invented day at the table.
"""

import os

PAINTS_PER_S = 120
"""At most. After one painting Textual may wait two of its rounds with the next: at its usual 60 a second a key that is
pressed when a live picture has just been painted is answered 33 ms later than need be. Read when Textual is loaded."""

os.environ.setdefault("TEXTUAL_FPS", str(PAINTS_PER_S))
