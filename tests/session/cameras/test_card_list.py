"""Which folders of a card are read, when, and in which order; on a camera that only says how long it takes."""

from __future__ import annotations

from typing import cast

from session.cameras.card_list import QUICK_S, CardList
from session.cameras.libgphoto import Gphoto
from session.frame.camera_messages import CardObject

FOLDERS = ("/store_1", "/store_1/DCIM", "/store_1/DCIM/100AAAA", "/store_1/DCIM/101AAAA", "/store_1/DCIM/102AAAA")


class CountedCamera:
    """A card of three folders of pictures; `read` names those that were read."""

    def __init__(self, file_s: float) -> None:
        self._file_s = file_s
        self.tells_files_slowly = False
        self.read: list[str] = []
        self.looked_up: list[str] = []

    def folders(self) -> tuple[tuple[str, ...], tuple[float, ...]]:
        return FOLDERS, (self._file_s,)

    def looks_up(self, card: CardObject) -> bool:
        self.looked_up.append(card.name)
        return card.name != "AAAA0009.JPG"

    def files_in(self, folder: str) -> tuple[CardObject, ...]:
        self.read.append(folder[-8:])
        return (CardObject(folder, f"{folder[-4:]}0001.JPG", 10),) if "AAAA" in folder else ()


def listed(file_s: float) -> tuple[CountedCamera, CardList]:
    camera = CountedCamera(file_s)
    return camera, CardList(cast(Gphoto, camera))


def test_where_files_are_told_quickly_the_card_is_read_at_once_newest_first() -> None:
    camera, cards = listed(QUICK_S / 2)
    cards.read_at_once()
    assert camera.read[:3] == ["/102AAAA", "/101AAAA", "/100AAAA"]
    assert (cards.is_read, len(cards.objects), camera.tells_files_slowly) == (True, 3, False)


def test_where_files_are_told_slowly_nothing_is_read_before_it_is_asked_for() -> None:
    camera, cards = listed(0.05)
    cards.read_at_once()
    assert (camera.read, cards.is_read, camera.tells_files_slowly) == ([], False, True)


def test_only_the_newest_folder_is_read_or_those_from_a_name_on_with_progress() -> None:
    camera, cards = listed(0.05)
    told: list[tuple[int, int]] = []
    assert len(cards.read(progress=lambda done, of: told.append((done, of)))) == 1
    assert (told, camera.read[0], cards.is_read) == ([(0, 1)], "/102AAAA", True)
    assert len(cards.read("101AAAA")) == 2
    assert "/100AAAA" not in camera.read


def test_a_camera_that_was_connected_anew_is_slow_again() -> None:
    camera, cards = listed(0.05)
    cards.read()
    assert not camera.tells_files_slowly
    cards.forget()
    assert camera.tells_files_slowly


def test_files_that_are_known_by_name_are_asked_for_a_few_at_a_time_until_one_is_gone() -> None:
    camera, cards = listed(0.05)
    known = [CardObject("/store_1/DCIM/102AAAA", f"AAAA{number:04d}.JPG", 10) for number in range(1, 31)]
    others = [CardObject("/store_1/DCIM/101AAAA", "AAAA0001.JPG", 10)]
    told: list[tuple[int, int]] = []
    while cards.approach([*known, *others], lambda done, of: told.append((done, of))):
        assert len(told) < len(known)
    assert (camera.looked_up[0], camera.looked_up[-1]) == ("AAAA0008.JPG", "AAAA0030.JPG")
    assert (told[0], told[1]) == ((0, 30), (8, 30))
    cards.forget()
    camera.looked_up.clear()
    assert not cards.approach([known[8]], lambda done, of: None)
    assert not cards.approach([known[8]], lambda done, of: None)
    assert camera.looked_up == ["AAAA0009.JPG"], "then the rest was asked for at once, and is not again"
