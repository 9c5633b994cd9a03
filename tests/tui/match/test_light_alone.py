"""A light fired alone from its own step, the series of solos over the steps, and the pictures of the set beside."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from session.match.light_match import LightAlone
from session.match.match_steps import Measured
from session.picture.set_picture import set_picture
from storage.files.set_pictures import attach_set_picture
from tests.support.reshoot_screen import picture, reshoot_screen
from tests.support.running_screen import SMALL
from tests.support.written_log import WrittenLog
from tui.match.match_mode import MatchMode
from tui.match.match_screen import MatchScreen


async def test_a_lights_step_fires_that_light_alone_with_the_words_which_switches_to_put(written: WrittenLog) -> None:
    async with reshoot_screen(written) as at:
        while "light key" not in at.flat.partition("Step ")[2][:40]:
            await at.press("down")
        assert at.large == "ONLY KEY ON"
        assert "Switch off fill, modelling lamps too, and touch nothing else. [space] release" in at.flat
        await at.frame()
        rows = list(written.reader.frames())
        assert rows[-1].measures == "solo key"
        while "all lights" not in at.flat.partition("Step ")[2][:40]:
            await at.press("down")
        assert at.large == "ALL LIGHTS ON"
        await at.frame()
        assert list(written.reader.frames())[-1].measures == ""


async def test_where_ambient_is_in_both_solos_the_lights_step_shoots_ambient_alone_first(
    written: WrittenLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    due = Measured(solos={"key": LightAlone(0.0, ambient_due=True)})
    monkeypatch.setattr(MatchMode, "found", property(lambda mode: replace(mode._memory.found, measured=due)))
    async with reshoot_screen(written) as at:
        while "light key" not in at.flat.partition("Step ")[2][:40]:
            await at.press("down")
        assert at.large == "ALL LIGHTS OFF" and "leave the room as it is. [space] release" in at.flat
        await at.frame()
        assert list(written.reader.frames())[-1].measures == "ambient"


async def test_the_series_of_solos_goes_on_over_the_steps_and_escape_leads_back_to_them(written: WrittenLog) -> None:
    async with reshoot_screen(written) as at:
        await at.press("S")
        assert isinstance(at.app.screen, MatchScreen) and "SOLOS" in at.text and "ONLY" in at.large
        await at.press("escape")
        assert at.large == "CHECK LIST" and "STEPS" in at.text
        await at.press("escape")
        assert not isinstance(at.app.screen, MatchScreen)


async def test_enter_is_offered_only_where_a_word_can_settle_the_step(written: WrittenLog) -> None:
    async with reshoot_screen(written) as at:
        assert "enter done" in at.key_line and "n skip" in at.key_line
        await at.press("down")
        assert at.large == "CAMERA MATCHES" and "enter" not in at.key_line
        await at.press("enter")
        assert "matches by itself" in at.flat


async def test_pictures_of_the_set_stand_beside_by_key_and_nothing_is_cut_at_80_columns(
    written: WrittenLog, tmp_path: Path
) -> None:
    async with reshoot_screen(written, SMALL) as at:
        assert "picture" not in at.key_line and "1 of 3" not in at.text
    for n in range(2):
        jpeg = set_picture(Path(picture(tmp_path / f"phone-{n}.jpg", seed=n)))
        attach_set_picture(tmp_path / "log.db", written.revision_id, jpeg)
    async with reshoot_screen(written, SMALL) as at:
        assert "← → picture" in at.key_line and "REFERENCE 1 · 1 of 3" in at.text
        await at.press("right")
        assert "SET, PICTURE 1 · 2 of 3" in at.text and "▀" in at.text
        await at.press("right", "right")
        assert "REFERENCE 1 · 1 of 3" in at.text
        await at.press("left")
        assert "SET, PICTURE 2 · 3 of 3" in at.text
