"""Text from outside: nothing in it may be obeyed by a terminal, hidden, or lost without a sign."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.words.harmless import harmless, storable

HOSTILE = [
    ("\x1b[2J\x1b[31mred", "␛[2J␛[31mred"),
    ("\x07bell\x08", "␇bell␈"),
    ("\x9b31m", "⟨U+009B⟩31m"),  # the one-byte form of ESC [ (ECMA-48)
    ("del\x7f", "del␡"),
    ("evil\u202egnp.exe", "evil⟨U+202E⟩gnp.exe"),
    ("zero\u200bwidth", "zero⟨U+200B⟩width"),
    ("a\nb\tc\r\nd", "a b c  d"),
    ("half \ud800 pair", "half ⟨U+D800⟩ pair"),
    ("[bold]not markup[/bold] [/mnt/x]", "[bold]not markup[/bold] [/mnt/x]"),
    ("Zoë’s brücke № 4 ½ mm", "Zoë’s brücke № 4 ½ mm"),
    ("line\u2028separator", "line⟨U+2028⟩separator"),
]


@pytest.mark.parametrize(("text", "shown"), HOSTILE)
def test_what_a_terminal_would_obey_or_hide_is_made_visible(text: str, shown: str) -> None:
    assert harmless(text) == shown


def test_a_pile_of_combining_marks_is_cut_to_what_a_language_needs() -> None:
    assert harmless("e" + "\u0301" * 50) == "e\u0301\u0301"


def test_what_is_cut_for_length_has_a_sign_at_its_end() -> None:
    assert harmless("x" * 30, 10) == "x" * 10 + "…"


@given(st.text(st.characters(exclude_categories=[]), max_size=200))
def test_no_character_comes_out_that_a_terminal_obeys_or_hides(text: str) -> None:
    shown = harmless(text)
    assert {unicodedata.category(char) for char in shown}.isdisjoint({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


@given(st.text(st.characters(categories=["L", "Nd", "P", "S", "Zs"]), max_size=200))
def test_ordinary_text_comes_out_as_it_is(text: str) -> None:
    assert harmless(text) == text


@given(st.text(st.characters(exclude_categories=[]), max_size=200))
def test_typed_text_holds_nothing_that_a_file_refuses(text: str) -> None:
    kept = storable(text)
    kept.encode("utf-8")
    assert not any(unicodedata.category(char) == "Cc" for char in kept)
    assert kept == kept.strip()
