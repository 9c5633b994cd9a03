"""What the tablet page takes: memory and times with many viewers, half-open connections, large pictures; and its end.

Figures are printed. What is asserted: nobody who has the token is kept out by strangers, memory stays within the bound,
and the end comes within two seconds. Pictures are noise over structure, so that JPEGs are as large as a camera's.
"""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic

import numpy as np
import pytest
from PIL import Image

from session.frame.finding import FocusVerdict
from tests.support.scripted_table import READING, REVISION
from tests.support.served_page import LOOPBACK, Asking, Viewer
from tests.support.stillset_program import Running, StillsetHome
from tests.support.written_log import WrittenLog, add_frame, written_log
from tui.follow.page.page_limits import PageLimits

pytestmark = pytest.mark.timeout(600)

FULL = (8256, 5504)
"""45 megapixels."""

ENDS_WITHIN_S = 2.0
TRIED_VIEWERS, HALF_OPEN, VIEWERS, FRAMES = 200, 300, 20, 8
LIMITS = PageLimits()


def memory_mb(server: Running, key: str = "VmRSS") -> float:
    """Linux: what the process has in memory, or had at most (VmHWM)."""
    status = Path(f"/proc/{server.pid}/status").read_text(encoding="ascii")
    found = re.search(rf"{key}:\s+(\d+) kB", status)
    assert found
    return int(found[1]) / 1000


@contextmanager
def serving(home: StillsetHome) -> Iterator[tuple[Running, Asking]]:
    with socket.create_server((LOOPBACK, 0)) as free:
        port = free.getsockname()[1]
    with home.start("follow", "--serve", str(port)) as server:
        server.until("Ctrl-C ends it.")
        found = re.search(rf"http://{LOOPBACK}:{port}/([a-z0-9-]+)/", server.said)
        assert found
        yield server, Asking(port, found[1])


