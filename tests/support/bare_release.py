"""The least that a release takes with python-gphoto2: trigger, events, get, write, fsync. For comparison only.

    python -m bare_release PORT FOLDER FRAMES FILES

Prints the seconds that each frame took, from the call that releases to the last fsync, as a JSON list. With `-` for
FRAMES it takes one for each line on standard input, and prints its seconds on a line at once. With two files
a frame, the JPEG is fetched first, as we do it, whichever is announced first.
"""

from __future__ import annotations

import json
import os
import sys
from time import monotonic

import gphoto2 as gp


def connected(port: str) -> gp.Camera:
    camera = gp.Camera()
    models = gp.CameraAbilitiesList()
    models.load()
    ports = gp.PortInfoList()
    ports.load()
    camera.set_abilities(models[models.lookup_model("PTP/IP Camera")])
    camera.set_port_info(ports[ports.lookup_path(f"ptpip:127.0.0.1:{port}:{port}")])
    camera.init()
    return camera


def take(camera: gp.Camera, folder: str, files: int) -> float:
    began = monotonic()
    camera.trigger_capture()
    announced: list[tuple[str, str]] = []
    while len(announced) < files:
        kind, path = camera.wait_for_event(1000)
        if kind == gp.GP_EVENT_FILE_ADDED:
            announced.append((path.folder, path.name))
    for place, name in sorted(announced, key=lambda path: not path[1].endswith("JPG")):
        file = camera.file_get(place, name, gp.GP_FILE_TYPE_NORMAL)
        with open(f"{folder}/{name}", "wb") as saved:  # noqa: PTH123 - the plainest script there is
            saved.write(memoryview(file.get_data_and_size()))
            saved.flush()
            os.fsync(saved.fileno())
    return monotonic() - began


def main() -> None:
    port, folder, frames, files = sys.argv[1:]
    camera = connected(port)
    if frames == "-":
        for _ in sys.stdin:
            os.write(1, f"{take(camera, folder, int(files))}\n".encode())
        return
    took = [take(camera, folder, int(files)) for _ in range(int(frames))]
    camera.exit()
    os.write(1, json.dumps(took).encode())


if __name__ == "__main__":
    main()
