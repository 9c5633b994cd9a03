"""The tone at the bench: its key, its player, and one sentence when it can't be."""

from __future__ import annotations

import pytest

from session.live.instruments import Instruments
from session.shoot.events import LivePicture, LiveViewChanged
from tests.support.bench_events import FOUND
from tests.support.live_pictures import live_jpeg, scene
from tests.support.running_screen import SMALL, bench
from tests.support.scripted_table import REVISION, FixedClock, ScriptedTable
from tui.bench.bench_screen import BenchScreen
from tui.bench.sound import Sound
from tui.bench.tone import SILENCE, HeardTone


@pytest.fixture
def sound() -> Sound:
    pytest.importorskip("miniaudio")
    return Sound("--no-device")


def test_the_player_starts_takes_tones_and_ends_with_us(sound: Sound) -> None:
    assert sound.start() == "" and sound.is_on
    process = sound._process
    for hz in range(200, 2000, 10):
        sound.play(HeardTone(float(hz)))
    sound.stop()
    assert not sound.is_on and process is not None and process.returncode == 0


def test_a_player_that_died_is_noticed_and_does_no_harm(sound: Sound) -> None:
    sound.start()
    assert sound._process is not None
    sound._process.kill()
    sound._process.wait()
    sound.play(HeardTone(300.0))
    assert not sound.is_on
    sound.play(HeardTone(400.0))
    sound.stop()


async def test_the_tone_is_off_until_its_key_and_follows_the_meter_then(
    table: ScriptedTable, clock: FixedClock, sound: Sound
) -> None:
    heard: list[HeardTone] = []
    async with bench(table, clock, SMALL, FOUND, LiveViewChanged(True)) as at:
        screen = at.app.screen
        assert isinstance(screen, BenchScreen)
        screen.tone.sound, plain = sound, sound.play
        sound.play = lambda tone: (heard.append(tone), plain(tone))[1]  # type: ignore[method-assign]
        assert not sound.is_on
        await at.press("Y")
        assert sound.is_on and "The tone rises with the focus." in at.text
        instruments, light = Instruments(), scene()
        instruments.begin(clock.now_s)
        for i, blur_px in enumerate([4.0] * 4 + [1.0] * 4):
            clock.now_s += 1 / 15
            jpeg = live_jpeg(light, blur_px=blur_px, seed=i)
            reading = instruments.see(jpeg, clock.now_s, REVISION.region, pixels_across=1024, limit_px=0.5)
            await at.tell(LivePicture(jpeg, reading))
        tones = [tone.hz for tone in heard if tone.hz]
        assert tones[-1] > 1.2 * tones[0]
        clock.now_s += 5
        screen.look_round()
        assert heard[-1] == SILENCE, "no picture renews it"
        await at.press("Y")
        assert not sound.is_on and "The tone is off." in at.text
