"""Words as a person types them into a search, and the condition in SQL that finds them.

`barrel barr* "white card"`: each word is found at the beginning of words, whatever its case and accents; what stands
in quotes is found word for word in that order, and only there as whole words. Every word and phrase must be found, each
anywhere in the texts of a frame. Everything else in the text is data: no operator of a search engine is obeyed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Select, Text, and_, cast, column, func, literal_column, select, table, tuple_

from storage.schema.columns import storable_text
from storage.schema.frame_models import FrameTable
from storage.schema.search_models import FIRST_OF_FRAME, RevisionUseTable, SearchableTable

LONGEST, MOST = 200, 12
"""Characters of one term and terms of one search that are looked at. Chosen: more than a person types."""

_TERM = re.compile(r'"([^"]*)"?|([^\s"]+)')

_INDEX = table("search_index", column("rowid"))
_WORDS = table("searchable", column("view_id"), column("revision_id"), column("frame_id"), column("words"))
"""The archive's table of the same name, which has the keys of a use in the place of its number."""


@dataclass(frozen=True)
class Term:
    """A word or a phrase to be found; `exact`: as whole words only."""

    words: str
    exact: bool


def terms(typed: str) -> tuple[Term, ...]:
    """The terms in what was typed; signs without a letter or a figure ask for nothing."""
    found = (
        Term((match[1] if match[1] is not None else match[2].rstrip("*"))[:LONGEST], match[1] is not None)
        for match in _TERM.finditer(typed)
    )
    return tuple(term for term in found if any(sign.isalnum() for sign in term.words))[:MOST]


def fitting_uses(sought: tuple[Term, ...], dialect: str) -> ColumnElement[bool]:
    """Condition on `revision_use`: all terms stand in the words of the use."""
    if dialect == "postgresql":
        uses = select(_WORDS.c.revision_id, _WORDS.c.view_id).where(_WORDS.c.frame_id.is_(None), _in_words(sought))
        return tuple_(RevisionUseTable.revision_id, RevisionUseTable.view_id).in_(uses)
    rowids = select(_INDEX.c.rowid).where(_in_index(sought), _INDEX.c.rowid < FIRST_OF_FRAME)
    return RevisionUseTable.use_id.in_(rowids)


def fitting_frames(sought: tuple[Term, ...], dialect: str) -> tuple[Select[str], Any]:
    """Frames whose own words (with those of their use) hold all terms, joined to `frame`; and an ordering for them.

    The ordering gives the newest first without sorting.
    """
    if dialect == "postgresql":
        found = select(FrameTable.frame_id).join(_WORDS, _WORDS.c.frame_id == FrameTable.frame_id)
        return found.where(_in_words(sought)), FrameTable.asked_at.desc()
    found = select(FrameTable.frame_id).select_from(_INDEX)
    found = found.join(SearchableTable, SearchableTable.searchable_id == _INDEX.c.rowid)
    found = found.join(FrameTable, FrameTable.frame_id == SearchableTable.frame_id)
    return found.where(_in_index(sought), _INDEX.c.rowid >= FIRST_OF_FRAME), _INDEX.c.rowid.desc()


def _in_index(sought: tuple[Term, ...]) -> ColumnElement[bool]:
    """The condition for SQLite's FTS5: every term is a quoted string, in which no operator has a meaning."""
    quoted = (
        '"' + storable_text(term.words).replace('"', '""') + '"' + ("" if term.exact else " *") for term in sought
    )
    return literal_column("search_index").op("MATCH")(" AND ".join(quoted))


def _in_words(sought: tuple[Term, ...]) -> ColumnElement[bool]:
    """The condition for PostgreSQL: words as they are, without a language's endings."""
    return and_(*(_WORDS.c.words.op("@@")(_query(term)) for term in sought))


def _query(term: Term) -> Any:
    from sqlalchemy.dialects.postgresql import TSQUERY  # noqa: PLC0415 - slow to import, and only the archive's

    phrase = func.phraseto_tsquery("simple", storable_text(term.words))
    return phrase if term.exact else cast(func.nullif(cast(phrase, Text), "").concat(":*"), TSQUERY)
