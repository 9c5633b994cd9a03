"""The series of solos by keys over the real controller: what is said, what the log has, and what the light comes to."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from session.frame import camera_messages as say
from session.frame.finding import FocusVerdict
from session.set.setup import PlacedLight, Revision
from tests.support.played_bench import CHARGED_S, played_bench
from tests.support.running_screen import Running
from tests.support.scripted import Studio, reading
from tests.support.scripted_table import READING
from tests.support.solo_sets import solo_set
from tests.support.written_log import WrittenLog, written_log
from tui.bench.bench_screen import BenchScreen
from tui.commands.setup_command import show, solos

SET = Revision(lights=(PlacedLight("key", -2.0), PlacedLight("fill", -4.0)))


@pytest.fixture
def written(tmp_path: Path) -> Iterator[WrittenLog]:
    log = written_log(tmp_path / "log.db", SET, READING, ())
    yield log
    log.close()


def listed(at: Running) -> list[str]:
    """The lines of the side panel about the series."""
    words = ("all together", "alone", "SOLOS")
    return [line[44:].strip() for line in at.text.split("\n") if any(word in line[44:] for word in words)]


def panel_of(at: Running) -> str:
    """The side panel's text with its lines joined."""
    return " ".join(" ".join(line[44:] for line in at.text.split("\n")).split())


async def test_a_series_by_one_key_a_frame_is_logged_added_up_and_goes_on_where_it_was_left(
    tmp_path: Path, written: WrittenLog
) -> None:
    made = solo_set(tmp_path, 4002, count=2)
    paths = [str(made.path(*on)) for on in (("key", "fill"), ("key",), ("fill",), ())]
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        await at.press("S")
        assert at.large == "ALL LIGHTS ON" and "SOLOS  0 of 4" in at.text
        await at.frame(FocusVerdict.UNJUDGED, paths[0])
        await at.press("escape", "c", "S")
        assert at.large == "ONLY KEY ON" and "Switch off fill, modelling lamps too" in at.text
        await at.frame(FocusVerdict.UNJUDGED, paths[1])
        assert at.large == "ONLY FILL ON"
        await at.press("escape", "S")
        assert at.large == "ONLY FILL ON", "it goes on where it was left"
        await at.frame(FocusVerdict.UNJUDGED, paths[2])
        assert at.large == "ALL LIGHTS OFF" and "leave the room as it is" in at.text
        await at.frame(FocusVerdict.UNJUDGED, paths[3])
        assert at.large == "SUM FITS" and "in each ninth" in at.text
        assert "ambient alone: frame 4" in at.text
        await at.press("m")
        assert at.large.startswith("RATIO ") and "AS IT WOULD BE" in at.text and "add up" not in at.text
        assert isinstance(at.app.screen, BenchScreen) and at.app.screen.mode
        picture = at.app.screen.mode.picture()
        assert picture and at.app.screen.mode.picture() is picture, "made once, not at each paint"
        await at.press("2", "minus", "minus", "minus")
        assert "2 fill  1/16 → 1/32  −1 EV" in at.text and "darker than shot" in at.text
        await at.press("r")
        assert "As the reference: within 0.0" in at.flat and "→" not in panel_of(at), "frame 1 is the reference"
        await at.press("minus", "minus", "minus")
        await at.press("enter")
        assert [light.power_ev for light in at.revision.lights] == [-2.0, -5.0]
        assert at.large == "SET THE FLASHES" and "Set on the flashes: fill 1/32 (−5 EV)" in at.text
        assert "AS IT WOULD BE" in at.text and "space release" in at.key_line
        made.power_ev["fill"] -= 1
        await at.frame(FocusVerdict.UNJUDGED, str(made.path("key", "fill")))
        assert at.large == "AS FORETOLD" and "Frame 5 is as foretold: within 0.0" in at.flat
        assert "AS IT WOULD BE" not in at.text, "the frame is on show"
        await at.pilot.resize_terminal(160, 48)
        made.power_ev["fill"] += 0.5
        await at.frame(FocusVerdict.UNJUDGED, str(made.path("key", "fill")))
        assert at.large == "FILL 0.5 EV MORE" and "fill gave 0.5 EV more in frame 6 than the mix has" in at.flat
        await at.pilot.resize_terminal(80, 24)
        await at.press("escape", "z", "S")
        assert at.large == "SUM FITS", "the powers of before have their series still"
        await at.press("down", "down")
        assert at.large == "ONLY KEY ON", "a frame of the series can be shot again"
    measured = [frame.measures for frame in written.reader.frames()]
    assert measured == ["", "solo key", "solo fill", "ambient", "", ""]
    told = CliRunner().invoke(solos, ["--log", str(tmp_path / "log.db")]).output
    assert "key alone: frame 2" in told and "The solos add up to all together" in told
    assert "lighting ratio  key + fill to fill " in told
    for command in (solos, show):
        answer = json.loads(CliRunner().invoke(command, ["--log", str(tmp_path / "log.db"), "--json", "01.1"]).output)
        ratio = answer["lighting_ratio"]
        assert (ratio["key"], ratio["fill"]) == ("key", ["fill"]) and f"fill {ratio['ratio']:.1f} : 1" in told
    shown = CliRunner().invoke(show, ["--log", str(tmp_path / "log.db"), "01.1"]).output
    assert re.search(
        r"lighting ratio  key \+ fill to fill \d\.\d : 1 \(\d\.\d EV\), fill \d\.\d EV (under|over) key", shown
    )


