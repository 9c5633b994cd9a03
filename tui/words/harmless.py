"""Text from outside (notes, names, paths, what a camera says) made harmless to look at.

A terminal obeys escape sequences, and some characters turn the reading direction or take no room. They are
shown instead of obeyed: control characters as their picture (␛), the rest by number (⟨U+202E⟩). What comes
out goes into `rich.text.Text`, never through markup, so brackets stay brackets.
"""

from __future__ import annotations

import re
import unicodedata

CONTROL_PICTURES = 0x2400
"""Unicode's pictures of the control characters begin here, in the order of the characters themselves."""

HIDDEN_CATEGORIES = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Control, format (bidi, zero width), surrogate, private, unassigned, line and paragraph separators."""

MOST_MARKS = 2
"""Combining marks in a row that are still drawn: no language needs more than two in practice. Common practice."""

LONGEST = 4000
"""Characters of one text that are shown; a longer one is cut with a sign. Chosen: more than a screen holds."""

NAME_CHARS = 60
"""Characters of a name in a list: a line must be taken in at a glance. Chosen."""

LINE_ENDS_AND_TABS = re.compile(r"\r\n?|[\n\t]")
"""A pasted line ends with any of the three, by terminal and origin."""


def harmless(text: str, longest: int = LONGEST) -> str:
    """The text on one line, with everything that a terminal would obey or hide made visible.

    longest  characters shown at most; "…" stands for the rest
    """
    shown: list[str] = []
    marks = 0
    for char in text[:longest]:
        category = unicodedata.category(char)
        marks = marks + 1 if category in ("Mn", "Me") else 0
        if char in "\n\t\r":
            shown.append(" ")
        elif category in HIDDEN_CATEGORIES:
            shown.append(_visible(ord(char)))
        elif marks <= MOST_MARKS:
            shown.append(char)
    return "".join(shown) + ("…" if len(text) > longest else "")


def storable(text: str) -> str:
    """Typed or pasted text without what no file or database takes, and without space around it."""
    return one_line(text).strip()


def one_line(text: str) -> str:
    """The text with a space for each line's end or tab, and without control characters and half surrogate pairs."""
    return "".join(char for char in LINE_ENDS_AND_TABS.sub(" ", text) if is_text(char))


def is_text(char: str) -> bool:
    """Whether a file and a database take this character: it is no control character, no half of a surrogate pair."""
    return unicodedata.category(char) not in ("Cc", "Cs")


def _visible(code: int) -> str:
    if code < 0x20:
        return chr(CONTROL_PICTURES + code)
    return "␡" if code == 0x7F else f"⟨U+{code:04X}⟩"
