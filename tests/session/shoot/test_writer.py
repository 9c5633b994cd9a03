"""Log writes that are refused are kept in order, and made good."""

from collections.abc import Callable
from functools import partial
from typing import Any

import pytest

from session.frame.ports import LogError, RefusedEntry, RefusedForGoodError
from session.shoot.events import Said
from session.shoot.writer import RETRY_S, Writer


class Disk:
    """A list that takes nothing while it is full."""

    def __init__(self) -> None:
        self.full = False
        self.full_after: int | None = None
        self.taken: list[int] = []

    def put(self, value: int) -> None:
        if self.full:
            raise LogError("The disk is full.")
        self.taken.append(value)
        self.full = value == self.full_after


def kept_aside(entry: RefusedEntry) -> str:
    """Where an entry goes that the log never takes; nothing in these tests is such a one unless it says so."""
    raise AssertionError(entry)


def test_writes_are_done_at_once_while_the_log_takes_them():
    disk, events = Disk(), list[Any]()
    writer = Writer(events.append, kept_aside)
    for value in range(3):
        writer.write(partial(disk.put, value), 0.0)
    assert disk.taken == [0, 1, 2]
    assert writer.owed == 0
    assert events == []


def test_what_is_refused_is_kept_in_order_and_said_until_it_is_taken():
    disk, events = Disk(), list[Any]()
    writer = Writer(events.append, kept_aside)
    disk.full = True
    for value in range(3):
        writer.write(partial(disk.put, value), 10.0)
    assert writer.owed == 3
    assert writer.next_try_s() == 10.0 + RETRY_S
    assert [event.lasting for event in events if isinstance(event, Said)] == [True]
    disk.full = False
    writer.write(partial(disk.put, 3), 10.5)
    assert disk.taken == [], "not before the retry is due"
    writer.settle(11.0)
    assert disk.taken == [0, 1, 2, 3]
    assert writer.next_try_s() is None
    assert [event.text for event in events][-2:] == ["", "The log takes everything again; nothing was lost."]


def test_a_log_that_fills_again_half_way_loses_and_doubles_nothing():
    disk, events = Disk(), list[Any]()
    writer = Writer(events.append, kept_aside)
    disk.full = True
    for value in range(4):
        writer.write(partial(Disk.put, disk, value), 0.0)
    disk.full = False
    disk.full_after = 1
    writer.settle(1.0)
    assert disk.taken == [0, 1]
    disk.full = False
    writer.settle(2.0)
    assert disk.taken == [0, 1, 2, 3]


def test_what_was_refused_elsewhere_is_said_once_until_the_log_takes_something():
    disk, events = Disk(), list[Any]()
    writer = Writer(events.append, kept_aside)
    for _ in range(2):
        writer.say_refused("The change was not taken. The disk is full.")
    assert events == [Said("The change was not taken. The disk is full.", "log", True)]
    writer.settle(1.0)
    assert len(events) == 1, "nothing was written, so nothing is known to be better"
    writer.write(partial(disk.put, 1), 2.0)
    assert events[1:] == [Said("", "log", True)]


def keeping(aside: list[RefusedEntry]) -> Callable[[RefusedEntry], str]:
    """Keeps what the log never takes, and says where."""

    def keep(entry: RefusedEntry) -> str:
        aside.append(entry)
        return "beside"

    return keep


def refuse(value: int) -> None:
    raise RefusedForGoodError("The log refused a value.")


def test_what_the_log_never_takes_is_kept_aside_and_all_else_goes_on():
    disk, events, aside = Disk(), list[Any](), list[RefusedEntry]()
    writer = Writer(events.append, keeping(aside))
    writer.write(partial(disk.put, 0), 0.0)
    writer.write(partial(refuse, 1), 1.0)
    writer.write(partial(disk.put, 2), 2.0)
    assert (disk.taken, writer.owed, writer.next_try_s()) == ([0, 2], 0, None)
    assert aside == [RefusedEntry("refuse", (1,), "The log refused a value.")]
    (said,) = events
    assert said.lasting and "for good: The log refused a value." in said.text and "beside" in said.text
    assert "full" not in said.text and "tries again" not in said.text


def test_what_is_never_taken_among_what_waits_for_room_is_told_apart():
    disk, events, aside = Disk(), list[Any](), list[RefusedEntry]()
    writer = Writer(events.append, keeping(aside))
    disk.full = True
    writer.write(partial(disk.put, 0), 0.0)
    writer.write(partial(refuse, 1), 0.1)
    writer.write(partial(disk.put, 2), 0.2)
    assert (writer.owed, aside) == (3, [])
    assert "The disk is full." in writer.trouble
    disk.full = False
    writer.settle(1.0)
    assert (disk.taken, writer.owed, len(aside), writer.trouble) == ([0, 2], 0, 1, "")


def test_where_nothing_can_be_kept_aside_it_is_said_and_the_shoot_goes_on():
    disk, events = Disk(), list[Any]()

    def nowhere(entry: RefusedEntry) -> str:
        raise LogError("No room beside the log.")

    writer = Writer(events.append, nowhere)
    writer.write(partial(refuse, 1), 0.0)
    writer.write(partial(disk.put, 2), 0.1)
    assert (disk.taken, writer.owed) == ([2], 0)
    assert "could not be kept elsewhere either (No room beside the log.)" in events[0].text


def test_our_own_mistake_in_a_write_is_raised_once_and_blocks_nothing_after_it():
    disk, events, aside = Disk(), list[Any](), list[RefusedEntry]()
    writer = Writer(events.append, keeping(aside))

    def mistaken(value: int) -> None:
        raise TypeError("not so")

    with pytest.raises(TypeError):
        writer.write(partial(mistaken, 1), 0.0)
    writer.write(partial(disk.put, 2), 0.1)
    assert (disk.taken, writer.owed, [entry.error for entry in aside]) == ([2], 0, ["TypeError: not so"])