async def test_a_light_that_misfired_is_named_in_large_letters(tmp_path: Path, written: WrittenLog) -> None:
    made = solo_set(tmp_path, 4002, count=2)
    dark = str(made.path())
    paths = [str(made.path("key", "fill")), str(made.path("key")), dark, dark]
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        await at.press("S")
        for path in paths:
            await at.frame(FocusVerdict.UNJUDGED, path)
        assert at.large == "FILL MISFIRED" and "fill's solo (frame 3) shows no light of its own" in at.flat
        await at.press("m")
        assert at.large == "NO FILL" and "The solos don't add up, so this may be wrong." in at.text


async def test_a_stop_in_the_series_is_mended_or_overruled_there_and_the_lights_to_switch_stay_said(
    tmp_path: Path, written: WrittenLog
) -> None:
    made = solo_set(tmp_path, 4002, count=2)
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        await at.press("S")
        await at.frame(FocusVerdict.UNJUDGED, str(made.path("key", "fill")))
        await at.camera(say.SettingsRead(reading(f_number=8.0), by_hand=True))
        assert at.large == "DIAL TURNED" and "LY KEY ON: Switch off fill" in panel_of(at)
        assert "f back to f/1" in at.key_line
        await at.press("o")
        await at.type("wanted")
        await at.press("enter")
        await at.wait(CHARGED_S)
        await at.press("f")
        at.studio.fire()
        asked = [one.changes for one in at.studio.camera.requests if isinstance(one, say.ApplySettings)]
        assert any("f_number" in changes for changes in asked)
    assert [frame.measures for frame in written.reader.frames()] == ["", "solo key"]


async def test_a_burnt_frame_is_told_before_the_series_goes_on_and_is_shot_again(
    tmp_path: Path, written: WrittenLog
) -> None:
    burnt = tmp_path / "burnt.jpg"
    Image.new("RGB", (1536, 1024), "white").save(burnt)
    async with played_bench(Studio(written=written), reader=written.reader) as at:
        await at.press("S")
        await at.frame(FocusVerdict.UNJUDGED, str(burnt))
        assert at.large == "BURNT" and "More than half of frame 1, all together, is burnt" in at.flat
        made = solo_set(tmp_path, 4002, count=2)
        await at.frame(FocusVerdict.UNJUDGED, str(made.path("key", "fill")))
        assert at.large == "ONLY KEY ON"
    assert [frame.measures for frame in written.reader.frames()] == ["", ""]


async def test_a_set_of_one_light_offers_no_series(tmp_path: Path) -> None:
    log = written_log(tmp_path / "one.db", Revision(lights=SET.lights[:1]), READING, ())
    async with played_bench(Studio(written=log), reader=log.reader) as at:
        await at.press("S")
        assert "SOLOS" not in at.text and "Solos tell two lights or more from each other" in at.flat
    log.close()
