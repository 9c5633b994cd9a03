"""How far a folder is, from the lines that libgphoto2 writes while it reads one (as 2.5.34 words them)."""

from __future__ import annotations

import _ctypes
import signal
import socket
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from session.cameras import folder_reading, libgphoto
from session.cameras.camera_address import parse_address
from session.cameras.camera_limits import CameraLimits
from session.cameras.folder_reading import TOLD_EVERY_S, FolderReading, libraries_in
from session.cameras.libgphoto import Gphoto
from session.cameras.result_codes import CameraError

NAMED = b"adding new object: handle 0x00000007 (nrofobs=7,j=7)"
ASKED = b"Sending PTP_OC 0x1008 (Get object info) (0x7) request..."
OTHERS = (b"Sending PTP_OC 0x1007 (Get object handles) (0x10001,0x0,0x2) request...", b"  parent 0x00000002", b"")


class Told:
    """A folder that is read before a clock of the test's own; `told` is what was heard of it."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now_s = 100.0
        monkeypatch.setattr(folder_reading, "monotonic", lambda: self.now_s)
        self.told: list[tuple[int, int, float]] = []
        self.reading = FolderReading(lambda done, of, left_s: self.told.append((done, of, round(left_s, 6))))

    def ask(self, count: int, file_s: float) -> None:
        for _ in range(count):
            assert self.reading.hear(ASKED)
            self.now_s += file_s


@pytest.fixture
def folder(monkeypatch: pytest.MonkeyPatch) -> Told:
    return Told(monkeypatch)


def test_files_are_counted_and_the_rest_takes_as_long_as_those_before(folder: Told) -> None:
    for line in (*[NAMED] * 100, *OTHERS):
        assert not folder.reading.hear(line)
    folder.ask(81, 0.125)
    assert folder.told[0] == (1, 100, 99 * 0.125), "nothing else is done from now on, which is told at once"
    assert [done for done, _, _ in folder.told] == list(range(1, 81, round(TOLD_EVERY_S / 0.125)))


def test_a_few_files_of_many_are_not_told_as_if_the_whole_folder_were_read(folder: Told) -> None:
    for _ in range(100):
        folder.reading.hear(NAMED)
    folder.reading.begin(to_end=False)
    folder.ask(7, 0.125)
    assert folder.told == []


def test_what_was_asked_for_in_an_earlier_call_is_not_asked_for_again(folder: Told) -> None:
    for _ in range(100):
        folder.reading.hear(NAMED)
    folder.ask(40, 0.0)
    folder.reading.begin()
    folder.ask(11, 0.5)
    assert folder.told[-1] == (49, 100, 51 * 0.5)


def test_the_end_is_told_of_what_was_told_and_of_nothing_else(folder: Told) -> None:
    folder.ask(3, 0.0)
    folder.reading.end()
    assert folder.told == []
    for _ in range(5):
        folder.reading.hear(NAMED)
    folder.reading.begin()
    folder.ask(2, TOLD_EVERY_S)
    folder.reading.end()
    assert folder.told == [(4, 5, TOLD_EVERY_S), (5, 5, 0.0)]


MAPS = """\
55d0c0a00000-55d0c0a01000 r--p 00000000 fe:00 131 /usr/bin/python3
7f4a62400000-7f4a62405000 r-xp 00002000 fe:00 4711 /home/a b/env/lib/libgphoto2_port.so.12
7f4a62405000-7f4a62409000 r--p 00007000 fe:00 4711 /home/a b/env/lib/libgphoto2_port.so.12
7f4a62410000-7f4a62415000 r-xp 00002000 fe:00 4712 /home/a b/env/gphoto2.libs/libgphoto2_port-cdd4.so.12.2.0
7f4a62420000-7f4a62425000 r-xp 00002000 fe:00 4713 /usr/lib/libgphoto2_port/0.12.2/usb1.so
7f4a62430000-7f4a62435000 rw-p 00000000 00:00 0
7ffd3a000000-7ffd3a021000 rw-p 00000000 00:00 0                          [stack]
"""


def test_the_parts_of_the_library_are_found_by_their_own_names_wherever_they_lie() -> None:
    assert libraries_in(MAPS, "libgphoto2_port") == {
        "/home/a b/env/lib/libgphoto2_port.so.12",
        "/home/a b/env/gphoto2.libs/libgphoto2_port-cdd4.so.12.2.0",
    }


def test_a_part_of_the_library_that_was_replaced_or_writes_no_lines_is_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Then nobody hears how far a folder is; no frame is lost for that."""
    silent = tmp_path / "libgphoto2_port.so.12"
    silent.symlink_to(_ctypes.__file__)
    maps = tmp_path / "maps"
    line = "7f4a62410000-7f4a62415000 r-xp 00002000 fe:00 4712                       "
    maps.write_text(f"{line}{tmp_path}/old/libgphoto2_port.so.12 (deleted)\n{line}{silent}\n", encoding="utf-8")
    monkeypatch.setattr(libgphoto, "MAPPED", maps)
    assert libgphoto._port_libraries.__wrapped__() == ()


def test_a_camera_on_usb_that_is_not_there_closes_no_socket(monkeypatch: pytest.MonkeyPatch) -> None:
    """libusb listens at one of its own, in a thread of its own."""
    with ExitStack() as stack:
        sockets = [stack.enter_context(end) for end in socket.socketpair()]
        seen = iter([frozenset[int](), frozenset(end.fileno() for end in sockets)])
        monkeypatch.setattr(libgphoto, "_open_sockets", lambda: next(seen))
        with pytest.raises(CameraError):
            Gphoto(CameraLimits()).open(parse_address("usb:250,250"))
        sockets[0].send(b"!")
        assert sockets[1].recv(1) == b"!"


@pytest.fixture
def timer() -> Iterator[None]:
    yield
    signal.setitimer(signal.ITIMER_REAL, 0)


@pytest.mark.usefixtures("timer")
def test_a_call_in_which_file_after_file_is_asked_for_is_given_its_time() -> None:
    """The times are far longer than the test: the signal would end it."""
    camera = Gphoto(CameraLimits(call_s=5000.0))
    signal.setitimer(signal.ITIMER_REAL, 1000.0)
    camera._hear(NAMED)
    assert signal.getitimer(signal.ITIMER_REAL)[0] <= 1000.0
    camera._hear(ASKED)
    assert signal.getitimer(signal.ITIMER_REAL)[0] > 4000.0
    signal.setitimer(signal.ITIMER_REAL, 9000.0)
    camera._hear(ASKED)
    assert signal.getitimer(signal.ITIMER_REAL)[0] > 8000.0
