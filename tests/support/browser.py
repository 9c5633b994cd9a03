"""Chromium without a window, driven by its DevTools protocol over a pipe; for pages as a tablet shows them.

with Browser(folder) as browser:
    tab = browser.tablet(820, 1180)
    tab.go(url)
    tab.until("document.title == 'stillset'")
"""

from __future__ import annotations

import fcntl
import json
import os
import select
import shutil
import subprocess
from pathlib import Path
from time import monotonic
from typing import Any, Self

DEADLINE_S = 60.0
"""For anything that must come; only a failing test waits so long."""

NAMES = ("chromium", "chromium-browser", "google-chrome")
QUIET = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"),
    *("--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage"),
)
READS, WRITES = 3, 4
"""Descriptors on which the browser expects the pipe's ends."""

OUT_OF_THE_WAY = 50


def browser_path() -> str | None:
    """Where one is installed, None where none is."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


class Browser:
    """Runs until the end of the block."""

    def __init__(self, profile: Path) -> None:
        path = browser_path()
        assert path is not None
        theirs_in, self._to = os.pipe()
        self._from, theirs_out = os.pipe()
        far = [fcntl.fcntl(end, fcntl.F_DUPFD, OUT_OF_THE_WAY) for end in (theirs_in, theirs_out)]

        def at_their_places() -> None:
            os.dup2(far[0], READS)
            os.dup2(far[1], WRITES)

        self._process = subprocess.Popen(
            [path, *QUIET, "--remote-debugging-pipe", f"--user-data-dir={profile}", "about:blank"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            preexec_fn=at_their_places,  # noqa: PLW1509 - it touches no lock
            close_fds=False,
        )
        for end in (theirs_in, theirs_out, *far):
            os.close(end)
        self._number, self._unread = 0, b""
        self.told: list[dict[str, Any]] = []

    def call(self, method: str, session: str | None = None, **params: object) -> dict[str, Any]:
        """Ask for something; what comes meanwhile is kept in `told`."""
        self._number += 1
        message: dict[str, object] = {"id": self._number, "method": method, "params": params}
        if session:
            message["sessionId"] = session
        os.write(self._to, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._number:
                assert "error" not in answer, answer
                return dict(answer["result"])
            self.told.append(answer)

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._unread:
            assert select.select([self._from], [], [], DEADLINE_S)[0], "the browser is silent"
            part = os.read(self._from, 1 << 20)
            assert part, "the browser ended"
            self._unread += part
        one, _, self._unread = self._unread.partition(b"\0")
        return dict(json.loads(one))

    def tablet(self, width: int, height: int, pixels_per_point: int = 2) -> Tab:
        """A page of this size in points."""
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        size = {"width": width, "height": height, "deviceScaleFactor": pixels_per_point, "mobile": True}
        self.call("Emulation.setDeviceMetricsOverride", session, **size)
        for domain in ("Runtime", "Network", "Log"):
            self.call(f"{domain}.enable", session)
        return Tab(self, session)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.kill()
        self._process.wait()
        for end in (self._to, self._from):
            os.close(end)


class Tab:
    """One page."""

    def __init__(self, browser: Browser, session: str) -> None:
        self._browser, self._session = browser, session

    def go(self, url: str) -> None:
        """Open an address."""
        self._browser.call("Page.bringToFront", self._session)
        self._browser.call("Page.navigate", self._session, url=url)
        self.until("location.href != 'about:blank' && document.readyState == 'complete'")

    def js(self, expression: str) -> Any:
        """What an expression gives, promises awaited."""
        asked = {"expression": expression, "awaitPromise": True, "returnByValue": True}
        answer = self._browser.call("Runtime.evaluate", self._session, **asked)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def until(self, condition: str) -> None:
        """Wait until it holds."""
        deadline_s = monotonic() + DEADLINE_S
        while not self.js(f"Boolean({condition})"):
            assert monotonic() < deadline_s, condition
            self.js("new Promise((then) => setTimeout(then, 20))")

    def tap(self, selector: str) -> None:
        """A finger on the middle of an element."""
        sides = self.js(f"JSON.stringify(document.querySelector('{selector}').getBoundingClientRect())")
        box = json.loads(sides)
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        self._browser.call("Emulation.setTouchEmulationEnabled", self._session, enabled=True)
        points = [{"x": x, "y": y}]
        self._browser.call("Input.dispatchTouchEvent", self._session, type="touchStart", touchPoints=points)
        self._browser.call("Input.dispatchTouchEvent", self._session, type="touchEnd", touchPoints=[])
