"""Sentences of disks and cameras as they are told outside: without the folders of the computer."""

from __future__ import annotations

import pytest

from storage.handover.told_records import _without_folders

KNOWN = ["/home/annika/Pictures, all/ring 4"]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("The disk is full: /home/annika/my ring/4 takes no more files.", "The disk is full: 4 takes no more files."),
        (f"{KNOWN[0]}/0042.JPG is not whole.", "0042.JPG is not whole."),
        (f"{KNOWN[0]} can't be written to: no space.", "ring 4 can't be written to: no space."),
        ("Look on the card: /store_00010001/DCIM/100STILL/A.JPG, /store_00010001/DCIM/100STILL/A.RAW.",) * 2,
        ("1/500 s is shorter than the 1/200 s sync time.",) * 2,
        ("sharp/soft, and/or 3 mm / 4 mm", "sharp/soft, and/or 3 mm / 4 mm"),
    ],
)
def test_a_path_is_told_by_its_last_name_and_fractions_stay(said: str, told: str) -> None:
    assert _without_folders(said, KNOWN) == (told if "store_" not in said else "Look on the card: A.JPG, A.RAW.")
