"""Owns the process that plays the tone: off until a key asks for it, and silent when it can't be."""

from __future__ import annotations

import os
import subprocess
import sys

from session.system.process import import_path
from tui.bench.tone import SILENCE, HeardTone
from tui.bench.tone_player import NO_DEVICE, READY


class Sound:
    """One player at most. `play` may be called from the screen's thread: it never waits for a loudspeaker."""

    def __init__(self, *options: str) -> None:
        """options  of the player's own program"""
        self._options = options
        self._process: subprocess.Popen[bytes] | None = None
        self._tone = SILENCE

    @property
    def is_on(self) -> bool:
        return self._process is not None

    def start(self) -> str:
        """Begin; "" when it plays, else why it doesn't. Waits for the device, so it isn't for the screen's thread."""
        self.stop()
        environment = os.environ | {"PYTHONPATH": import_path("tui")}
        process = subprocess.Popen(
            [sys.executable, "-P", "-m", "tui.bench.tone_player", *self._options],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment,
        )
        assert process.stdin is not None and process.stdout is not None
        said = process.stdout.readline().decode().strip()
        if said == READY:
            os.set_blocking(process.stdin.fileno(), False)
            self._process, self._tone = process, SILENCE
            return ""
        process.communicate()
        return said or NO_DEVICE

    def play(self, tone: HeardTone) -> None:
        """Let this be heard from now on."""
        process = self._process
        if process is None or process.stdin is None or tone == self._tone:
            return
        self._tone = tone
        try:
            os.write(process.stdin.fileno(), f"{tone.hz:.2f} {int(tone.broken)}\n".encode())
        except BlockingIOError:  # the player is behind; the next tone is newer
            return
        except OSError:
            self.stop()

    def stop(self) -> None:
        """Silence, and the player ends."""
        process, self._process = self._process, None
        if process is None:
            return
        assert process.stdin is not None and process.stdout is not None
        process.stdin.close()
        try:
            process.wait(1.0)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        process.stdout.close()
