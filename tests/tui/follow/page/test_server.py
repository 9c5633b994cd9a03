"""Places and waits of the server: who is slow, silent, half open or too many keeps nobody out, and holds up no end."""

from __future__ import annotations

import socket
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.support.served_page import LOOPBACK, limited, until_closed
from tests.support.written_log import WrittenLog
from tui.follow.page import page_pictures


def test_who_never_ends_a_request_is_hung_up_on(still_log: WrittenLog, still_folder: Path) -> None:
    with limited(still_folder, head_s=0.2) as page:
        for start in (b"", b"G", b"GET / HTTP/1.1\r\n", b"GET / HTTP/1.1\r\nX-a: b\r\n"):
            with page.connected() as bare:
                bare.sendall(start)
                assert until_closed(bare) == b""


def test_a_header_now_and_then_does_not_keep_a_place(still_log: WrittenLog, still_folder: Path) -> None:
    with limited(still_folder, head_s=0.2) as page, page.connected() as bare:
        bare.settimeout(0.02)
        bare.sendall(b"GET / HTTP/1.1\r\n")
        ended = False
        while not ended:  # for ever, if each line were a reason to wait longer
            try:
                bare.sendall(b"X-a: b\r\n")
                ended = bare.recv(1) == b""
            except TimeoutError:
                continue
            except ConnectionError:
                ended = True


def test_who_takes_no_bytes_is_hung_up_on(
    still_log: WrittenLog, still_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    noise = np.random.default_rng(7).integers(0, 255, (3000, 3000, 3), np.uint8)  # some 15 MB: no system buffers that
    large = page_pictures.Cut(page_pictures._jpeg(Image.fromarray(noise), 95, "4:4:4"), "noise")
    assert len(large.jpeg) > 10_000_000
    monkeypatch.setattr(page_pictures, "make", lambda wanted: large)
    with limited(still_folder, stuck_s=0.3) as page:
        page.looking_on().until("large", "SHARP")
        path = f"picture/{still_log.frame_ids[1]}"
        with page.connected(receive_bytes=4096) as bare:
            bare.sendall(f"GET /{page.token}/{path} HTTP/1.1\r\nHost: {page.host}\r\n\r\n".encode())
            gate = page.server.config.gate  # type: ignore[attr-defined]
            assert page.get(path).body == large.jpeg, "who takes them gets all of them"
            while any(wire.transport.get_extra_info("peername") == bare.getsockname() for wire in list(gate.open)):
                assert page.get("page.css").status == 200
            assert len(until_closed(bare)) < len(large.jpeg)


def test_half_open_connections_keep_nobody_out(still_log: WrittenLog, still_folder: Path) -> None:
    with limited(still_folder, connections=40) as page:
        halves = [page.connected() for _ in range(60)]
        for half in halves:
            half.sendall(b"GET / HTTP/1.1\r\n")
        with page.looking_on() as viewer:
            assert viewer.until("large", "SHARP")
            more = [page.connected() for _ in range(60)]
            assert page.get("page.css").status == 200
            assert page.get(f"picture/{still_log.frame_ids[1]}").status == 200
            gate = page.server.config.gate  # type: ignore[attr-defined]
            assert len(gate.open) <= 40 and len(gate.idle) <= 40
        for half in (*halves, *more):
            half.close()


def test_more_viewers_than_places_are_told_so_and_get_in_when_one_leaves(
    still_log: WrittenLog, still_folder: Path
) -> None:
    with limited(still_folder, viewers=3, alive_s=0.05) as page:
        viewers = [page.looking_on() for _ in range(3)]
        assert [viewer.status for viewer in viewers] == [200] * 3
        refused = page.get("events")
        assert refused.status == 503 and refused.text == "3 already look on.\n"
        assert page.get("events", "HEAD").status == 200, "which takes no place"
        viewers[0].close()
        while page.looking_on().status != 200:  # the server hears of it a moment later
            continue
        for viewer in viewers[1:]:
            viewer.close()


def test_it_ends_with_viewers_and_half_open_and_stuck_connections(still_log: WrittenLog, still_folder: Path) -> None:
    with limited(still_folder) as page:
        viewers = [page.looking_on() for _ in range(5)]
        halves = [page.connected() for _ in range(5)]
        bad = page.connected()
        bad.sendall(b"\x00\r\n\r\n")
        page.end()
        for viewer in viewers:
            while viewer.next() is not None:
                continue
            viewer.close()
        for bare in (*halves, bad):
            until_closed(bare)
            bare.close()
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection((LOOPBACK, page.port))
