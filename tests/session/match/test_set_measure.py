"""Measured on the mock camera's table: each move of the camera and each fault of a light, as words for hands."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.match.match_steps import MatchStep, StepState, match_steps
from session.match.set_measure import LitPictures, measure_set
from session.set.setup import Arrangement, PlacedLight, Revision
from tests.support.made_pictures import coded, moved, photograph
from tests.support.reshoot_table import SENSOR_MM, Hands, ReshootTable, reshoot_table

LIGHTS = (
    PlacedLight("key", -4.0, 450.0, 50.0, 40.0),
    PlacedLight("fill", -4.0, 500.0, -65.0, 35.0),
    PlacedLight("rim", -4.0, 400.0, 165.0, 45.0),
)
SEED = 17
"""Of the table; on 3 some limits of `light_match` were chosen."""

SIZE = (512, 342)
AT_HALF = Revision(arrangement=Arrangement(focal_length_mm=100.0, magnification=0.5), lights=LIGHTS[:1])


@dataclass
class Reshoot:
    """A set with what was recorded of it, and its pictures of then."""

    table: ReshootTable
    revision: Revision
    then: LitPictures

    def steps(self, *, solos: bool = False) -> dict[str, MatchStep]:
        now = self.table.pictures(solos=solos)
        told = match_steps(self.revision, measure_set(self.revision, SENSOR_MM, self.then, now))
        return {step.key: step for step in told}

    def framing(self) -> MatchStep:
        return self.steps()["framing"]


def built(folder: Path, lights: tuple[PlacedLight, ...], *, piece: str = "bridge", solos: bool = False) -> Reshoot:
    table = reshoot_table(folder, SEED, lights, piece=piece, size=SIZE)
    revision = Revision(
        arrangement=Arrangement(focal_length_mm=100.0, magnification=0.5), lights=lights, view_down_deg=90.0
    )
    return Reshoot(table, revision, table.pictures(solos=solos))


@pytest.fixture
def one_light(tmp_path: Path) -> Reshoot:
    return built(tmp_path, LIGHTS[:1])


def numbers(words: str) -> list[float]:
    return [float(number) for number in re.findall(r"[\d.]+", words)]


def test_the_same_set_again_matches(one_light: Reshoot) -> None:
    steps = one_light.steps()
    assert (steps["framing"].state, steps["framing"].to_do) == (StepState.MATCHES, "")
    assert (steps["together"].state, steps["together"].to_do) == (StepState.MATCHES, "")


def test_a_camera_that_stands_elsewhere_is_told_the_way_back(one_light: Reshoot) -> None:
    one_light.table.move(right_mm=-0.8, down_mm=0.5, farther_mm=-4.0, turn_deg=-1.0)
    one_light.table.refocus()
    step = one_light.framing()
    assert re.fullmatch(r"camera .* mm right, .* mm up, .* mm farther; turn it .*° clockwise", step.to_do), step
    assert numbers(step.to_do) == pytest.approx([0.8, 0.5, 4.0, 1.0], rel=0.1)
    assert step.state is StepState.OFF


def test_a_camera_that_looks_aside_is_turned_back_before_anything_else(one_light: Reshoot) -> None:
    one_light.table.look(right_deg=-2.5, down_deg=2.5)
    one_light.table.move(right_mm=12.5, down_mm=-12.5)
    step = one_light.framing()
    assert re.match(r"turn the camera .*° to the right, .*° up; then move it sideways", step.to_do), step
    assert numbers(step.to_do) == pytest.approx([2.5, 2.5], abs=0.7)


@pytest.mark.parametrize(("piece", "focal_length_mm", "told"), [("bridge", 65.0, True), ("label", 65.0, False)])
def test_another_distance_with_the_right_framing_is_told_before_relief_alone(
    tmp_path: Path, piece: str, focal_length_mm: float, told: bool
) -> None:
    """A lens of 65 mm at the same ratio stands 35 % nearer: f·(1/m + 1/P)."""
    folder = tmp_path / "now"
    folder.mkdir()
    then = reshoot_table(tmp_path, SEED, LIGHTS[:1], piece=piece, magnification=1.0, size=(768, 512))
    now = reshoot_table(
        folder, SEED, LIGHTS[:1], piece=piece, magnification=1.0, focal_length_mm=focal_length_mm, size=(768, 512)
    )
    now.shots = 9
    pictures = LitPictures(then.shoot("key")), LitPictures(now.shoot("key"))
    revision = replace(AT_HALF, arrangement=Arrangement(magnification=1.0), working_distance_mm=180.0)
    steps = {one.key: one for one in match_steps(revision, measure_set(revision, SENSOR_MM, *pictures))}
    assert ("set ratio and distance as then" in steps["place"].to_do) is told
    assert steps["place"].state is (StepState.OFF if told else StepState.MATCHES)


def test_a_camera_beside_its_place_is_not_told_at_another_distance(tmp_path: Path) -> None:
    table = reshoot_table(tmp_path, SEED, LIGHTS[:1], size=(768, 512))
    then = LitPictures(table.shoot("key"))
    table.move(right_mm=4.0)
    found = measure_set(AT_HALF, SENSOR_MM, then, LitPictures(table.shoot("key"))).framing
    assert found is not None and not found.other_distance


def test_a_frame_that_shows_something_else_is_not_guessed_at(one_light: Reshoot) -> None:
    one_light.table.move(right_mm=150.0)
    step = one_light.framing()
    assert step.state is StepState.CANT_TELL and "bring the piece to its place" in step.to_do


def test_another_sensors_pixels_are_compared_side_to_side(tmp_path: Path, one_light: Reshoot) -> None:
    finer = reshoot_table(tmp_path, SEED, LIGHTS[:1], size=(768, 513 - 1))
    finer.shots = 50
    finer.move(right_mm=-0.8)
    now = LitPictures(finer.shoot("key"))
    found = measure_set(one_light.revision, SENSOR_MM, one_light.then, now).framing
    assert found is not None and found.right_mm == pytest.approx(0.8, abs=0.05)


def test_one_light_that_gives_less_is_told_in_stops_or_distance(one_light: Reshoot) -> None:
    one_light.table.world.do("light", name="key", power_ev=-4.7)
    together = one_light.steps()["together"]
    assert re.fullmatch(r"key 0\.7 EV more, or \d+ mm nearer", together.to_do)
    assert numbers(together.to_do)[1] == pytest.approx(450 * (1 - 2**-0.35), rel=0.05)  # inverse square law


def test_without_solos_no_light_of_several_is_named(tmp_path: Path) -> None:
    three = built(tmp_path, LIGHTS)
    three.table.world.do("light", name="fill", fires=False)
    steps = three.steps()
    assert "can't tell which light" in steps["together"].to_do and steps["together"].state is StepState.OFF
    assert not [name for name in ("key", "fill", "rim") if name in steps["together"].to_do]
    assert steps["light fill"].state is StepState.OPEN


def test_a_light_that_was_on_in_ambient_alone_is_not_put_down_to_its_switch(tmp_path: Path) -> None:
    three = built(tmp_path, LIGHTS, solos=True)
    now = replace(three.table.pictures(), ambient=three.table.shoot("key"))
    told = match_steps(three.revision, measure_set(three.revision, SENSOR_MM, three.then, now))
    key = next(step for step in told if step.key == "light key")
    wanted = "ambient alone is as bright: switch key on, or shoot ambient alone again with key off"
    assert (key.state, key.to_do) == (StepState.OFF, wanted)


def test_with_solos_each_light_is_told_by_its_own(tmp_path: Path) -> None:
    three = built(tmp_path, LIGHTS, piece="label", solos=True)
    three.table.world.do("light", name="key", azimuth_deg=62.0)
    three.table.world.do("light", name="fill", power_ev=-3.4)
    three.table.world.do("light", name="rim", fires=False)
    three.table.move(right_mm=0.05)
    steps = three.steps(solos=True)
    key, fill, rim = (steps[f"light {name}"] for name in ("key", "fill", "rim"))
    assert re.match(r"key 1\d° anticlockwise around the piece, seen from above", key.to_do), key
    assert fill.to_do == "fill 0.6 EV less", "its falloff is that of its old distance"
    assert rim.to_do == "rim is off or doesn't fire: switch it on"
    assert "put key and fill and rim right first" in steps["together"].to_do
    told = re.search(r"; key \+ fill to fill (\d\.\d) : 1 then, (\d\.\d) : 1 now", steps["together"].measured)
    assert told and float(told[1]) > float(told[2]), "the fill gives more than then"
    hands = Hands(three.table, np.random.default_rng(1), three.table.places_px())
    for _ in range(2):  # hands that miss a turn of 10° by 2° are told those too
        for name in ("key", "fill", "rim"):
            hands.follow_light(steps[f"light {name}"])
        steps = again = three.steps(solos=True)
    assert again["light rim"].state is StepState.MATCHES
    assert again["light key"].state is StepState.MATCHES


def upright(path: Path, light: np.ndarray, orientation: int = 1) -> str:
    """A file whose Exif says how it is turned upright."""
    exif = Image.Exif()
    exif[0x112] = orientation
    Image.fromarray(coded(light)).save(path, quality=95, exif=exif)
    return str(path)


@pytest.mark.parametrize("orientation", [1, 6, 8])
def test_a_move_is_as_long_in_an_upright_picture_as_in_a_wide_one(tmp_path: Path, orientation: int) -> None:
    """36 mm at 1:2 are 72 mm of the piece along the long side: 15 of 720 px are 1.5 mm."""
    piece = photograph("coffee.png", (720, 480))
    then = LitPictures(upright(tmp_path / "then.jpg", piece, orientation))
    now = LitPictures(upright(tmp_path / "now.jpg", moved(piece, 15, 0), orientation))
    found = measure_set(AT_HALF, 36.0, then, now).framing
    assert found is not None
    assert np.hypot(found.right_mm, found.down_mm) == pytest.approx(1.5, rel=0.03)


def test_a_solo_of_another_shape_leaves_its_light_unmeasured(tmp_path: Path) -> None:
    piece = photograph("coffee.png", (720, 480))
    wide, tall = upright(tmp_path / "wide.jpg", piece), upright(tmp_path / "tall.jpg", piece, 6)
    found = measure_set(AT_HALF, 36.0, LitPictures(wide, {"key": wide}), LitPictures(wide, {"key": tall}, tall))
    assert found.framing is not None and not found.solos
    found = measure_set(AT_HALF, 36.0, LitPictures(wide, {"key": wide}, tall), LitPictures(wide, {"key": wide}))
    assert found.solos["key"].level_ev == pytest.approx(0.0, abs=0.01)
