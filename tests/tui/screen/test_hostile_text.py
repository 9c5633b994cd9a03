"""Text from outside that tries to be more than text: on no screen is any of it obeyed, and nothing ends the app."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console
from textual.content import Content

from session.frame.camera_messages import Fault, Reading, Setting
from session.frame.finding import Finding, FocusVerdict, Level, Remedy, RemedyKind
from session.set.kit import demo_kit
from session.set.setup import Arrangement, PassiveItem, PlacedLight
from session.shoot.acts import AddNote
from session.shoot.events import CameraFound, CameraLost, PlaceChanged, RevisionChanged, RulesChanged, Said
from tests.support.bench_events import COMING, FOUND, judged, released
from tests.support.examples import examples
from tests.support.running_screen import Hinting, Running, running
from tests.support.scripted_table import CAMERA, PLACE, READING, REVISION, FixedClock, ScriptedTable
from tests.support.written_log import written_log
from tui.app.stillset_app import StillsetApp
from tui.bench.picture_place import set_plan
from tui.screen import panels
from tui.words.model import BenchModel

NASTY = [
    "\x1b]0;owned\x07\x1b[2J\x1b[999;999H\x1b[31m",
    "[bold red]markup[/] [/mnt/x] [link=file:///]x[/link] [@click=app.quit]x[/] \\[",
    "\u202egnp.exe\u2066\u200b\ufeff\U000e0041",
    "\x9b2J\x90payload\x9c",
    "e" + "\u0301" * 500,
    "字" * 300,
    "\n\r\t\x00\x08\x7f" * 20,
    "$error {braces} %s %(x)s {0} \\n",
    "\ud800\udfff",
]


def written_to_terminal(app: StillsetApp) -> str:
    """The bytes that Textual would write for the whole screen."""
    console = Console(color_system="truecolor", force_terminal=True, file=io.StringIO(), legacy_windows=False)
    return "".join(strip.render(console) for strip in app.screen._compositor.render_strips())


def assert_nothing_is_obeyed(at: Running) -> None:
    """Only SGR sequences (ECMA-48, final byte m) of Textual's own, and no other control character, C0 or C1."""
    painted = written_to_terminal(at.app)
    while "\x1b" in painted:
        before, _, after = painted.partition("\x1b")
        assert after.startswith("[")
        end = next(i for i, char in enumerate(after[1:], 1) if char not in "0123456789;")
        assert after[end] == "m", f"an escape sequence ending in {after[end]!r}"
        painted = before + after[end + 1 :]
    assert not [char for char in painted if ord(char) < 0x20 or 0x7F <= ord(char) < 0xA0]
    assert not set(painted) & set("\u202e\u2066\u200b\ufeff\u2028")
    for line in at.text.split("\n"):
        assert len(line) <= 400


def stop(text: str) -> Finding:
    return Finding("sync", Level.STOP, text, remedy=Remedy(RemedyKind.SET_CAMERA, text, {"iso": 100}))


@pytest.mark.parametrize("nasty", NASTY, ids=range(len(NASTY)))
async def test_nothing_from_outside_is_obeyed_on_the_bench(nasty: str, clock: FixedClock) -> None:
    light = PlacedLight(nasty or "x", -1.0, 500.0, 1.0, 2.0, nasty, nasty)
    revision = replace(
        REVISION, lights=(light,), passive=(PassiveItem("flag", nasty),), arrangement=Arrangement(nasty), notes=nasty
    )
    table = ScriptedTable(revision)
    reading = Reading({**READING.settings, "white_balance": Setting("white_balance", nasty, nasty)})
    async with running(StillsetApp(table, clock=clock, story=Hinting(nasty)), (100, 30), table) as at:
        await at.tell(
            CameraFound(replace(CAMERA, model=nasty, serial=nasty), reading, None),
            PlaceChanged(replace(PLACE, job=nasty, piece=nasty, view=nasty)),
            RevisionChanged(revision, "r"),
            RulesChanged((stop(nasty),)),
            *released(1, path=f"/nowhere/{nasty}".replace("\x00", "")),
            *judged(1, FocusVerdict.SOFT, 3.0, 0.1, (Finding("other", Level.CAUTION, nasty),)),
            Said(nasty),
            Said(nasty, "log", True),
        )
        assert_nothing_is_obeyed(at)
        for keys in (["1"], ["escape", "e"], ["escape", "o"], ["escape", "n"], ["escape", "question_mark"]):
            await at.press(*keys)
            assert_nothing_is_obeyed(at)
        await at.press("escape")
        await at.tell(CameraLost(Fault.LOST, nasty))
        assert_nothing_is_obeyed(at)


@pytest.mark.parametrize("nasty", [text for text in NASTY if "\x00" not in text and "\ud800" not in text])
async def test_nothing_from_outside_is_obeyed_in_the_ledger(nasty: str, tmp_path: Path) -> None:
    """NUL and half surrogate pairs are refused by the log itself."""
    revision = replace(REVISION, lights=(PlacedLight(nasty, -1.0, 500.0, 1.0, 2.0, nasty, nasty),))
    log = written_log(tmp_path / "log.db", revision, READING, [FocusVerdict.SOFT] * 3)
    log.log.open_place(nasty, nasty, nasty)
    log.log.note(log.frame_ids[3], nasty)
    try:
        async with running(StillsetApp(reader=log.reader, read_only=nasty), (160, 48)) as at:
            await at.press("down", "b", "up")
            assert_nothing_is_obeyed(at)
            await at.press("b")
            assert_nothing_is_obeyed(at)
            await at.press("escape", "j")
            assert_nothing_is_obeyed(at)
    finally:
        log.close()


async def test_pasted_control_characters_dont_reach_the_log(table: ScriptedTable, clock: FixedClock) -> None:
    from textual.events import Paste

    async with running(StillsetApp(table, clock=clock), (80, 24), table) as at:
        await at.tell(FOUND, *COMING)
        await at.press("n")
        at.app.post_message(Paste("a\x1b[31m\x00b\x07 \ud800c"))
        await at.settle()
        await at.press("enter")
        (note,) = at.asked(AddNote)
        assert note.text == "a[31mb c"


KIT = demo_kit()
ANY_TEXT = st.text(st.characters(exclude_categories=[]), max_size=120)


@given(ANY_TEXT, st.integers(1, 120), st.integers(1, 40))
@settings(max_examples=examples(70))
def test_no_panel_chokes_on_any_text_at_any_size(text: str, width: int, height: int) -> None:
    light = PlacedLight(text, -1.0, 500.0, 1.0, 2.0, text)
    revision = replace(REVISION, lights=(light,) * 2, passive=(PassiveItem(text, text),))
    model = BenchModel(place=replace(PLACE, piece=text, view=text), revision=revision)
    model.rules = (stop(text),)
    made: list[Content] = [
        panels.place_line(model, width),
        panels.exposure_lines(model, width),
        *panels.lights_panel(revision, width),
        *panels.findings_panel(model, width, 0.0),
        panels.ledger_strip(model, width),
        *panels.ledger_list(model, width, height),
        panels.sentences_text([text, text], width, height, text),
        *set_plan(revision, KIT, width, height),
    ]
    for content in made:
        assert not [char for char in content.plain if (ord(char) < 0x20 and char != "\n") or 0x7F <= ord(char) < 0xA0]
