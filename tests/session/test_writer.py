"""Log writes that are refused are kept in order, and made good."""

from session.events import Said
from session.ports import LogError
from session.writer import RETRY_S, Writer


class Disk:
    """A list that takes nothing while it is full."""

    def __init__(self) -> None:
        self.full = False
        self.taken: list[int] = []

    def put(self, value: int) -> None:
        if self.full:
            raise LogError("The disk is full.")
        self.taken.append(value)


def test_writes_are_done_at_once_while_the_log_takes_them():
    disk, events = Disk(), []
    writer = Writer(events.append)
    for value in range(3):
        writer.write(lambda value=value: disk.put(value), 0.0)
    assert disk.taken == [0, 1, 2]
    assert writer.owed == 0
    assert events == []


def test_what_is_refused_is_kept_in_order_and_said_until_it_is_taken():
    disk, events = Disk(), []
    writer = Writer(events.append)
    disk.full = True
    for value in range(3):
        writer.write(lambda value=value: disk.put(value), 10.0)
    assert writer.owed == 3
    assert writer.next_try_s() == 10.0 + RETRY_S
    assert [event.lasting for event in events if isinstance(event, Said)] == [True]
    disk.full = False
    writer.write(lambda: disk.put(3), 10.5)
    assert disk.taken == [], "not before the retry is due"
    writer.settle(11.0)
    assert disk.taken == [0, 1, 2, 3]
    assert writer.next_try_s() is None
    assert [event.text for event in events][-2:] == ["", "The log takes everything again; nothing was lost."]


def test_a_log_that_fills_again_half_way_loses_and_doubles_nothing():
    disk, events = Disk(), []
    writer = Writer(events.append)
    disk.full = True
    for value in range(4):
        writer.write(lambda value=value: disk.put(value), 0.0)
    disk.full = False
    real_put = disk.put

    def put(value: int) -> None:
        real_put(value)
        disk.full = value == 1

    disk.put = put  # type: ignore[method-assign]
    writer.settle(1.0)
    assert disk.taken == [0, 1]
    disk.full = False
    writer.settle(2.0)
    assert disk.taken == [0, 1, 2, 3]


def test_what_was_refused_elsewhere_is_said_once_until_the_log_takes_something():
    disk, events = Disk(), []
    writer = Writer(events.append)
    for _ in range(2):
        writer.refused("The change was not taken. The disk is full.")
    assert events == [Said("The change was not taken. The disk is full.", "log", True)]
    writer.settle(1.0)
    assert len(events) == 1, "nothing was written, so nothing is known to be better"
    writer.write(lambda: disk.put(1), 2.0)
    assert events[1:] == [Said("", "log", True)]
