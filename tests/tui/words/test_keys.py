"""The table of keys: every row leads somewhere, no key means two things at once, nothing dangerous lies near."""

from __future__ import annotations

import re
from dataclasses import fields
from itertools import product

import pytest
from textual.keys import KEY_NAME_REPLACEMENTS, Keys
from textual.widgets import Static

from session.live.sweep import RANGES
from tests.support.bench_events import COMING, FOUND
from tests.support.running_screen import SMALL, bench
from tests.support.scripted_table import FixedClock, ScriptedTable
from tui.bench.bench_screen import BenchScreen
from tui.bench.chosen_thing import ItemMode, LightMode
from tui.bench.frame_keys import FrameKeys
from tui.bench.live_keys import LiveKeys
from tui.bench.mix_mode import MixMode
from tui.bench.mix_set_mode import MixSetMode
from tui.bench.order_keys import OrderKeys
from tui.bench.places_mode import NewViewMode, PlacesMode
from tui.bench.region_mode import PatchMode, RegionMode
from tui.bench.release_keys import AmbientMode, ReleaseKeys
from tui.bench.series_mode import SeriesMode
from tui.bench.setting_lines import SettingsMode
from tui.bench.setup_keys import SetupKeys
from tui.bench.solo_mode import SoloMode
from tui.compare.compare_screen import CompareScreen
from tui.explain.explain_screen import ExplainScreen
from tui.follow.follow_screen import FollowScreen
from tui.handover.handover_screen import HandoverScreen
from tui.ledger.ledger_screen import LedgerScreen
from tui.ledger.region_screen import RegionScreen
from tui.match.instead_mode import InsteadMode
from tui.match.match_mode import MatchMode
from tui.match.match_screen import MatchScreen
from tui.planner.planner_screen import PlannerScreen
from tui.screen.help import HelpScreen, LeaveScreen
from tui.words.keys import KEYS, MARKS, Facts, Key, Where, find, keys_table, rows_to_show

BENCH = (BenchScreen, ReleaseKeys, FrameKeys, SetupKeys, OrderKeys, LiveKeys)

HOLDERS: dict[Where, tuple[type, ...]] = {
    Where.BENCH: BENCH,
    Where.LIGHT: (LightMode, *BENCH),
    Where.ITEM: (ItemMode, *BENCH),
    Where.REGION: (RegionMode, *BENCH),
    Where.SETTINGS: (SettingsMode, *BENCH),
    Where.PLACES: (PlacesMode, *BENCH),
    Where.NEW_VIEW: (NewViewMode, *BENCH),
    Where.PATCH: (PatchMode, *BENCH),
    Where.AMBIENT: (AmbientMode, *BENCH),
    Where.SOLOS: (SoloMode, *BENCH),
    Where.SERIES: (SeriesMode, *BENCH),
    Where.MIX: (MixMode, *BENCH),
    Where.MIX_SET: (MixSetMode, *BENCH),
    Where.MATCH: (MatchScreen, MatchMode, ReleaseKeys, FrameKeys),
    Where.INSTEAD: (InsteadMode, MatchScreen, MatchMode, ReleaseKeys, FrameKeys),
    Where.TYPING: (BenchScreen, LedgerScreen),
    Where.LEDGER: (LedgerScreen,),
    Where.REGION_CLOSE: (RegionScreen,),
    Where.COMPARE: (CompareScreen,),
    Where.EXPLAIN: (ExplainScreen,),
    Where.PLANNER: (PlannerScreen,),
    Where.HANDOVER: (HandoverScreen,),
    Where.FOLLOW: (FollowScreen,),
    Where.HELP: (HelpScreen,),
    Where.LEAVING: (LeaveScreen,),
}


@pytest.mark.parametrize("key", KEYS, ids=lambda key: f"{key.where.name}-{key.act}")
def test_every_row_names_a_method_that_is_there(key: Key) -> None:
    assert any(hasattr(holder, f"act_{key.act}") for holder in HOLDERS[key.where])


def test_the_bench_hands_keys_to_these_and_each_act_has_one_of_them() -> None:
    assert tuple(type(holder) for holder in BenchScreen().holders()) == BENCH
    acts = [name for holder in BENCH for name in vars(holder) if name.startswith("act_")]
    assert len(acts) == len(set(acts))


@pytest.mark.parametrize("where", Where)
def test_every_method_for_a_key_has_a_row(where: Where) -> None:
    acts = {key.act for key in KEYS if key.where is where}
    own = HOLDERS[where] if where is Where.BENCH else HOLDERS[where][:1]
    methods = {name.removeprefix("act_") for holder in own for name in dir(holder) if name.startswith("act_")}
    elsewhere = {key.act for key in KEYS if key.where is Where.TYPING}
    assert methods - acts - elsewhere == set() or where is Where.TYPING


