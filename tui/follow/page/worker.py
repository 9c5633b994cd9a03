"""A thread that does the server's slow work, task after task.

It is a daemon: what hangs in it, such as a picture on a disk that went away, never holds up the program's end. A pool
of the standard library would be waited for.
"""

from __future__ import annotations

import asyncio
import queue
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import TypeVar

T = TypeVar("T")


class Worker:
    """Calls functions in its thread; for one event loop."""

    def __init__(self, name: str) -> None:
        self._work: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        threading.Thread(target=self._run, name=name, daemon=True).start()

    def do(self, function: Callable[[], T]) -> asyncio.Future[T]:
        """A future of what the function gives or raises."""
        loop = asyncio.get_running_loop()
        future: asyncio.Future[T] = loop.create_future()

        def tell(result: T | None, error: BaseException | None) -> None:
            if future.done():
                return
            if error is not None:
                future.set_exception(error)
            else:
                future.set_result(result)  # type: ignore[arg-type]

        def work() -> None:
            result, wrong = None, None
            try:
                result = function()
            except Exception as error:  # noqa: BLE001 - the edge: it is raised where the future is awaited
                wrong = error
            with suppress(RuntimeError):  # the loop has closed meanwhile: nobody waits any more
                loop.call_soon_threadsafe(tell, result, wrong)

        self._work.put(work)
        return future

    def _run(self) -> None:
        while True:
            self._work.get()()
