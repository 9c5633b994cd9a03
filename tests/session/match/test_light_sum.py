"""Solos of the mock camera add up, and each fault is told of the light that has it. Rates: tests/benchmarks.

The pictures are formed by the mock camera's own shading, shadows, gloss and noise, which share no code with the sum.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from session.match.light_fit import UnfittedLightError
from session.match.light_sum import FrameNumbers, LightSum, Misfit, light_sum
from session.match.mix_check import at_power
from session.match.solo_picture import SoloPicture
from session.units.refusals import UnlikeShapesError
from tests.support.solo_sets import ShotSolos, solo_set


def only(found: LightSum) -> tuple[Misfit, tuple[str, ...]]:
    (finding,) = found.findings
    return finding.kind, finding.names


def test_solos_of_an_untouched_set_add_up(series: ShotSolos) -> None:
    found = series.sum()
    assert found.fits and abs(found.largest_ev) < 0.05
    assert sum(light.share for light in found.lights) == pytest.approx(1, abs=0.02)
    assert [light.name for light in found.lights] == ["key", "fill"]


@pytest.mark.parametrize("change_ev", [0.2, -0.2])
def test_a_light_changed_by_a_fifth_of_a_stop_is_named_with_its_change(series: ShotSolos, change_ev: float) -> None:
    series.set.power_ev["fill"] += change_ev
    changed = series.set.picture("fill")
    series.set.power_ev["fill"] -= change_ev
    found = series.sum(fill=changed)
    assert only(found) == (Misfit.POWER, ("fill",))
    assert found.lights[1].off_ev == pytest.approx(-change_ev, abs=0.03)


def test_a_light_that_misfired_alone_or_together_is_named(series: ShotSolos) -> None:
    assert only(series.sum(key=series.ambient)) == (Misfit.MISFIRED, ("key",))
    assert only(series.sum(series.set.picture("fill"))) == (Misfit.ABSENT, ("key",))


def test_a_light_that_was_left_on_is_one_of_the_causes_that_are_told(series: ShotSolos) -> None:
    """All lights on in the key's solo make the same pictures as a fill that fails in all together."""
    (finding,) = series.sum(key=series.together).findings
    assert (finding.kind, finding.names) == (Misfit.ABSENT, ("fill",))
    assert "fill is missing in all together: it did not fire there, or was on in key's solo too." in finding.text


def test_what_differs_is_named_with_the_number_of_its_frame(series: ShotSolos) -> None:
    numbers = FrameNumbers(9, {"key": 12, "fill": 13}, 14)
    dark = series.set.picture()
    told = [
        light_sum(together, series.solos | changed, series.ambient, numbers).findings[0].text
        for together, changed in (
            (series.together, {"key": dark}),
            (series.together, {"key": at_power(series.solos["key"], series.ambient, 0.3)}),
            (at_power(series.together, series.ambient, 0.3), {}),
            (series.solos["fill"], {}),
        )
    ]
    assert told[0].startswith("key's solo (frame 12) shows no light of its own: key did not fire there")
    assert "was on in ambient alone (frame 14) too" in told[0]
    assert told[1].startswith("key's solo (frame 12) has 0.3 EV more of its light than all together (frame 9).")
    assert told[2].startswith("All together (frame 9) is 0.3 EV brighter than the sum of the solos.")
    assert (
        "missing in all together (frame 9): it did not fire there, or was on in fill's solo (frame 13) too" in told[3]
    )


def test_where_nothing_was_switched_the_lights_are_said_to_give_nothing_of_their_own(series: ShotSolos) -> None:
    together = series.together
    found = light_sum(together, {"key": together, "fill": together}, together)
    assert not found.fits
    assert {finding.kind for finding in found.findings} == {Misfit.MISFIRED}
    assert "or was on in ambient alone too" in found.findings[0].text


def test_a_piece_moved_by_half_a_pixel_is_told_of_the_solo(series: ShotSolos) -> None:
    series.set.move_piece(0.5, 30)
    moved = series.set.picture("key")
    series.set.move_piece(-0.5, 30)
    assert only(series.sum(key=moved)) == (Misfit.MOVED, ("key",))


def test_all_together_at_another_exposure_is_told_of_all_together(series: ShotSolos) -> None:
    dimmed = replace(series.together, light=series.together.light * np.float32(2**-0.3))
    assert only(series.sum(dimmed)) == (Misfit.EXPOSURE, ())


