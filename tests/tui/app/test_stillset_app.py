"""The app: bell, theme, keys that mean nothing, and how it is left in every state."""

from __future__ import annotations

import pytest

from session.frame.camera_messages import Fired
from session.frame.finding import FocusVerdict, RuleId
from session.frame.states import FrameState
from session.shoot.acts import AskRelease, CallOff
from session.shoot.events import (
    Event,
    LiveViewChanged,
    RulesChanged,
    SlowTransfer,
    Waiting,
)
from tests.support.bench_events import COMING, FOUND, LOST, MISSING, judged, moved, released
from tests.support.running_screen import SMALL, bench
from tests.support.scripted_table import SYNC, FixedClock, ScriptedTable
from tui.app.stillset_app import StillsetApp


async def test_a_miss_rings_unless_the_bell_is_off(
    table: ScriptedTable, clock: FixedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    rung: list[int] = []
    monkeypatch.setattr(StillsetApp, "bell", lambda app: rung.append(1))
    async with bench(table, clock, SMALL, FOUND, *released(1), *judged(1, FocusVerdict.SHARP, 0.4)) as at:
        assert rung == []
        await at.tell(*released(2), *judged(2, FocusVerdict.MISSED, 7.0, 0.3))
        assert rung == [1]
        await at.press("y")
        assert "bell off" in at.text
        await at.tell(*released(3), *judged(3, FocusVerdict.MISSED, 7.0, 0.3))
        assert rung == [1]


async def test_the_other_theme_changes_colours_and_no_word(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, RulesChanged((SYNC,))) as at:
        before = at.text
        await at.press("d")
        assert (at.app.theme, at.text) == ("contrast", before)


async def test_leaving_asks_only_while_a_frame_is_under_way(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING) as at:
        await at.press("Q")
        assert "A frame is under way." in at.text
        await at.press("escape")
        assert at.large == "SAVING"
        await at.tell(*judged(1, FocusVerdict.SHARP, 0.4))
        await at.press("Q")
        assert not at.app.is_running


async def test_leaving_during_a_slow_transfer_tells_how_far_it_is_and_ends_with_it(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, *released(19)) as at:
        await at.tell(SlowTransfer("f19", 19, 140_000, 250_000, 9.2))
        assert at.large == "SAVING" and "Saving frame 19: 140 of 250 kB, about 9 s." in at.text
        await at.press("Q", "y")
        assert "Saving frame 19: 140 of 250 kB, about 9 s; y again leaves it on the card." in " ".join(at.text.split())
        await at.tell(SlowTransfer("f19", 19, 240_000, 250_000, 0.8))
        assert "240 of 250 kB, about 1 s; y again" in at.text
        await at.tell(moved("f19", 19, FrameState.SAVED, fired=Fired.YES))
        assert not at.app.is_running
        assert (at.app.return_code, at.app.left_on_card) == (0, "")


async def test_leaving_twice_leaves_the_frame_on_the_card(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *released(19)) as at:
        await at.press("Q", "y", "y")
        assert not at.app.is_running
        left = "Frame 19 fired, not saved: it is on the card, and is fetched at the next start."
        assert at.app.left_on_card == left


async def test_who_changes_their_mind_while_a_frame_is_saved_stays(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *released(19)) as at:
        await at.press("Q", "y", "escape")
        await at.tell(moved("f19", 19, FrameState.SAVED, fired=Fired.YES))
        assert at.app.is_running
        await at.press("Q")
        assert not at.app.is_running


async def test_a_frame_lost_while_leaving_ends_the_program_too(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, *COMING) as at:
        await at.press("Q", "y")
        await at.tell(MISSING, LOST)
        assert not at.app.is_running


STATES: dict[str, list[Event]] = {
    "no camera": [],
    "ready": [FOUND],
    "stopped": [FOUND, RulesChanged((SYNC,))],
    "waiting": [FOUND, Waiting("f1", 1, RuleId.HOLD_OFF, 1e9)],
    "releasing": [FOUND, COMING[0]],
    "saving": [FOUND, *COMING],
    "lost": [FOUND, *COMING, MISSING, LOST],
    "judged": [FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.0)],
    "live": [FOUND, LiveViewChanged(True)],
}
MIDDLES: dict[str, list[str]] = {
    "plain": [],
    "typing": ["u", "a"],
    "light": ["1", "plus"],
    "region": ["g"],
    "help": ["question_mark"],
    "ledger": ["l"],
}
ENDINGS = [(state, "plain") for state in STATES] + [
    (s, m) for m in MIDDLES for s in ("waiting", "saving") if m != "plain"
]


@pytest.mark.parametrize(("state", "middle"), ENDINGS, ids=lambda value: str(value).replace(" ", "_"))
async def test_control_c_ends_cleanly_in_every_state(
    table: ScriptedTable, clock: FixedClock, state: str, middle: str
) -> None:
    async with bench(table, clock, SMALL, *STATES[state]) as at:
        await at.press(*MIDDLES[middle])
        await at.press("ctrl+c")
        if state == "waiting":
            assert at.app.is_running and not at.asked(CallOff), "asked as Q asks"
            assert "One that waits would be cancelled" in " ".join(at.text.split())
            await at.press("ctrl+c")
        if state in ("releasing", "saving"):
            assert at.app.is_running, "the frame is saved first, and the screen says so"
            assert "y again leaves it on the card" in " ".join(at.text.split())
            await at.press("ctrl+c")
            assert at.app.left_on_card
        assert not at.app.is_running
        assert at.app.return_code == 0
        assert bool(at.asked(CallOff)) == (state == "waiting")
        assert bool(at.changes()) == (middle == "light"), "a light that was set is not lost"


async def test_tab_and_other_keys_that_mean_nothing_here_do_nothing(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        before, calls = at.text, len(at.posted.acts)
        await at.press("tab", "shift+tab", "ctrl+p", "f5", "M", "enter", "backspace")
        assert (at.text, len(at.posted.acts)) == (before, calls)
        await at.press("space")
        assert at.asked(AskRelease) == [AskRelease()]


async def test_control_c_over_a_waiting_release_is_answered_as_q_is(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, *STATES["waiting"]) as at:
        await at.press("ctrl+c", "escape")
        assert at.app.is_running and not at.asked(CallOff)
        await at.press("ctrl+c", "y")
        assert not at.app.is_running and len(at.asked(CallOff)) == 1
