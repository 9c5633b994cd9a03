"""Which of several lights of the mock camera's set didn't fire: named rightly, or not at all."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from session.checks.judge.all_checks import judge
from session.checks.light.cells import Cells, Plane, plane_of
from session.checks.light.missing_light import (
    SLOPE_SD_EV,
    SLOPE_SD_OF_ITSELF,
    SLOPE_SD_OF_SCATTER,
    MissingLight,
    explanation,
    findings,
    name_missing_light,
)
from session.checks.material.checked_picture import Material, pair
from session.set.setup import Arrangement, PassiveItem, PlacedLight, Revision
from tests.support.mock_set import SENSOR_MM, MockSet, mock_set

KEY_AND_FILL = (PlacedLight("key", -2.0, 600, 45, 45), PlacedLight("fill", -3.0, 600, -60, 40))
EQUAL = (PlacedLight("left", -3.0, 400, 90, 45), PlacedLight("right", -3.0, 400, -90, 45))
THREE = (
    PlacedLight("key", -2.0, 600, 60, 45),
    PlacedLight("fill", -3.0, 700, -60, 45),
    PlacedLight("rim", -3.0, 500, 180, 40),
)


def started(folder: Path, lights: tuple[PlacedLight, ...], piece: str) -> tuple[MockSet, Material]:
    made = mock_set(folder, 321, piece)
    if "key" not in {light.name for light in lights}:
        made.world.do("remove_light", name="key")
    made.put_up(*lights)
    return made, made.frame()


def found(made: MockSet, reference: Material, lights: tuple[PlacedLight, ...]) -> MissingLight | None:
    guide_numbers_m = {light.name: 32.0 for light in lights}
    return name_missing_light(made.against(reference), Revision(lights=lights), guide_numbers_m, SENSOR_MM)


@pytest.mark.parametrize("piece", ["bridge", "type"])
@pytest.mark.parametrize(
    ("lights", "gone"), [(KEY_AND_FILL, "key"), (EQUAL, "left"), (EQUAL, "right")], ids=["key", "left", "right"]
)
def test_light_that_did_not_fire_is_named(
    tmp_path: Path, piece: str, lights: tuple[PlacedLight, ...], gone: str
) -> None:
    made, reference = started(tmp_path, lights, piece)
    made.light(gone, fires=False)
    missing = found(made, reference, lights)
    assert missing is not None
    assert missing.light.name == gone
    assert missing.measured_ev == pytest.approx(missing.expected_ev, abs=0.15)
    assert findings(missing)[0].text.startswith(f"{gone} seems not to have fired (")


@pytest.mark.parametrize("lights", [KEY_AND_FILL, EQUAL, THREE], ids=["two", "equal", "three"])
def test_never_the_wrong_light_is_named_and_none_when_all_gave_less(
    tmp_path: Path, lights: tuple[PlacedLight, ...]
) -> None:
    made, reference = started(tmp_path, lights, "bridge")
    for gone in lights:
        made.light(gone.name, fires=False)
        missing = found(made, reference, lights)
        made.light(gone.name, fires=True)
        assert missing is None or missing.light.name == gone.name
    for weaker_ev in (0.5, 1.0, 1.65):
        for light in lights:
            made.light(light.name, power_ev=light.power_ev - weaker_ev)
        assert found(made, reference, lights) is None


UNLIKE = (PlacedLight("key", -2.0, 600, 45, 45), PlacedLight("fill", -2.5, 500, 300, 35))


@pytest.mark.parametrize("seed", [9301, 9302, 9303, 9304])
def test_of_two_lights_the_missing_one_is_named_or_said_not_to_be_told_and_never_the_wrong_one(
    tmp_path: Path, seed: int
) -> None:
    """By all checks together, on seeds that nothing was looked at with."""
    made = mock_set(tmp_path, seed, "bridge" if seed % 2 else "type")
    made.put_up(*UNLIKE)
    reference = made.path()
    revision = Revision(region=made.region, arrangement=Arrangement(magnification=1.0), lights=UNLIKE)
    numbers = {light.name: 32.0 for light in UNLIKE}
    for gone in UNLIKE:
        made.light(gone.name, fires=False)
        path = made.path()
        made.light(gone.name, fires=True)
        for known, words in ((numbers, "seems not to have fired ("), ({}, "is missing or weak (")):
            told = judge(made.assignment(path, reference, revision=revision, guide_numbers_m=known)).findings
            about = [finding.text for finding in told if finding.id in ("light", "flash")]
            assert len(about) == 1
            untold = about[0].startswith("A light is missing or weak: which one can't be told.")
            assert untold or about[0].startswith(f"{gone.name} {words}"), about


@pytest.mark.parametrize("piece", ["bridge", "type"])
def test_the_light_whose_side_lost_light_is_named_where_nobody_knows_how_much_it_gives(
    tmp_path: Path, piece: str
) -> None:
    made, reference = started(tmp_path, EQUAL, piece)
    for gone in EQUAL:
        made.light(gone.name, fires=False)
        missing = name_missing_light(made.against(reference), Revision(lights=EQUAL), {}, SENSOR_MM)
        made.light(gone.name, fires=True)
        assert missing is not None
        assert (missing.light.name, missing.expected_ev) == (gone.name, None)
        assert f"{gone.name} is missing or weak (90° {'left' if gone.name == 'left' else 'right'} · 45° up): " in (
            findings(missing)[0].text
        )


def test_nobody_is_named_by_the_side_alone_where_it_can_not_tell(tmp_path: Path) -> None:
    """Two lights from the same side; less light of both; another exposure; a piece that lies otherwise."""
    alike = (PlacedLight("upper", -3.0, 400, 85, 50), PlacedLight("lower", -3.0, 400, 95, 40))
    made, reference = started(tmp_path, alike, "bridge")
    made.light("upper", fires=False)
    assert name_missing_light(made.against(reference), Revision(lights=alike), {}, SENSOR_MM) is None
    made, reference = started(tmp_path, EQUAL, "bridge")
    revision = Revision(lights=EQUAL)
    assert name_missing_light(pair(made.frame(iso=50), reference), revision, {}, SENSOR_MM) is None
    for moved in (False, True):
        if moved:
            made.world.do("shift_piece", right_mm=0.6, down_mm=-0.4, turn_deg=2.0)
            assert name_missing_light(made.against(reference), revision, {}, SENSOR_MM) is None
        for light in EQUAL:
            made.light(light.name, power_ev=light.power_ev - 1.0)
        assert name_missing_light(made.against(reference), revision, {}, SENSOR_MM) is None
        for light in EQUAL:
            made.light(light.name, power_ev=light.power_ev)


FIELD_MM = (36.0, 24.0)
NEAR = (PlacedLight("left", 0.0, 300, 90, 45), PlacedLight("right", 0.0, 300, -90, 45))


def light_of(thing: PlacedLight | PassiveItem, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Of a point source on a level surface, by vectors; 1 on the average of the field."""
    azimuth, elevation = np.radians([thing.azimuth_deg or 0.0, thing.elevation_deg or 0.0])
    away = (-np.sin(azimuth) * np.cos(elevation), np.cos(azimuth) * np.cos(elevation), np.sin(elevation))
    source = float(thing.distance_mm or 0.0) * np.array(away)
    way = source - np.stack([x * FIELD_MM[0] / 2, y * FIELD_MM[1] / 2, np.zeros_like(x)], axis=-1)
    far = np.linalg.norm(way, axis=-1)
    lux = (way / far[..., None]) @ np.array([0.0, 0.0, 1.0]) / far**2
    return lux / lux.mean()


