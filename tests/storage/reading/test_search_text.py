"""What is typed into a search is only words: SQLite's own full-text index is asked, and nothing is an operator."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy.dialects import sqlite

from storage.reading.search_text import LONGEST, MOST, Term, fitting_uses, terms

OPERATORS = (
    "AND",
    "OR",
    "NOT",
    "NEAR(",
    ")",
    "^",
    "-",
    "+",
    ":",
    "{",
    "}",
    '"',
    "*",
    "words:",
    "'",
    ";--",
    "\x00",
    "\\",
)
TYPED = st.lists(st.sampled_from(OPERATORS) | st.text(max_size=8), max_size=12).map(" ".join)
WORDS = st.lists(st.text(st.characters(codec="ascii", categories=("L", "N")), min_size=1, max_size=6), max_size=6)


@pytest.fixture(scope="module")
def index() -> Iterator[sqlite3.Connection]:
    """An index of the kind that the log has, in memory: https://www.sqlite.org/fts5.html."""
    with closing(sqlite3.connect(":memory:")) as connection:
        connection.execute("CREATE VIRTUAL TABLE search_index USING fts5(words, tokenize='unicode61')")
        yield connection


def found(index: sqlite3.Connection, typed: str, words: str) -> bool:
    """Whether a row of these words is found by what was typed, by the very string that the log's reader asks with."""
    sought = terms(typed)
    assert sought
    asked = str(fitting_uses(sought, "sqlite").compile(dialect=sqlite.dialect()).params["search_index_1"])
    index.execute("DELETE FROM search_index")
    index.execute("INSERT INTO search_index (words) VALUES (?)", (words,))
    return bool(index.execute("SELECT count(*) FROM search_index WHERE search_index MATCH ?", (asked,)).fetchone()[0])


@given(TYPED)
def test_nothing_that_is_typed_is_an_operator_or_an_error(index: sqlite3.Connection, typed: str) -> None:
    sought = terms(typed)
    assert len(sought) <= MOST and all(0 < len(term.words) <= LONGEST for term in sought)
    assert all(any(sign.isalnum() for sign in term.words) for term in sought)
    if sought:
        found(index, typed, "barrel white card")


@given(WORDS, st.data())
def test_a_row_is_found_by_the_beginnings_of_any_of_its_words_in_any_order_and_case(
    index: sqlite3.Connection, words: list[str], data: st.DataObject
) -> None:
    if not words:
        return
    chosen = data.draw(st.permutations(words))[: data.draw(st.integers(1, len(words)))]
    typed = " ".join(word[: data.draw(st.integers(1, len(word)))].upper() for word in chosen)
    assert found(index, typed, " ".join(words))


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("barr", True),
        ("barr*", True),
        ("card barrel", True),
        ("arrel", False),
        ("barrel ring", False),
        ('"white card"', True),
        ('"card white"', False),
        ('"white car"', False),
        ('"white card', True),
        ("NOT barrel", False),
        ("barrel OR ring", False),
    ],
)
def test_words_are_found_at_their_beginning_and_phrases_word_for_word(
    index: sqlite3.Connection, typed: str, wanted: bool
) -> None:
    assert found(index, typed, "barrel 6 white card") == wanted


@pytest.mark.parametrize("typed", ["", "   ", '""', '"', "*", "- + :", "''"])
def test_signs_alone_ask_for_nothing(typed: str) -> None:
    assert terms(typed) == ()


def test_terms_of_a_search() -> None:
    assert terms('barr* "white card" 8') == (Term("barr", False), Term("white card", True), Term("8", False))
