"""The tone that rises with the focus, and the process that plays the tone: off until a key asks for it."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import partial

from session.system.process import import_path
from tui.bench.mode import BenchPort
from tui.bench.tone import SILENCE, HeardTone, Pitch
from tui.bench.tone_player import NO_DEVICE, READY
from tui.screen.background import Then

TONE_LASTS_S = 1.0
"""Seconds that the tone lasts without a new picture; the slowest stream brings a picture in this time. Chosen."""


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
        """Begin to play; "" or the reason for silence. Waits for the device, so never called in the screen's thread."""
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


class FocusTone:
    """The tone of the live picture's focus; the scale begins at the first reading that is heard."""

    def __init__(self, bench: BenchPort) -> None:
        self._bench = bench
        self._pitch = Pitch()
        self.sound = Sound()

    def follow(self) -> None:
        """A live picture came: its focus is heard, unless the picture is held still."""
        live = self._bench.model.live
        if live.on and not live.look.paused:
            self.sound.play(self._pitch.tone(live.focus))

    def end_if_old(self) -> None:
        """A tone that no picture renews ends; so it does with live view, in a pause, and behind another screen."""
        live, now_s = self._bench.model.live, self._bench.app.clock.monotonic_s()
        if not live.on or live.look.paused or live.at_s is None or now_s - live.at_s > TONE_LASTS_S:
            self.sound.play(SILENCE)

    def forget(self) -> None:
        """A new search for the best begins, with a scale of its own."""
        self._pitch.forget()

    def switch(self) -> None:
        """Begin or end, in the background, and say so."""
        self._bench.app.in_background(self._end if self.sound.is_on else self._begin, "tone")

    def stop(self) -> None:
        """The bench goes; nothing is said."""
        self.sound.stop()

    def _begin(self) -> Then:
        """Begin the tone, in the background."""
        return partial(self._bench.say, self.sound.start() or "The tone rises with the focus.")

    def _end(self) -> Then:
        """End the tone, in the background."""
        self.sound.stop()
        return partial(self._bench.say, "The tone is off.")
