"""Files on a card as releases, in the order of DCF (CIPA DC-009: four digits, growing folders)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from session.frame.camera_messages import CardObject
from session.frame.card import copies, of_another_card, releases, same, without

FOLDER = "/store_00010001/DCIM/100STILL"


def files(*names: str, folder: str = FOLDER, size: int = 10) -> list[CardObject]:
    return [CardObject(folder, name, size) for name in names]


def names(groups: list[tuple[CardObject, ...]]) -> list[tuple[str, ...]]:
    return [tuple(card_object.name for card_object in group) for group in groups]


def test_raw_and_jpeg_of_one_name_are_one_release() -> None:
    card = files("STIL0002.DNG", "STIL0001.JPG", "STIL0002.JPG", "STIL0001.DNG")
    assert names(releases(card)) == [("STIL0001.JPG", "STIL0001.DNG"), ("STIL0002.DNG", "STIL0002.JPG")]


def test_raw_and_jpeg_on_two_cards_are_one_release() -> None:
    card = files("STIL0001.JPG") + files("STIL0001.DNG", folder="/store_00020001/DCIM/100STILL")
    assert names(releases(card)) == [("STIL0001.JPG", "STIL0001.DNG")]


def test_same_number_in_another_folder_is_another_release() -> None:
    card = files("STIL0001.JPG", folder="/a/101STILL") + files("STIL0001.DNG", folder="/a/100STILL")
    assert names(releases(card)) == [("STIL0001.DNG",), ("STIL0001.JPG",)]


def test_numbers_that_begin_again_come_after_those_before() -> None:
    card = files("STIL0001.JPG", "STIL0002.JPG", "STIL9998.JPG", "STIL9999.JPG")
    assert [group[0] for group in names(releases(card))] == [
        "STIL9998.JPG",
        "STIL9999.JPG",
        "STIL0001.JPG",
        "STIL0002.JPG",
    ]


def test_numbers_far_apart_but_within_half_the_range_keep_their_order() -> None:
    card = files("STIL4999.JPG", "STIL0001.JPG")
    assert [group[0] for group in names(releases(card))] == ["STIL0001.JPG", "STIL4999.JPG"]


def test_names_without_numbers_are_taken_by_name() -> None:
    assert names(releases(files("b.jpg", "a.jpg"))) == [("a.jpg",), ("b.jpg",)]
    assert releases([]) == []


@pytest.mark.parametrize(
    ("one_s", "other_s", "alike"),
    [
        (1000.0, 1000.0, True),
        (None, 1000.0, True),
        (1000.0, None, True),
        (1000.0, 1001.0, False),
        (0.0, 3600.0, True),
        (0.0, -5.75 * 3600, True),
        (0.0, 26 * 3600.0, True),
        (0.0, 27 * 3600.0, False),
        (0.0, 600.0, False),
    ],
)
def test_time_told_in_another_zone_means_the_same_file(one_s: float | None, other_s: float | None, alike: bool) -> None:
    """Zones from UTC−12 to UTC+14, some at a quarter of an hour: UTC+5:45 is one."""
    assert same(CardObject("/a", "x.JPG", 1, one_s), CardObject("/a", "x.JPG", 1, other_s)) is alike


def test_other_name_folder_or_size_means_another_file() -> None:
    one = CardObject("/a", "x.JPG", 1)
    for other in (CardObject("/b", "x.JPG", 1), CardObject("/a", "y.JPG", 1), CardObject("/a", "x.JPG", 2)):
        assert not same(one, other)
        assert without([other], [one]) == (other,)
    assert without([one], [one]) == ()


@pytest.mark.parametrize(
    ("change", "is_one"),
    [
        ({}, True),
        ({"folder": "/store_00010001/DCIM/100STILL"}, False),
        ({"folder": "/store_00020001/DCIM/101STILL"}, False),
        ({"name": "STIL0001.DNG"}, False),
        ({"bytes": 11}, False),
        ({"modified_at": 1002.0}, True),  # one step of a card's times (FAT)
        ({"modified_at": 1003.0}, False),
        ({"modified_at": None}, False),
    ],
)
def test_copy_on_a_second_card_has_name_size_and_time_of_the_file(change: dict[str, Any], is_one: bool) -> None:
    file = CardObject(FOLDER, "STIL0001.JPG", 10, 1000.0)
    other = replace(file, **({"folder": "/store_00020001/DCIM/100STILL"} | change))
    assert copies([other], [file]) == ((other,) if is_one else ())


def numbered(*numbers: int, folder: str = FOLDER, size: int = 10) -> list[CardObject]:
    return files(*(f"STIL{number:04d}.JPG" for number in numbers), folder=folder, size=size)


def test_a_card_that_holds_a_known_file_is_the_same_card() -> None:
    known = numbered(7, 8)
    assert of_another_card([*numbered(8), *numbered(300, size=20)], known) == ()


def test_of_a_card_without_a_known_file_the_releases_whose_numbers_go_on_were_made_since() -> None:
    known = numbered(7, 8)
    assert of_another_card(numbered(9, 10, 11), known) == ()
    assert of_another_card(numbered(1, 2, 9, 12, size=20), known) == tuple(numbered(1, 2, 12, size=20))
    later = FOLDER.replace("100", "101")
    for first in (1, 9):
        assert of_another_card(numbered(first, first + 1, folder=later), known) == ()
    assert of_another_card(numbered(300, folder=later), known) == tuple(numbered(300, folder=later))


def test_a_card_is_another_one_by_the_files_and_not_by_their_names() -> None:
    assert of_another_card(numbered(7, 8, size=20), numbered(7, 8)) == tuple(numbered(7, 8, size=20))


def test_where_nothing_is_known_no_card_is_another_one() -> None:
    assert of_another_card(numbered(1, 2), []) == of_another_card([], numbered(1)) == ()
