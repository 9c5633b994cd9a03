"""The mix of solos against the frame then shot on the mock camera, whose light and noise share no code with the mix."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import colour
import numpy as np
import pytest
from PIL import Image

from mock_camera.table.imaging import BLACK_LEVEL, SENSOR_BITS
from session.match.light_mix import SoloMix
from session.match.solo_picture import SoloPicture
from session.picture.linear_light import luminance_of
from session.set.setup import Region
from tests.support.solo_sets import POWER_EV, ShotSolos, solo_set

WHOLE = Region(0, 0, 1, 1)


def ninths(channels: np.ndarray) -> list[np.ndarray]:
    """Mean red, green and blue of each ninth of a picture (3, height, width)."""
    rows = np.array_split(channels, 3, axis=1)
    return [part.mean(axis=(1, 2)) for row in rows for part in np.array_split(row, 3, axis=2)]


def seen_channels(path: Path) -> np.ndarray:
    """Linear red, green and blue (3, height, width) of a file as a viewer shows it: Pillow's decode, IEC 61966-2-1."""
    light = np.asarray(colour.models.eotf_sRGB(np.arange(256) / 255))
    with Image.open(path) as image:
        return np.moveaxis(light[np.asarray(image.convert("RGB"))], 2, 0)


def sensor_channels(mosaic: np.ndarray) -> np.ndarray:
    """The same of the mock sensor's values, linear over its black level and clipped: (3, height / 2, width / 2)."""
    light = (mosaic.astype(np.float64) - BLACK_LEVEL) / ((1 << SENSOR_BITS) - 1 - BLACK_LEVEL)
    green = (light[0::2, 1::2] + light[1::2, 0::2]) / 2
    return np.stack([light[0::2, 0::2], green, light[1::2, 1::2]]).clip(0, 1)


def delta_e(one: np.ndarray, other: np.ndarray) -> float:
    """CIEDE2000 of two linear sRGB colours, by the library colour-science."""

    def lab(rgb: np.ndarray) -> np.ndarray:
        xyz = colour.RGB_to_XYZ(rgb, "sRGB", apply_cctf_decoding=False)
        return np.asarray(colour.XYZ_to_Lab(xyz, np.array([0.3127, 0.3290])))

    return float(colour.difference.delta_E_CIE2000(lab(one), lab(other)))


@pytest.mark.parametrize("seed", [4002, 60012])
def test_the_frame_shot_at_other_powers_is_the_one_foretold(series: ShotSolos, tmp_path: Path, seed: int) -> None:
    """As a viewer shows the frame, and as the sensor saw it. The second set has dark and flat ninths."""
    made, solos, ambient = series.set, series.solos, series.ambient
    if seed != 4002:
        made = solo_set(tmp_path, seed)
        solos, ambient = made.solos(), made.picture()
    chance = np.random.default_rng(seed)
    changes = {name: float(chance.integers(-6, 2)) / 3 for name in made.names}
    before_ev, made.power_ev = made.power_ev, {name: POWER_EV + change for name, change in changes.items()}
    path, foretold = made.path(*made.names), SoloMix(solos, ambient, WHOLE).channels(changes)
    made.power_ev = before_ev
    said = ninths(np.clip(foretold, 0, 1))
    for shot, within_de in ((seen_channels(path), 1.5), (sensor_channels(made.made.mosaic), 0.6)):
        for is_, ninth in zip(ninths(shot), said, strict=True):
            assert abs(np.log2(luminance_of(is_) / luminance_of(ninth))) < 0.1
            assert delta_e(is_, ninth) < within_de


def test_burnt_share_and_brightness_follow_the_powers(series: ShotSolos) -> None:
    solos, ambient = series.solos, series.ambient
    mix = SoloMix(solos, ambient, WHOLE)
    as_shot = mix.at({})
    assert as_shot.change_ev == 0 and as_shot.burnt_share < 0.2 and as_shot.ratio
    up = mix.at({"key": 3.0, "fill": 3.0})
    assert up.change_ev == pytest.approx(3, abs=0.1) and up.burnt_share > 0.5
    assert up.ratio and up.ratio.ratio == pytest.approx(as_shot.ratio.ratio), "both were turned up alike"
    assert SoloMix({"key": solos["key"]}, ambient, WHOLE).at({}).ratio is None


def test_the_lighting_ratio_is_what_a_meter_shows_of_both_sides(series: ShotSolos) -> None:
    """F10 of the references: key 2, fill 1 come to 3 : 1; here by the means of the frames themselves."""
    solos, ambient = series.solos, series.ambient
    key, fill = (float((solos[name].light - ambient.light).mean()) for name in ("key", "fill"))
    shot = SoloMix(solos, ambient, WHOLE).at({"fill": -1.0}).ratio
    assert shot and shot.key == "key" and shot.fill == ("fill",)
    assert shot.ratio == pytest.approx((key + fill / 2) / (fill / 2), rel=0.02)
    assert shot.over_key_ev["fill"] == pytest.approx(np.log2(fill / key) - 1, abs=0.03)
    assert shot.ratio_ev == pytest.approx(np.log2(shot.ratio))


def test_codes_are_those_of_the_standard(series: ShotSolos) -> None:
    """0.18 → 117.6 and 0.5 → 187.5 by IEC 61966-2-1, against colour-science."""
    mix = SoloMix(series.solos, series.ambient, WHOLE)
    expected = 255 * colour.models.eotf_inverse_sRGB(np.clip(np.moveaxis(mix.channels({}), 0, 2), 0, 1))
    assert np.abs(mix.at({}).pixels - expected).max() <= 1.5


def test_a_large_picture_is_shown_smaller_and_foretold_in_full(series: ShotSolos) -> None:
    def larger(one: SoloPicture) -> SoloPicture:
        channels, light = (np.repeat(np.repeat(all_, 2, -2), 2, -1) for all_ in (one.channels, one.light))
        return replace(one, channels=channels, light=light, burnt=np.repeat(np.repeat(one.burnt, 2, 0), 2, 1))

    solos = {name: larger(one) for name, one in series.solos.items()}
    mix, of_small = SoloMix(solos, larger(series.ambient), WHOLE), SoloMix(series.solos, series.ambient, WHOLE)
    assert mix.channels({}).shape == (3, 1024, 1536)
    assert np.array_equal(mix.at({}).pixels, of_small.at({}).pixels), "blocks of equal pixels averaged"
