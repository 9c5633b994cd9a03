"""What files are called when they are handed over: of the fields asked for, in signs that every system takes."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.order.client_order import Order, OrderedPiece
from session.units.refusals import UnreadableTextError
from storage.handover.handover_plan import FIELDS, LONGEST_NAME_BYTES, NAMES, file_name, hero_cautions

ORDER = Order("Spring job 12", "Client & Daughters")
PIECE = OrderedPiece("Bridge 6", article_number="A/17")


class Record:
    """As much of a frame as its name is made of."""

    def __init__(self, piece: str = "Bridge 6", view: str = "three-quarter", number: int = 7) -> None:
        self.piece, self.view, self.number = piece, view, number


def named(template: str = NAMES, piece: OrderedPiece = PIECE, **record: object) -> str:
    return file_name(template, ORDER, piece, Record(**record))[0]  # type: ignore[arg-type]


@pytest.mark.parametrize("measures", ["solo key", "ambient"])
def test_a_frame_that_measures_light_is_cautioned_of_as_a_hero(measures: str) -> None:
    frame = SimpleNamespace(
        number=3, piece="Bridge 6", view="top", focus_verdict=None, verdict=None, measures=measures, focus_is_open=False
    )
    (told,) = hero_cautions(frame, (), None)  # type: ignore[arg-type]
    assert told == f"Frame 3 (Bridge 6, top) is no picture of the view; it measures light: {measures}."
    frame.measures = ""
    assert hero_cautions(frame, (), None) == ()  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("template", "name"),
    [
        ("{number}", "0007"),
        ("{piece}_{view}", "Bridge_6_three-quarter"),
        ("{job}-{number}", "Spring_job_12-0007"),
        ("picture.{number}", "picture.0007"),
        ("{piece} {view}", "Bridge_6_three-quarter"),
        ("__{number}--", "0007"),
    ],
)
def test_a_name_is_made_of_the_fields_that_are_asked_for(template: str, name: str) -> None:
    assert named(template) == name


def test_a_piece_without_an_article_number_leaves_no_gap() -> None:
    assert named(piece=OrderedPiece("Bridge 6")) == "Bridge_6_three-quarter_0007"
    assert named().endswith("_Bridge_6_three-quarter_0007") and "/" not in named()


@pytest.mark.parametrize(
    "template",
    [
        "{client}",
        "{number:d}",
        "{piece!r}",
        "{",
        "}",
        "a/b",
        "{number}\n",
        "é{number}",
        "{}",
        "{0}",
        "*",
        "{piece.name}",
    ],
)
def test_a_template_of_other_fields_or_signs_is_refused_with_what_may_stand_there(template: str) -> None:
    with pytest.raises(UnreadableTextError) as refused:
        named(template)
    assert str(refused.value).startswith(f"{template!r} can't be used for names")


@pytest.mark.parametrize("template", ["", "_", " . "])
def test_a_template_that_gives_no_name_is_refused(template: str) -> None:
    with pytest.raises(
        UnreadableTextError, match=f"gives a name of 0 bytes; from 1 to {LONGEST_NAME_BYTES} can be used"
    ):
        named(template)


def test_a_name_just_as_long_as_may_be_is_taken_and_a_longer_one_is_not() -> None:
    assert len(named("x" * (LONGEST_NAME_BYTES - 4) + "{number}")) == LONGEST_NAME_BYTES
    with pytest.raises(UnreadableTextError, match="gives a name of 151 bytes"):
        named("x" * (LONGEST_NAME_BYTES - 3) + "{number}")


def test_long_names_of_piece_and_view_are_shortened_and_stay_apart() -> None:
    def long(view: str) -> tuple[str, bool]:
        return file_name(NAMES, ORDER, PIECE, Record("ring " * 16, view, 4))  # type: ignore[arg-type]

    (front, shortened), (side, _) = long("view " * 15 + "front"), long("view " * 15 + "side")
    assert shortened and front != side and front.startswith(named("{article}_ring"))
    assert len(front.encode()) <= LONGEST_NAME_BYTES and front.endswith("_0004")


def test_a_template_that_is_too_long_for_a_frame_names_it() -> None:
    with pytest.raises(UnreadableTextError, match="frame 4 needs another template"):
        file_name("x" * 200, ORDER, PIECE, Record("ring", "front", 4))  # type: ignore[arg-type]


@settings(max_examples=60)
@given(st.text(min_size=1, max_size=20), st.text(min_size=1, max_size=20), st.integers(1, 99_999))
def test_whatever_things_are_called_the_name_can_stand_on_any_disk(piece: str, view: str, number: int) -> None:
    try:
        name, _ = file_name("{piece}_{view}_{number}", ORDER, PIECE, Record(piece, view, number))  # type: ignore[arg-type]
    except UnreadableTextError as error:
        assert "bytes" in str(error)
        return
    assert 1 <= len(name.encode()) <= LONGEST_NAME_BYTES
    assert not set(name) & set('/\\:*?"<>|\0\n\r\t ') and name.strip(". ") == name
    assert name.endswith(f"{number:04d}")


def test_every_field_is_one_of_the_frames() -> None:
    assert named("_".join(f"{{{field}}}" for field in FIELDS)).count("_") >= len(FIELDS) - 1