def cells_without(gone: PlacedLight, left: PlacedLight, lost_ev: float, down_ev: float = 0.0) -> Cells:
    """The light of a level surface once a light is gone that gave so much of it; `down_ev`: another slope besides."""
    x, y = np.meshgrid((np.arange(12) + 0.5) / 6 - 1, (np.arange(8) + 0.5) / 4 - 1)
    share = 1 - 2**-lost_ev
    rest = (1 - share) * light_of(left, x, y)
    return Cells(np.log2(rest / (rest + share * light_of(gone, x, y))) + down_ev * y, x, y)


def name_of(missing: MissingLight | None) -> str | None:
    return missing.light.name if missing else None


@pytest.mark.parametrize(("lost_ev", "name"), [(0.49, None), (0.51, "left"), (3.0, "left")])
def test_half_a_stop_must_be_lost_where_the_amounts_are_not_known(lost_ev: float, name: str | None) -> None:
    left, right = NEAR
    assert name_of(explanation(cells_without(left, right, lost_ev), Revision(lights=NEAR), {}, FIELD_MM)) == name


@pytest.mark.parametrize(("lost_ev", "name"), [(0.24, None), (0.26, "left")])
def test_a_quarter_of_a_stop_must_be_lost_where_they_are(lost_ev: float, name: str | None) -> None:
    left, right = NEAR
    share = 1 - 2**-lost_ev
    numbers = {"left": math.sqrt(share), "right": math.sqrt(1 - share)}
    found = explanation(cells_without(left, right, lost_ev), Revision(lights=NEAR), numbers, FIELD_MM)
    assert name_of(found) == name
    if found:
        assert found.expected_ev == pytest.approx(-lost_ev, abs=0.01)


