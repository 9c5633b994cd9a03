"""What is remembered of a day's files: each of them is known again, and few of them take room."""

from __future__ import annotations

import tracemalloc
from dataclasses import replace

from session.cameras.known_objects import NAMES_KEPT, KnownObjects
from session.frame.camera_messages import CardObject

DAY = 5000
MOST_BYTES_A_FILE = 200
"""A number of 64 bits (32 bytes), and its share of a set that has just grown: CPython 3.11's holds at least one in
seven of its places of 16 bytes. A card object with its texts takes three times as much."""


def jpeg(number: int) -> CardObject:
    folder, left = divmod(number, 999)
    return CardObject(f"/store_00010001/DCIM/{100 + folder}STILL", f"STIL{left + 1:04d}.JPG", 9_000_000 + number, 1e9)


def test_five_thousand_files_take_little_more_room_than_fifteen_hundred() -> None:
    tracemalloc.start()
    try:
        known = KnownObjects(jpeg(number) for number in range(1500))
        before, _ = tracemalloc.get_traced_memory()
        for number in range(1500, DAY):
            known.take_new(jpeg(number))
        after, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert after - before < MOST_BYTES_A_FILE * (DAY - 1500)


def test_every_file_of_a_long_day_is_known_again() -> None:
    known = KnownObjects(jpeg(number) for number in range(DAY))
    assert not any(known.take_new(jpeg(number)) for number in range(DAY))
    assert known.take_new(jpeg(DAY))


def test_a_late_raw_is_told_from_a_new_frame_by_the_name_of_one_of_the_newest() -> None:
    known = KnownObjects(jpeg(number) for number in range(DAY))
    newest, forgotten = jpeg(DAY - NAMES_KEPT), jpeg(DAY - NAMES_KEPT - 1)
    assert known.has_base_of(replace(newest, name=newest.name.replace("JPG", "TIF")))
    assert not known.has_base_of(replace(forgotten, name=forgotten.name.replace("JPG", "TIF")))


def test_a_list_of_the_card_pushes_out_no_name_that_was_announced() -> None:
    """A slow body's card is listed when the first frame is there: its late JPEG must not become the next frame's."""
    known = KnownObjects()
    raw = replace(jpeg(DAY), name=jpeg(DAY).name.replace("JPG", "TIF"))
    assert known.take_new(raw)
    assert all(known.take_listed(jpeg(number)) for number in range(NAMES_KEPT + 100))
    assert known.has_base_of(jpeg(DAY))
    assert not known.take_listed(jpeg(0)), "known, though its name is forgotten"


def test_a_name_that_another_file_takes_over_is_kept_as_long_as_the_newest() -> None:
    known = KnownObjects(jpeg(number) for number in range(NAMES_KEPT))
    anew = replace(jpeg(0), bytes=1)  # the card was emptied, and its numbers begin again
    assert known.take_new(anew)
    assert known.take_new(jpeg(NAMES_KEPT))
    assert known.has_base_of(replace(anew, name="STIL0001.TIF"))
    assert not known.has_base_of(replace(jpeg(1), name="STIL0002.TIF"))
