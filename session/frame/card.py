"""The files on a card as releases: raw and JPEG of one base name together, in the order in which they were made.

Names follow DCF (CIPA DC-009): a number at the end of the base name that grows to 9999 and starts again at 0001,
in folders whose numbers grow too.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

from session.frame.camera_messages import CardObject

WRAPS_AT = 10_000
"""DCF file numbers have four digits."""

ZONE_STEP_S, ZONE_SPAN_S = 900, 26 * 3600
"""Cameras tell local time, so a computer that changes its zone reads other times: zones lie a multiple of 15 minutes
apart, and at most 26 hours (UTC−12 to UTC+14)."""

NUMBERED_FOLDER, PICTURES_DEPTH = re.compile(r"\d{3}"), 3
"""Folders of pictures begin with a number that grows."""

COPY_WITHIN_S = 2.0

_NUMBER = re.compile(r"(\d+)\D*$")


def base_name(card_object: CardObject) -> tuple[str, str]:
    """The last folder and the name without its ending, which all files of a release share.

    Not the whole folder, since bodies with two cards may write the raw to one and the JPEG to the other.
    """
    return _last(card_object.folder), _without_ending(card_object.name)


def _last(path: str) -> str:
    return path.rstrip("/").rpartition("/")[2]


def _without_ending(name: str) -> str:
    stem, _, ending = _last(name).rpartition(".")
    return stem if stem and ending else _last(name)


def folder_order(folder: str) -> str:
    """The last folder's name, by which folders are ordered; "" for a name without a number, which comes first."""
    name = _last(folder)
    return name if NUMBERED_FOLDER.match(name) else ""


def holds_pictures_only(folder: str) -> bool:
    """Whether a folder is one of pictures below the card's first, like `/store/DCIM/100NAME`, which holds no folder."""
    return folder.count("/") >= PICTURES_DEPTH and bool(folder_order(folder))


def same(one: CardObject, other: CardObject) -> bool:
    """Whether two listings mean the same file, also when one was without a time or told in another time zone."""
    if (one.folder, one.name, one.bytes) != (other.folder, other.name, other.bytes):
        return False
    if one.modified_at is None or other.modified_at is None:
        return True
    apart_s = abs(one.modified_at - other.modified_at)
    return apart_s <= ZONE_SPAN_S and apart_s % ZONE_STEP_S == 0


def is_copy(one: CardObject, other: CardObject) -> bool:
    """Whether a file is a copy of the other on a second card: last folder, name, size and time are the same.

    The second is written a moment later, and cards keep times in steps of two seconds (FAT). Without a time nobody can
    tell: raws may all be of one size.
    """
    alike = base_name(one) == base_name(other) and (one.name, one.bytes) == (other.name, other.bytes)
    if not alike or one.folder == other.folder or one.modified_at is None or other.modified_at is None:
        return False
    return abs(one.modified_at - other.modified_at) <= COPY_WITHIN_S


def copies(objects: Iterable[CardObject], of: Collection[CardObject]) -> tuple[CardObject, ...]:
    """The objects that are copies, on a second card, of an object in `of`."""
    return tuple(one for one in objects if any(is_copy(one, other) for other in of))


def without(card: Iterable[CardObject], known: Collection[CardObject]) -> tuple[CardObject, ...]:
    """The objects of the card that are the same as none of the known ones."""
    by_name: dict[tuple[str, str], list[CardObject]] = {}
    for old in known:
        by_name.setdefault((old.folder, old.name), []).append(old)
    return tuple(new for new in card if not any(same(new, old) for old in by_name.get((new.folder, new.name), ())))


def releases(objects: Iterable[CardObject]) -> list[tuple[CardObject, ...]]:
    """The objects grouped by release, earliest first; within one, in the order given."""
    groups: dict[tuple[str, str], list[CardObject]] = {}
    for card_object in objects:
        groups.setdefault(base_name(card_object), []).append(card_object)
    wrapped = {folder for folder in {folder for folder, _ in groups} if _wraps(folder, groups)}
    order = sorted(groups, key=lambda base: (base[0], _number(base[1], base[0] in wrapped), base[1]))
    return [tuple(groups[base]) for base in order]


def is_later(one: CardObject, other: CardObject) -> bool:
    """Whether the release of `one` came after the release of `other`, by the numbers in their names."""
    order = releases([one, other])
    return len(order) > 1 and order[-1] == (one,)


def follows(one: CardObject, other: CardObject) -> bool:
    """Whether the number of `one` comes right after that of `other`, in the same folder."""
    (folder, name), (before, earlier) = base_name(one), base_name(other)
    return folder == before and _number(name, False) == _number(earlier, False) + 1


def of_another_card(card: Iterable[CardObject], known: Collection[CardObject]) -> tuple[CardObject, ...]:
    """The objects of a card that holds none of the known ones, but for the releases that go on with their numbers.

    Such a card was put in since, or was emptied: without a number that goes on nobody can tell whether a release was
    made since, or lay on it from another day or body. () for a card with a known object, or where nothing is known.
    """
    there = tuple(card)
    new = without(there, known)
    if not known or len(new) < len(there):
        return ()
    last = releases(known)[-1]
    others: list[CardObject] = []
    for release in releases(new):
        if _goes_on(release[0], last[0]):
            last = release
        else:
            others += release
    return tuple(others)


def _goes_on(one: CardObject, other: CardObject) -> bool:
    """Whether the number of `one` comes right after that of `other`, or begins a later folder."""
    (folder, name), (before, earlier) = base_name(one), base_name(other)
    next_number = _number(earlier, False) + 1
    return follows(one, other) or (folder > before and _number(name, False) in (next_number, 1))


def _number(base: str, wrapped: bool) -> int:
    match = _NUMBER.search(base)
    number = int(match[1][-4:]) if match else 0
    return number + WRAPS_AT if wrapped and number < WRAPS_AT / 2 else number


def _wraps(folder: str, groups: Iterable[tuple[str, str]]) -> bool:
    """Numbers more than half the range apart, in one folder: they went over 9999 and began again."""
    numbers = [_number(base, False) for place, base in groups if place == folder]
    return max(numbers) - min(numbers) > WRAPS_AT / 2
