"""What the rules look at: whose numbers count, which lights fire, and what the camera would take."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame.camera_messages import Reading, Setting
from session.rules.situation import Situation
from session.set.kit import Body, Kit, Light, Trigger
from session.set.setup import PlacedLight, Revision, Settings


def body(**more: object) -> Body:
    fixed = {"sensor_width_mm": 36, "sensor_height_mm": 24, "pixels_across": 6000, "pixels_down": 4000}
    return Body.model_validate({"name": "Wendle 16", "sync_time_s": 1 / 200} | fixed | more)


def situation(kit: Kit, **revision: object) -> Situation:
    return Situation(Revision(**revision), kit)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("travel_s", "delay_s", "open_s"),
    [
        (None, 0.0, 1 / 200),
        (None, 0.001, 0.006),
        (0.003, 0.0, 1 / 200),
        (0.003, 0.002, 1 / 200),
        (0.003, 0.0025, 0.0055),
    ],
    ids=["by the maker", "maker and trigger", "travel shorter than sync", "just as long", "the trigger is too late"],
)
def test_the_frame_is_wholly_open_from_the_later_of_sync_time_and_travel_with_the_trigger(
    travel_s: float | None, delay_s: float, open_s: float
) -> None:
    kit = Kit(body=(body(curtain_travel_s=travel_s),), trigger=(Trigger(name="radio", delay_s=delay_s),))
    assert situation(kit, trigger="radio").wholly_open_s == pytest.approx(open_s)


def test_without_a_body_it_is_not_known_when_the_frame_is_open() -> None:
    assert situation(Kit()).wholly_open_s is None and situation(Kit()).body is None


def test_a_kit_without_a_trigger_delays_nothing() -> None:
    assert situation(Kit(body=(body(),))).trigger_delay_s == 0.0


def test_only_flashes_fire_and_with_the_lights_off_none() -> None:
    kit = Kit(light=(Light(name="key"), Light(name="lamp", kind="lamp")))
    lights = tuple(PlacedLight(name) for name in ("key", "lamp", "borrowed"))
    where = situation(kit, lights=lights)
    assert list(where.flashes) == ["key", "borrowed"], "what the kit doesn't know is taken for a flash"
    assert where.flashes["key"] is kit.light[0]
    assert replace(where, ambient=True).flashes == {}
    assert list(replace(where, solo="borrowed").flashes) == ["borrowed"]
    assert replace(where, solo="lamp").flashes == {}


@pytest.mark.parametrize(("told", "counts"), [(1 / 60, 1 / 60), (2, 2.0), ("bulb", 1 / 125), (None, 1 / 125)])
def test_the_cameras_own_exposure_time_counts_where_it_tells_one(told: object, counts: float) -> None:
    settings = {} if told is None else {"exposure_s": Setting("exposure_s", told, "")}  # type: ignore[arg-type]
    where = Situation(Revision(settings=Settings(1 / 125)), Kit(), Reading(settings))
    assert where.exposure_s == counts


@pytest.mark.parametrize(
    ("setting", "can"),
    [
        (None, False),
        (Setting("iso", 100, "100", (100, 200)), True),
        (Setting("iso", 100, "100", (100,)), False),
        (Setting("iso", 100, "100", ()), True),
        (Setting("iso", 100, "100", (100, 200), True), False),
    ],
    ids=["unknown", "offered", "not offered", "no list", "read only"],
)
def test_the_camera_takes_what_it_offers_and_lets_itself_be_set(setting: Setting | None, can: bool) -> None:
    where = Situation(Revision(), Kit(), Reading({"iso": setting} if setting else {}))
    assert where.can_set("iso", 200) is can


def test_before_anything_is_known_the_clock_stands_at_0_and_a_frame_is_guessed_at_60_megabytes() -> None:
    assert (situation(Kit()).now_s, situation(Kit()).frame_bytes) == (0.0, 60_000_000)
