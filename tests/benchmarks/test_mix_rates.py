"""The mix of solos against the frame then shot, for 100 random power changes, and how soon a key's effect is on screen.

The lights and the noise are the mock camera's, which shares no code with the mix; ΔE2000 is colour-science's. Run with
`-s` to see the numbers.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from session.frame.finding import FocusVerdict
from session.match.light_mix import light_mix
from session.match.mix_to_match import mix_to_match
from session.picture.linear_light import luminance_of
from session.set.setup import PlacedLight, Revision
from tests.session.match.test_light_mix import WHOLE, delta_e, ninths
from tests.support.played_bench import played_bench
from tests.support.scripted import Studio
from tests.support.scripted_table import READING
from tests.support.solo_sets import POWER_EV, solo_set
from tests.support.written_log import written_log
from tui.screen.picture_view import PictureView

SEEDS, CHANGES = range(60001, 60026), 4
"""25 sets, four changes each."""

KEYS, WITHIN_S = 20, 0.1


@pytest.mark.timeout(3600)
def test_a_hundred_random_power_changes_are_foretold_and_told_back(tmp_path: Path) -> None:
    off_ev, off_de, whole_de, back_ev = [], [], [], []
    for seed in SEEDS:
        made, chance = solo_set(tmp_path, seed), np.random.default_rng(seed)
        solos, ambient = made.solos(), made.picture()
        for _ in range(CHANGES):
            changes = {name: float(chance.integers(-6, 2)) / 3 for name in made.names}
            made.power_ev = {name: POWER_EV + change for name, change in changes.items()}
            shot, foretold = made.together(), light_mix(solos, ambient, changes, WHOLE)
            mixed = np.clip(foretold.channels, 0, 1)
            pairs = list(zip(ninths(shot.channels), ninths(mixed), strict=True))
            whole_de.append(delta_e(*(one.mean(axis=(1, 2)) for one in (shot.channels, mixed))))
            off_ev.append(max(abs(float(np.log2(luminance_of(is_) / luminance_of(said)))) for is_, said in pairs))
            off_de.append(max(delta_e(is_, said) for is_, said in pairs))
            told = mix_to_match(shot, solos, ambient)
            assert told is not None
            back_ev.append(max(abs(told.changes_ev[name] - change) for name, change in changes.items()))
        for path in tmp_path.glob("*.jpg"):
            path.unlink()
    told_of = (("EV in a ninth", off_ev), ("ΔE2000 whole", whole_de), ("ΔE2000 in a ninth", off_de))
    for what, values in (*told_of, ("EV told back", back_ev)):
        print(f"{what:17} median {np.median(values):.3f}, 95 % {np.quantile(values, 0.95):.3f}, most {max(values):.3f}")
    assert len(off_ev) == 100
    assert max(off_ev) <= 0.1
    assert max(whole_de) <= 1.5


async def test_a_keys_effect_is_on_the_screen_after_100_ms_of_processor_time_at_160_by_48(tmp_path: Path) -> None:
    lights = (PlacedLight("key", POWER_EV), PlacedLight("fill", POWER_EV))
    written = written_log(tmp_path / "log.db", Revision(lights=lights), READING, ())
    made = solo_set(tmp_path, 4002, count=2)
    paths = [str(made.path(*on)) for on in (("key", "fill"), ("key",), ("fill",), ())]
    took_s = []
    async with played_bench(Studio(written=written), (160, 48), written.reader) as at:
        await at.press("S")
        for path in paths:
            await at.frame(FocusVerdict.UNJUDGED, path)
        await at.press("m")
        for n in range(KEYS):
            view = at.app.screen.query_one("#picture", PictureView)
            before, begun = view.picture, time.process_time()
            await at.pilot.press("minus" if n % 2 else "plus")
            while view.picture is before:
                await at.pilot.pause()
            await at.pilot.pause()
            took_s.append(time.process_time() - begun)
    print(f"key to screen     median {np.median(took_s) * 1000:.0f} ms, most {max(took_s) * 1000:.0f} ms")
    assert np.median(took_s) <= WITHIN_S
    written.close()
