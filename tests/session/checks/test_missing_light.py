"""Which of several lights of the mock camera's set didn't fire: named rightly, or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest
from mock_set import SENSOR_MM, MockSet, mock_set

from session.checks.judge.judge import judge
from session.checks.light.missing_light import MissingLight, findings, named
from session.checks.material.picture import Material
from session.set.setup import Arrangement, PlacedLight, Revision

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
    return named(made.against(reference), Revision(lights=lights), guide_numbers_m, SENSOR_MM)


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
        for known in (numbers, {}):  # without guide numbers nobody can be named
            told = judge(made.assignment(path, reference, revision=revision, guide_numbers_m=known)).findings
            about = [finding.text for finding in told if finding.id in ("light", "flash")]
            assert len(about) == 1
            named_it = about[0].startswith(f"{gone.name} seems not to have fired")
            untold = about[0].startswith("A light is missing or weak: which one can't be told.")
            assert untold or (named_it and bool(known)), about


def test_nothing_is_named_where_the_set_is_not_known(tmp_path: Path) -> None:
    made, reference = started(tmp_path, KEY_AND_FILL, "bridge")
    made.light("key", fires=False)
    both = made.against(reference)
    assert named(both, Revision(lights=KEY_AND_FILL), {"key": 32.0}, SENSOR_MM) is None
    unplaced = (KEY_AND_FILL[0], PlacedLight("fill", -3.0))
    assert named(both, Revision(lights=unplaced), {"key": 32.0, "fill": 32.0}, SENSOR_MM) is None
    assert named(both, Revision(lights=KEY_AND_FILL[:1]), {"key": 32.0}, SENSOR_MM) is None
    assert findings(None) == ()
