"""Work that must not hold up the keys: in a thread, with its outcome handed over in the screen's own."""

from __future__ import annotations

import asyncio
import signal
from collections.abc import Callable
from contextlib import suppress
from functools import partial

from textual.message import Message
from textual.worker import Worker, get_current_worker

from session.picture.preview import UnreadablePicture
from tui.screen.keyed import KeyedApp
from tui.screen.small_picture import SmallPicture, small_picture
from tui.shell.terminal import OWN_MISTAKE, write_down

Then = Callable[[], None]

ENDING_SIGNALS = (signal.SIGTERM, signal.SIGHUP)
ENDED_BY_SYSTEM = 1
"""Exit code of a screen that the system ended."""

Loaded = Callable[[str, SmallPicture | None, str], None]
"""(path, picture or None, sentence in its place)"""


def nothing_more() -> None:
    """After a piece of work that failed."""


class BackgroundApp(KeyedApp):
    """An app that does slow things beside itself."""

    class Next(Message):
        """A call that another thread wants done in the screen's own; `worker`: a worker that ends thereby."""

        def __init__(self, then: Then, worker: Worker[None] | None = None) -> None:
            super().__init__()
            self.then, self.worker = then, worker

    ended_by_system = False
    """The system asked for the end; another return code than 0 is a mistake of ours otherwise."""

    def end_on_signals(self) -> None:
        """End in order when the system asks for it; for `on_mount`."""
        if not self.is_headless:
            loop = asyncio.get_running_loop()
            ends = dict.fromkeys(ENDING_SIGNALS, self.end_at_once) | {signal.SIGINT: self.action_interrupt}
            for number, end in ends.items():
                with suppress(NotImplementedError):
                    loop.add_signal_handler(number, end)

    def action_interrupt(self) -> None:
        """Ctrl-C: end, or ask first."""
        self.action_end()

    def action_end(self) -> None:
        """End now, in whatever state; a frame in the camera's hands is saved first."""
        raise NotImplementedError

    def end_at_once(self) -> None:
        """End at once, since the system asks for it: the computer is switched off, or the terminal was closed."""
        raise NotImplementedError

    async def on_background_app_next(self, message: Next) -> None:
        message.then()
        if message.worker is not None and message.worker is self.keys_wait_for:
            self.keys_wait_for = None
            self.post_message(self.KeysDue())

    def own_mistake(self, sentence: str) -> None:
        """Show the sentence on a mistake of stillset's own; from any thread."""
        raise NotImplementedError

    def in_background(self, work: Callable[[], Then], group: str, *, keys_wait: bool = False) -> None:
        """Call `work` in a thread, and its result in the screen's own; of a group only the newest call counts.

        keys_wait  keys pressed meanwhile are taken afterwards, since their meaning depends on the result
        """

        def run() -> None:
            worker = get_current_worker()
            try:
                then = work()
            except Exception as error:  # noqa: BLE001 — the edge: our own mistake is written down and said
                write_down(error)
                self.own_mistake(OWN_MISTAKE)
                then = nothing_more
            if not worker.is_cancelled:
                self.post_message(self.Next(then, worker))

        worker = self.run_worker(run, thread=True, exclusive=True, group=group, exit_on_error=False)
        if keys_wait:
            self.keys_wait_for = worker

    def load_picture(self, path: str, loaded: Loaded, group: str = "picture") -> None:
        """Decode a file's picture small, and hand it over."""

        def work() -> Then:
            try:
                return partial(loaded, path, small_picture(path), "")
            except UnreadablePicture as error:
                return partial(loaded, path, None, f"the file {error}")

        self.in_background(work, group)
