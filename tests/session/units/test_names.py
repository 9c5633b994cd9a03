"""Names of jobs, pieces and views are matched as a person would match them."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.units.names import name_key

ANY_NAME = st.text(max_size=30)


@given(ANY_NAME)
def test_the_key_of_a_key_is_the_key(name: str) -> None:
    assert name_key(name_key(name)) == name_key(name)


@given(ANY_NAME)
def test_neither_blanks_nor_the_way_of_composing_count(name: str) -> None:
    assert name_key(f"  {name}\t") == name_key(name)
    assert (
        name_key(unicodedata.normalize("NFD", name)) == name_key(name) == name_key(unicodedata.normalize("NFC", name))
    )


@given(st.text(st.characters(codec="latin-1", categories=("Lu", "Ll", "Nd")), max_size=30))
def test_case_does_not_count(name: str) -> None:
    assert name_key(name.upper()) == name_key(name.lower()) == name_key(name)


@pytest.mark.parametrize(
    ("one", "other"),
    [("Barrel 6", "barrel  6"), ("STRASSE", "Straße"), ("cafe\u0301", "CAFÉ"), ("ring\u00a04", "ring 4")],
)
def test_names_that_are_one(one: str, other: str) -> None:
    assert name_key(one) == name_key(other)


@pytest.mark.parametrize(("one", "other"), [("ring 4", "ring 40"), ("ring 4", "ring4"), ("café", "cafe")])
def test_names_that_are_two(one: str, other: str) -> None:
    assert name_key(one) != name_key(other)


@pytest.mark.parametrize("empty", ["", "   ", "\t\n", "\u2003"])
def test_blanks_are_no_name(empty: str) -> None:
    assert name_key(empty) == ""