def test_something_in_a_part_of_the_picture_names_no_light(series: ShotSolos) -> None:
    light = series.together.light.copy()
    light[: light.shape[0] // 3, : light.shape[1] // 3] *= np.float32(0.6)
    found = series.sum(replace(series.together, light=light))
    assert only(found) == (Misfit.ELSEWHERE, ())
    # log2 0.6 = −0.737 in the one ninth, and nothing in the eight others
    assert found.ninths_ev[0][0] == pytest.approx(math.log2(0.6), abs=0.01)
    assert max(abs(ev) for row in found.ninths_ev for ev in row if ev != found.ninths_ev[0][0]) < 0.01


def test_a_burnt_picture_is_not_judged(series: ShotSolos) -> None:
    burnt = replace(series.together, burnt=np.ones_like(series.together.burnt))
    found = series.sum(burnt)
    assert only(found) == (Misfit.BURNT, ()) and math.isnan(found.largest_ev)


def test_pictures_that_have_no_fit_are_refused_in_words_of_our_own(series: ShotSolos) -> None:
    def without_noise(picture: SoloPicture) -> SoloPicture:
        return replace(picture, variance=np.zeros_like(picture.variance))

    no_light = replace(series.together, light=np.full_like(series.together.light, np.nan))
    solos = {name: without_noise(solo) for name, solo in series.solos.items()}
    for attempt in (
        lambda: light_sum(without_noise(series.together), solos, without_noise(series.ambient)),
        lambda: series.sum(key=no_light),
    ):
        with pytest.raises(UnfittedLightError, match=r"^of all together has no fit by the solos"):
            attempt()


def test_pictures_of_two_sizes_are_refused(series: ShotSolos) -> None:
    small = replace(series.ambient, light=series.ambient.light[::2])
    with pytest.raises(UnlikeShapesError, match="shapes differ"):
        light_sum(series.together, series.solos, small)


def test_three_lights_add_up_too(tmp_path: Path) -> None:
    made = solo_set(tmp_path, 4000, count=3)
    together, solos, ambient = made.together(), made.solos(), made.picture()
    assert light_sum(together, solos, ambient).fits
    assert only(light_sum(together, solos | {"rim": ambient}, ambient)) == (Misfit.MISFIRED, ("rim",))


def plain_series(changes: dict[str, float], fill_falls_by: float = 0.0, ambient_times: float = 1.0) -> LightSum:
    """Two lights on a level surface, in linear light with noise: `changes` of the solos against all together, EV.

    fill_falls_by  by how much fill's pattern differs from key's across the picture; 0: both have one pattern
    """
    chance, shape = np.random.default_rng(11), (464, 696)
    down, right = np.mgrid[: shape[0], : shape[1]].astype(float) / shape[1]
    key = 0.3 * (1 - 0.4 * right + 0.2 * np.sin(9 * right) * np.sin(7 * down))
    lights = {"key": key, "fill": 0.4 * key * (1 + fill_falls_by * (down + np.cos(5 * right)))}

    def shot(light: NDArray[np.float64]) -> SoloPicture:
        noisy = (light + chance.normal(0, 0.003, shape)).astype(np.float32)
        variance = np.full(shape, 0.003**2, np.float32)
        return SoloPicture(np.stack([noisy] * 3), noisy, np.zeros(shape, bool), variance, 1.0)

    together = shot(sum(lights.values(), np.full(shape, 0.02)))
    solos = {name: shot(light * 2 ** changes.get(name, 0) + 0.02) for name, light in lights.items()}
    return light_sum(together, solos, shot(np.full(shape, 0.02 * ambient_times)))


@pytest.mark.parametrize(
    ("changes", "ambient_times", "kind"),
    [
        ({}, 4.0, Misfit.ELSEWHERE),
        ({"key": 0.3, "fill": -0.3}, 1.0, Misfit.SEVERAL),
        ({"key": 0.3, "fill": 0.15}, 1.0, Misfit.SEVERAL),
    ],
    ids=["ambient", "against each other", "both up"],
)
def test_what_two_lights_or_ambient_did_is_put_down_to_no_light_and_not_to_the_tones(
    changes: dict[str, float], ambient_times: float, kind: Misfit
) -> None:
    (finding,) = plain_series(changes, 0.5, ambient_times).findings
    assert finding.kind is kind and not finding.names
    assert "can't be told" in finding.text and "picture style" not in finding.text


def test_lights_of_one_pattern_are_not_told_apart_and_of_two_are() -> None:
    (finding,) = plain_series({"fill": 0.3}).findings
    assert not finding.names and "which, can't be told" in finding.text
    assert only(plain_series({"fill": 0.3}, 0.5)) == (Misfit.POWER, ("fill",))
    assert plain_series({}).fits and plain_series({}, 0.5).fits
