"""Which frames of a view make a set-up's series of solos."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from session.match.solo_series import SeriesFrame, StepKind, has_series, same_light, steps_of_series, sum_of_series
from session.picture.preview import UnreadablePicture
from session.set.setup import PassiveItem, PlacedLight, Region, Revision, Settings
from session.units.refusals import ImpossibleNumbersError

SET = Revision(lights=(PlacedLight("key", -2.0), PlacedLight("fill", -4.0)))
NOON = datetime(2026, 11, 2, 12, tzinfo=UTC)


def frame(number: int, **values: Any) -> SeriesFrame:
    whole: dict[str, Any] = {
        "frame_id": f"f{number}",
        "number": number,
        "asked_at": NOON + timedelta(minutes=number),
        "revision": SET,
        "path": f"/{number}.jpg",
    }
    return SeriesFrame(**(whole | values))


def numbers(*frames: SeriesFrame, revision: Revision = SET) -> list[int | None]:
    return [step.frame.number if step.frame else None for step in steps_of_series(revision, frames)]


def test_steps_stand_in_the_order_in_which_hands_switch() -> None:
    steps = steps_of_series(SET, ())
    assert [step.name for step in steps] == ["all together", "key alone", "fill alone", "ambient alone"]
    assert [step.kind for step in steps] == [StepKind.TOGETHER, StepKind.SOLO, StepKind.SOLO, StepKind.AMBIENT]


def test_the_newest_frame_of_each_kind_counts() -> None:
    shot = (frame(1), frame(2, solo="key"), frame(3, solo="fill"), frame(4, ambient=True), frame(5, solo="key"))
    assert numbers(*shot) == [1, 5, 3, 4]


def test_of_frames_with_all_lights_that_nearest_to_the_newest_solo_stands_for_all_together() -> None:
    assert numbers(frame(1), frame(6), frame(7, solo="key"), frame(12)) == [6, 7, None, None]
    assert numbers(frame(1), frame(6)) == [6, None, None, None]


def test_killed_frames_and_frames_without_a_picture_are_left_out() -> None:
    assert numbers(frame(1, mark="kill"), frame(2, solo="key", path=None)) == [None] * 4


def test_frames_of_other_light_are_left_out_and_those_of_another_region_are_not() -> None:
    brighter = replace(SET, lights=(PlacedLight("key", -1.0), SET.lights[1]))
    elsewhere = replace(SET, revision=4, region=Region(0, 0, 0.1, 0.1), notes="second look", ambient_ev=-6.0)
    assert numbers(frame(1, revision=brighter), frame(2, solo="key", revision=elsewhere)) == [None, 2, None, None]


@pytest.mark.parametrize(
    "other",
    [
        replace(SET, settings=Settings(exposure_s=1 / 60)),
        replace(SET, passive=(PassiveItem("bounce", "card", 200),)),
        replace(SET, arrangement=replace(SET.arrangement, magnification=1.0)),
        replace(SET, body="second body"),
    ],
)
def test_what_changes_the_light_or_the_picture_makes_other_light(other: Revision) -> None:
    assert not same_light(SET, other)


def test_what_was_measured_of_a_thing_later_makes_no_other_light() -> None:
    card = PassiveItem("bounce", "card")
    before = replace(SET, passive=(card,))
    measured = replace(
        before,
        lights=(replace(SET.lights[0], width_mm=120.0, distance_mm=600.0), SET.lights[1]),
        passive=(replace(card, turned_deg=20.0, turned_to="left", note="silver"),),
    )
    assert same_light(before, measured) and same_light(measured, before)
    moved = replace(measured, lights=(replace(measured.lights[0], distance_mm=500.0), SET.lights[1]))
    assert not same_light(measured, moved)
    turned = replace(measured, passive=(replace(measured.passive[0], turned_to="right"),))
    assert not same_light(measured, turned)


def test_one_light_needs_no_series() -> None:
    assert has_series(SET) and not has_series(replace(SET, lights=SET.lights[:1]))


def test_a_series_that_lacks_a_frame_or_a_picture_is_refused_by_name() -> None:
    with pytest.raises(ImpossibleNumbersError, match="no frame of key alone"):
        sum_of_series(steps_of_series(SET, (frame(1),))[1:])
    whole = (frame(1), frame(2, solo="key"), frame(3, solo="fill"), frame(4, ambient=True))
    with pytest.raises(UnreadablePicture, match="of frame 1 "):
        sum_of_series(steps_of_series(SET, whole))
