"""The bench on a real camera path, with live frames at 15 a second.

    python -m tests.support.live_screen_program FOLDER PORT OUT

A camera on one wire can't send a live frame while it sends a file. So that both go on at once, the live frames come
from a thread, made before by the simulated table, and go the way that the camera's own go: controller, instruments,
screen; the next one only when the screen has shown the last. Release, transfer, files, judge and log are all real.

Writes JSON to OUT at the end: live frames shown, seconds, processor seconds of this process.
"""

from __future__ import annotations

import json
import sys
import threading
from pathlib import Path
from time import monotonic, process_time, sleep

from mock_camera.table.world import World
from session.frame import camera_messages as say
from session.shoot.controller import Shoot
from session.shoot.events import LiveViewChanged
from tests.support.still_life import shot
from tui.app.run import settle_memory
from tui.app.stillset_app import StillsetApp
from tui.shell.build import OpenShoot
from tui.shell.choices import Choices

FRAME_S, KEPT = 1 / 15, 30
SETTINGS = (("exposure_s", 1 / 200), ("f_number", 11.0), ("iso", 100), ("file_format", "raw"))


def live_jpegs() -> list[bytes]:
    """Two seconds of a table that was touched: every frame another one."""
    world = World(seed=4, pixels=(1536, 1024), piece="bridge")
    world.do("touch", now_s=0.0, strength_um=30.0)
    return [world.live_frame(shot(), i * FRAME_S) for i in range(KEPT)]


class Feeder:
    """Delivers live frames at 15 a second, never more than one that the screen hasn't shown."""

    def __init__(self, table: OpenShoot) -> None:
        self._table = table
        self._used = threading.Event()
        self._jpegs = live_jpegs()
        self.shown = 0
        self.began = 0.0, 0.0

    def begin(self, shoot: Shoot) -> None:
        """In the controller's thread: what live view asks of the camera comes here."""
        post = shoot.shoot_state.post

        def here(request: say.Request) -> None:
            if isinstance(request, say.NextLiveFrame):
                if not self.shown:
                    self.began = monotonic(), process_time()
                self.shown += 1
                self._used.set()
            else:
                post(request)

        shoot.shoot_state.post = here
        shoot.live.on = True
        shoot.shoot_state.emit(LiveViewChanged(True))
        self._used.set()
        threading.Thread(target=self._feed, daemon=True).start()

    def _feed(self) -> None:
        due_s, number = monotonic(), 0
        while True:
            self._used.wait()
            self._used.clear()
            due_s = max(due_s + FRAME_S, monotonic())
            sleep(max(0.0, due_s - monotonic()))
            frame = say.LiveFrame(self._jpegs[number % KEPT], monotonic())
            number += 1
            self._table.post(frame)


def main(folder: Path, port: int, out: Path) -> None:
    table = OpenShoot(
        Choices(
            log=str(folder / "log.db"),
            folder=folder / "pictures",
            camera=f"ptpip:127.0.0.1:{port}",
            job="Invented movements",
            piece="barrel 6",
            view="flat",
            settings=SETTINGS,
        )
    )
    feeder = Feeder(table)
    app = StillsetApp(table, bell=False)
    table.start()
    table.ask(feeder.begin)
    settle_memory()
    app.run(mouse=False)
    began_s, cpu_s = feeder.began
    told = {"frames": feeder.shown, "s": monotonic() - began_s, "cpu_s": process_time() - cpu_s}
    out.write_text(json.dumps(told))
    table.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]))
