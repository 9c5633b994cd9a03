"""The steps of a reshoot by keys, over the real controller and a real log: confirmed, skipped, undone, resumed."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

from session.frame.ports import LogError
from session.frame.step_said import StepWord
from session.match.reshoot_steps import Reshoot
from session.set.kit import demo_kit
from tests.support.reshoot_screen import SET, reshoot_screen
from tests.support.scripted import ManualClock
from tests.support.written_log import WrittenLog
from tui.match.match_mode import MatchMode
from tui.match.match_screen import MatchScreen
from tui.shell import match_look
from tui.shell.match_look import MatchMemory

A_NIGHT_S = 14 * 3600.0


def words(written: WrittenLog) -> dict[str, tuple[StepWord, str]]:
    said = written.reader.steps_said(written.place, written.revision_id)
    return {one.step: (one.word, one.reason) for one in said}


async def test_steps_are_confirmed_skipped_and_undone_by_keys_and_resumed(written: WrittenLog) -> None:
    async with reshoot_screen(written) as at:
        assert at.large == "CHECK LIST" and "piece free of dust" in at.text and "mind" in at.text
        assert "camera                 matches" in at.text, "it matches by itself"
        await at.press("enter")
        assert at.large == "LENS", "the next step that isn't settled"
        await at.press("n", "enter")
        assert "Skipping takes a reason" in at.flat
        await at.type("same one")
        await at.press("enter")
        assert at.large == "FRAMING" and "STEPS  3 of 9 done" in at.text
        await at.press("up")
        assert at.large == "LENS SKIPPED" and "same one" in at.text
        await at.press("z")
        assert at.large == "LENS" and "Undone: lens skipped" in at.flat
        await at.press("Z")
        assert at.large == "FRAMING", "settled once more, so the next one is due"
        await at.press("up", "up", "enter")
        assert "matches by itself" in at.flat
    assert words(written) == {"check list": (StepWord.CONFIRMED, ""), "lens": (StepWord.SKIPPED, "same one")}
    async with reshoot_screen(written) as at:
        assert at.large == "FRAMING", "it goes on where it was left"
        await at.press("up", "up", "up")
        assert at.large == "CHECK LIST CONFIRMED"
        await at.press("enter")
        assert at.large == "CHECK LIST", "confirmed once more: it is to do again"


async def test_after_a_night_the_check_list_is_asked_again(written: WrittenLog) -> None:
    async with reshoot_screen(written) as at:
        await at.press("enter")
        assert at.large == "LENS"
        at.studio.clock.now_s += A_NIGHT_S
        await at.frame()
        assert at.large == "CHECK LIST" and "before a pause of 14 hours" in at.flat
        await at.press("enter")
    assert words(written)["check list"] == (StepWord.CONFIRMED, "")


async def test_a_log_that_cannot_be_read_is_said_and_read_again_by_itself(
    written: WrittenLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: object) -> None:
        raise LogError("Another program holds the log.")

    with monkeypatch.context() as broken:
        broken.setattr(written.reader, "steps_said", fail)
        async with reshoot_screen(written) as at:
            assert at.large == "NOT READ" and "Another program holds the log." in at.flat
            await at.wait(1.0)
            assert at.large == "NOT READ"
            broken.undo()
            await at.wait(30.0)
            screen = at.app.screen
            assert isinstance(screen, MatchScreen)
            screen.look_round()
            await at.settle()
            assert at.large == "CHECK LIST" and "Another program" not in at.flat


def test_screens_that_follow_each_other_read_one_after_the_other(written: WrittenLog) -> None:
    """Pictures that are kept are for one thread: a screen opened again while the one before reads waits for it."""
    asked: list[Callable[[], Callable[[], None]]] = []
    model = SimpleNamespace(place=written.place, released=[], reference_id=None, description=None, reading=None)
    app = SimpleNamespace(reader=written.reader, clock=ManualClock(), kit=demo_kit())
    app.in_background = lambda work, group: asked.append(work)
    bench: Any = SimpleNamespace(model=model, app=app, repaint=lambda: None)
    memory, reshoot = MatchMemory(), Reshoot(SET, written.revision_id)
    before, after = MatchMode(bench, reshoot, memory), MatchMode(bench, reshoot, memory)
    before.look(anew=True)
    after.look(anew=True)
    assert len(asked) == 1
    asked[0]()()
    after.look()
    assert len(asked) == 2
    asked[1]()()
    assert after.found.steps and not memory.reads


async def test_our_own_mistake_while_measuring_leaves_the_steps_to_a_persons_word(
    written: WrittenLog, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def err(*args: object) -> None:
        raise ValueError("could not be broadcast")

    monkeypatch.setattr(match_look, "measured_set", err)
    async with reshoot_screen(written) as at:
        assert at.large == "CHECK LIST" and "Something went wrong in stillset itself" in at.flat
        assert "ValueError: could not be broadcast" in capfd.readouterr().err
        await at.press("enter")
        assert at.large == "LENS"
        assert not capfd.readouterr().err, "what was shot isn't measured once more"
        await at.frame()
        assert at.large == "LENS"
