"""The light mix on a real terminal: from a key's byte to the last byte of what it paints, at 160x48.

    pytest tests/benchmarks/test_mix_screen.py -s

Three lights' solos of 20 megapixels, the size of which most is kept: an eighth of it would be under the 700 px that are
wanted, so a quarter is mixed. A key is answered when its words have been written and nothing more came for QUIET_S,
which is not counted. A bare program echoes keys between, so that what the machine takes is known; the processor time
is that of all threads. The smallest of three rounds is held to the limit: others may use the machine.
"""

from __future__ import annotations

import fcntl
import os
import select
import struct
import subprocess
import sys
import termios
from pathlib import Path
from statistics import median
from time import monotonic

import pytest
from PIL import Image

from session.system.process import import_path
from tests.support.mix_program import FRAMES, LIGHTS
from tests.support.solo_sets import solo_set

SIZE_PX = (5472, 3648)
COLUMNS, ROWS = 160, 48
ROUNDS, KEYS, WITHIN_S = 3, 20, 0.1
QUIET_S, DEADLINE_S = 0.15, 120.0
TICKS = os.sysconf("SC_CLK_TCK")
PICTURE = "▀".encode()
"""Half a cell of the picture: it is painted anew with each key."""

ECHO = "import os, tty\ntty.setraw(0)\nos.write(1, b'echoes')\nwhile key := os.read(0, 1): os.write(1, b'echo')"


class Terminal:
    """A program in a pseudo-terminal of COLUMNS x ROWS."""

    def __init__(self, *words: str) -> None:
        mine, its = os.openpty()
        fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        environment = os.environ | {
            "TERM": "xterm-256color",
            "COLORTERM": "truecolor",
            "PYTHONPATH": import_path("tests"),
        }
        self.process = subprocess.Popen(
            [sys.executable, *words], stdin=its, stdout=its, stderr=its, env=environment, start_new_session=True
        )
        os.close(its)
        self._wire = mine

    def answer_s(self, key: bytes, words: bytes, quiet_s: float) -> float:
        """From a key, or none, to the last byte of an answer that has the words and ends with so long a silence."""
        begun_s, last_s, seen = monotonic(), 0.0, b""
        os.write(self._wire, key)
        while words not in seen or monotonic() - last_s < quiet_s:
            assert monotonic() - begun_s < DEADLINE_S, f"never wrote {words!r}"
            if select.select([self._wire], [], [], quiet_s)[0]:
                seen += os.read(self._wire, 1 << 20)
                last_s = monotonic()
        return last_s - begun_s

    @property
    def processor_s(self) -> float:
        """Processor time of the program so far, of all its threads."""
        fields = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / TICKS

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        os.close(self._wire)


@pytest.mark.timeout(600)
def test_a_keys_effect_is_on_the_terminal_within_100_ms_at_160_by_48(tmp_path: Path) -> None:
    made = solo_set(tmp_path, 60012)
    on = dict(zip(FRAMES, (LIGHTS, *((name,) for name in LIGHTS), ()), strict=True))
    for name, lights in on.items():
        with Image.open(made.path(*lights)) as image:
            image.resize(SIZE_PX, Image.Resampling.BICUBIC).save(tmp_path / f"{name}.jpg", quality=92)
    bench = Terminal("-m", "tests.support.mix_program", str(tmp_path))
    bare = Terminal("-c", ECHO)
    rounds = []
    try:
        bare.answer_s(b"", b"echoes", 0.0)
        bench.answer_s(b"", b"AS IT WOULD BE", 1.0)
        for _ in range(ROUNDS):
            begun_s, answers_s, echoes_s = bench.processor_s, [], []
            for n in range(KEYS):
                answers_s.append(bench.answer_s(b"-" if n % 2 == 0 else b"+", PICTURE, QUIET_S))
                echoes_s.append(bare.answer_s(b"y", b"echo", 0.0))
            rounds.append((median(answers_s), max(answers_s), (bench.processor_s - begun_s) / KEYS, median(echoes_s)))
    finally:
        bench.close()
        bare.close()
    for half, most, cpu, echo in rounds:
        words = f"key to terminal: median {half * 1000:.0f} ms, most {most * 1000:.0f}"
        print(
            f"{words}; processor {cpu * 1000:.0f} ms a key; an echo {echo * 1000:.2f} ms, {half / echo:.0f} times less"
        )
    assert min(half for half, *_ in rounds) <= WITHIN_S