@pytest.mark.parametrize(("standard_deviations", "name"), [(2.9, "left"), (3.1, None)])
def test_a_slope_three_standard_deviations_off_is_somebody_else_s(standard_deviations: float, name: str | None) -> None:
    left, right = NEAR
    cells = cells_without(left, right, 1.0, down_ev=standard_deviations * SLOPE_SD_EV)
    assert name_of(explanation(cells, Revision(lights=NEAR), {}, FIELD_MM)) == name


def test_a_light_is_named_from_odds_of_twenty_to_one_on() -> None:
    """The angle between two lights from which on one is named, and its odds there by scipy's normal distribution,
    against the other and against all giving less: lights from nearly one side lean the picture hardly more than both.
    """
    near, apart = 0.0, 90.0
    while apart - near > 1e-4:
        angle = (near + apart) / 2
        lights = (NEAR[0], PlacedLight("other", 0.0, 300, 90 + angle, 45))
        found = explanation(cells_without(*lights, 1.0), Revision(lights=lights), {}, FIELD_MM)
        assert name_of(found) in ("left", None)
        near, apart = (near, angle) if found else (angle, apart)
    right, wrong = (plane_of(cells_without(*pair_, 1.0)) for pair_ in (lights, lights[::-1]))
    seen = np.array([right.across_ev, right.down_ev])

    def log_density(expected: Plane) -> float:
        slope = np.array([expected.across_ev, expected.down_ev])
        even = SLOPE_SD_EV**2 + (SLOPE_SD_OF_SCATTER * right.scatter_ev) ** 2
        spread = even * np.eye(2) + SLOPE_SD_OF_ITSELF**2 * np.outer(slope, slope)
        return float(multivariate_normal(slope, spread).logpdf(seen))

    rival = max(log_density(wrong), log_density(Plane(right.level_ev, 0.0, 0.0, right.scatter_ev)))
    assert math.exp(log_density(right) - rival) == pytest.approx(20, rel=0.05)


def test_with_fewer_than_twelve_cells_nothing_is_compared() -> None:
    x, y = np.meshgrid(np.linspace(-1, 1, 4), np.linspace(-1, 1, 4))
    for known, enough in ((11, False), (12, True)):
        ev = np.where(np.arange(16).reshape(4, 4) < known, 0.0, np.nan)
        assert Cells(ev, x, y).enough is enough


@pytest.mark.parametrize(("azimuth_deg", "name"), [(90, None), (-90, "left")])
def test_a_reflector_on_the_light_s_side_may_be_what_is_missing(azimuth_deg: float, name: str | None) -> None:
    left, right = NEAR
    revision = Revision(lights=NEAR, passive=(PassiveItem("bounce", "card", 250, azimuth_deg, 40),))
    assert name_of(explanation(cells_without(left, right, 1.0), revision, {}, FIELD_MM)) == name


def test_nothing_is_named_where_the_set_is_not_known(tmp_path: Path) -> None:
    made, reference = started(tmp_path, KEY_AND_FILL, "bridge")
    made.light("key", fires=False)
    both = made.against(reference)
    by_side = name_missing_light(both, Revision(lights=KEY_AND_FILL), {"key": 32.0}, SENSOR_MM)
    assert by_side is not None and (by_side.light.name, by_side.expected_ev) == ("key", None)
    unplaced = (KEY_AND_FILL[0], PlacedLight("fill", -3.0))
    assert name_missing_light(both, Revision(lights=unplaced), {"key": 32.0, "fill": 32.0}, SENSOR_MM) is None
    assert name_missing_light(both, Revision(lights=KEY_AND_FILL[:1]), {"key": 32.0}, SENSOR_MM) is None
    assert findings(None) == ()