def test_the_ranges_of_a_sweep_are_named_as_they_are() -> None:
    says = next(key.says for key in KEYS if key.act == "range")
    assert [int(word) for word in re.findall(r"\d+", says)] == [where.span_steps for where in RANGES]


def test_no_key_means_two_things_at_the_same_time() -> None:
    for where in Where:
        for number in range(2**5):
            held, stopped, remedy, drifted, others = (bool(number >> bit & 1) for bit in range(5))
            facts = Facts(held, stopped, remedy, drifted, *[others] * (len(fields(Facts)) - 4))
            names = [name for key in KEYS if key.where is where and key.when.holds(facts) for name in key.names]
            assert len(names) == len(set(names)), where


def test_every_key_name_is_one_that_textual_sends() -> None:
    named = {str(key.value) for key in Keys} | set(KEY_NAME_REPLACEMENTS.values())
    known = named | {"question_mark", "full_stop", "comma", "slash", "plus", "equals_sign", "minus"}
    known |= {
        "less_than_sign",
        "greater_than_sign",
        "number_sign",
    }  # as Unicode names them, which is how Textual makes them
    for key in KEYS:
        for name in key.names:
            assert len(name) == 1 or name in known, name


def test_a_release_can_only_be_called_off_while_it_waits_and_asked_for_while_none_does() -> None:
    assert find(Where.BENCH, "space", Facts(held=False)).act == "release"
    assert find(Where.BENCH, "escape", Facts(held=True)).act == "call_off"
    assert find(Where.BENCH, "space", Facts(held=True)) is None
    assert find(Where.BENCH, "escape", Facts(held=False)) is None


def test_leaving_and_striking_lie_on_no_key_beside_the_release() -> None:
    beside_space = set("xcvbnm,.")  # the row above the space bar
    for act in ("leave", "strike"):
        names = {name for key in KEYS if key.act == act for name in key.names}
        assert not names & beside_space, act
    assert all(name.isupper() for key in KEYS if key.act == "leave" for name in key.names)  # takes shift as well


def test_keys_that_only_a_state_makes_sensible_are_hidden_in_all_others() -> None:
    plain = {key.act for key in rows_to_show(Where.BENCH, Facts())}
    assert plain.isdisjoint({"call_off", "remedy", "overrule", "keep", "note", "mark", "reference", "live"})
    drifted = {key.act for key in rows_to_show(Where.BENCH, Facts(drifted=True, stopped=True, remedy=True))}
    assert {"keep", "overrule", "remedy"} <= drifted


def test_the_remedy_and_the_call_off_stand_first_in_the_key_line() -> None:
    assert rows_to_show(Where.BENCH, Facts(stopped=True, remedy=True))[0].act == "remedy"
    assert rows_to_show(Where.BENCH, Facts(held=True))[0].act == "call_off"


def test_the_keys_table_has_a_row_for_each_key_and_says_when_it_is_shown() -> None:
    table = keys_table().splitlines()
    assert len(table) == len(KEYS) + 2
    for key, line in zip(KEYS, table[2:], strict=True):
        assert f"`{key.cap}`" in line and key.says in line and key.when.words in line
        assert line.count("|") == 5, "a bar in a sentence would break the table"


def test_the_four_marks_have_a_key_each() -> None:
    assert list(MARKS.values()) == ["hero", "select", "alternate", "kill"]
    for where, name in product((Where.BENCH, Where.LEDGER), MARKS):
        key = find(where, name, Facts(frame=True))
        assert key is not None and key.act == "mark"


def test_help_is_asked_for_by_the_same_key_everywhere_but_where_it_is_a_letter_or_an_answer_is_due() -> None:
    for where in Where:
        key = find(where, "question_mark", Facts())
        wanted = {Where.HELP: "back", Where.TYPING: None, Where.LEAVING: None}
        assert (key.act if key else None) == wanted.get(where, "help"), where


async def test_help_has_every_key_of_every_screen_those_of_where_it_was_asked_for_first(
    table: ScriptedTable, clock: FixedClock
) -> None:
    asked = {
        **{Where.BENCH: "", Where.LIGHT: "1", Where.REGION: "g", Where.SETTINGS: "e", Where.PATCH: "G"},
        **{Where.EXPLAIN: "i", Where.PLANNER: "m", Where.LEDGER: "l"},
    }
    async with bench(table, clock, SMALL, FOUND, *COMING) as at:
        for asked_at, key_there in asked.items():
            await at.press(*key_there, "question_mark")
            assert isinstance(at.app.screen, HelpScreen)
            told = str(at.app.screen.query_one(Static).content)
            lines = told.splitlines()
            assert lines[0] == str(asked_at).upper()
            words = " ".join(told.split())
            for key in KEYS:
                assert f"{key.cap} {key.says}" in words and key.when.words in words + "always", key
            await at.press("escape")
            assert not isinstance(at.app.screen, HelpScreen)
            assert at.app.screen.where is asked_at
            await at.press(*(("escape",) if key_there else ()))
