"""`stillset` and `python -m tui`: the first lines that run.

Until the command line stands nothing has begun, so Ctrl-C ends the program there without a word, as it would any that
never heard of it; what is imported before a command runs takes a moment in which a traceback would be noise.
"""

from __future__ import annotations

import os
import signal
import sys


def main() -> None:
    """Run the command line; every known trouble is one sentence, never a traceback."""
    before = signal.getsignal(signal.SIGINT)
    quietly = before is signal.default_int_handler  # not so where a shell has its background jobs ignore it
    if quietly:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from session.system.process import ONE_THREAD  # noqa: PLC0415 - after Ctrl-C is seen to

    for name, value in ONE_THREAD.items():  # NumPy reads it when it is imported; processes of ours inherit it
        os.environ.setdefault(name, value)
    from tui.commands.command_line import stillset  # noqa: PLC0415
    from tui.shell.terminal import write_nearest  # noqa: PLC0415
    from tui.shell.troubles import in_words  # noqa: PLC0415

    write_nearest()
    signal.signal(signal.SIGINT, before)
    code = in_words(stillset)
    if quietly:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    sys.exit(code)


if __name__ == "__main__":
    main()
