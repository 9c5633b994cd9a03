"""Work that must not hold up the keys: in a thread, with its outcome handed over in the screen's own."""

from __future__ import annotations

import asyncio
import signal
from collections.abc import Callable
from contextlib import suppress
from functools import partial

from textual.app import App
from textual.message import Message
from textual.worker import get_current_worker

from session.preview import UnreadablePicture
from tui.pictures import SmallPicture, small_picture
from tui.terminal import write_down

OWN_MISTAKE = "Something went wrong in stillset itself; it is in the error file. Frames are safe."

Then = Callable[[], None]

ENDING_SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)

Loaded = Callable[[str, SmallPicture | None, str], None]
"""(path, picture or None, sentence where there is none)"""


class BackgroundApp(App[None]):
    """An app that does slow things beside itself."""

    class Next(Message):
        """Something that another thread wants done in the screen's own."""

        def __init__(self, then: Then) -> None:
            super().__init__()
            self.then = then

    def end_on_signals(self) -> None:
        """End in order when the system asks for it; for `on_mount`."""
        if not self.is_headless:
            loop = asyncio.get_running_loop()
            for number in ENDING_SIGNALS:
                with suppress(NotImplementedError):
                    loop.add_signal_handler(number, self.action_end)

    def action_end(self) -> None:
        """End now, in whatever state."""
        raise NotImplementedError

    def on_background_app_next(self, message: Next) -> None:
        message.then()

    def own_mistake(self, sentence: str) -> None:
        """Say that something of ours went wrong; from any thread."""
        raise NotImplementedError

    def in_background(self, work: Callable[[], Then], group: str) -> None:
        """Do `work` in a thread, then what it gives back in the screen's own; of a group only the newest counts."""

        def run() -> None:
            try:
                then = work()
            except Exception as error:  # noqa: BLE001 — the edge: our own mistake is written down and said
                write_down(error)
                self.own_mistake(OWN_MISTAKE)
                return
            if not get_current_worker().is_cancelled:
                self.post_message(self.Next(then))

        self.run_worker(run, thread=True, exclusive=True, group=group, exit_on_error=False)

    def load_picture(self, path: str, loaded: Loaded, group: str = "picture") -> None:
        """Decode a file's picture small, and hand it over."""

        def work() -> Then:
            try:
                return partial(loaded, path, small_picture(path), "")
            except UnreadablePicture as error:
                return partial(loaded, path, None, f"the file {error}")

        self.in_background(work, group)
