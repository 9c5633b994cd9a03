"""The rule about room: how large the next frame is taken to be, and when battery, card and disk are spoken of."""

from __future__ import annotations

from statistics import mean

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.camera_messages import Reading, Setting
from session.frame.finding import Level, RemedyKind, RuleId
from session.rules.room_rules import MEAN_OVER_FRAMES, mean_frame_bytes, no_card, room_for_files
from session.rules.situation import Situation
from session.set.kit import Kit
from session.set.setup import Revision

quick = settings(max_examples=40)


def situation(percent: object = None, **room: int) -> Situation:
    told = {} if percent is None else {"battery_percent": Setting("battery_percent", percent, "")}  # type: ignore[arg-type]
    return Situation(Revision(), Kit(), Reading(told), frame_bytes=1_000_000, **room)  # type: ignore[arg-type]


@quick
@given(st.lists(st.integers(1, 10**9), min_size=1, max_size=40))
def test_the_next_frame_is_as_large_as_the_last_dozen_were(sizes: list[int]) -> None:
    assert mean_frame_bytes(sizes) == round(mean(sizes[-MEAN_OVER_FRAMES:]))
    assert mean_frame_bytes([10**12, *sizes[-12:]]) == mean_frame_bytes(sizes[-12:]) or len(sizes) < 12


@pytest.mark.parametrize("sizes", [[], [0], [0, 0, 0]])
def test_without_a_file_nothing_is_known_of_the_next(sizes: list[int]) -> None:
    assert mean_frame_bytes(sizes) is None


def test_frames_without_files_do_not_make_the_next_one_small() -> None:
    assert mean_frame_bytes([100, 0, 200, 0]) == 150


@quick
@given(st.integers(0, 20_000_000), st.integers(0, 20_000_000))
def test_card_and_disk_are_judged_each_by_itself(card: int, disk: int) -> None:
    found = {one.id: one for one in room_for_files(situation(free_card_bytes=card, free_disk_bytes=disk))}
    for rule, free in ((RuleId.CARD, card), (RuleId.DISK, disk)):
        assert (rule in found) == (free < 12_000_000)
        if rule in found:
            assert found[rule].value == free // 1_000_000
            assert found[rule].level is (Level.STOP if free < 1_000_000 else Level.CAUTION)


def test_what_is_not_known_is_not_spoken_of() -> None:
    assert room_for_files(situation()) == ()
    assert room_for_files(situation("full")) == (), "a battery that tells no number"


def test_every_finding_says_what_hands_are_to_do() -> None:
    found = room_for_files(situation(2, free_card_bytes=0, free_disk_bytes=500_000))
    assert [one.text for one in found] == [
        "The camera's battery is at 2 %.",
        "The card has 0 MB free, a frame takes 1 MB.",
        "The disk has 0 MB free, a frame takes 1 MB.",
    ]
    told = [one.remedy.text for one in found if one.remedy]
    assert told == ["change the battery", "change the card", "make room on the disk, or choose another folder"]
    assert {one.level for one in found} == {Level.STOP}


@pytest.mark.parametrize(
    ("shown", "told"),
    [
        ("12 %", "The camera's battery is at 12 %."),
        ("12,0", "The camera's battery is at 12 %."),
        ("100 %, 12 %", "One of the camera's batteries is at 12 % (100 %, 12 %)."),
    ],
)
def test_one_of_several_batteries_is_spoken_of_only_where_several_levels_are_told(shown: str, told: str) -> None:
    reading = Reading({"battery_percent": Setting("battery_percent", 12, shown)})
    (finding,) = room_for_files(Situation(Revision(), Kit(), reading, frame_bytes=1))
    assert finding.text == told


@pytest.mark.parametrize(
    ("target", "remedy"),
    [
        (Setting("capture_target", "card", "Card", ("memory", "card")), RemedyKind.SET_CAMERA),
        (Setting("capture_target", "card", "Card", ("card",)), RemedyKind.BY_HAND),
        (Setting("capture_target", "memory", "RAM", ("memory", "card")), None),
    ],
)
def test_a_camera_without_a_card_stops_unless_its_pictures_come_from_memory(
    target: Setting, remedy: RemedyKind | None
) -> None:
    reading = Reading({"capture_target": target}, no_card=True)
    found = no_card(Situation(Revision(), Kit(), reading))
    assert [(one.level, one.remedy and one.remedy.kind) for one in found] == ([(Level.STOP, remedy)] if remedy else [])
    assert no_card(Situation(Revision(), Kit(), Reading({"capture_target": target}))) == ()