@pytest.fixture(scope="module")
def photograph(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A JPEG of 45 megapixels."""
    wide, high = FULL
    chance = np.random.default_rng(1)
    tile = chance.normal(0, 12, (high // 8, wide // 8)).repeat(4, axis=0).repeat(4, axis=1)
    pixels = np.tile(tile + 128, (2, 2)) + chance.normal(0, 4, (high, wide))
    path = tmp_path_factory.mktemp("pictures") / "full.jpg"
    Image.fromarray(pixels.clip(0, 255).astype(np.uint8)).convert("RGB").save(path, quality=95)
    return path


@pytest.fixture
def home(tmp_path: Path, photograph: Path) -> Iterator[tuple[StillsetHome, WrittenLog]]:
    home = StillsetHome(tmp_path)
    for number in range(2, FRAMES + 2):
        (tmp_path / f"p.jpg.{number}.jpg").symlink_to(photograph)
    (tmp_path / "p.jpg").symlink_to(photograph)
    log = written_log(home.log, REVISION, READING, (FocusVerdict.SHARP,), tmp_path / "p.jpg")
    yield home, log
    log.close()


def test_memory_and_places_under_a_crowd(home: tuple[StillsetHome, WrittenLog], photograph: Path) -> None:
    place, log = home
    with serving(place) as (server, page):
        page.looking_on().until("large", "SHARP")
        idle_mb = memory_mb(server)
        started_s = monotonic()
        assert page.get(f"picture/{log.frame_ids[1]}").status == 200
        whole_s, started_s = monotonic() - started_s, monotonic()
        assert page.get(f"region/{log.frame_ids[1]}").status == 200
        region_s = monotonic() - started_s
        decoded_mb = memory_mb(server, "VmHWM")
        crowd = [Viewer(page) for _ in range(TRIED_VIEWERS)]
        let_in = [viewer for viewer in crowd if viewer.status == 200]
        assert len(let_in) == LIMITS.viewers - 1 or len(let_in) == LIMITS.viewers
        crowd_mb = memory_mb(server)
        halves = [page.connected() for _ in range(HALF_OPEN)]
        for half in halves:
            half.sendall(b"GET / HTTP/1.1\r\nHost:")
        started_s = monotonic()
        assert page.get("page.css").status == 200
        asked_s = monotonic() - started_s
        for viewer in let_in:
            assert viewer.until("large", "SHARP"), "who looked on looks on"
        crowded_mb = memory_mb(server)
        server.terminate()
        started_s = monotonic()
        ended = server.ended()
        end_s = monotonic() - started_s
        for viewer in crowd:
            viewer.close()
        for half in halves:
            half.close()
    print(f"\na picture of {photograph.stat().st_size / 1e6:.0f} MB: whole {whole_s:.2f} s, region {region_s:.2f} s")
    print(f"memory: {idle_mb:.0f} MB with one viewer, at most {decoded_mb:.0f} while decoding 45 megapixels,")
    print(
        f"  {crowd_mb:.0f} with {len(let_in)} viewers of {TRIED_VIEWERS} that tried, {crowded_mb:.0f} and {HALF_OPEN}"
    )
    print(f"  half-open connections; a question meanwhile {asked_s * 1000:.0f} ms; the end after SIGTERM {end_s:.2f} s")
    assert ended.code == 0 and ended.err == "", ended
    assert crowded_mb - idle_mb < 100
    assert decoded_mb < LIMITS.memory_bytes / 1e6
    assert end_s < ENDS_WITHIN_S


def test_twenty_viewers_while_frames_come_in(home: tuple[StillsetHome, WrittenLog], tmp_path: Path) -> None:
    place, log = home
    words_s, pictures_s = [], []
    with serving(place) as (server, page):
        viewers = [page.looking_on() for _ in range(VIEWERS)]
        for viewer in viewers:
            viewer.until("progress", "frame 1 ")
        early_mb = 0.0
        for number in range(2, FRAMES + 2):
            add_frame(log, number, FocusVerdict.MISSED, READING, tmp_path / "p.jpg")
            started_s = monotonic()
            for viewer in viewers:
                viewer.until("progress", f"frame {number} ")
            words_s.append(monotonic() - started_s)
            for _ in viewers:
                assert page.get(f"picture/{log.frame_ids[number]}").status == 200
            pictures_s.append(monotonic() - started_s)
            early_mb = early_mb or memory_mb(server)
        late_mb, most_mb = memory_mb(server), memory_mb(server, "VmHWM")
        server.terminate()
        started_s = monotonic()
        ended = server.ended()
        end_s = monotonic() - started_s
        for viewer in viewers:
            viewer.close()
    print(
        f"\n{VIEWERS} viewers, {FRAMES} frames of 45 megapixels, from the log's line: the word at the last viewer after"
    )
    print(f"  {np.median(words_s):.2f} s (at most {max(words_s):.2f}), the picture after {np.median(pictures_s):.2f} s")
    print(f"  memory {early_mb:.0f} MB after the first, {late_mb:.0f} after the last, at most {most_mb:.0f}")
    print(f"the end after SIGTERM {end_s:.2f} s")
    assert ended.code == 0 and ended.err == "", ended
    assert late_mb - early_mb < 100
    assert end_s < ENDS_WITHIN_S


def test_a_picture_larger_than_the_page_may_take_is_not_shown_and_the_page_goes_on(
    tmp_path: Path, home: tuple[StillsetHome, WrittenLog]
) -> None:
    place, log = home
    (tmp_path / "p.jpg.2.jpg").unlink()
    # a decoder keeps all coefficients of a progressive JPEG: 12,800² · 3 · 2 bytes are 983 MB, and the pixels 655
    Image.new("RGB", (12_800, 12_800), (90, 80, 70)).save(tmp_path / "p.jpg.2.jpg", progressive=True, subsampling=0)
    with serving(place) as (server, page):
        add_frame(log, 2, FocusVerdict.SHARP, READING, tmp_path / "p.jpg")
        page.looking_on().until("progress", "frame 2 ")
        answer = page.get(f"region/{log.frame_ids[2]}")
        most_mb = memory_mb(server, "VmHWM")
        print(f"\n164 megapixels, progressive: {answer.status} {answer.text!r}, at most {most_mb:.0f} MB")
        assert answer.status == 422
        assert most_mb < LIMITS.memory_bytes / 1e6
        assert page.get(f"picture/{log.frame_ids[1]}").status == 404, "another frame was never shown"
        assert page.get("").status == 200
