"""The card objects that a connected camera has told of, so that a file told twice, or late, is no new frame's.

A day has thousands of files. Of each a number is kept, by which a file that is told again is known; the names only of
the newest, since only these can a late file still join.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable

from session.frame.camera_messages import CardObject
from session.frame.card import base_name, is_later

NAMES_KEPT = 999
"""As many numbers as most bodies give in one folder: some 250 frames of raw and JPEG on two cards. A late file's frame
is one of the last few."""


class KnownObjects:
    """The card objects that were announced or listed; an object announced twice counts once.

    tells_done   whether this camera says when a release is done; None as long as nobody knows
    makes        files that a format's text promises → files that the camera made of it, where the text was wrong
    """

    def __init__(self, objects: Iterable[CardObject] = ()) -> None:
        self.tells_done: bool | None = None
        self.makes: dict[int, int] = {}
        self._newest: dict[str, CardObject] = {}
        self._hashes: set[int] = set()  # 64 bits: two of 10,000 files meet once in 10^11 days
        self._at: OrderedDict[tuple[str, str], CardObject] = OrderedDict()  # by folder and name, the next to go first
        self._places: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {}
        for card in objects:
            self.take_new(card)

    def take_new(self, card: CardObject) -> bool:
        """True if the object is new; it is then remembered as known."""
        return self._take(card, announced=True)

    def take_listed(self, card: CardObject) -> bool:
        """As `take_new`, for an object from a list of the card, which may be of long ago.

        Names from lists are forgotten before the names of announced objects.
        """
        return self._take(card, announced=False)

    def _take(self, card: CardObject, *, announced: bool) -> bool:
        number = hash(card)
        if number in self._hashes:
            return False
        self._hashes.add(number)
        self._keep_name(card)
        if not announced:
            self._at.move_to_end((card.folder, card.name), last=False)
        if len(self._at) > NAMES_KEPT:
            self._forget_name(self._at.popitem(last=False)[1])
        if self.is_newest(card):
            self._newest[card.folder] = card
        return True

    def _keep_name(self, card: CardObject) -> None:
        place = card.folder, card.name
        if self._at.pop(place, None):  # another file at the same place: the card is another one, or was emptied
            self._places.pop(base_name(card), None)
        self._at[place] = card
        self._places[base_name(card)] = (*self._places.get(base_name(card), ()), place)

    def _forget_name(self, card: CardObject) -> None:
        base = base_name(card)
        left = tuple(place for place in self._places.pop(base, ()) if place != (card.folder, card.name))
        if left:
            self._places[base] = left

    def is_newest(self, card: CardObject) -> bool:
        """True if the object's number follows all known numbers of its folder, or the folder has no known objects."""
        newest = self._newest.get(card.folder)
        return newest is None or is_later(card, newest)

    def knows_folder(self, folder: str) -> bool:
        """Whether anything in the folder is known."""
        return folder in self._newest

    def has_base_of(self, card: CardObject) -> bool:
        """Whether another file of the same base name is among the newest, and on the card as far as can be told."""
        place = card.folder, card.name
        others = (other for other in self._places.get(base_name(card), ()) if other != place)
        return self._at.get(place, card) == card and any(others)
