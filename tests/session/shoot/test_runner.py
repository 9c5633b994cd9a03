"""The controller's thread: everything in the order in which it was posted, mistakes told, nothing left at the end."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from session.frame.camera_messages import CameraNote
from session.shoot.acts import Act, Touched
from session.shoot.runner import Runner


class Clock:
    """Stands still."""

    def monotonic_s(self) -> float:
        return 0.0

    def now(self) -> Any:
        raise AssertionError("nobody asks for the time of day")


class Book:
    """A shoot that writes down what it is told, and makes the mistakes that it is told to make."""

    def __init__(self) -> None:
        self.told: list[str] = []
        self.threads: set[int] = set()
        self.wrong: dict[str, Exception] = {}

    def _write(self, what: str) -> None:
        self.threads.add(threading.get_ident())
        self.told.append(what)
        if what in self.wrong:
            raise self.wrong[what]

    def do(self, act: Act) -> None:
        self._write(type(act).__name__)

    def receive(self, message: CameraNote) -> None:
        self._write(message.text)

    def tick(self) -> float | None:
        return 0.0 if len(self.told) < 2 else None

    def let_go(self, *, at_once: bool = False) -> None:
        self._write(f"let go, at once {at_once}")

    def close(self) -> None:
        self._write("close")


def run(book: Book, broken: list[BaseException] | None = None) -> Runner:
    runner = Runner(Clock(), (broken if broken is not None else []).append)
    runner.start(book)  # type: ignore[arg-type]
    return runner


def test_acts_messages_and_questions_are_taken_in_order_by_one_thread() -> None:
    book = Book()
    runner = run(book)
    runner.post(Touched())
    runner.post(CameraNote("one"))
    assert runner.ask(lambda shoot: list(book.told)) == ["Touched", "one"], "all that was posted before is done"
    runner.post(CameraNote("two"))
    runner.stop()
    assert book.told == ["Touched", "one", "two", "let go, at once False", "close"]
    assert len(book.threads) == 1 and threading.get_ident() not in book.threads


def test_what_was_posted_before_anybody_runs_is_not_lost() -> None:
    book = Book()
    runner = Runner(Clock(), print)
    runner.post(CameraNote("early"))
    runner.start(book)  # type: ignore[arg-type]
    runner.stop()
    assert book.told[0] == "early"


def test_a_mistake_is_told_and_the_shoot_goes_on() -> None:
    book = Book()
    broken: list[BaseException] = []
    book.wrong["bad"] = RuntimeError("a mistake")
    runner = run(book, broken)
    for text in ("good", "bad", "good again"):
        runner.post(CameraNote(text))
    runner.stop()
    assert [str(error) for error in broken] == ["a mistake"]
    assert book.told == ["good", "bad", "good again", "let go, at once False", "close"]


def test_a_question_that_cant_be_answered_fails_for_whoever_asked() -> None:
    broken: list[BaseException] = []
    runner = run(Book(), broken)

    def wrong(shoot: object) -> None:
        raise KeyError("no such frame")

    with pytest.raises(KeyError, match="no such frame"):
        runner.ask(wrong)
    assert len(broken) == 1
    assert runner.ask(lambda shoot: 7) == 7, "and the thread is still there"
    runner.stop()


def test_a_mistake_at_the_end_does_not_keep_the_rest_from_being_closed() -> None:
    book = Book()
    broken: list[BaseException] = []
    book.wrong["let go, at once True"] = RuntimeError("the camera hangs")
    runner = run(book, broken)
    runner.stop(at_once=True)
    assert book.told[-2:] == ["let go, at once True", "close"]
    assert [str(error) for error in broken] == ["the camera hangs"]


def test_the_cameras_last_words_are_heard_after_it_was_let_go() -> None:
    book = Book()
    runner = Runner(Clock(), print)

    def last_words(*, at_once: bool = False) -> None:
        book.told.append("let go")
        runner.post(CameraNote("saved after all"))

    book.let_go = last_words  # type: ignore[method-assign]
    runner.start(book)  # type: ignore[arg-type]
    runner.stop()
    assert book.told == ["let go", "saved after all", "close"]


def test_stopping_twice_or_before_the_start_is_harmless() -> None:
    book = Book()
    runner = Runner(Clock(), print)
    runner.stop()
    runner.start(book)  # type: ignore[arg-type]
    runner.stop()
    runner.stop()
    assert book.told.count("close") == 1
