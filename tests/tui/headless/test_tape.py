"""The tape of events that scripts wait on."""

import threading

from session.shoot.events import Said
from tui.headless.tape import Tape


def test_what_was_heard_before_the_wait_is_found_from_the_mark_on():
    tape = Tape()
    tape.hear(Said("one"))
    mark = tape.mark()
    tape.hear(Said("two"))
    assert tape.wait(Said, mark, 0.0).text == "two"
    assert tape.wait(Said, 0, 0.0, lambda event: event.text == "one").text == "one"
    assert [event.text for event in tape.since(mark)] == ["two"]


def test_a_wait_ends_with_the_event_and_not_with_the_time():
    tape = Tape()
    found = []
    waiting = threading.Thread(target=lambda: found.append(tape.wait(Said, 0, 60.0, lambda e: e.text == "now")))
    waiting.start()
    tape.hear(Said("not yet"))
    tape.hear(Said("now"))
    waiting.join(30.0)
    assert not waiting.is_alive()
    assert found[0].text == "now"


def test_nothing_comes_of_a_wait_for_what_does_not_happen():
    assert Tape().wait(Said, 0, 0.0) is None
