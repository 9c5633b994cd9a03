"""Names from people as parts of a path: nothing leaves the folder, and two names never share one."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from session.frame.ports import Place
from session.units.names import name_key
from storage.files.paths import frame_folder, frame_stem, part
from tests.support.examples import examples
from tests.support.log_samples import revision

HOSTILE = [
    "..",
    "../../etc/passwd",
    "/etc/passwd",
    "C:\\Windows",
    "a/b",
    "a\0b",
    ".hidden",
    "trailing.",
    "-rf",
    "con",
    "NUL.txt",
    "com1",
    "lpt9.a.b",
    "Aux.",
    "x" * 4096,
    "\N{LATIN SMALL LETTER E WITH ACUTE}" * 500,
    "\N{RIGHT-TO-LEFT OVERRIDE}gnp.exe",
    "\x1b[2J",
    "\x9b31m",
    "\udcff\udc80",
    "$(reboot)",
    "`reboot`; rm *",
    "new\nline",
    "\N{HANGUL FILLER}",
    "\N{ZERO WIDTH SPACE}",
    "\N{VARIATION SELECTOR-16}",
    "%s%n",
    "*?<>|\"':",
    "\N{FULLWIDTH SOLIDUS}\N{FRACTION SLASH}\N{DIVISION SLASH}",
    "~",
    "~root",
    "\N{IDEOGRAPHIC FULL STOP}",
    "\N{ONE DOT LEADER}\N{ONE DOT LEADER}",
]

any_name = st.text(st.characters(), min_size=1, max_size=300) | st.sampled_from(HOSTILE)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("three-quarter", "three-quarter"),
        ("Movement bridge", "movement_bridge"),
        ("  MOVEMENT   bridge ", "movement_bridge"),
        ("v1.2", "v1.2"),
        ("Strasse 7", "strasse_7"),
        ("\u6642\u8a08", "\u6642\u8a08"),
        ("Caf\u00e9", "caf\u00e9"),
        ("Cafe\u0301", "caf\u00e9"),
    ],
)
def test_plain_name_stays_readable(name: str, expected: str) -> None:
    assert part(name) == expected


@settings(max_examples=examples(200))
@given(name=any_name)
def test_whatever_a_name_holds_the_part_is_one_harmless_part(name: str) -> None:
    made = part(name)
    assert made and made == Path(made).name and made not in (".", "..")
    assert not made.startswith((".", "-", "~")) and not made.endswith((".", " "))
    assert len(made.encode()) <= 80
    assert made.partition(".")[0].upper() not in {"CON", "PRN", "AUX", "NUL", *(f"COM{n}" for n in range(10))}
    for sign in made:
        assert sign in "-._" or unicodedata.category(sign)[0] in "LMN", hex(ord(sign))
    assert part(name) == made


@settings(max_examples=examples(200))
@given(one=any_name, other=any_name)
@example("a b", "a_b")
@example("a-b", "a b")
@example("a/b", "a-b")
@example("a\N{HANGUL FILLER}", "a")
@example("x" * 200, "x" * 201)
@example("a..", "a")
def test_names_that_the_log_tells_apart_never_share_a_folder(one: str, other: str) -> None:
    assert (part(one) == part(other)) == (name_key(one) == name_key(other))


@settings(max_examples=examples(100))
@given(job=any_name, piece=any_name)
def test_no_path_leaves_the_folder(job: str, piece: str) -> None:
    root = Path("/pictures")
    folder = frame_folder(root, Place("", "", "", job, piece, ""))
    assert folder.is_absolute() and folder.parent.parent == root
    assert ".." not in folder.parts


def test_relative_folder_becomes_absolute() -> None:
    assert frame_folder(Path("pictures"), Place("", "", "", "a", "b", "")) == Path.cwd() / "pictures" / "a" / "b"


def test_stem_tells_number_view_and_set_up() -> None:
    place = Place("", "", "", "Movement", "Bridge", "three-quarter")
    assert frame_stem(place, 42, revision(7, 3)) == "0042-bridge-three-quarter-07.3"
    assert frame_stem(place, 12345, revision(7, 3)) == "12345-bridge-three-quarter-07.3"


@settings(max_examples=examples(100))
@given(view=any_name)
def test_stem_is_a_file_name_that_file_systems_take(view: str) -> None:
    stem = frame_stem(Place("", "", "", "", "", view), 42, revision())
    assert "/" not in stem and len(f".{stem}-999.JPEG.part".encode()) < 255
