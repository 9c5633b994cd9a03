"""The steps of a reshoot by keys, over the real controller and a real log: confirmed, skipped, undone, resumed."""

from __future__ import annotations

import pytest

from session.frame.ports import LogError
from session.frame.step_said import StepWord
from tests.support.reshoot_screen import reshoot_screen
from tests.support.written_log import WrittenLog
from tui.match.match_screen import MatchScreen
from tui.shell import match_look

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
