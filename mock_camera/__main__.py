"""`python -m mock_camera`: a camera on loopback until it is told to end."""

import argparse
import json
import os
import signal
import sys
import tempfile
import threading
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path

from mock_camera.body.camera_body import BodyOptions
from mock_camera.body.clock import CameraClock, RunningClock, SteppedClock
from mock_camera.body.encode import encode_jpeg, encode_raw
from mock_camera.body.faults import FAULTS, FaultScript
from mock_camera.body.picture_source import Encoders
from mock_camera.body.properties import FILE_FORMATS
from mock_camera.camera import PlayedBody, SimulatedCamera
from mock_camera.played.bodies import body_of
from mock_camera.scene.pieces import PIECES
from mock_camera.table.world import World


def pixel_size(text: str) -> tuple[int, int]:
    width, _, height = text.partition("x")
    return int(width), int(height)


def more_than_zero(text: str) -> float:
    """A number from the command line, in the option's unit. Raises ArgumentTypeError unless it is above zero."""
    number = float(text)
    if number <= 0:
        raise argparse.ArgumentTypeError(f"{text} is not above zero")
    return number


def parser() -> argparse.ArgumentParser:
    faults = "\n".join(
        f"  {name}: {kind.does}"
        + (f" [{', '.join(f'{k}={v}' for k, v in kind.options.items())}]" if kind.options else "")
        for name, kind in FAULTS.items()
    )
    form = argparse.ArgumentParser(
        prog="python -m mock_camera",
        description="A simulated camera with a table and lights before it. Speaks PTP/IP on loopback; "
        "prints one JSON line with its ports and serves until ended.",
        epilog=f"faults, each also with times=N (0 = always) and after=N:\n{faults}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    add = form.add_argument
    add("--port", type=int, default=0, help="PTP/IP port, 0 = any free")
    add("--control-port", type=int, default=0, help="port for the hands (JSON lines), 0 = any free")
    add("--seed", type=int, default=1, help="of the pieces and the noise")
    add("--pixels", type=pixel_size, default=(1536, 1024), metavar="WxH")
    add("--piece", default="bridge", choices=tuple(PIECES))
    add("--name", default=BodyOptions.model, help="model name")
    add("--serial", default=BodyOptions.serial)
    add("--body", type=Path, metavar="FILE", help="play the body of which this is a summary")
    add(
        "--makes",
        default="",
        choices=("", *FILE_FORMATS.values()),
        help="with --body: files of a release, whatever is set",
    )
    add("--plain", action="store_true", help="no vendor extension: no live view, no focus drive")
    add("--format", default="jpeg", choices=tuple(FILE_FORMATS.values()))
    add("--jpeg-first", action="store_true", help="announce the JPEG before the raw")
    add("--card-mib", type=int, default=4096)
    add("--card-folder", type=Path, help="keep the card's files here over restarts")
    add("--battery-percent", type=float, default=BodyOptions.battery_percent)
    add("--shutter-lag-s", type=float, default=BodyOptions.shutter_lag_s)
    add("--buffer-s", type=float, default=BodyOptions.buffer_s, help="writing time of each file")
    add("--buffer-frames", type=int, default=BodyOptions.buffer_frames)
    add("--wire-bytes-per-s", type=float, default=0.0, help="slow wire, 0 = as fast as it goes")
    add("--time-scale", type=more_than_zero, default=1.0, help="camera seconds to a real one")
    add("--step-s", type=float, help="stepped clock: stands still but for this much before each release")
    add("--date-time", type=datetime.fromisoformat, help="the camera's date and time at the start, ISO 8601")
    add("--fault", action="append", default=[], metavar="NAME[:k=v,...]")
    add("--until-stdin-closes", action="store_true", help="end when standard input does")
    return form


def start_date_time(given: datetime | None) -> datetime:
    """The start of the camera's clock, with a time zone: the given one's, or this computer's."""
    return given if given and given.tzinfo else (given or datetime.now()).astimezone()


def serve(
    options: argparse.Namespace,
    world: World,
    faults: FaultScript,
    ended: threading.Event,
    played: PlayedBody | None = None,
) -> None:
    """Run the camera until `ended` is set; with `played`, as that body."""
    started_at = start_date_time(options.date_time)
    clock: CameraClock = (
        RunningClock(started_at, options.time_scale, ended)
        if options.step_s is None
        else SteppedClock(started_at, options.step_s)
    )
    body_options = BodyOptions(
        model=options.name,
        serial=options.serial,
        plain=options.plain,
        file_format=options.format,
        battery_percent=options.battery_percent,
        jpeg_first=options.jpeg_first,
        shutter_lag_s=options.shutter_lag_s,
        buffer_s=options.buffer_s,
        buffer_frames=options.buffer_frames,
        pixels=options.pixels,
    )
    with ExitStack() as stack:
        folder = options.card_folder or Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="card-")))
        camera = SimulatedCamera(
            world,
            Encoders(jpeg=encode_jpeg, raw=encode_raw),
            clock,
            folder,
            options=body_options,
            faults=faults,
            card_mib=options.card_mib,
            port=options.port,
            control_port=options.control_port,
            bytes_per_s=options.wire_bytes_per_s,
            played=played,
        )
        stack.callback(camera.close)
        ports = {"ptpip": camera.wire.port, "control": camera.control.port}
        sys.stdout.write(json.dumps({**ports, "pid": os.getpid(), "serial": options.serial}) + "\n")
        sys.stdout.flush()
        ended.wait()


def end_with_a_signal(ended: threading.Event) -> None:
    """Let a thread hear of signals: a handler that ran inside `ended.wait` would lock itself out."""
    heard, told = os.pipe()
    os.set_blocking(told, False)
    signal.set_wakeup_fd(told)
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: None)

    def listen() -> None:
        os.read(heard, 1)
        ended.set()

    threading.Thread(target=listen, daemon=True).start()


def end_with_stdin(ended: threading.Event) -> None:
    while os.read(0, 4096):  # not sys.stdin: its buffer would still be locked by this thread at the end
        pass
    ended.set()


def main(arguments: Sequence[str] | None = None) -> int:
    form = parser()
    options = form.parse_args(arguments)
    faults = FaultScript()
    try:
        for text in options.fault:
            faults.add_text(text)
        played = body_of(options.body, options.makes) if options.body else None
        world = World(seed=options.seed, pixels=options.pixels, piece=options.piece)
    except ValueError as error:
        form.error(str(error))
    ended = threading.Event()
    end_with_a_signal(ended)
    if options.until_stdin_closes:
        threading.Thread(target=end_with_stdin, args=(ended,), daemon=True).start()
    try:
        serve(options, world, faults, ended, played)
    except OSError as error:  # a port that is taken, a card folder that can't be written
        form.exit(1, f"The camera can't start: {error}.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
