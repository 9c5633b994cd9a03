"""`python -m tui.bench.tone_player [--no-device]`: plays the tones asked for on standard input, until the input ends.

A process of its own: sound libraries print as they like, and what waits for a loudspeaker must not hold up the keys.
Each line in is a pitch in Hz and 0 or 1 for broken, `440.0 0`; the first line out is `ready`, or a sentence.
"""

from __future__ import annotations

import sys
from collections.abc import Generator

from tui.bench.tone import SILENCE, HeardTone, Oscillator

RATE_HZ, BUFFER_MS = 48_000, 60

READY = "ready"
NO_EXTRA = "The tone needs the extra `sound`; the README says how."
NO_DEVICE = "No loudspeaker answers, so there is no tone."


def main() -> int:
    """Exit code 0 at the end of the input, 1 when nothing can be played."""
    try:
        import miniaudio  # noqa: PLC0415 - the extra `sound`
    except ImportError:
        return _refuse(NO_EXTRA)
    player = Player()
    stream = player.stream()
    next(stream)
    try:
        device = miniaudio.PlaybackDevice(
            output_format=miniaudio.SampleFormat.FLOAT32,
            nchannels=1,
            sample_rate=RATE_HZ,
            buffersize_msec=BUFFER_MS,
            backends=[miniaudio.Backend.NULL] if "--no-device" in sys.argv else None,
        )
        device.start(stream)
    except miniaudio.MiniaudioError:
        return _refuse(NO_DEVICE)
    print(READY, flush=True)  # noqa: T201 - the parent reads it
    for line in sys.stdin:
        hz, broken = line.split()
        player.tone = HeardTone(float(hz), broken == "1")
    device.close()
    return 0


class Player:
    """The tone being played; the device's own thread asks for samples."""

    def __init__(self) -> None:
        self.tone = SILENCE

    def stream(self) -> Generator[bytes, int, None]:
        """Takes how many samples are wanted, gives as many."""
        oscillator = Oscillator(RATE_HZ)
        wanted = yield b""
        while True:
            wanted = yield oscillator.samples(wanted, self.tone).tobytes()


def _refuse(sentence: str) -> int:
    print(sentence, flush=True)  # noqa: T201 - the parent reads it
    return 1


if __name__ == "__main__":
    sys.exit(main())
