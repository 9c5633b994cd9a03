"""Sentences of disks and cameras as they are told outside: without any place of the computer."""

from __future__ import annotations

import pytest

from storage.handover.told_records import _without_places

NAMES = {"/home/annika/Pictures, all/ring 4/0042.JPG": "0042.JPG"}


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("The disk is full: /home/annika/my ring/4 takes no more files.", "The disk is full: …"),
        ("No room in /home/annika for the frame.", "No room in …"),
        ("/Volumes/Anna's disk/job/0042.JPG is not whole.", "…"),
        ("/home/annika/Pictures, all/ring 4/0042.JPG is not whole.", "0042.JPG is not whole."),
        ("Second copy: /media/anna/Photo, 2026/0042.JPG", "Second copy: …"),
        ("Can't write '/home/müller (old). Anna/x/4.JPG'. Free some room.", "Can't write …"),
        ("can't write ~/Pictures/ring/4.jpg", "can't write …"),
        ("can't write ~anna/ring/4.jpg", "can't write …"),
        ("The camera at ptpip:192.168.1.20:15740 is gone.", "The camera at …"),
        ("The camera at 192.168.1.20 is gone.", "The camera at …"),
        ("The camera at usb:001,002 is gone. Plug it in.", "The camera at …"),
        ("It went to studio-7.lan:5432 at noon.", "It went to …"),
        ("0042.JPG lies in =/annika/4", "0042.JPG lies in = …"),
        ("1/500 s at f/11 is shorter than the 1/200 s sync time, 12:30.",) * 2,
        ("sharp/soft, and/or 3 mm / 4 mm; ratio 1:2; 0.12 µm/px.",) * 2,
        ("sharp / soft / missed",) * 2,
        ("Focus not judged: too little detail; look.",) * 2,
    ],
)
def test_a_sentence_ends_where_it_names_a_place_and_fractions_stay(said: str, told: str) -> None:
    assert _without_places(said, NAMES) == told
